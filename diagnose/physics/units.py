"""Convert between units of one quantity with exact factors.

Moisture scales (relative humidity, carbide, by mass, wood moisture, meter
scale) are kinds of their own and never convert into each other: they measure
different things.

References
----------
.. [1] International yard and pound agreement (1959): foot 0.3048 m, pound
   0.453 592 37 kg; US gallon 231 cubic inches.  From memory, exact by
   definition.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.physics.guard import OutOfRangeError

FOOT_M = 0.3048
INCH_M = FOOT_M / 12
POUND_KG = 0.45359237
GALLON_L = 3.785411784
FLUID_PINT_L = GALLON_L / 8
STANDARD_GRAVITY_M_S2 = 9.80665
POUND_FORCE_N = POUND_KG * STANDARD_GRAVITY_M_S2


@dataclass(frozen=True, slots=True)
class Unit:
    """A unit: its kind of quantity, and `base = value * factor + offset`."""

    kind: str
    factor: float = 1.0
    offset: float = 0.0


UNITS: Mapping[str, Unit] = {
    "m": Unit("length"),
    "mm": Unit("length", 0.001),
    "cm": Unit("length", 0.01),
    "in": Unit("length", INCH_M),
    "ft": Unit("length", FOOT_M),
    "m2": Unit("area"),
    "ft2": Unit("area", FOOT_M**2),
    "L": Unit("volume"),
    "ml": Unit("volume", 0.001),
    "US gal": Unit("volume", GALLON_L),
    "kg": Unit("mass"),
    "g": Unit("mass", 0.001),
    "lb": Unit("mass", POUND_KG),
    "s": Unit("time"),
    "min": Unit("time", 60.0),
    "h": Unit("time", 3600.0),
    "days": Unit("time", 86400.0),
    "C": Unit("temperature"),
    "F": Unit("temperature", 5 / 9, -160 / 9),
    "K difference": Unit("temperature-difference"),
    "F difference": Unit("temperature-difference", 5 / 9),
    "g/m2": Unit("mass-per-area"),
    "kg/m2": Unit("mass-per-area", 1000.0),
    "L/m2": Unit("volume-per-area"),
    "mm/m": Unit("slope"),
    "in per 12 ft": Unit("slope", INCH_M / (12 * FOOT_M) * 1000),
    "%": Unit("ratio", 0.01),
    "N": Unit("force"),
    "lbf": Unit("force", POUND_FORCE_N),
    "g/m2 per 24 h": Unit("emission"),
    "lb per 1000 ft2 per 24 h": Unit("emission", POUND_KG * 1000 / (1000 * FOOT_M**2)),
    "% RH": Unit("moisture-humidity"),
    "CM-%": Unit("moisture-carbide"),
    "% by mass": Unit("moisture-by-mass"),
    "% wood moisture": Unit("moisture-timber"),
    "meter scale": Unit("moisture-meter"),
    "pH": Unit("acidity"),
}
"""Unit by name; the first of each kind with factor 1 is the base."""


def convert(value: float, source: str, target: str) -> float:
    """Return `value` in `source` expressed in `target`.

    Raises
    ------
    OutOfRangeError
        For an unknown unit, or for two units of different kinds.

    Examples
    --------
    >>> round(convert(1, "lb per 1000 ft2 per 24 h", "g/m2 per 24 h"), 3)
    4.882
    >>> convert(2, "CM-%", "% RH")
    Traceback (most recent call last):
    ...
    diagnose.physics.guard.OutOfRangeError: CM-% (moisture-carbide) cannot become % RH (moisture-humidity)
    """
    one, other = _unit(source), _unit(target)
    if one.kind != other.kind:
        raise OutOfRangeError(f"{source} ({one.kind}) cannot become {target} ({other.kind})")
    if source == target:
        return value
    return (value * one.factor + one.offset - other.offset) / other.factor


def litres_per_m2_from_ft2_per_gallon(ft2_per_gallon: float) -> float:
    """Return a spread rate in L/m2 from a coverage in ft2 per US gallon.

    Examples
    --------
    >>> round(1 / litres_per_m2_from_ft2_per_gallon(100), 3)  # m2 per litre
    2.454
    """
    return GALLON_L / (ft2_per_gallon * FOOT_M**2)


def _unit(name: str) -> Unit:
    if name not in UNITS:
        raise OutOfRangeError(f"unit {name!r} is not known; known are {', '.join(UNITS)}")
    return UNITS[name]
