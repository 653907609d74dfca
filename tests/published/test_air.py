"""Moist air against published tables and two independent libraries."""

from __future__ import annotations

import math
from collections.abc import Callable

import psychrolib
import pytest
from CoolProp.HumidAirProp import HAPropsSI

from diagnose.physics import air
from diagnose.physics.units import convert

psychrolib.SetUnitSystem(psychrolib.SI)

# ASHRAE Fundamentals (2017) ch. 1 table 3, second-hand through the tests of psychrolib.
# 0.5 %: the Magnus form is a fit; at 25 °C it reads 0.3 % low.
ASHRAE_SATURATION_PA = [(5, 872.6), (25, 3169.7), (50, 12351.3)]


@pytest.mark.parametrize(("air_c", "published"), ASHRAE_SATURATION_PA)
def test_saturation_pressure_of_the_ashrae_table(air_c: float, published: float) -> None:
    assert air.saturation_pressure_pa(air_c) == pytest.approx(published, rel=0.005)


# Same table, saturated humidity ratio, kg/kg; 0.5 % is also the tolerance that psychrolib's
# own test allows for the effects which it leaves out.
ASHRAE_SATURATED_RATIO = [(5, 0.005425), (25, 0.020173)]


@pytest.mark.parametrize(("air_c", "published"), ASHRAE_SATURATED_RATIO)
def test_saturated_mixing_ratio_of_the_ashrae_table(air_c: float, published: float) -> None:
    assert air.mixing_ratio(air_c, 100) == pytest.approx(published, rel=0.005)


# Same chapter, eq. 3 and table 1; heights in m, pressures in Pa; whole Pa are printed.
ASHRAE_PRESSURE_PA = [(0, 101_325), (500, 95_461), (1000, 89_875)]


@pytest.mark.parametrize(("height_m", "published"), ASHRAE_PRESSURE_PA)
def test_standard_pressure_of_the_ashrae_table(height_m: float, published: float) -> None:
    assert air.standard_pressure_pa(height_m) == pytest.approx(published, abs=0.6)


def test_ashrae_example_dew_point_of_dry_bulb_40_wet_bulb_20() -> None:
    # ASHRAE Fundamentals (2017) ch. 1 example 1, second-hand: dew point 7 °C, RH 14 %, ratio 0.0065,
    # all read off to the digits shown.  At 14 % (13.5 to 14.5) the dew point is 6.3 to 7.4 °C.
    assert air.dew_point_c(40, 14) == pytest.approx(7, abs=0.5)
    assert air.mixing_ratio(40, 14) == pytest.approx(0.0065, abs=0.0003)


# A printed dew-point chart in whole °F, its own rounding unknown; another formula than Magnus
# (Magnus reads up to 1.6 °F higher), so 2 °F is all that it can show.
CHART_F = [
    (50, 80, 44),
    (60, 50, 40),
    (60, 65, 47),
    (60, 70, 50),
    (70, 40, 43),
    (70, 50, 50),
    (70, 60, 55),
    (70, 65, 57),
    (70, 75, 62),
    (80, 50, 59),
    (80, 65, 67),
    (90, 80, 83),
]


@pytest.mark.parametrize(("air_f", "humidity", "printed_f"), CHART_F)
def test_dew_point_of_a_printed_chart(air_f: float, humidity: float, printed_f: float) -> None:
    dew_f = convert(air.dew_point_c(convert(air_f, "F", "C"), humidity), "C", "F")
    assert dew_f == pytest.approx(printed_f, abs=2)


def test_dew_point_of_a_coatings_glossary() -> None:
    # Published as "condensation at 20 °C or below" for 30 °C and 55 % RH: whole degrees.
    assert air.dew_point_c(30, 55) == pytest.approx(20, abs=0.5)


def magnus(factor: float, constant_c: float) -> Callable[[float, float], float]:
    """Return the dew point by another published set of the Magnus form."""

    def dew(air_c: float, humidity: float) -> float:
        gamma = math.log(humidity / 100) + factor * air_c / (constant_c + air_c)
        return constant_c * gamma / (factor - gamma)

    return dew


# Sets on a calculator page (17.625, 243.04) and a science page (17.27, 237.7); an instrument
# maker's form in powers of ten (7.591386, 240.7263), the same as 17.4798.  All second-hand.
OTHER_SETS = [(17.625, 243.04), (17.27, 237.7), (7.591386 * math.log(10), 240.7263)]


@pytest.mark.parametrize(("factor", "constant_c"), OTHER_SETS)
@pytest.mark.parametrize(
    ("air_c", "humidity"),
    [(20, 50), (20, 60), (20, 65), (25, 60), (18, 65), (18, 75), (15, 70), (10, 80), (22, 40)],
)
def test_other_published_sets_agree_in_a_room(
    factor: float, constant_c: float, air_c: float, humidity: float
) -> None:
    # The sets differ from each other by 0.02 K at most in a room.
    expected = magnus(factor, constant_c)(air_c, humidity)
    assert air.dew_point_c(air_c, humidity) == pytest.approx(expected, abs=0.02)


GRID_C = (0.5, 5, 10, 15, 20, 25, 30, 35, 40)
GRID_RH = (10, 30, 50, 65, 80, 100)


@pytest.mark.parametrize("air_c", GRID_C)
@pytest.mark.parametrize("humidity", GRID_RH)
def test_dew_point_against_psychrolib(air_c: float, humidity: float) -> None:
    # psychrolib solves the ASHRAE equations, which pass to ice below 0 °C; there Magnus over
    # water is another quantity.  Above, 0.06 K: the 0.3 % of Magnus is 0.05 K of dew point.
    theirs = psychrolib.GetTDewPointFromRelHum(air_c, humidity / 100)
    ours = air.dew_point_c(air_c, humidity)
    if theirs > 0:
        assert ours == pytest.approx(theirs, abs=0.06)
    else:
        assert ours <= theirs + 0.06


@pytest.mark.parametrize("air_c", GRID_C)
@pytest.mark.parametrize("humidity", GRID_RH)
def test_mixing_ratio_between_the_libraries(air_c: float, humidity: float) -> None:
    # CoolProp counts the real gas (ASHRAE RP-1485), psychrolib the ideal one.
    real = HAPropsSI("W", "T", air_c + 273.15, "P", 101_325, "R", humidity / 100)
    ideal = psychrolib.GetHumRatioFromRelHum(air_c, humidity / 100, 101_325)
    ours = air.mixing_ratio(air_c, humidity)
    assert ours == pytest.approx(real, rel=0.006)
    assert ours == pytest.approx(ideal, rel=0.006)


@pytest.mark.parametrize("air_c", GRID_C)
def test_saturation_pressure_against_coolprop_of_pure_water(air_c: float) -> None:
    # IAPWS-95 in CoolProp; 0.4 % is the largest departure of the Magnus form up to 40 °C.
    from CoolProp.CoolProp import PropsSI

    pure = PropsSI("P", "T", air_c + 273.15, "Q", 0, "Water")
    assert air.saturation_pressure_pa(air_c) == pytest.approx(pure, rel=0.004)


@pytest.mark.parametrize("pressure_pa", [70_000, 85_000, 95_000, 101_325])
def test_enhancement_factor_against_coolprop(pressure_pa: float) -> None:
    # Vapour in air over vapour alone at 20 °C.  Buck's form has no temperature: 0.0006.
    from CoolProp.CoolProp import PropsSI

    in_air = HAPropsSI("P_w", "T", 293.15, "P", pressure_pa, "R", 1)
    alone = PropsSI("P", "T", 293.15, "Q", 0, "Water")
    assert air.enhancement_factor(pressure_pa) == pytest.approx(in_air / alone, abs=6e-4)


@pytest.mark.parametrize("height_m", [-400, 0, 250, 500, 1000, 2000, 3000])
def test_standard_pressure_against_psychrolib(height_m: float) -> None:
    # The same published equation: only rounding may differ.
    theirs = psychrolib.GetStandardAtmPressure(height_m)
    assert air.standard_pressure_pa(height_m) == pytest.approx(theirs, rel=1e-9)
