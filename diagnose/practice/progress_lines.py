"""A line of a learner's log as plain data that an entry or a file can hold, and back.

Nothing in it is a floating-point number.  Data may come from another device, so
that a line is only taken when every part of it is of its kind and range.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, fields
from datetime import datetime
from typing import Any, TypeVar

from diagnose.errors import InputError, Position, Problem
from diagnose.practice.progress import CaseResult, ItemResult, Line, OpenRound, Review

FILE_VERSION = 1
"""Of the progress files that this program wrote before practice stood in the casebook."""
PARTS: Mapping[str, type[Line]] = {
    "reviews": Review,
    "items": ItemResult,
    "cases": CaseResult,
    "open_rounds": OpenRound,
}
"""Names of the parts of a progress file."""
RANGES = {"rating": (1, 4), "confidence": (1, 3), "percent": (0, 100), "points": (0, 100)}
EARLIEST_YEAR, LATEST_YEAR = 1970, 2200
IN_AN_ENTRY = {"at": "happened_at", "case": "round_name"}
"""Parts with another name in an entry, where `case` is a complaint and `at` a place."""

OfKind = TypeVar("OfKind", bound=Line)


def body_of(line: Line) -> dict[str, Any]:
    """Return a line as the body of an entry, without the learner."""
    data = {IN_AN_ENTRY.get(name, name): value for name, value in asdict(line).items()}
    del data["pupil"]
    return {name: list(v) if isinstance(v, tuple) else v for name, v in data.items()}


def line_of(kind: type[OfKind], pupil: str, body: Mapping[str, Any]) -> OfKind | None:
    """Return the line that the body of an entry holds; None when it holds none.

    Parts that this version does not know are passed over.
    """
    data = {
        name: body.get(IN_AN_ENTRY.get(name, name))
        for name in (part.name for part in fields(kind))
        if name != "pupil"
    }
    try:
        return _line(kind, {**data, "pupil": pupil})
    except (TypeError, ValueError):
        return None


def read_file(text: str, file: str) -> tuple[Line, ...]:
    """Read a progress file.

    Raises
    ------
    InputError
        The text is not a progress file; every bad line is named.
    """
    try:
        data = json.loads(text)
    except (ValueError, RecursionError) as error:
        line = getattr(error, "lineno", 0)
        raise InputError([Problem(Position(file, line), "is not a progress file")]) from None
    if not isinstance(data, dict) or data.get("v") != FILE_VERSION:
        hint = f"version {FILE_VERSION} is known"
        raise InputError([Problem(Position(file), "is no progress file of a known version", hint)])
    problems: list[Problem] = []
    found: list[Line] = []
    for name, kind in PARTS.items():
        rows = data.get(name, [])
        for number, row in enumerate(rows if isinstance(rows, list) else [rows], start=1):
            try:
                found.append(_line(kind, row))
            except (TypeError, ValueError):
                text = f"{name}: line {number} is not as written"
                problems.append(Problem(Position(file), text))
    if problems:
        raise InputError(problems)
    return tuple(found)


def _line(kind: type[OfKind], row: Any) -> OfKind:
    known = {part.name: str(part.type) for part in fields(kind)}
    if not isinstance(row, dict) or set(row) != set(known):
        raise TypeError
    values = {name: _value(name, type_, row[name]) for name, type_ in known.items()}
    return kind(**values)


def _value(name: str, type_: str, value: Any) -> Any:
    if type_.startswith("tuple"):
        if not isinstance(value, list) or not all(isinstance(each, str) for each in value):
            raise TypeError
        return tuple(value)
    if type(value).__name__ != type_:
        raise TypeError
    low, high = RANGES.get(name, (None, None))
    if low is not None and not low <= value <= high:
        raise ValueError
    if name == "at" and not (value.endswith("Z") and _in_range(datetime.fromisoformat(value))):
        raise ValueError
    return value


def _in_range(at: datetime) -> bool:
    """Return whether a time can be reckoned with; a clock can be set to anything."""
    return at.tzinfo is not None and EARLIEST_YEAR <= at.year <= LATEST_YEAR
