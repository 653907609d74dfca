"""Moist air: saturation, dew point, mixing ratio, and a floor's margin over dew.

References
----------
.. [1] Magnus form over water, 611.2 Pa, 17.62 and 243.12 °C, the set of the
   World Meteorological Organization, read on a German building-physics page.
.. [2] ASHRAE Fundamentals (2017) ch. 1 for the check values in the tests,
   second-hand through the tests of an open library.
.. [3] Buck (1981), J. Appl. Meteorology 20, 1527: vapour over water in air at
   a pressure is higher than over water alone by 1.0007 + 3.46e-6 P (P in hPa).
   Second-hand through several open programs.
"""

from __future__ import annotations

import math

from diagnose.physics.guard import check_range

MAGNUS_PA = 611.2
MAGNUS_FACTOR = 17.62
MAGNUS_C = 243.12
STANDARD_PRESSURE_PA = 101_325.0
WATER_TO_AIR = 0.621945
"""Ratio of the molar masses of water and dry air (ASHRAE, second-hand)."""


def saturation_pressure_pa(air_c: float) -> float:
    """Return the saturation pressure of water vapour over water, in Pa.

    `air_c` is the temperature in °C, -40 to 60; below 0 °C the value is that
    over undercooled water, not over ice.

    Examples
    --------
    >>> round(saturation_pressure_pa(25), 1)
    3160.1
    """
    check_range("air temperature in °C", air_c, at_least=-40, up_to=60)
    return MAGNUS_PA * math.exp(MAGNUS_FACTOR * air_c / (MAGNUS_C + air_c))


def vapour_pressure_pa(air_c: float, humidity_percent: float) -> float:
    """Return the vapour pressure in Pa of air at `humidity_percent` RH.

    Examples
    --------
    >>> round(vapour_pressure_pa(20, 50))
    1166
    """
    check_range("relative humidity in %", humidity_percent, at_least=0, up_to=100)
    return saturation_pressure_pa(air_c) * humidity_percent / 100


def dew_point_c(air_c: float, humidity_percent: float) -> float:
    """Return the dew point in °C of air at `air_c` °C and `humidity_percent` RH.

    Examples
    --------
    >>> round(dew_point_c(30, 55), 2)
    19.97
    """
    check_range("air temperature in °C", air_c, at_least=-40, up_to=60)
    check_range("relative humidity in %", humidity_percent, above=0, up_to=100)
    gamma = math.log(humidity_percent / 100) + MAGNUS_FACTOR * air_c / (MAGNUS_C + air_c)
    return MAGNUS_C * gamma / (MAGNUS_FACTOR - gamma)


def enhancement_factor(pressure_pa: float = STANDARD_PRESSURE_PA) -> float:
    """Return by what factor air at a pressure holds more vapour than empty space.

    About 1.004 near sea level; the tables of ASHRAE contain it, the saturation
    pressure over pure water does not [3]_.

    Examples
    --------
    >>> round(enhancement_factor(), 4)
    1.0042
    """
    check_range("air pressure in Pa", pressure_pa, at_least=50_000, up_to=110_000)
    return 1.0007 + 3.46e-8 * pressure_pa


def mixing_ratio(
    air_c: float, humidity_percent: float, pressure_pa: float = STANDARD_PRESSURE_PA
) -> float:
    """Return kg of water vapour per kg of dry air.

    Within 0.5 % of the ASHRAE table of saturated moist air from 5 to 40 °C:
    what is left is the Magnus form, which reads low by up to 0.35 %.

    Examples
    --------
    >>> round(mixing_ratio(25, 100), 4)
    0.0201
    """
    factor = enhancement_factor(pressure_pa)
    vapour = factor * vapour_pressure_pa(air_c, humidity_percent)
    return WATER_TO_AIR * vapour / (pressure_pa - vapour)


def margin_over_dew_point_k(floor_c: float, air_c: float, humidity_percent: float) -> float:
    """Return by how many K a floor surface is warmer than the dew point.

    Examples
    --------
    >>> round(margin_over_dew_point_k(15, 20, 65), 1)
    1.8
    """
    return floor_c - dew_point_c(air_c, humidity_percent)


def standard_pressure_pa(height_m: float) -> float:
    """Return the air pressure of the standard atmosphere at a height in m.

    ASHRAE Fundamentals (2017) ch. 1 eq. 3, second-hand.

    Examples
    --------
    >>> round(standard_pressure_pa(500))
    95461
    """
    check_range("height in m", height_m, at_least=-500, up_to=11_000)
    return float(STANDARD_PRESSURE_PA * (1 - 2.25577e-5 * height_m) ** 5.2559)
