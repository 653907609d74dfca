"""Colour: CIELAB, differences, grey-scale grade, light reflectance, two viewpoints.

Differences of different formulae are never converted into each other.

References
----------
.. [1] CIE 1976 L*a*b*: the cube root of X, Y, Z over the white, linear below
   (6/29) cubed.  Checked against an open colour library.
.. [2] Sharma, Wu, Dalal (2005), Color Res. Appl. 30, 21: CIEDE2000 with its 34
   published pairs, which the tests hold.
.. [3] ISO 105-A05 (1996) 8 and the mean hue and x of 7.2, second-hand as coded in
   a public program; the terms of 7 that weaken chroma and hue are from memory, to
   be verified.  For neutral colours (a* = b* = 0) they have no part in the result.
.. [4] ISO 105-A02 (1993) 2.4: the nine steps of the grey scale, read as scan.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.physics.guard import check_range

WHITE_D65_10 = (94.811, 100.0, 107.304)
"""X, Y, Z of daylight D65 seen by the 10 degree observer (as an open colour library prints it)."""

STEP_DELTA_E: Mapping[str, float] = {
    "5": 0.0,
    "4-5": 0.8,
    "4": 1.7,
    "3-4": 2.5,
    "3": 3.4,
    "2-3": 4.8,
    "2": 6.8,
    "1-2": 9.6,
    "1": 13.6,
}
"""CIELAB difference of each printed step of the grey scale [4]_."""

_BEND = (6 / 29) ** 3
_KAPPA = 24389 / 27


@dataclass(frozen=True, slots=True)
class Lab:
    """A colour: lightness 0 to 100, `a` green to red, `b` blue to yellow."""

    lightness: float
    a: float
    b: float

    @property
    def chroma(self) -> float:
        """Distance from grey."""
        return math.hypot(self.a, self.b)

    @property
    def hue_deg(self) -> float:
        """Angle of the hue, 0 to 360; 0 for a pure grey."""
        return _angle(self.b, self.a)


def lab(lightness: float, a: float, b: float) -> Lab:
    """Return a checked CIELAB colour.

    Examples
    --------
    >>> lab(45, 3, 4).chroma
    5.0
    """
    check_range("lightness L*", lightness, at_least=0, up_to=100)
    check_range("a*", a, at_least=-200, up_to=200)
    check_range("b*", b, at_least=-200, up_to=200)
    return Lab(lightness, a, b)


def lab_from_xyz(
    x: float, y: float, z: float, white: tuple[float, float, float] = WHITE_D65_10
) -> Lab:
    """Return the CIELAB colour of X, Y, Z on the scale on which white has Y = 100.

    Examples
    --------
    >>> round(lab_from_xyz(20.0, 20.0, 20.0).lightness, 2)
    51.84
    """
    for name, value in zip("XYZ", (x, y, z), strict=True):
        check_range(name, value, at_least=0, up_to=200)
    fx, fy, fz = (_cube_root(v / w) for v, w in zip((x, y, z), white, strict=True))
    return Lab(116 * fy - 16, 500 * (fx - fy), 200 * (fy - fz))


def light_reflectance_percent(lightness: float) -> float:
    """Return the light reflectance (Y, in %) of a surface of a lightness L*.

    Examples
    --------
    >>> round(light_reflectance_percent(50), 1)
    18.4
    """
    check_range("lightness L*", lightness, at_least=0, up_to=100)
    if lightness <= 8:
        return 100 * lightness / _KAPPA
    return float(100 * ((lightness + 16) / 116) ** 3)


def light_reflectance_difference(one_percent: float, other_percent: float) -> float:
    """Return by how many points the light reflectance of two floors differs.

    Examples
    --------
    >>> light_reflectance_difference(32, 21)
    11
    """
    for value in (one_percent, other_percent):
        check_range("light reflectance in %", value, at_least=0, up_to=100)
    return abs(one_percent - other_percent)


def delta_e_76(reference: Lab, sample: Lab) -> float:
    """Return the CIELAB difference: the straight distance of two colours.

    Examples
    --------
    >>> delta_e_76(Lab(50, 0, 0), Lab(52, 2, 1))
    3.0
    """
    return math.hypot(
        sample.lightness - reference.lightness, sample.a - reference.a, sample.b - reference.b
    )


def delta_e_2000(reference: Lab, sample: Lab) -> float:
    """Return the CIEDE2000 difference with all weights at one [2]_.

    Examples
    --------
    >>> round(delta_e_2000(Lab(50, 2.6772, -79.7751), Lab(50, 0, -82.7485)), 4)
    2.0425
    """
    mean_c = (reference.chroma + sample.chroma) / 2
    g = 0.5 * (1 - _seventh(mean_c))
    a1, a2 = reference.a * (1 + g), sample.a * (1 + g)
    c1, c2 = math.hypot(a1, reference.b), math.hypot(a2, sample.b)
    h1, h2 = _angle(reference.b, a1), _angle(sample.b, a2)
    grey = c1 * c2 == 0
    turn = 0.0 if grey else _turn(h1, h2)
    d_l, d_c = sample.lightness - reference.lightness, c2 - c1
    d_h = 2 * math.sqrt(c1 * c2) * math.sin(math.radians(turn / 2))
    mean_l, mean_c = (reference.lightness + sample.lightness) / 2, (c1 + c2) / 2
    mean_h = h1 + h2 if grey else _mean_hue(h1, h2)
    t = (
        1
        - 0.17 * _cos(mean_h - 30)
        + 0.24 * _cos(2 * mean_h)
        + 0.32 * _cos(3 * mean_h + 6)
        - 0.20 * _cos(4 * mean_h - 63)
    )
    off = (mean_l - 50) ** 2
    s_l = 1 + 0.015 * off / math.sqrt(20 + off)
    s_c, s_h = 1 + 0.045 * mean_c, 1 + 0.015 * mean_c * t
    theta = 30 * math.exp(-(((mean_h - 275) / 25) ** 2))
    r_t = -2 * _seventh(mean_c) * math.sin(math.radians(2 * theta))
    light, c, h = d_l / s_l, d_c / s_c, d_h / s_h
    return math.sqrt(max(0.0, light * light + c * c + h * h + r_t * c * h))


def grey_scale_difference(reference: Lab, sample: Lab) -> float:
    """Return the difference that ISO 105-A05 grades: CIELAB with chroma and hue weakened.

    The weakening terms are from memory, to be verified [3]_; between greys the
    result is the plain CIELAB difference.

    Examples
    --------
    >>> round(grey_scale_difference(Lab(45, 10, 15), Lab(46, 11, 17)), 4)
    2.1944
    """
    d_l, d_c = sample.lightness - reference.lightness, sample.chroma - reference.chroma
    whole = delta_e_76(reference, sample)
    turn = _turn(reference.hue_deg, sample.hue_deg)
    d_h = math.copysign(math.sqrt(max(0.0, whole**2 - d_l**2 - d_c**2)), turn)
    mean_c = (reference.chroma + sample.chroma) / 2
    away = abs(_mean_hue(reference.hue_deg, sample.hue_deg) - 280)
    x = (min(away, 360 - away) / 30) ** 2
    d = d_c * mean_c * math.exp(-x) / 100
    d_cf = (d_c - d) / (1 + (20 * mean_c / 1000) ** 2)
    d_hf = (d_h - d) / (1 + (10 * mean_c / 1000) ** 2)
    return math.hypot(d_l, d_cf, d_hf)


def grey_scale_grade(difference: float) -> float:
    """Return the grade, 5 (no difference) to 1, of a difference by ISO 105-A05 8.

    Examples
    --------
    >>> grey_scale_grade(1.7), grey_scale_grade(3.4), grey_scale_grade(20)
    (4.0, 3.0, 1.0)
    """
    check_range("colour difference", difference, at_least=0, up_to=500)
    if difference <= 3.4:
        return 5 - difference / 1.7
    return max(1.0, 5 - math.log2(difference / 0.85))


def grade_word(grade: float) -> str:
    """Return the step nearest to a grade as the grey scale names it; a tie goes down.

    Examples
    --------
    >>> grade_word(4.53), grade_word(4.2), grade_word(1.0)
    ('4-5', '4', '1')
    """
    check_range("grade", grade, at_least=1, up_to=5)
    halves = math.ceil(2 * grade - 0.5)
    return str(halves // 2) if halves % 2 == 0 else f"{halves // 2}-{halves // 2 + 1}"


@dataclass(frozen=True, slots=True)
class TwoEnds:
    """Two neighbours seen from both ends of the room: what stays and what swaps.

    `steady` is the part of the difference that both ends show alike, `turning`
    the part that swaps with the viewpoint; both are CIELAB differences.
    """

    steady: float
    turning: float
    word: str
    """`colour`, `direction` or `none`."""


def from_two_ends(
    one_near: Lab,
    other_near: Lab,
    one_far: Lab,
    other_far: Lab,
    least: float = STEP_DELTA_E["4-5"],
) -> TwoEnds:
    """Split the difference of two neighbours into dye and lie of the pile.

    A true difference of colour shows from every side; one of pile direction swaps
    light and dark with the viewpoint (trade glossary and inspection article,
    second-hand).  Half the sum and half the difference of the two views follow
    from that (computed).  A part below `least`, the first step of the grey scale,
    says nothing.

    Examples
    --------
    >>> from_two_ends(Lab(40, 2, 5), Lab(44, 2, 5), Lab(44, 2, 5), Lab(40, 2, 5))
    TwoEnds(steady=0.0, turning=4.0, word='direction')
    >>> from_two_ends(Lab(40, 2, 5), Lab(42, 3, 5), Lab(44, 2, 5), Lab(46, 3, 5)).word
    'colour'
    """
    near, far = vector(one_near, other_near), vector(one_far, other_far)
    steady = math.hypot(*((n + f) / 2 for n, f in zip(near, far, strict=True)))
    turning = math.hypot(*((n - f) / 2 for n, f in zip(near, far, strict=True)))
    if max(steady, turning) < least:
        return TwoEnds(steady, turning, "none")
    return TwoEnds(steady, turning, "direction" if turning > steady else "colour")


def vector(one: Lab, other: Lab) -> tuple[float, float, float]:
    """Return other less one, in L*, a* and b*."""
    return other.lightness - one.lightness, other.a - one.a, other.b - one.b


def _cube_root(share: float) -> float:
    return math.cbrt(share) if share > _BEND else (_KAPPA * share + 16) / 116


def _seventh(chroma: float) -> float:
    return math.sqrt(chroma**7 / (chroma**7 + 25.0**7))


def _cos(degrees: float) -> float:
    return math.cos(math.radians(degrees))


def _angle(y: float, x: float) -> float:
    return 0.0 if x == y == 0 else math.degrees(math.atan2(y, x)) % 360


def _turn(one: float, other: float) -> float:
    """Return the signed angle from one hue to the other, the short way round."""
    turn = other - one
    if turn > 180:
        return turn - 360
    return turn + 360 if turn < -180 else turn


def _mean_hue(one: float, other: float) -> float:
    """Return the hue half-way between two, the short way round."""
    if abs(one - other) <= 180:
        return (one + other) / 2
    return (one + other + (360 if one + other < 360 else -360)) / 2
