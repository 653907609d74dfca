"""Adhesive: what a notch can spread, what was used, and when carpet went into it.

References
----------
.. [1] Geometry of the notch: full groove over pitch.  Computed.
.. [2] Published coverages of one adhesive sheet are 0.38 to 0.53 of the full
   groove: the angle of the trowel and squeeze-out matter.  Computed from
   second-hand figures.
.. [3] CRI 105 (2019) definitions: open time runs from spreading to placing,
   working time from placing for as long as the carpet can still be moved.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from fractions import Fraction

from diagnose.physics.guard import OutOfRangeError, check_range

SHAPES = ("v", "square", "u")
REAL_SHARE_LOW = 0.35
REAL_SHARE_HIGH = 0.6
INCH_MM = 25.4


@dataclass(frozen=True, slots=True)
class Notch:
    """A notch in mm: width, depth and the gap (bridge) to the next notch."""

    width_mm: float
    depth_mm: float
    gap_mm: float
    shape: str

    @property
    def groove_mm2(self) -> float:
        """Cross-section of one groove in mm2."""
        width, depth = self.width_mm, self.depth_mm
        if self.shape == "v":
            return width * depth / 2
        if self.shape == "square":
            return width * depth
        return width * (depth - width / 2) + math.pi * width**2 / 8

    @property
    def full_l_m2(self) -> float:
        """Litres per m2 if every groove stood full; a ceiling, not a rate."""
        return self.groove_mm2 / (self.width_mm + self.gap_mm)

    @property
    def likely_l_m2(self) -> tuple[float, float]:
        """Band in L/m2 in which published rates of such notches lie."""
        return self.full_l_m2 * REAL_SHARE_LOW, self.full_l_m2 * REAL_SHARE_HIGH


def notch(width_mm: float, depth_mm: float, gap_mm: float, shape: str) -> Notch:
    """Return a checked notch; shape is `v`, `square` or `u`.

    Examples
    --------
    >>> round(notch(3.175, 3.175, 1.5875, "v").full_l_m2, 3)
    1.058
    >>> round(notch(3.175, 3.175, 3.175, "u").full_l_m2, 3)
    1.417
    """
    check_range("notch width in mm", width_mm, above=0, up_to=50)
    check_range("notch depth in mm", depth_mm, above=0, up_to=50)
    check_range("gap between notches in mm", gap_mm, at_least=0, up_to=50)
    if shape not in SHAPES:
        raise OutOfRangeError(f"notch shape is {shape!r}; allowed is {', '.join(SHAPES)}")
    if shape == "u" and depth_mm < width_mm / 2:
        raise OutOfRangeError("a U notch is at least half as deep as it is wide")
    return Notch(width_mm, depth_mm, gap_mm, shape)


_NUMBER = r"(\d+\s+\d+/\d+|\d+/\d+|\d+(?:[.,]\d+)?)"
_NOTCH = re.compile(
    rf"^\s*{_NUMBER}\s*(mm|in|\"|″)?\s*[x×*]\s*{_NUMBER}\s*(mm|in|\"|″)?"
    rf"\s*[x×*]\s*{_NUMBER}\s*(mm|in|inch|\"|″)?\s*(v|square|sq|u)?(?:[- ]?notch)?\s*$",
    re.IGNORECASE,
)


def parse_notch(text: str, shape: str | None = None) -> Notch:
    """Read a notch written in trade order, width x depth x gap.

    Fractions are inches, plain numbers mm unless a unit follows.  The shape
    may stand behind; it must be given when the text does not name it.

    Examples
    --------
    >>> parse_notch("1/8 x 1/8 x 1/16 V").gap_mm
    1.5875
    >>> parse_notch("2 x 2 x 2", "square").full_l_m2
    1.0
    """
    found = _NOTCH.match(text)
    if not found:
        raise OutOfRangeError(f"notch {text!r} is not readable; write it as 1/8 x 1/8 x 1/16 V")
    numbers = [found.group(n) for n in (1, 3, 5)]
    unit = found.group(6) or found.group(4) or found.group(2) or ""
    inches = unit in {"in", "inch", '"', "″"} or (not unit and any("/" in n for n in numbers))
    sizes = [_number(text) * (INCH_MM if inches else 1) for text in numbers]
    word = {"v": "v", "u": "u", "sq": "square", "square": "square"}.get(
        (found.group(7) or "").lower()
    )
    chosen = word or shape
    if chosen is None:
        raise OutOfRangeError(f"notch {text!r} names no shape; add V, square or U")
    return notch(sizes[0], sizes[1], sizes[2], chosen)


def _number(text: str) -> float:
    parts = [Fraction(part.replace(",", ".")) for part in text.split()]
    return float(sum(parts))


def used_per_m2(amount: float, area_m2: float) -> float:
    """Return amount (kg or L) per m2.

    Examples
    --------
    >>> used_per_m2(9.0, 24)
    0.375
    """
    check_range("amount used", amount, at_least=0, up_to=1e6)
    check_range("area in m2", area_m2, above=0, up_to=1e6)
    return amount / area_m2


def needed(area_m2: float, rate_per_m2: float, waste_percent: float = 0.0) -> float:
    """Return the amount needed for an area at a rate, with waste on top.

    Examples
    --------
    >>> round(needed(100, 0.35, 5), 2)
    36.75
    """
    check_range("area in m2", area_m2, at_least=0, up_to=1e6)
    check_range("rate per m2", rate_per_m2, above=0, up_to=100)
    check_range("waste in %", waste_percent, at_least=0, up_to=100)
    return area_m2 * rate_per_m2 * (1 + waste_percent / 100)


@dataclass(frozen=True, slots=True)
class Window:
    """Minutes after spreading within which carpet is to be laid."""

    earliest_min: float | None
    latest_min: float | None


def adjusted_window(
    window: Window,
    *,
    base: str | None = None,
    closed_base_factor: float | None = None,
    air_c: float | None = None,
    reference_c: float | None = None,
    percent_shorter_per_k: float | None = None,
) -> Window:
    """Return a data sheet's window changed only as far as that sheet says.

    `closed_base_factor` lengthens the times on a closed base;
    `percent_shorter_per_k` shortens them per K above `reference_c` and lengthens
    them below.  Where the sheet gives no figure nothing is changed: no general
    rule in figures was found in print.

    Examples
    --------
    >>> adjusted_window(Window(10, 30), base="closed", closed_base_factor=1.5)
    Window(earliest_min=15.0, latest_min=45.0)
    """
    factor = 1.0
    if base == "closed" and closed_base_factor is not None:
        factor *= closed_base_factor
    if None not in (air_c, reference_c, percent_shorter_per_k):
        assert air_c is not None
        assert reference_c is not None
        assert percent_shorter_per_k is not None
        factor *= max(0.1, 1 - percent_shorter_per_k / 100 * (air_c - reference_c))
    return Window(
        None if window.earliest_min is None else window.earliest_min * factor,
        None if window.latest_min is None else window.latest_min * factor,
    )
