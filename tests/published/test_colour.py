"""Colour against the published CIEDE2000 pairs, the printed grey scale and colour-science."""

from __future__ import annotations

import colour
import numpy as np
import pytest

from diagnose.physics.colour import (
    STEP_DELTA_E,
    WHITE_D65_10,
    Lab,
    delta_e_76,
    delta_e_2000,
    grade_word,
    grey_scale_difference,
    grey_scale_grade,
    lab_from_xyz,
    light_reflectance_percent,
)

# Sharma, Wu, Dalal (2005), Color Res. Appl. 30, 21, table 1, with the data file of the authors:
# L a b, L a b, difference.  All are printed to four decimals.
PAIRS = """
50.0000   2.6772 -79.7751  50.0000   0.0000 -82.7485   2.0425
50.0000   3.1571 -77.2803  50.0000   0.0000 -82.7485   2.8615
50.0000   2.8361 -74.0200  50.0000   0.0000 -82.7485   3.4412
50.0000  -1.3802 -84.2814  50.0000   0.0000 -82.7485   1.0000
50.0000  -1.1848 -84.8006  50.0000   0.0000 -82.7485   1.0000
50.0000  -0.9009 -85.5211  50.0000   0.0000 -82.7485   1.0000
50.0000   0.0000   0.0000  50.0000  -1.0000   2.0000   2.3669
50.0000  -1.0000   2.0000  50.0000   0.0000   0.0000   2.3669
50.0000   2.4900  -0.0010  50.0000  -2.4900   0.0009   7.1792
50.0000   2.4900  -0.0010  50.0000  -2.4900   0.0010   7.1792
50.0000   2.4900  -0.0010  50.0000  -2.4900   0.0011   7.2195
50.0000   2.4900  -0.0010  50.0000  -2.4900   0.0012   7.2195
50.0000  -0.0010   2.4900  50.0000   0.0009  -2.4900   4.8045
50.0000  -0.0010   2.4900  50.0000   0.0010  -2.4900   4.8045
50.0000  -0.0010   2.4900  50.0000   0.0011  -2.4900   4.7461
50.0000   2.5000   0.0000  50.0000   0.0000  -2.5000   4.3065
50.0000   2.5000   0.0000  73.0000  25.0000 -18.0000  27.1492
50.0000   2.5000   0.0000  61.0000  -5.0000  29.0000  22.8977
50.0000   2.5000   0.0000  56.0000 -27.0000  -3.0000  31.9030
50.0000   2.5000   0.0000  58.0000  24.0000  15.0000  19.4535
50.0000   2.5000   0.0000  50.0000   3.1736   0.5854   1.0000
50.0000   2.5000   0.0000  50.0000   3.2972   0.0000   1.0000
50.0000   2.5000   0.0000  50.0000   1.8634   0.5757   1.0000
50.0000   2.5000   0.0000  50.0000   3.2592   0.3350   1.0000
60.2574 -34.0099  36.2677  60.4626 -34.1751  39.4387   1.2644
63.0109 -31.0961  -5.8663  62.8187 -29.7946  -4.0864   1.2630
61.2901   3.7196  -5.3901  61.4292   2.2480  -4.9620   1.8731
35.0831 -44.1164   3.7933  35.0232 -40.0716   1.5901   1.8645
22.7233  20.0904 -46.6940  23.0331  14.9730 -42.5619   2.0373
36.4612  47.8580  18.3852  36.2715  50.5065  21.2231   1.4146
90.8027  -2.0831   1.4410  91.1528  -1.6435   0.0447   1.4441
90.9257  -0.5406  -0.9208  88.6381  -0.8985  -0.7239   1.5381
 6.7747  -0.2908  -2.4247   5.8714  -0.0985  -2.2286   0.6377
 2.0776   0.0795  -1.1350   0.9033  -0.0636  -0.5514   0.9082
"""
ROWS = [tuple(float(part) for part in line.split()) for line in PAIRS.strip().splitlines()]
ON_THE_BREAK = 13
"""Row whose hues lie exactly opposite: 4.8045 or 4.7461 by the last bit of rounding."""


def test_there_are_34_pairs() -> None:
    assert len(ROWS) == 34


@pytest.mark.parametrize("row", range(34))
def test_ciede2000_of_the_published_pairs(row: int) -> None:
    *colours, published = ROWS[row]
    one, other = Lab(*colours[:3]), Lab(*colours[3:])
    tolerance = 0.1 if row == ON_THE_BREAK else 5.1e-5
    assert delta_e_2000(one, other) == pytest.approx(published, abs=tolerance)
    assert delta_e_2000(other, one) == pytest.approx(published, abs=tolerance)


def test_ciede2000_against_colour_science_over_a_grid() -> None:
    # Same formula, other program; apart only by rounding but for hues exactly opposite, which the seed avoids.
    draw = np.random.default_rng(20050130)
    ones = draw.uniform((0, -90, -90), (100, 90, 90), (400, 3))
    others = draw.uniform((0, -90, -90), (100, 90, 90), (400, 3))
    theirs = colour.delta_E(ones, others, method="CIE 2000")
    ours = [
        delta_e_2000(Lab(*map(float, p)), Lab(*map(float, q)))
        for p, q in zip(ones, others, strict=True)
    ]
    assert ours == pytest.approx(theirs.tolist(), abs=1e-9)


def test_cielab_difference_against_colour_science() -> None:
    draw = np.random.default_rng(1976)
    ones = draw.uniform((0, -90, -90), (100, 90, 90), (50, 3))
    others = draw.uniform((0, -90, -90), (100, 90, 90), (50, 3))
    theirs = colour.delta_E(ones, others, method="CIE 1976")
    ours = [
        delta_e_76(Lab(*map(float, p)), Lab(*map(float, q)))
        for p, q in zip(ones, others, strict=True)
    ]
    assert ours == pytest.approx(theirs.tolist(), abs=1e-10)


def test_cielab_from_xyz_against_colour_science() -> None:
    # Their white is given to them as chromaticities of ours, so only rounding remains.
    draw = np.random.default_rng(1931)
    white = np.array(WHITE_D65_10) / 100
    xy = colour.XYZ_to_xy(white)
    for xyz in [*draw.uniform(0.1, 90, (60, 3)), np.array([0.2, 0.3, 0.4])]:
        ours = lab_from_xyz(*map(float, xyz))
        theirs = colour.XYZ_to_Lab(xyz / 100, xy)
        assert [ours.lightness, ours.a, ours.b] == pytest.approx(theirs.tolist(), abs=1e-6)


@pytest.mark.parametrize("lightness", [0, 4, 8, 8.1, 20, 37.5, 50, 75, 100])
def test_light_reflectance_against_colour_science(lightness: float) -> None:
    theirs = float(colour.colorimetry.luminance_CIE1976(lightness, 100))
    assert light_reflectance_percent(lightness) == pytest.approx(theirs, abs=1e-6)


# ISO 105-A02 (1993) 2.4, read as scan: each step with its printed tolerance.
STEPS = [
    ("5", 0.0, 0.2),
    ("4-5", 0.8, 0.2),
    ("4", 1.7, 0.3),
    ("3-4", 2.5, 0.35),
    ("3", 3.4, 0.4),
    ("2-3", 4.8, 0.5),
    ("2", 6.8, 0.6),
    ("1-2", 9.6, 0.7),
    ("1", 13.6, 1.0),
]


@pytest.mark.parametrize(("step", "delta_e", "tolerance"), STEPS)
def test_the_formula_of_a05_returns_every_printed_step(
    step: str, delta_e: float, tolerance: float
) -> None:
    assert STEP_DELTA_E[step] == delta_e
    assert grade_word(grey_scale_grade(delta_e)) == step
    # Greys of exactly that difference: the weakening terms have no part in it.
    assert grey_scale_difference(Lab(60, 0, 0), Lab(60 - delta_e, 0, 0)) == pytest.approx(delta_e)
    # Half the printed tolerance off, the chip still belongs to its own step.
    for off in (-tolerance / 2, tolerance / 2):
        assert grade_word(grey_scale_grade(max(0.0, delta_e + off))) == step


@pytest.mark.parametrize(
    ("difference", "grade"),
    # Computed from the formula by hand, three decimals.
    [(0.8, 4.529), (2.5, 3.529), (4.8, 2.503), (6.8, 2.0), (9.6, 1.503), (13.6, 1.0)],
)
def test_grades_computed_by_hand(difference: float, grade: float) -> None:
    assert grey_scale_grade(difference) == pytest.approx(grade, abs=6e-4)


def test_both_branches_meet() -> None:
    assert grey_scale_grade(3.4) == pytest.approx(3.0)
    assert grey_scale_grade(3.4 + 1e-9) == pytest.approx(3.0)


@pytest.mark.parametrize(
    ("one", "other", "difference"),
    # Regression only: ISO 105-A05 7 is from memory, so these values are not published.
    [
        ((45, 10, 15), (46, 11, 17), 2.1944),
        ((40, 5, -30), (42, 4, -26), 3.0861),
    ],
)
def test_weakened_difference_stays_as_it_was_computed(
    one: tuple[float, float, float], other: tuple[float, float, float], difference: float
) -> None:
    assert grey_scale_difference(Lab(*one), Lab(*other)) == pytest.approx(difference, abs=5e-5)
