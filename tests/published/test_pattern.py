"""Pattern, stretch, tiles and geometry against published examples."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely import LineString, Point

from diagnose.physics import pattern, seam, stretch, tile
from diagnose.physics.flatness import regularity_class
from diagnose.physics.units import convert

INCH_MM = 25.4
FOOT_MM = 304.8


def test_a_breadth_too_wide_for_its_pattern() -> None:
    # A German trade article's example: breadth 392 cm, repeat 195.1 cm, two repeats 390.2 cm:
    # 1.8 cm too wide.
    repeats, trim_mm = pattern.width_to_trim_mm(3920, 1951)
    assert repeats == 2
    assert trim_mm == pytest.approx(18)


def test_a_breadth_too_narrow_for_its_last_repeat() -> None:
    # Trade article: repeat 18 1/4 in, eight need 146 in = 12 ft 2 in; delivered 145 3/4 in.
    full, none_over = pattern.width_to_trim_mm(8 * 18.25 * INCH_MM, 18.25 * INCH_MM)
    short, _ = pattern.width_to_trim_mm(145.75 * INCH_MM, 18.25 * INCH_MM)
    assert (full, short) == (8, 7)
    assert none_over == pytest.approx(0, abs=1e-6)
    assert pytest.approx(12 * 12 + 2) == 8 * 18.25


def test_an_inch_to_trim_at_either_edge() -> None:
    # Trade guide: 12 ft 2 in with a repeat of 1 ft leaves 1 in an edge; 11 ft 11 in loses one.
    repeats, trim_mm = pattern.width_to_trim_mm(12 * FOOT_MM + 2 * INCH_MM, FOOT_MM)
    assert repeats == 12
    assert trim_mm / 2 == pytest.approx(INCH_MM)
    lost, over_mm = pattern.width_to_trim_mm(11 * FOOT_MM + 11 * INCH_MM, FOOT_MM)
    assert lost == 11
    assert 11 * FOOT_MM + 11 * INCH_MM - over_mm == pytest.approx(11 * FOOT_MM)


@pytest.mark.parametrize(
    ("inches", "mm_per_m", "on_four_metres_mm"),
    # The limits of 2 in skew and 1 in bow in 12 ft are published by a trade association (CFI);
    # the conversions are computed.
    [(2, 13.9, 56), (1, 6.9, 28)],
)
def test_bow_and_skew_per_metre(inches: float, mm_per_m: float, on_four_metres_mm: float) -> None:
    found = pattern.per_breadth_mm_m(inches * INCH_MM, 12 * FOOT_MM)
    assert found == pytest.approx(mm_per_m, abs=0.05)
    assert convert(inches, "in per 12 ft", "mm/m") == pytest.approx(found, rel=1e-12)
    assert found * 4 == pytest.approx(on_four_metres_mm, abs=0.5)


def test_split_of_the_drift() -> None:
    # A German expert's note: the match set in mid-room halves the drift at either end.
    assert pattern.split_drift_mm(60) == 30


@pytest.mark.parametrize(("before", "after", "percent"), [(6000, 6060, 1.0), (9144, 9327, 2.0)])
def test_stretch_of_published_least(before: float, after: float, percent: float) -> None:
    # Carpet Installation Standard (2011) 16.5.2 asks at least 1 %; glossaries say 1 to 2 %.
    assert stretch.stretch_percent(before, after) == pytest.approx(percent, abs=0.01)


@pytest.mark.parametrize(
    ("gaps", "name"),
    # BS 8204 as reported by the Concrete Society: SR1 3 mm, SR2 5 mm, SR3 10 mm under 2 m.
    [
        ([3.0], "SR1"),
        ([3.1], "SR2"),
        ([5.0], "SR2"),
        ([5.1], "SR3"),
        ([10.0], "SR3"),
        ([10.1], "none"),
    ],
)
def test_classes_of_regularity(gaps: list[float], name: str) -> None:
    assert regularity_class(gaps) == name


@pytest.mark.parametrize("room_mm", [3010, 4130, 4250, 5200, 7499])
def test_edge_tiles_reach_half_a_tile(room_mm: float) -> None:
    # NBS M50 cl. 610 (read as extract): equal edge tiles, each over half a tile where possible.
    assert tile.edge_fraction(room_mm, 500) > 0.5


@pytest.mark.parametrize("surplus_mm", [0.2, 0.5, 1, 2, 4])
@pytest.mark.parametrize("half_width_mm", [20, 40, 100])
def test_tent_is_as_long_as_the_carpet_that_makes_it(
    surplus_mm: float, half_width_mm: float
) -> None:
    # shapely measures the two legs; the geometry is exact.
    height = seam.peak_height_mm(surplus_mm, half_width_mm)
    legs = LineString([(-half_width_mm, 0), (0, height), (half_width_mm, 0)])
    assert legs.length == pytest.approx(2 * half_width_mm + surplus_mm, rel=1e-12)
    assert legs.distance(Point(0, height)) == 0


@pytest.mark.parametrize("surplus_mm", [0.2, 0.5, 1, 2])
def test_shallow_arch_against_an_arc_of_a_circle(surplus_mm: float) -> None:
    # numpy measures an arc of 20 001 points; the series leaves out the fourth power of height
    # over chord, under 1 % here.
    half = 40.0
    height = seam.peak_height_mm(surplus_mm, half, "arch")
    radius = (half**2 + height**2) / (2 * height)
    angle = math.asin(half / radius)
    at = np.linspace(-angle, angle, 20_001)
    steps = np.hypot(np.diff(radius * np.sin(at)), np.diff(radius * np.cos(at)))
    assert float(steps.sum()) - 2 * half == pytest.approx(surplus_mm, rel=0.01)
