"""Choose the limit that holds for a job: data sheet, contract, code, practice.

The job's own data sheets come before a code that the contract names, that
before a code in general, and that before common practice.  Figures of other
sources that differ are named beside the one used.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from diagnose.checks.words import num
from diagnose.model import LimitUsed
from diagnose.physics.guard import OutOfRangeError
from diagnose.physics.units import convert
from diagnose.record.model import Job, Lot, Range
from diagnose.record.units import same_unit
from diagnose.rulebook.model import Limit, LimitValue

TIERS: tuple[str, ...] = ("data-sheet", "contract-code", "code", "common-practice")
"""Who set a limit, the one that counts most first."""

_PLAIN_UNITS: Mapping[str, str] = {
    "°C": "C",
    "°F": "F",
    "m²": "m2",
    "ft²": "ft2",
    "g/m²": "g/m2",
    "kg/m²": "kg/m2",
    "L/m²": "L/m2",
    "l/m²": "L/m2",
    "g/m² per 24 h": "g/m2 per 24 h",
    "lb per 1000 ft² per 24 h": "lb per 1000 ft2 per 24 h",
}


@dataclass(frozen=True, slots=True)
class Chosen:
    """The limit in force: inclusive bounds in `unit`, and who set them."""

    used: LimitUsed
    low: float | None
    high: float | None
    unit: str

    def holds(self, value: float, side: str = "") -> bool:
        """Say whether a value keeps the limit, or only its `low` or `high` side."""
        low_kept = side == "high" or self.low is None or value >= self.low
        high_kept = side == "low" or self.high is None or value <= self.high
        return low_kept and high_kept

    def text(self, side: str = "") -> str:
        """Return "at least 10 min and at most 30 min", or only one side of it."""
        return bounds_text(
            None if side == "high" else self.low, None if side == "low" else self.high, self.unit
        )


@dataclass(frozen=True, slots=True)
class _Figure:
    low: float | None
    high: float | None
    set_by: str
    source: str
    sure: str
    known: int
    """How many of its conditions are known to hold."""
    unsure: int
    """How many of its conditions the record does not settle."""
    in_force: bool = True


def choose_limit(
    limit: Limit,
    job: Job,
    lots: Sequence[Lot] = (),
    facets: Mapping[str, str] | None = None,
    side: str = "",
) -> Chosen | None:
    """Return the figure of a limit that counts for a job, or None if none does.

    `facets` are the words that the conditions of a figure are compared with:
    the facets of the floor and whatever the check adds, such as `reading`.
    With `side` only figures that have that side count.

    Examples
    --------
    A lot whose sheet gives an open time of 20 min wins over every code.
    """
    words = facets or {}
    figures = [*_sheets(limit, job, lots), *_values(limit, job, words)]
    usable = [f for f in figures if f.in_force and (not side or getattr(f, side) is not None)]
    if not usable:
        return None
    best = min(usable, key=lambda f: (TIERS.index(f.set_by), f.unsure, -f.known))
    used = LimitUsed(
        limit=limit.id,
        text=bounds_text(best.low, best.high, limit.unit),
        set_by=best.set_by,
        source=best.source,
        sure=best.sure,
        others=_others(figures, best, limit.unit),
    )
    return Chosen(used, best.low, best.high, limit.unit)


def bounds_text(low: float | None, high: float | None, unit: str) -> str:
    """Return bounds in words.

    Examples
    --------
    >>> bounds_text(18, 35, "°C"), bounds_text(None, 75, "% RH"), bounds_text(2, 2, "edges")
    ('18 to 35 °C', 'at most 75 % RH', 'exactly 2 edges')
    >>> bounds_text(7, 9, "pH")
    'pH 7 to 9'
    """
    if low is not None and high is not None:
        if low == high:
            return f"exactly {num(low, unit)}"
        if unit == "pH":
            return f"{num(low, unit)} to {num(high)}"
        return f"{num(low)} to {num(high, unit)}"
    if low is not None:
        return f"at least {num(low, unit)}"
    return f"at most {num(high, unit)}" if high is not None else "no figure"


def _sheets(limit: Limit, job: Job, lots: Iterable[Lot]) -> list[_Figure]:
    found = []
    sheets = [(lot.limits, lot.data_sheet, f"data sheet of {lot.id}") for lot in lots]
    sheets.append((job.product.limits, job.product.data_sheet, "data sheet of the carpet"))
    for ranges, sheet, name in sheets:
        given = ranges.get(limit.id)
        if given is None:
            continue
        source = given.source or sheet or name
        low, high = _in_unit(given, limit.unit)
        there = low is not None or high is not None
        if not there and given.unit:
            source += f", not comparable: in {given.unit} instead of {limit.unit}"
        found.append(_Figure(low, high, "data-sheet", source, "data-sheet", 0, 0, there))
    return found


def _in_unit(given: Range, unit: str) -> tuple[float | None, float | None]:
    sides = (_finite(given.low), _finite(given.high))
    if not given.unit or same_unit(given.unit, unit):
        return sides
    source = _PLAIN_UNITS.get(given.unit, given.unit)
    target = _PLAIN_UNITS.get(unit, unit)
    try:
        low, high = (None if s is None else convert(s, source, target) for s in sides)
    except OutOfRangeError:
        return None, None
    return low, high


def _finite(value: float | None) -> float | None:
    return value if value is not None and math.isfinite(value) else None


def _values(limit: Limit, job: Job, words: Mapping[str, str]) -> list[_Figure]:
    found = []
    for value in limit.values:
        known = sum(words[key] in allowed for key, allowed in value.when.items() if key in words)
        met = sum(key in words for key in value.when)
        if known < met:
            continue
        named = bool(value.code) and value.code in job.contract.codes
        set_by = "contract-code" if named else value.set_by
        in_force = named or value.set_by != "contract-code"
        unsure = len(value.when) - met
        source = _source(value)
        found.append(
            _Figure(value.low, value.high, set_by, source, value.sure, known, unsure, in_force)
        )
    return found


def _source(value: LimitValue) -> str:
    return f"{value.cite.source}, {value.cite.clause}" if value.cite.clause else value.cite.source


def _others(figures: Iterable[_Figure], best: _Figure, unit: str) -> tuple[str, ...]:
    found = []
    for figure in figures:
        differs = (figure.low, figure.high) != (best.low, best.high)
        if figure is not best and differs:
            text = bounds_text(figure.low, figure.high, unit)
            found.append(f"{text} ({figure.source}; {figure.sure})")
    return tuple(dict.fromkeys(found))
