"""Practice in the casebook of this machine: which one is meant, what it holds, what is added."""

from __future__ import annotations

import json
import os
import secrets
import unicodedata
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from datetime import UTC
from pathlib import Path
from typing import TYPE_CHECKING

from diagnose.cli.where import CASEBOOK_VARIABLE, data_home, now, open_casebook, read_file
from diagnose.errors import InputError, NotFoundError, Problem

if TYPE_CHECKING:
    from diagnose.practice.mark import Mark
    from diagnose.practice.play import Round
    from diagnose.practice.progress import Line, Progress
    from diagnose.store.journal import Casebook
    from diagnose.store.practice_log import Line as Logged

PRACTICE_VARIABLE = "DIAGNOSE_PRACTICE"
PUPIL_VARIABLE = "DIAGNOSE_PUPIL"
ANYBODY = "learner"
BOOK_HELP = (
    "Casebook that practice is kept in, a file or an address; else the variable "
    f"{PRACTICE_VARIABLE} or {CASEBOOK_VARIABLE}, else your own data folder."
)
PUPIL_HELP = (
    f"A made-up name for the learner; else the variable {PUPIL_VARIABLE}, else {ANYBODY!r}. "
    "Two people need two names."
)
OLD_FILE = "practice.json"
"""Where practice was kept before it stood in the casebook."""


def practice_book(given: Path | None) -> Path | None:
    """Return the casebook meant for practice; None where it is the usual one."""
    named = os.environ.get(PRACTICE_VARIABLE)
    return given or (Path(named) if named else None)


def pupil_name(given: str | None) -> str:
    """Return the pseudonym meant by option or environment."""
    name = (given or os.environ.get(PUPIL_VARIABLE) or ANYBODY).strip()
    if not name or len(name) > 60 or not name.isprintable():
        raise InputError([Problem(None, f"{name!r} is no name for a learner", "1 to 60 letters")])
    return unicodedata.normalize("NFC", name)


def read_progress(book: Path | None, pupil: str | None = None) -> Progress:
    """Return what one learner has finished, or all; nothing if there is no casebook yet.

    Raises
    ------
    StoreError
        The casebook cannot be read.
    """
    from diagnose.practice.progress import Progress, progress_of
    from diagnose.store import practice_log as log

    try:
        with _opened(book) as casebook:
            found = log.lines_of(casebook, (log.REVIEW, log.ANSWER, log.ROUND), pupil)
    except NotFoundError:
        return Progress()
    return progress_of(_lines(found))


def read_open_round(book: Path | None, pupil: str) -> str:
    """Return the round a learner has open, as it was kept; empty when there is none."""

    try:
        with _opened(book) as casebook:
            return _open_round(casebook, pupil)[1]
    except NotFoundError:
        return ""


def keep(book: Path | None, *lines: Line) -> None:
    """Add lines to the casebook, which is made where there is none; all of them or none.

    Raises
    ------
    StoreError
        The casebook cannot be written.
    """
    from diagnose.store import practice_log as log

    with _opened(book, create=True) as casebook:
        log.add(casebook, [_logged(line) for line in lines], at=now())


def take_in(book: Path | None, file: Path) -> int:
    """Add what a progress file of an earlier version holds and is not here; return how much.

    Raises
    ------
    InputError
        It is no such file; nothing of it is taken in.
    """
    from diagnose.practice.progress import OpenRound
    from diagnose.store import practice_log as log

    logged = _of_file(file)
    fresh: list[Logged] = []
    with _opened(book, create=True) as casebook:
        here = {*_lines(log.lines_of(casebook, (log.REVIEW, log.ANSWER, log.ROUND)))}
        for each in logged:
            (line,) = _lines([each])
            if isinstance(line, OpenRound):
                # A round that has gone on here since is not put back.
                new = bool(line.round) and line.at > _open_round(casebook, line.pupil)[0]
            else:
                new = line not in here
            if new:
                fresh.append(each)
                here.add(line)
        log.add(casebook, fresh, at=now())
    return len(fresh)


def old_file() -> Path | None:
    """Return the progress file of an earlier version in the user's data folder, if it lies there."""
    place = data_home() / OLD_FILE
    return place if place.is_file() else None


def forget_learner(book: Path | None, name: str) -> None:
    """Remove a learner's name; what was answered stays, and tells of nobody.

    Raises
    ------
    NotFoundError
        No learner goes by that name.
    """
    from diagnose.store import practice_log as log

    with _opened(book) as casebook:
        log.forget(casebook, name, at=now())


def learners(book: Path | None) -> tuple[str, ...]:
    """Return the names of all learners; none if there is no casebook yet."""
    from diagnose.store import practice_log as log

    try:
        with _opened(book) as casebook:
            return log.pupils(casebook)
    except NotFoundError:
        return ()


def finished(round_: Round, mark: Mark, pupil: str) -> tuple[Line, ...]:
    """Return a finished round and the reviews it stands for, as lines of the log."""
    from diagnose.practice.progress import CaseResult, OpenRound, Review
    from diagnose.practice.saved import round_data
    from diagnose.practice.schedule import rating_of_case

    at = stamp()
    percent = mark.stated.percent
    result = CaseResult(
        at=at,
        pupil=pupil,
        case=round_.case.name,
        difficulty=round_.case.order.difficulty.value,
        truth=mark.truth,
        named=mark.stated.causes,
        percent=percent,
        right=mark.right,
        points=mark.total,
        round=json.dumps(round_data(round_), sort_keys=True, separators=(",", ":")),
    )
    reviews = [
        Review(at, pupil, f"cause:{cause}", rating_of_case(cause not in mark.missed, percent))
        for cause in mark.truth
    ]
    return (result, *reviews, OpenRound(at, pupil, ""))


def stamp() -> str:
    """Return the time now as a line of the log writes it."""
    return now().astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def fresh_seed() -> int:
    """Return a seed that nobody has used, short enough to be read out."""
    return secrets.randbelow(900_000) + 100_000


@contextmanager
def _opened(book: Path | None, *, create: bool = False) -> Iterator[Casebook]:
    """Open the casebook meant for practice; say what to do about a file of an earlier version."""
    if book is not None and _is_old(book):
        hint = (
            f"`diagnose practice progress --merge {book}` reads it into a casebook; "
            f"{PRACTICE_VARIABLE} and --casebook name a casebook, such as practice.db"
        )
        raise InputError([Problem(None, f"{book} is a progress file, not a casebook", hint)])
    with open_casebook(book, create=create) as casebook:
        yield casebook


def _is_old(path: Path) -> bool:
    try:
        with path.open("rb") as file:
            return file.read(1) == b"{"
    except OSError:
        return False


def _open_round(casebook: Casebook, pupil: str) -> tuple[str, str]:
    """Return when a learner's round was last kept, and the round; empty texts when there is none."""
    from diagnose.practice.progress import OpenRound
    from diagnose.practice.progress_lines import line_of
    from diagnose.store import practice_log as log

    found = log.latest(casebook, log.ROUND_OPEN, pupil)
    line = line_of(OpenRound, pupil, found.body) if found else None
    return (line.at, line.round) if line else ("", "")


def _of_file(file: Path) -> list[Logged]:
    """Return the lines of a progress file in the form in which the journal keeps them."""
    from diagnose.practice.progress_lines import read_file as lines_in
    from diagnose.store.entry import tidy_body

    if not file.exists():
        raise NotFoundError(f"there is no file {file}")
    try:
        text = read_file(file).decode("utf-8-sig")
    except UnicodeDecodeError:
        hint = "casebooks and bundles are taken in by `diagnose casebook merge`"
        raise InputError([Problem(None, f"{file} is not a progress file", hint)]) from None
    tidied = (_logged(line) for line in lines_in(text, str(file)))
    return [
        each._replace(pupil=pupil_name(each.pupil), body=tidy_body(each.body)) for each in tidied
    ]


def _logged(line: Line) -> Logged:
    from diagnose.practice.progress_lines import body_of
    from diagnose.store.practice_log import Line as Logged

    kinds = {kind: name for name, kind in _kinds().items()}
    return Logged(kinds[type(line)], line.pupil, body_of(line))


def _lines(logged: Iterable[Logged]) -> list[Line]:
    """Return lines that this version can read; an entry that holds none is passed over."""
    from diagnose.practice.progress_lines import line_of

    kinds = _kinds()
    found = (line_of(kinds[each.kind], each.pupil, each.body) for each in logged)
    return [line for line in found if line is not None]


def _kinds() -> dict[str, type[Line]]:
    """Return the kinds of entry with the line that each of them holds."""
    from diagnose.practice.progress import CaseResult, ItemResult, OpenRound, Review
    from diagnose.store import practice_log as log

    return {
        log.REVIEW: Review,
        log.ANSWER: ItemResult,
        log.ROUND: CaseResult,
        log.ROUND_OPEN: OpenRound,
    }
