"""Pattern: bow, skew, repeat gain, split of the drift, width to trim.

References
----------
.. [1] A trade association's manual as published in its articles: skew 2 in and
   bow 1 in on a breadth of 12 ft; measured from a dry line.
.. [2] A German trade article on trimming an over-wide breadth; a German expert's
   note on halving the drift from mid-room.
"""

from __future__ import annotations

import math

from diagnose.physics.guard import check_range


def per_breadth_mm_m(offset_mm: float, breadth_mm: float) -> float:
    """Return bow or skew in mm per m of breadth.

    Examples
    --------
    >>> round(per_breadth_mm_m(2 * 25.4, 12 * 304.8), 1)
    13.9
    """
    check_range("bow or skew in mm", abs(offset_mm), at_least=0, up_to=5000)
    check_range("breadth in mm", breadth_mm, above=0, up_to=20_000)
    return abs(offset_mm) / breadth_mm * 1000


def repeat_gain_mm(found_mm: float, nominal_mm: float, length_m: float) -> float:
    """Return how far the pattern has run off after `length_m` of carpet.

    Examples
    --------
    >>> round(repeat_gain_mm(915, 914, 9.14), 1)
    10.0
    """
    check_range("repeat found in mm", found_mm, above=0, up_to=20_000)
    check_range("nominal repeat in mm", nominal_mm, above=0, up_to=20_000)
    check_range("length in m", length_m, at_least=0, up_to=1000)
    return (found_mm - nominal_mm) * length_m * 1000 / nominal_mm


def split_drift_mm(total_mm: float) -> float:
    """Return the mismatch at either end when the match is set in mid-room.

    Examples
    --------
    >>> split_drift_mm(60)
    30.0
    """
    return total_mm / 2


def width_to_trim_mm(width_mm: float, repeat_mm: float) -> tuple[int, float]:
    """Return whole repeats in a breadth, and the mm to trim off for the match.

    Examples
    --------
    >>> width_to_trim_mm(3920, 1951)
    (2, 18)
    """
    check_range("breadth in mm", width_mm, above=0, up_to=20_000)
    check_range("repeat in mm", repeat_mm, above=0, up_to=20_000)
    repeats = math.floor(width_mm / repeat_mm + 1e-9)
    return repeats, max(0.0, width_mm - repeats * repeat_mm)


def cut_length_mm(needed_mm: float, repeat_mm: float, allowance_mm: float = 0.0) -> float:
    """Return the length to cut: whole repeats, one more repeat, and an allowance.

    Examples
    --------
    >>> cut_length_mm(5900, 914)
    7312.0
    """
    check_range("length needed in mm", needed_mm, above=0, up_to=1e6)
    check_range("repeat in mm", repeat_mm, at_least=0, up_to=20_000)
    if repeat_mm == 0:
        return needed_mm + allowance_mm
    return math.ceil(round(needed_mm / repeat_mm, 9)) * repeat_mm + repeat_mm + allowance_mm
