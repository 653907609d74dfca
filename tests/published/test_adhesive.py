"""Notches, coverages and sealer yields against printed figures."""

from __future__ import annotations

import pytest

from diagnose.physics.adhesive import needed, parse_notch
from diagnose.physics.sealer import bead_ml_per_m
from diagnose.physics.units import convert, litres_per_m2_from_ft2_per_gallon

# Coverages as one adhesive sheet prints them, in ft2 per US gallon, and the m2 per litre given
# beside them to two decimals (second-hand).
PRINTED = [
    (72, 1.77),
    (90, 2.21),
    (65, 1.60),
    (75, 1.84),
    (110, 2.70),
]


@pytest.mark.parametrize(("ft2_per_gallon", "m2_per_litre"), PRINTED)
def test_coverage_in_both_units(ft2_per_gallon: float, m2_per_litre: float) -> None:
    rate = litres_per_m2_from_ft2_per_gallon(ft2_per_gallon)
    assert 1 / rate == pytest.approx(m2_per_litre, abs=0.006)


def test_hundred_square_feet_a_gallon() -> None:
    # Computed from the exact foot and gallon: 2.454 m2/L.
    assert 1 / litres_per_m2_from_ft2_per_gallon(100) == pytest.approx(2.454, abs=5e-4)


def test_a_printed_rule_for_containers() -> None:
    # An adhesive maker's tips page: 19 ft2 a litre on 3.78 L gives 71.8 ft2 a container.
    area_m2 = convert(71.8, "ft2", "m2")
    per_m2 = 1 / convert(19, "ft2", "m2")
    assert needed(area_m2, per_m2) == pytest.approx(3.78, abs=0.002)


@pytest.mark.parametrize(
    ("text", "full_l_m2", "full_ft2_gal"),
    # Computed from the geometry; whole groove, which no trowel leaves standing.
    [("1/8 x 1/8 x 1/16 V", 1.058, 38.5), ("1/8 x 1/8 x 1/8 U", 1.417, 28.8)],
)
def test_full_groove(text: str, full_l_m2: float, full_ft2_gal: float) -> None:
    notch = parse_notch(text)
    assert notch.full_l_m2 == pytest.approx(full_l_m2, abs=5e-4)
    assert litres_per_m2_from_ft2_per_gallon(full_ft2_gal) == pytest.approx(full_l_m2, abs=0.003)


@pytest.mark.parametrize(
    ("text", "low_ft2_gal", "high_ft2_gal"),
    # The same adhesive sheet: coverages printed for these two notches.
    [("1/8 x 1/8 x 1/16 V", 72, 90), ("1/8 x 1/8 x 1/8 U", 65, 75)],
)
def test_printed_coverages_lie_in_the_likely_band(
    text: str, low_ft2_gal: float, high_ft2_gal: float
) -> None:
    low, high = parse_notch(text).likely_l_m2
    for coverage in (low_ft2_gal, high_ft2_gal):
        assert low <= litres_per_m2_from_ft2_per_gallon(coverage) <= high


@pytest.mark.parametrize(
    ("volume_l", "metres"),
    # Computed, no yield is published: a round bead of 1/8 in gives 126 m a litre, 60 m a US pint.
    [(1.0, 126), (0.473176, 60), (0.25, 31.6)],
)
def test_yield_of_a_round_bead(volume_l: float, metres: float) -> None:
    assert volume_l * 1000 / bead_ml_per_m(3.175) == pytest.approx(metres, abs=0.6)


def test_a_half_round_bead_goes_twice_as_far() -> None:
    assert bead_ml_per_m(3.175) == pytest.approx(2 * bead_ml_per_m(3.175, half_round=True))
