"""Seam geometry: surplus width to peak height and back, and movement of drops.

Model: the two edges are held where the bond is sound, a free half width `a`
either side of the join.  A surplus `s` of width must go somewhere, so the
carpet stands up between the two lines of hold.

- tent: two straight legs, (2a + s) = 2 * sqrt(a^2 + h^2);
- arch: a shallow circular arc of chord 2a, for small heights
  s = 8 h^2 / (3 * 2a), so h = sqrt(3 * s * 2a / 8).

The tent gives the higher of the two for a given surplus.  Real peaks also
flatten under the stiffness of the back, so both are upper estimates.
Computed from geometry; no published relation was found.
"""

from __future__ import annotations

import math

from diagnose.physics.guard import OutOfRangeError, check_range

MODELS = ("tent", "arch")


def peak_height_mm(surplus_mm: float, free_half_width_mm: float, model: str = "tent") -> float:
    """Return the height in mm to which a surplus width can lift a join.

    Examples
    --------
    >>> round(peak_height_mm(1, 40), 1), round(peak_height_mm(1, 40, "arch"), 1)
    (6.3, 5.5)
    """
    check_range("surplus width in mm", surplus_mm, at_least=0, up_to=200)
    check_range("free half width in mm", free_half_width_mm, above=0, up_to=1000)
    _known(model)
    if model == "arch":
        return math.sqrt(3 * surplus_mm * 2 * free_half_width_mm / 8)
    return math.sqrt((free_half_width_mm + surplus_mm / 2) ** 2 - free_half_width_mm**2)


def surplus_mm(height_mm: float, free_half_width_mm: float, model: str = "tent") -> float:
    """Return the surplus width in mm that a peak of `height_mm` needs.

    Examples
    --------
    >>> round(surplus_mm(6.34, 40), 2)
    1.0
    """
    check_range("peak height in mm", height_mm, at_least=0, up_to=500)
    check_range("free half width in mm", free_half_width_mm, above=0, up_to=1000)
    _known(model)
    if model == "arch":
        return 8 * height_mm**2 / (3 * 2 * free_half_width_mm)
    return 2 * (math.hypot(free_half_width_mm, height_mm) - free_half_width_mm)


def width_change_mm(width_mm: float, change_percent: float) -> float:
    """Return how much a drop of `width_mm` grows (positive) or shrinks.

    `change_percent` is the dimensional change of the laboratory test, which is
    harsher than a room: an upper bound of what the room can do.

    Examples
    --------
    >>> width_change_mm(4000, -0.2)
    -8.0
    """
    check_range("width in mm", width_mm, above=0, up_to=1e5)
    check_range("dimensional change in %", change_percent, at_least=-20, up_to=20)
    return width_mm * change_percent / 100


def climate_width_change_mm(
    width_mm: float, percent_per_10_rh: float, humidity_then: float, humidity_now: float
) -> float:
    """Return the change of width in mm for a change of relative humidity.

    `percent_per_10_rh` is the carpet's own figure (data sheet or measured); no
    general value is assumed.

    Examples
    --------
    >>> round(climate_width_change_mm(4000, 0.05, 65, 45), 6)
    -4.0
    """
    check_range("width in mm", width_mm, above=0, up_to=1e5)
    for humidity in (humidity_then, humidity_now):
        check_range("relative humidity in %", humidity, at_least=0, up_to=100)
    return width_mm * percent_per_10_rh / 100 * (humidity_now - humidity_then) / 10


def _known(model: str) -> None:
    if model not in MODELS:
        raise OutOfRangeError(f"model is {model!r}; allowed is {', '.join(MODELS)}")
