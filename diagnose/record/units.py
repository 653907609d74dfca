"""Units of recorded values, read from the end of a field's name.

A field carries its unit last in its name (`spread_c`, `mass_used_kg`); a
person may write the unit beside the number, and then it has to be that one.
Nothing is ever converted.
"""

from __future__ import annotations

from collections.abc import Mapping

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
    "N": ("n",),
    "pH": ("ph",),
    "lb/1000 ft² 24 h": ("lb/1000 ft² 24 h", "lb/1000ft2/24h", "lbs"),
}

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
