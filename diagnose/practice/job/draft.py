"""A job while it is being invented: values by path, spans of time, gaps.

Times are kept as spans (minutes from spreading to laying, hours on site) until
all of them are known, so that one long step moves all that comes after it.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from random import Random
from typing import cast

from diagnose.model import Facet, Floor, Outcome
from diagnose.practice.site import Site
from diagnose.record.codec import encode
from diagnose.record.fields import field_of
from diagnose.record.model import Line
from diagnose.rulebook.model import Check, Limit, LimitValue

HIGHEST: Mapping[str, float] = {"%": 100.0, "% RH": 98.0, "pH": 12.0, "of a tile": 1.0}
"""Highest figure that a unit allows."""

Value = str | float | int | bool | date | datetime | Line | tuple[object, ...]


@dataclass(slots=True)
class Draft:
    """What is decided of an invented job so far."""

    floor: Floor
    site: Site
    area: str
    """Id of the only area."""
    rng: Random
    values: dict[str, Value] = field(default_factory=dict)
    spans: dict[str, float] = field(default_factory=dict)
    """Lengths of time by name, such as `SP1.wait_min`; the unit ends the name."""
    withheld: set[str] = field(default_factory=set)
    """Paths that nobody wrote down."""
    log: set[str] = field(default_factory=set)
    """What the climate log is to show, such as `before.air_c.low`."""
    spoilt: set[str] = field(default_factory=set)
    """Parts that were spoilt already; another check takes another part if it can."""

    @property
    def method(self) -> str:
        """How the carpet is laid."""
        return self.facet(Facet.METHOD)

    def facet(self, facet: Facet) -> str:
        """Return a facet of the floor; empty if it is open."""
        return self.floor.facets.get(facet, "")

    def put(self, under: str, **values: Value) -> None:
        """Set several fields of one part."""
        for name, value in values.items():
            self.values[f"{under}.{name}"] = value

    def withhold(self, *paths: str) -> None:
        """Leave fields out of the record."""
        self.withheld.update(paths)

    def number(self, path: str) -> float:
        """Return a number that was set."""
        value = self.values[path]
        return float(value) if isinstance(value, int | float) else 0.0

    def line(self, path: str) -> Line:
        """Return a line of the plan that was set; empty if none was."""
        value = self.values.get(path, ())
        return cast(Line, value) if isinstance(value, tuple) else ()

    def text(self, path: str) -> str:
        """Return a word that was set; empty if none was."""
        value = self.values.get(path, "")
        return value if isinstance(value, str) else ""

    def between(self, low: float, high: float, digits: int = 1) -> float:
        """Return a number drawn from low to high, rounded."""
        return round(low + (high - low) * self.rng.random(), digits)

    def one_of(self, things: Collection[str]) -> str:
        """Return one of the words, each as likely."""
        return list(things)[int(self.rng.random() * len(things))]

    def ids(self, collection: str) -> list[str]:
        """Return the ids of a collection, in the order in which they were set."""
        names = (p.split(".")[1] for p in self.values if p.startswith(f"{collection}."))
        return list(dict.fromkeys(names))

    def spare(self, parts: Collection[str], kind: str) -> str:
        """Return a part that no other check of this kind has spoilt, if there is one."""
        free = [part for part in parts if f"{kind}:{part}" not in self.spoilt]
        chosen = self.one_of(free or parts)
        self.spoilt.add(f"{kind}:{chosen}")
        return chosen

    def texts(self) -> dict[str, str]:
        """Return what is recorded as canonical texts by path."""
        return {
            path: encode(rule, value)
            for path, value in self.values.items()
            if path not in self.withheld and (rule := field_of(path)) is not None
        }


@dataclass(frozen=True, slots=True)
class Asked:
    """One check, and the parts it looks at in this job."""

    check: Check
    parts: tuple[str, ...]
    """Ids; empty for a check of the whole job."""
    limit: Limit | None
    wanted: Mapping[str, Outcome]
    """What every check of the record is to say."""

    def option(self, name: str, default: str = "") -> str:
        """Return a setting of the check."""
        return self.check.options.get(name, default)


def outside(asked: Asked, draft: Draft, side: str = "", **words: str) -> float:
    """Return a number beyond every figure of the limit, so that nobody can argue."""
    values = _in_force(asked.limit, draft, words)
    unit = asked.limit.unit if asked.limit else ""
    side = side or asked.option("side") or _open_side(values, unit)
    if side == "low":
        edge = min(value.low for value in values if value.low is not None)
        return _drawn(draft, edge * 0.5, edge * 0.9) if edge > 0 else edge - draft.between(1, 4)
    edge = max(value.high for value in values if value.high is not None)
    if edge <= 0:
        return edge + draft.between(2, 6)
    top = HIGHEST.get(unit, float("inf"))
    return _drawn(draft, min(edge * 1.1, (edge + top) / 2), min(edge * 1.6, top))


def inside(asked: Asked, draft: Draft, side: str = "", **words: str) -> float:
    """Return a number within every figure of the limit."""
    values = _in_force(asked.limit, draft, words)
    side = side or asked.option("side")
    lows = [value.low for value in values if value.low is not None and side != "high"]
    highs = [value.high for value in values if value.high is not None and side != "low"]
    unit = asked.limit.unit if asked.limit else ""
    if lows and highs and max(lows) <= min(highs):
        return _drawn(draft, max(lows), min(highs))
    if lows:
        return _drawn(draft, max(lows), min(max(lows) * 1.3, HIGHEST.get(unit, float("inf"))))
    return _drawn(draft, min(highs) * 0.6, min(highs)) if highs else 0.0


def _drawn(draft: Draft, low: float, high: float) -> float:
    """Return a figure as people write it: whole where it is large."""
    size = max(abs(low), abs(high))
    digits = 0 if size >= 20 and high - low >= 2 else 1 if size >= 2 else 2
    value = draft.between(low, high, digits)
    return min(max(value, low), high)


def _in_force(limit: Limit | None, draft: Draft, words: Mapping[str, str]) -> list[LimitValue]:
    """Return the figures that could hold here, whoever set them."""
    known = {str(facet): value for facet, value in draft.floor.facets.items()} | dict(words)
    values = limit.values if limit else ()
    return [
        value
        for value in values
        if all(known.get(name, allowed[0]) in allowed for name, allowed in value.when.items())
    ]


def _open_side(values: list[LimitValue], unit: str) -> str:
    """Return the side that goes wrong on site: a room is too cold rather than too hot."""
    lows = any(value.low is not None for value in values)
    highs = any(value.high is not None for value in values)
    return "low" if lows and (unit == "°C" or not highs) else "high"
