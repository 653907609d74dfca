"""Say whether two lines of a floor plan touch."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import TypeAlias

from diagnose.record.model import Line, Point

Segment: TypeAlias = tuple[Point, Point]

NEAR_M = 0.1
"""Lines drawn on site meet within this distance."""


def touches(line: Line, other: Line, *, outline: bool = False) -> bool:
    """Return whether `line` comes within 0.1 m of `other`, both in metres.

    With `outline` the other line is closed, and what lies inside it touches
    it.  A line that is not recorded is taken to touch: silence excludes nothing.

    Examples
    --------
    >>> touches(((8, 0), (8, 9)), ((0, 9), (11.4, 9)))
    True
    >>> touches(((1, 1), (2, 1)), ((0, 9), (11.4, 9)))
    False
    """
    if not line or not other:
        return True
    if outline and any(_inside(point, other) for point in line):
        return True
    own, others = _segments(line), _segments((*other, other[0]) if outline else other)
    return any(_gap(one, two) <= NEAR_M for one in own for two in others)


def _segments(line: Line) -> list[Segment]:
    return list(pairwise(line)) or [(line[0], line[0])]


def _gap(one: Segment, two: Segment) -> float:
    if _cross(one, two):
        return 0.0
    return min(
        *(_distance(point, two) for point in one),
        *(_distance(point, one) for point in two),
    )


def _distance(point: Point, segment: Segment) -> float:
    (ax, ay), (bx, by) = segment
    dx, dy = bx - ax, by - ay
    length = dx * dx + dy * dy
    along = ((point[0] - ax) * dx + (point[1] - ay) * dy) / length if length else 0.0
    along = min(1.0, max(0.0, along))
    return math.hypot(point[0] - ax - along * dx, point[1] - ay - along * dy)


def _cross(one: Segment, two: Segment) -> bool:
    return (
        _side(one, two[0]) * _side(one, two[1]) < 0 and _side(two, one[0]) * _side(two, one[1]) < 0
    )


def _side(segment: Segment, point: Point) -> float:
    (ax, ay), (bx, by) = segment
    return (bx - ax) * (point[1] - ay) - (by - ay) * (point[0] - ax)


def _inside(point: Point, outline: Line) -> bool:
    x, y = point
    inside = False
    for (ax, ay), (bx, by) in pairwise((*outline, outline[0])):
        if (ay > y) != (by > y) and x < (bx - ax) * (y - ay) / (by - ay) + ax:
            inside = not inside
    return inside
