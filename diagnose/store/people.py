"""Names, telephone numbers and addresses, kept apart so that they can be forgotten.

The journal is never changed, so personal text must not stand in it.  An entry
carries a mark instead: `person:` and SHA-256 over a random salt and the text.
Salt and text lie in a table of their own.  When that row is deleted, the
chains still verify, and nobody can tell from the mark what it stood for.
"""

from __future__ import annotations

import re
import secrets
import unicodedata
from collections.abc import Iterable
from datetime import datetime

from diagnose.errors import NotFoundError, StoreError
from diagnose.store import sql
from diagnose.store.engine import Engine
from diagnose.store.entry import Entry
from diagnose.store.journal import Casebook
from diagnose.store.person import Person, can_be_kept, mark_for, persons_in

FORGOTTEN_KIND = "person-forgotten"
FORGOTTEN = "(removed on request)"
"""What stands where a forgotten text stood."""
LONGEST = 2_000

_MARK = re.compile(r"person:[0-9a-f]{64}")


def remember(casebook: Casebook, value: str) -> str:
    """Keep a personal text and return the mark to put into an entry.

    The same text gets the same mark as long as it is remembered.

    Raises
    ------
    StoreError
        When the text is too long, or holds what no text should.
    """
    value = unicodedata.normalize("NFC", value)
    if len(value) > LONGEST:
        raise StoreError(
            f"a name or address of {len(value)} letters is too long; at most {LONGEST} are kept"
        )
    if not can_be_kept(value):
        raise StoreError(f"the name or address {value!a:.60} holds a sign that no text has")
    with casebook.engine.writing():
        found = casebook.engine.rows(sql.MARKS_OF_VALUE, {"value": value})
        if found:
            return str(found[0][0])
        salt = secrets.token_hex(16)
        mark = mark_for(salt, value)
        casebook.engine.run(sql.ADD_PERSON, {"mark": mark, "salt": salt, "value": value})
        return mark


def recall(casebook: Casebook, text: str) -> str:
    """Return what a mark stands for; other text comes back as it is."""
    if not _MARK.fullmatch(text):
        return text
    found = casebook.engine.rows(sql.GET_PERSON, {"mark": text})
    return str(found[0][1]) if found else FORGOTTEN


def is_kept(casebook: Casebook, text: str) -> bool:
    """Return whether a text is the mark of something that is kept here."""
    return bool(_MARK.fullmatch(text) and casebook.engine.rows(sql.GET_PERSON, {"mark": text}))


def kept(casebook: Casebook, value: str) -> bool:
    """Return whether a personal text is kept here."""
    value = unicodedata.normalize("NFC", value)
    return bool(casebook.engine.rows(sql.MARKS_OF_VALUE, {"value": value}))


def uses(casebook: Casebook) -> dict[str, tuple[str, ...]]:
    """Return, by mark, the jobs whose entries hold it."""
    found: dict[str, dict[str, None]] = {}
    for job, text in casebook.engine.rows(sql.JOB_TEXTS_LIKE, {"like": "%person:%"}):
        for mark in _MARK.findall(str(text)):
            found.setdefault(mark, {})[str(job)] = None
    return {mark: tuple(jobs) for mark, jobs in found.items()}


def everyone(casebook: Casebook) -> tuple[Person, ...]:
    """Return every personal text that is still kept."""
    return persons_in(casebook.engine)


def forget(casebook: Casebook, value: str, *, at: datetime, reason: str = "") -> int:
    """Delete a personal text from this casebook, and note which marks went.

    The note lets other devices delete theirs at the next merge.  Backups and
    bundles that were made before still hold the text.  Returns how many marks
    stood for it.

    Raises
    ------
    NotFoundError
        When the text is not kept here.
    StoreError
        When it was deleted, but a log of the database still holds it.
    """
    value = unicodedata.normalize("NFC", value)
    found = casebook.engine.rows(sql.MARKS_OF_VALUE, {"value": value})
    marks = [str(row[0]) for row in found]
    if not marks:
        raise NotFoundError("that text is not among the personal data of this casebook")
    casebook.append_many(
        [(FORGOTTEN_KIND, {"marks": marks, "reason": reason})],
        at=at,
        then=lambda added: drop_forgotten(casebook.engine, added),
    )
    casebook.engine.scrub()
    return len(marks)


def merge(engine: Engine, persons: Iterable[Person]) -> None:
    """Add personal texts that came with a bundle, but none that was forgotten."""
    told = [str(row[0]) for row in engine.rows(sql.TEXTS_OF_KIND, {"kind": FORGOTTEN_KIND})]
    # What was asked to be forgotten is forgotten, whichever history of a device stands.
    told += [str(row[3]) for row in engine.rows(sql.GET_QUARANTINE) if _tells(str(row[3]))]
    gone = {mark for text in told for mark in _MARK.findall(text)}
    engine.run_many(
        sql.ADD_PERSON,
        [
            {"mark": person.mark, "salt": person.salt, "value": person.value}
            for person in persons
            if person.sound and person.mark not in gone
        ],
    )


def _tells(text: str) -> bool:
    return f'"kind":"{FORGOTTEN_KIND}"' in text


def drop_forgotten(engine: Engine, entries: Iterable[Entry]) -> None:
    """Delete the personal texts that newly arrived entries say are forgotten."""
    marks = [
        {"mark": mark}
        for entry in entries
        if entry.kind == FORGOTTEN_KIND and isinstance(entry.body.get("marks"), list)
        for mark in entry.body["marks"]
        if isinstance(mark, str)
    ]
    engine.run_many(sql.FORGET_PERSON, marks)
