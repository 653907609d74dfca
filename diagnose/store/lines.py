"""The text of a bundle: JSON lines, a first line that says what it is, a last that seals it.

Between them each line is the canonical text of one entry, or one personal
text with its salt.  The last line counts the lines and holds the hash of all
bytes before it, so that a bundle cut short on its way is noticed.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from diagnose.errors import InputError, Position, Problem
from diagnose.store.entry import LONGEST_TEXT
from diagnose.store.person import Person

FORM = "casebook-bundle"
VERSION = 1
MOST_LINES = 2_000_000


@dataclass(frozen=True, slots=True)
class Lines:
    """What the text of a bundle holds; the entries are not yet looked at."""

    entries: tuple[str, ...]
    persons: tuple[Person, ...]


def write(texts: Iterable[str], persons: Iterable[Person]) -> Iterator[bytes]:
    """Return the lines of a bundle, each with its line end."""
    digest = hashlib.sha256()
    count = 0
    for line in _body(texts, persons):
        data = line.encode("utf-8") + b"\n"
        digest.update(data)
        count += 1
        yield data
    yield _dump({"end": {"lines": count, "sha256": digest.hexdigest()}}).encode() + b"\n"


def _body(texts: Iterable[str], persons: Iterable[Person]) -> Iterator[str]:
    yield _dump({"form": FORM, "v": VERSION})
    for person in persons:
        yield _dump({"person": [person.mark, person.salt, person.value]})
    yield from texts


def _dump(value: Any) -> str:
    return json.dumps(value, separators=(",", ":"))


def read(data: bytes, name: str) -> Lines:
    """Read the text of a bundle; `name` is what messages call it.

    Raises
    ------
    InputError
        When it is no bundle, is cut short, or was changed on its way.
    """
    if not data.endswith(b"\n"):
        raise _wrong(name, 0, "the bundle is cut short: its last line has no end")
    # Counted before they are parted: empty lines take far more room apart than in the file.
    if data.count(b"\n") > MOST_LINES:
        raise _wrong(name, 0, f"the bundle has more than {MOST_LINES} lines")
    lines = data[:-1].split(b"\n")
    first = _object(lines[0], name, 1)
    if first.get("form") != FORM:
        raise _wrong(name, 1, "this is no bundle of a casebook")
    if first.get("v") != VERSION:
        raise _wrong(
            name,
            1,
            f"the bundle has form {first.get('v')!r:.20}; this program knows form {VERSION} only",
            "update the program",
        )
    _check_end(lines, data, name)
    entries: list[str] = []
    persons: list[Person] = []
    for number, line in enumerate(lines[1:-1], 2):
        if len(line) > LONGEST_TEXT:
            raise _wrong(name, number, f"the line is longer than {LONGEST_TEXT} bytes")
        if line.startswith(b'{"person"'):
            persons.append(_person(_object(line, name, number), name, number))
            continue
        try:
            entries.append(line.decode("utf-8"))
        except UnicodeDecodeError as error:
            raise _wrong(name, number, "the line is not UTF-8 text") from error
    return Lines(tuple(entries), tuple(persons))


def _check_end(lines: list[bytes], data: bytes, name: str) -> None:
    number = len(lines)
    end = _object(lines[-1], name, number).get("end")
    if number < 2 or not isinstance(end, dict):
        raise _wrong(
            name, number, "the bundle is cut short: its last line is missing", "send it again"
        )
    before = hashlib.sha256(data[: len(data) - len(lines[-1]) - 1]).hexdigest()
    if end.get("lines") != number - 1 or end.get("sha256") != before:
        raise _wrong(name, number, "the bundle was changed on its way", "send it again")


def _object(line: bytes, name: str, number: int) -> dict[str, Any]:
    if len(line) > LONGEST_TEXT:
        raise _wrong(name, number, f"the line is longer than {LONGEST_TEXT} bytes")
    try:
        value = json.loads(line)
    except (ValueError, RecursionError) as error:
        raise _wrong(name, number, "the line is not JSON") from error
    if not isinstance(value, dict):
        raise _wrong(name, number, "the line is not an object")
    return value


def _person(value: dict[str, Any], name: str, number: int) -> Person:
    parts = value.get("person")
    if isinstance(parts, list) and len(parts) == 3 and all(isinstance(p, str) for p in parts):
        person = Person(*parts)
        if person.sound:
            return person
    raise _wrong(name, number, "the personal text does not fit its mark")


def _wrong(name: str, line: int, text: str, hint: str = "") -> InputError:
    return InputError([Problem(Position(name, line), text, hint)])
