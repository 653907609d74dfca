"""Lines and areas on a plan against shapely and numpy."""

from __future__ import annotations

import math

import numpy as np
import pytest
from shapely import LineString, Point, Polygon

from diagnose.physics import lines, shapes

DRAW = np.random.default_rng(5325)
# Lengths and distances are the same geometry: only rounding may differ.
ROUNDING = 1e-9


def some_lines(count: int, points: int) -> list[tuple[tuple[float, float], ...]]:
    return [
        tuple((float(x), float(y)) for x, y in DRAW.uniform(0, 20, (points, 2)))
        for _ in range(count)
    ]


@pytest.mark.parametrize("line", some_lines(10, 4))
def test_length_and_distance_to_a_point(line: lines.Line) -> None:
    theirs = LineString(line)
    assert lines.length_m(line) == pytest.approx(theirs.length, abs=ROUNDING)
    for point in ((0.0, 0.0), (10.0, 10.0), (3.0, 17.0), line[0]):
        expected = theirs.distance(Point(point))
        assert lines.distance_to_point_m(line, point) == pytest.approx(expected, abs=ROUNDING)


@pytest.mark.parametrize(
    ("one", "other"), list(zip(some_lines(20, 3), some_lines(20, 3), strict=True))
)
def test_distance_and_crossings_of_two_lines(one: lines.Line, other: lines.Line) -> None:
    first, second = LineString(one), LineString(other)
    assert lines.distance_m(one, other) == pytest.approx(first.distance(second), abs=ROUNDING)
    meeting = first.intersection(second)
    points = 0 if meeting.is_empty else len(getattr(meeting, "geoms", [meeting]))
    assert lines.crossings(one, other) == points


@pytest.mark.parametrize(
    ("one", "other"), list(zip(some_lines(20, 2), some_lines(20, 2), strict=True))
)
def test_angle_against_numpy(one: lines.Line, other: lines.Line) -> None:
    first, second = np.subtract(one[1], one[0]), np.subtract(other[1], other[0])
    cosine = abs(first @ second) / (np.linalg.norm(first) * np.linalg.norm(second))
    expected = math.degrees(math.acos(min(1.0, float(cosine))))
    # The arc cosine loses half the digits near 0 degrees.
    assert lines.angle_between_deg(one, other) == pytest.approx(expected, abs=1e-5)


def rectangle(x: float, y: float, wide: float, deep: float) -> lines.Line:
    return ((x, y), (x + wide, y), (x + wide, y + deep), (x, y + deep))


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (rectangle(0, 0, 4, 9), rectangle(4, 0, 4, 9)),
        (rectangle(0, 0, 4, 9), rectangle(4, 3, 2, 20)),
        (rectangle(0, 0, 4, 9), rectangle(1, 9, 2, 4)),
        (rectangle(0, 0, 4, 9), ((4, 2), (8, 2), (8, 6), (5, 8), (4, 7))),
    ],
)
def test_joins_are_as_long_as_the_shared_boundary(one: lines.Line, other: lines.Line) -> None:
    shared = Polygon(one).boundary.intersection(Polygon(other).boundary).length
    (join,) = shapes.joins({"one": one, "other": other})
    assert join.length_m == pytest.approx(shared, abs=5e-4)


def test_area_of_a_stepped_room() -> None:
    room = ((0, 0), (9, 0), (9, 3), (5, 3), (5, 6), (0, 6))
    assert shapes.area_m2(room) == 9 * 3 + 5 * 3


def test_turned_rooms_keep_their_long_axis() -> None:
    for turn in range(0, 180, 15):
        c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
        room = tuple((x * c - y * s, x * s + y * c) for x, y in rectangle(0, 0, 9, 4))
        found = shapes.long_axis_deg(room)
        assert min(abs(found - turn), 180 - abs(found - turn)) == pytest.approx(0, abs=1e-6)
