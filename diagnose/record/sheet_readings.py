"""Read numbers whose unit stands beside them: readings and data-sheet limits.

What a reading can be depends on its kind, so it is judged when all of a sheet
has been gathered.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Protocol

from diagnose.errors import Position
from diagnose.record.ranges import READING_BOUNDS, READING_UNITS, Bounds
from diagnose.record.sheet_numbers import NotReadableError, in_unit, listed, read_number, short
from diagnose.record.sheet_problems import Problems
from diagnose.record.sheet_values import Reading, check_bounds, plain_text, shown
from diagnose.record.units import SPELLINGS, converted, same_unit
from diagnose.yaml_text import Node


class Gathered(Protocol):
    """What the reader of a sheet has found so far."""

    values: dict[str, tuple[str, Position]]
    nodes: dict[str, Node]

    def keep(self, path: str, reading: Reading, at: Position) -> None:
        """Keep one value."""


def read_measured(gathered: Gathered, problems: Problems) -> None:
    """Read every measured value and its unit, and keep them."""
    parents: dict[str, dict[str, Node]] = {}
    for path, node in gathered.nodes.items():
        parent, _, name = path.rpartition(".")
        measured = path.startswith("readings.") and name in ("value", "unit")
        limit = ".limits." in path and name in ("low", "high", "unit")
        if measured or limit:
            parents.setdefault(parent, {})[name] = node
    for parent, nodes in parents.items():
        _one(gathered, problems, parent, nodes)


def _one(gathered: Gathered, problems: Problems, parent: str, nodes: Mapping[str, Node]) -> None:
    kind = gathered.values.get(f"{parent}.kind", ("", None))[0]
    allowed = READING_UNITS.get(kind, ()) if parent.startswith("readings.") else ()
    bounds = READING_BOUNDS.get(kind, Bounds())
    unit = ""
    for name in sorted(nodes, key=("unit", "value", "low", "high").index):
        node, path = nodes[name], f"{parent}.{name}"
        try:
            if name == "unit":
                unit = _unit(plain_text(node), allowed)
                continue
            text, unit = _number(plain_text(node), unit, allowed)
            gathered.keep(path, Reading(text, check_bounds(text, bounds, unit)), node.at)
        except NotReadableError as error:
            problems.add(node.at, f"{path} is {shown(node)}; {error.text}", error.hint)
    if unit:
        at = nodes.get("unit", next(iter(nodes.values()))).at
        gathered.keep(f"{parent}.unit", Reading(unit), at)


def _number(text: str, unit: str, allowed: tuple[str, ...]) -> tuple[str, str]:
    """Return the number in its unit; a unit beside the number counts too."""
    written = read_number(text)
    if not written.unit:
        return written.text, unit
    if unit:
        return in_unit(written, unit), unit
    for own in allowed:
        value = converted(written.value, written.unit, own)
        if value is not None and not any(same_unit(written.unit, one) for one in allowed):
            return in_unit(written, own), own
    return written.text, _unit(written.unit, allowed)


def _unit(text: str, allowed: tuple[str, ...]) -> str:
    if not allowed:
        known = (unit for unit in SPELLINGS if unit.casefold() == text.casefold())
        return next(known, None) or next((u for u in SPELLINGS if same_unit(text, u)), text)
    found = next((unit for unit in allowed if unit.casefold() == text.casefold()), None)
    # a plain % also goes by "% RH", so scales are asked first and % by its own words only
    scales = [unit for unit in allowed if unit not in ("", "%")]
    found = found or next((unit for unit in scales if same_unit(text, unit)), None)
    if found is None and "%" in allowed and text.casefold() in ("percent", "per cent"):
        found = "%"
    if found is None:
        fits = [unit for unit in allowed if unit]
        raise NotReadableError(
            f"{short(text)} is no unit of such a reading", f"write {listed(fits)}"
        )
    return found
