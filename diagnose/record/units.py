"""Units of recorded values, read from the end of a field's name.

A field carries its unit last in its name (`stored_c`, `mass_used_kg`).  A
person may write a unit beside the number; another unit of the same quantity
is converted, and moisture scales never are.
"""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.physics.units import UNITS, convert

UNIT_OF_ENDING: tuple[tuple[str, str], ...] = (
    ("_c_per_day", "°C per day"),
    ("_m2k_w", "m²K/W"),
    ("_g_m2", "g/m²"),
    ("_kg_m3", "kg/m³"),
    ("_percent", "%"),
    ("_litres", "l"),
    ("_ft2", "ft²"),
    ("_m2", "m²"),
    ("_mm", "mm"),
    ("_ml", "ml"),
    ("_kg", "kg"),
    ("_deg", "°"),
    ("_days", "days"),
    ("_min", "min"),
    ("_l", "l"),
    ("_h", "h"),
    ("_c", "°C"),
    ("_m", "m"),
    ("_g", "g"),
)
"""Longest ending first, so that `_kg_m3` is not taken for `_m3`."""

SPELLINGS: Mapping[str, tuple[str, ...]] = {
    "°C": ("°c", "c", "degc", "deg c", "ºc", "celsius"),
    "°C per day": ("°c per day", "°c/day", "c/day", "k/day"),
    "m²K/W": ("m²k/w", "m2k/w", "m2 k/w"),
    "g/m²": ("g/m²", "g/m2", "gsm"),
    "kg/m³": ("kg/m³", "kg/m3"),
    "%": ("%", "% rh", "%rh", "percent", "per cent"),
    "% RH": ("% rh", "%rh", "%", "percent"),
    "% MC": ("% mc", "%mc", "%"),
    "% CM": ("% cm", "%cm", "cm-%", "%"),
    "l": ("l", "litre", "litres", "ltr"),
    "ft²": ("ft²", "ft2", "sq ft"),
    "m²": ("m²", "m2", "sqm", "sq m"),
    "mm": ("mm",),
    "ml": ("ml",),
    "kg": ("kg",),
    "°": ("°", "deg", "degrees"),
    "days": ("days", "day", "d"),
    "min": ("min", "mins", "minutes"),
    "h": ("h", "hr", "hrs", "hours", "hour"),
    "m": ("m", "metre", "metres"),
    "g": ("g",),
    "s": ("s", "sec", "secs", "seconds"),
    "N": ("n",),
    "pH": ("ph",),
    "lb/1000 ft² 24 h": ("lb/1000 ft² 24 h", "lb/1000ft2/24h", "lbs"),
}

NAME_IN_PHYSICS: Mapping[str, str] = {
    "°C": "C",
    "m": "m",
    "mm": "mm",
    "m²": "m2",
    "ft²": "ft2",
    "l": "L",
    "ml": "ml",
    "kg": "kg",
    "g": "g",
    "s": "s",
    "min": "min",
    "h": "h",
    "days": "days",
    "g/m²": "g/m2",
}
"""Units that can be converted, by the name that the calculations use."""

OTHER_SPELLINGS: Mapping[str, tuple[str, ...]] = {
    "F": ("°f", "f", "degf", "deg f", "fahrenheit"),
    "cm": ("cm",),
    "in": ("in", "inch", "inches"),
    "ft": ("ft", "foot", "feet"),
    "lb": ("lb", "lbs"),
    "kg/m2": ("kg/m²", "kg/m2"),
}
"""Units that no field is kept in but that people write."""

ENDING_EXCEPTIONS: Mapping[str, str] = {"metre_from": "m", "metre_to": "m", "age_days": "days"}


def unit_of(name: str) -> str:
    """Return the unit that a field's name ends in, empty for a bare number."""
    if name in ENDING_EXCEPTIONS:
        return ENDING_EXCEPTIONS[name]
    return next((unit for ending, unit in UNIT_OF_ENDING if name.endswith(ending)), "")


def bare_name(name: str) -> str:
    """Return the name without its unit, in words: `mass_used_kg` is "mass used"."""
    for ending, _unit in UNIT_OF_ENDING:
        if name.endswith(ending):
            return name.removesuffix(ending).replace("_", " ")
    return name.replace("_", " ")


def same_unit(written: str, unit: str) -> bool:
    """True when `written` is a usual spelling of `unit`.

    Examples
    --------
    >>> same_unit("C", "°C"), same_unit("mm", "°C")
    (True, False)
    """
    text = written.strip().casefold()
    return text == unit.casefold() or text in SPELLINGS.get(unit, ())


def converted(value: float, written: str, unit: str) -> float | None:
    """Return `value` in `unit` when `written` is another unit of that quantity.

    None when the unit is not known or measures something else.

    Examples
    --------
    >>> converted(0.3, "cm", "mm"), converted(68, "°F", "°C"), converted(2, "kg", "mm")
    (3.0, 20.0, None)
    """
    target = NAME_IN_PHYSICS.get(unit)
    source = _physics_name(written.strip().casefold())
    if target is None or source is None or not _same_kind(source, target):
        return None
    return float(f"{convert(value, source, target):.10g}")


def units_that_fit(unit: str) -> tuple[str, ...]:
    """Return the units that a person may write where `unit` is kept."""
    target = NAME_IN_PHYSICS.get(unit)
    if target is None:
        return (unit,) if unit else ()
    known = [*NAME_IN_PHYSICS.items(), *((name, name) for name in OTHER_SPELLINGS)]
    return (unit, *(name for name, own in known if name != unit and _same_kind(own, target)))


def _physics_name(text: str) -> str | None:
    for unit, name in NAME_IN_PHYSICS.items():
        if text in SPELLINGS.get(unit, (unit,)):
            return name
    return next((name for name, texts in OTHER_SPELLINGS.items() if text in texts), None)


def _same_kind(one: str, other: str) -> bool:
    return UNITS[one].kind == UNITS[other].kind
