"""What learners have done so far, as one value that a file can hold.

Learners go by pseudonyms.  Two devices are merged by taking every line of
both; what a learner knows is worked out from the lines, never stored.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import asdict, dataclass, fields, replace
from typing import Any, TypeVar

from diagnose.errors import InputError, Position, Problem

VERSION = 1


@dataclass(frozen=True, slots=True, order=True)
class Review:
    """One look at one subject: when, who, how it went."""

    at: str
    """UTC, ISO 8601 ending in Z."""
    pupil: str
    subject: str
    """`cause:ID`, `look-alike:ID`, `teaching:ID` and so on."""
    rating: int
    """1 forgotten, 2 with trouble, 3 known, 4 known at once."""


@dataclass(frozen=True, slots=True, order=True)
class ItemResult:
    """One short question answered."""

    at: str
    pupil: str
    item: str
    kind: str
    subject: str
    right: bool
    confidence: int


@dataclass(frozen=True, slots=True, order=True)
class CaseResult:
    """One round finished; `round` is the round itself, to be marked again."""

    at: str
    pupil: str
    case: str
    difficulty: str
    truth: tuple[str, ...]
    named: tuple[str, ...]
    percent: int
    right: bool
    points: int
    round: str


@dataclass(frozen=True, slots=True, order=True)
class OpenRound:
    """A round that was broken off; the latest one of a learner counts."""

    at: str
    pupil: str
    round: str
    """Empty when the round was finished or given up."""


@dataclass(frozen=True, slots=True)
class Progress:
    """Every line of every learner, in order of time."""

    reviews: tuple[Review, ...] = ()
    items: tuple[ItemResult, ...] = ()
    cases: tuple[CaseResult, ...] = ()
    open_rounds: tuple[OpenRound, ...] = ()

    def of(self, pupil: str) -> Progress:
        """Return the lines of one learner."""
        return _each(self, lambda line: bool(line.pupil == pupil))

    @property
    def pupils(self) -> tuple[str, ...]:
        """All pseudonyms, sorted."""
        return tuple(sorted({line.pupil for part in _parts(self) for line in part}))

    def open_round(self, pupil: str) -> str:
        """Return the round a learner has open, or an empty text."""
        own = [line for line in self.open_rounds if line.pupil == pupil]
        return max(own).round if own else ""


def with_lines(progress: Progress, **lines: Iterable[Any]) -> Progress:
    """Return the progress with further lines, each kept once.

    Of open rounds only the latest of each learner is kept.
    """
    found = {name: tuple(sorted({*getattr(progress, name), *more})) for name, more in lines.items()}
    changed = replace(progress, **found)
    latest = {line.pupil: line for line in sorted(changed.open_rounds)}
    return replace(changed, open_rounds=tuple(sorted(latest.values())))


def merged(first: Progress, second: Progress) -> Progress:
    """Return what both together hold; the order of the two does not matter."""
    lines = {part.name: getattr(second, part.name) for part in fields(Progress)}
    return with_lines(first, **lines)


def without(progress: Progress, pupil: str) -> Progress:
    """Return the progress with every line of one learner gone."""
    return _each(progress, lambda line: bool(line.pupil != pupil))


def _parts(progress: Progress) -> tuple[tuple[Any, ...], ...]:
    return tuple(getattr(progress, part.name) for part in fields(Progress))


def _each(progress: Progress, kept: Any) -> Progress:
    parts = {part.name: getattr(progress, part.name) for part in fields(Progress)}
    return Progress(
        **{name: tuple(line for line in lines if kept(line)) for name, lines in parts.items()}
    )


def to_text(progress: Progress) -> str:
    """Return the progress as JSON text: sorted, one line a record, no fractions."""
    parts = [f'"v":{VERSION}']
    for part in fields(Progress):
        lines = ",\n".join(
            json.dumps(asdict(line), sort_keys=True, separators=(",", ":"))
            for line in getattr(progress, part.name)
        )
        parts.append(f'"{part.name}":[{lines}]')
    return "{" + ",\n".join(parts) + "}\n"


def from_text(text: str, file: str) -> Progress:
    """Read what `to_text` wrote.

    Raises
    ------
    InputError
        The text is not a progress file; every bad line is named.
    """
    try:
        data = json.loads(text)
    except ValueError as error:
        line = getattr(error, "lineno", 0)
        raise InputError([Problem(Position(file, line), "is not a progress file")]) from None
    if not isinstance(data, dict) or data.get("v") != VERSION:
        hint = f"version {VERSION} is known"
        raise InputError([Problem(Position(file), "is no progress file of a known version", hint)])
    problems: list[Problem] = []
    parts: dict[str, list[Any]] = {}
    kinds: dict[str, type[Any]] = {
        "reviews": Review,
        "items": ItemResult,
        "cases": CaseResult,
        "open_rounds": OpenRound,
    }
    for name, kind in kinds.items():
        rows = data.get(name, [])
        parts[name] = _lines(kind, rows if isinstance(rows, list) else [rows], name, file, problems)
    if problems:
        raise InputError(problems)
    return with_lines(Progress(), **parts)


Line = TypeVar("Line")


def _lines(
    kind: type[Line], rows: list[Any], name: str, file: str, problems: list[Problem]
) -> list[Line]:
    found = []
    for number, row in enumerate(rows, start=1):
        try:
            found.append(_line(kind, row))
        except (TypeError, KeyError):
            problems.append(Problem(Position(file), f"{name}: line {number} is not as written"))
    return found


def _line(kind: type[Line], row: Any) -> Line:
    known = {part.name: str(part.type) for part in fields(kind)}  # type: ignore[arg-type]
    if not isinstance(row, dict) or set(row) != set(known):
        raise TypeError
    values = {}
    for name, type_ in known.items():
        value = row[name]
        if type_.startswith("tuple"):
            if not isinstance(value, list) or not all(isinstance(each, str) for each in value):
                raise TypeError
            value = tuple(value)
        elif type(value).__name__ != type_:
            raise TypeError
        values[name] = value
    return kind(**values)
