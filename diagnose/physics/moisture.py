"""Moisture of a floor: readings, waits, counts by code, emission, drying.

Moisture scales are never converted into each other.  Drying times are lower
bounds only: the reading decides.

References
----------
.. [1] A model specification clause (NBS M50 cl. 430): lay only when every
   reading is at or below the limit.  Read as extract.
.. [2] ASTM F1869 and F2170, second-hand through kit suppliers and testing firms.
.. [3] Commentary to BS 8203 and BS 8204 on drying, second-hand through contractors.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from diagnose.physics.guard import OutOfRangeError, check_range
from diagnose.physics.units import FOOT_M, POUND_KG

DOME_OPENING_IN2 = 70.0
DISH_FOOTPRINT_IN2 = 5.94
DOME_AREA_FT2 = (DOME_OPENING_IN2 - DISH_FOOTPRINT_IN2) / 144
"""0.44486 ft2: dome opening less the dish (a kit supplier's page, second-hand)."""


def every_reading_at_most(readings: Sequence[float], limit: float) -> bool:
    """Say whether the highest reading passes; the mean does not decide.

    Examples
    --------
    >>> every_reading_at_most([74, 75, 76], 75)
    False
    """
    if not readings:
        raise OutOfRangeError("there is no reading")
    return max(readings) <= limit


def at_equilibrium(
    first: float, second: float, hours_between: float, resolution: float = 1.0, wait_h: float = 24.0
) -> bool:
    """Say whether two readings agree within the instrument and lie far enough apart.

    Practice of a testing firm for the sleeve method, second-hand.

    Examples
    --------
    >>> at_equilibrium(76, 76.4, 24)
    True
    """
    return hours_between >= wait_h and abs(first - second) <= resolution


def probe_depth_mm(slab_mm: float, faces: int = 1) -> float:
    """Return the depth for an in-slab probe: 40 % (one face dries) or 20 % (both).

    ASTM F2170, second-hand.

    Examples
    --------
    >>> probe_depth_mm(150), probe_depth_mm(150, faces=2)
    (60.0, 30.0)
    """
    check_range("slab thickness in mm", slab_mm, above=0, up_to=2000)
    if faces not in (1, 2):
        raise OutOfRangeError(f"a slab dries from 1 or 2 faces, not {faces}")
    return slab_mm * (0.4 if faces == 1 else 0.2)


def in_slab_wait_h(edition_year: int) -> float:
    """Return hours between drilling and reading: 72 to 2016, 24 from 2017 on.

    ASTM F2170 by edition, second-hand (press notice on the edition published
    early in 2018).  That a record naming an edition of 2017 means that same text
    is an assumption; the wait is 72 h up to 2016 and 24 h from 2018 by the notice.

    Examples
    --------
    >>> in_slab_wait_h(2011), in_slab_wait_h(2018)
    (72.0, 24.0)
    """
    return 24.0 if edition_year >= 2017 else 72.0


@dataclass(frozen=True, slots=True)
class Emission:
    """Vapour emission in lb per 1000 ft2 per 24 h, with what the balance leaves open."""

    rate_lb: float
    resolution_lb: float

    @property
    def rate_g_m2(self) -> float:
        """The same rate in g per m2 per 24 h."""
        return self.rate_lb * POUND_KG * 1000 / (1000 * FOOT_M**2)


def emission_rate(
    gain_g: float,
    exposure_h: float,
    dome_area_ft2: float = DOME_AREA_FT2,
    balance_g: float = 0.1,
) -> Emission:
    """Return the emission rate from the mass a dish of salt has gained.

    24000 * gain / (453.612 * area * hours); the factor 453.612 is printed so in
    the method (ASTM F1869, second-hand).  The dome's area is an input because
    kits differ.  `balance_g` is the step of the balance.

    Examples
    --------
    >>> result = emission_rate(3.0, 72)
    >>> round(result.rate_lb, 4), round(result.resolution_lb, 3)
    (4.9555, 0.165)
    """
    check_range("mass gain in g", gain_g, at_least=0, up_to=1000)
    check_range("exposure in h", exposure_h, above=0, up_to=1000)
    check_range("dome area in ft2", dome_area_ft2, above=0, up_to=10)
    per_gram = 24000 / (453.612 * dome_area_ft2 * exposure_h)
    return Emission(per_gram * gain_g, per_gram * balance_g)


def _ft2(area_m2: float) -> float:
    return area_m2 / FOOT_M**2


def _first_then_per(first: int, first_area: float, step: float) -> Callable[[float], int]:
    def count(area: float) -> int:
        more = max(0.0, area - first_area)
        return first + math.ceil(round(more / step, 9))

    return count


READING_RULES: Mapping[str, Callable[[float], int]] = {
    "astm-f1869": lambda m2: _first_then_per(3, 1000, 1000)(_ft2(m2)),
    "astm-f2170": lambda m2: _first_then_per(3, 1000, 1000)(_ft2(m2)),
    "as-2455-indicative": lambda m2: max(4, math.ceil(round(m2 / 500, 9))),
    "as-2455-definitive": lambda m2: max(1, math.ceil(round(m2 / 100, 9))),
    "as-1884": _first_then_per(3, 100, 100),
    "astm-f3191": lambda m2: _first_then_per(3, 2000, 3000)(_ft2(m2)),
    "straightedge": lambda m2: max(1, math.ceil(round(m2 / 20, 9))),
}
"""Number of readings for an area in m2, by the rule's name."""


def readings_needed(area_m2: float, rule: str) -> int:
    """Return how many readings a rule asks for on `area_m2`.

    Examples
    --------
    >>> [readings_needed(250, r) for r in ("astm-f2170", "as-2455-indicative", "as-1884")]
    [5, 4, 5]
    """
    check_range("area in m2", area_m2, above=0, up_to=1e6)
    if rule not in READING_RULES:
        raise OutOfRangeError(f"rule {rule!r} is not known; known are {', '.join(READING_RULES)}")
    return READING_RULES[rule](area_m2)


BREAK_MM: Mapping[str, float] = {"cement-screed": 50.0, "calcium-sulfate-screed": 40.0}


def drying_days_at_least(kind: str, thickness_mm: float, faces: int = 1) -> float:
    """Return the least drying time of a screed in days, a lower bound only.

    One day a mm up to 50 mm (cement) or 40 mm (calcium sulfate), two days a mm
    above; half the thickness where both faces dry.  Second-hand (contractors'
    extracts of BS 8203/8204 commentary; trade guides).

    Examples
    --------
    >>> drying_days_at_least("cement-screed", 75), drying_days_at_least("calcium-sulfate-screed", 75)
    (100.0, 110.0)
    """
    check_range("thickness in mm", thickness_mm, above=0, up_to=1000)
    if kind not in BREAK_MM:
        raise OutOfRangeError(
            f"no drying rule for {kind!r}; there is one for {', '.join(BREAK_MM)}"
        )
    if faces not in (1, 2):
        raise OutOfRangeError(f"a screed dries from 1 or 2 faces, not {faces}")
    counted = thickness_mm / faces
    knee = BREAK_MM[kind]
    return min(counted, knee) + 2 * max(0.0, counted - knee)
