"""Lengths, angles and distances on a floor plan in metres; lines only."""

from __future__ import annotations

import math
from itertools import pairwise

from diagnose.record.model import Line, Point


def length_m(line: Line) -> float:
    """Return the length of a line through its points.

    Examples
    --------
    >>> length_m(((0, 0), (3, 4), (3, 5)))
    6.0
    """
    return sum(math.dist(a, b) for a, b in pairwise(line))


def direction_deg(line: Line) -> float | None:
    """Return the direction from the first to the last point, 0 to 180; None without length.

    Examples
    --------
    >>> direction_deg(((0, 0), (0, 2))), direction_deg(((3, 0), (1, 0)))
    (90.0, 0.0)
    """
    if len(line) < 2 or math.dist(line[0], line[-1]) < 1e-9:
        return None
    (x1, y1), (x2, y2) = line[0], line[-1]
    return math.degrees(math.atan2(y2 - y1, x2 - x1)) % 180


def angle_between_deg(one: float, other: float) -> float:
    """Return the acute angle between two directions.

    Examples
    --------
    >>> angle_between_deg(170, 10), angle_between_deg(0, 90)
    (20, 90)
    """
    apart = abs(one - other) % 180
    return min(apart, 180 - apart)


def turn_deg(one: float, other: float) -> float:
    """Return by how much two pile directions differ, 0 to 180.

    Examples
    --------
    >>> turn_deg(350, 10), turn_deg(90, 270)
    (20, 180)
    """
    apart = abs(one - other) % 360
    return min(apart, 360 - apart)


def to_line_m(point: Point, line: Line) -> float | None:
    """Return the distance of a point from a line through its points; None without one.

    Examples
    --------
    >>> to_line_m((1, 2), ((0, 0), (4, 0)))
    2.0
    """
    if not line:
        return None
    if len(line) == 1:
        return math.dist(point, line[0])
    return min(_to_stretch(point, a, b) for a, b in pairwise(line))


def lines_apart_m(one: Line, other: Line) -> float | None:
    """Return the least distance of two lines; 0 where they cross; None without lines.

    Examples
    --------
    >>> lines_apart_m(((0, 0), (4, 0)), ((2, -1), (2, 1)))
    0.0
    >>> lines_apart_m(((0, 0), (4, 0)), ((0, 3), (4, 3)))
    3.0
    """
    if not one or not other:
        return None
    if crosses(one, other):
        return 0.0
    ends = [to_line_m(point, other) for point in one] + [to_line_m(point, one) for point in other]
    return min(distance for distance in ends if distance is not None)


def crosses(one: Line, other: Line) -> bool:
    """Say whether two lines cross properly (touching ends do not count).

    Examples
    --------
    >>> crosses(((0, 0), (4, 0)), ((2, -1), (2, 1))), crosses(((0, 0), (4, 0)), ((2, 0), (2, 1)))
    (True, False)
    """
    return any(_cross(a, b, c, d) for a, b in pairwise(one) for c, d in pairwise(other))


def _cross(a: Point, b: Point, c: Point, d: Point) -> bool:
    return _side(a, b, c) * _side(a, b, d) < 0 and _side(c, d, a) * _side(c, d, b) < 0


def _side(a: Point, b: Point, p: Point) -> float:
    return (b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])


def _to_stretch(point: Point, a: Point, b: Point) -> float:
    long = math.dist(a, b)
    if long < 1e-12:
        return math.dist(point, a)
    share = ((point[0] - a[0]) * (b[0] - a[0]) + (point[1] - a[1]) * (b[1] - a[1])) / long**2
    share = min(1.0, max(0.0, share))
    near = (a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1]))
    return math.dist(point, near)


def area_m2(outline: Line) -> float:
    """Return the area inside an outline (shoelace).

    Examples
    --------
    >>> area_m2(((0, 0), (4, 0), (4, 3), (0, 3)))
    12.0
    """
    pairs = zip(outline, (*outline[1:], *outline[:1]), strict=True)
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in pairs)) / 2
