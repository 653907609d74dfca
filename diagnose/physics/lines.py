"""Lines on a plan: length, angle, distance, crossings, without any library.

Plan coordinates are metres, x to the right and y up; directions are degrees,
0 along +x and anticlockwise.  A line of several straight parts counts each part
by its length.  All of it is geometry; the tests compare it with shapely.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Iterator

from diagnose.physics.guard import OutOfRangeError, check_range

Point = tuple[float, float]
Line = tuple[Point, ...]

ON_LINE_M = 0.005
"""Two points nearer than this are one point on a plan."""


def length_m(line: Line) -> float:
    """Return the length of a line in m.

    Examples
    --------
    >>> length_m(((0, 0), (3, 4), (3, 5)))
    6.0
    """
    return sum(math.dist(start, end) for start, end in parts(line))


def angle_between_deg(one: Line, other: Line) -> float:
    """Return the angle between two lines, 0 (along) to 90 (across).

    Of `other` only the way from its first to its last point counts.

    Examples
    --------
    >>> angle_between_deg(((0, 0), (5, 0)), ((1, 1), (1, 4)))
    90.0
    """
    return angle_to_direction_deg(one, heading_deg(other))


def angle_to_direction_deg(line: Line, direction_deg: float) -> float:
    """Return the angle between a line and a direction, 0 (along) to 90 (across).

    Examples
    --------
    >>> round(angle_to_direction_deg(((0, 0), (1, 1)), 180), 6)
    45.0
    """
    whole = length_m(line)
    return sum(
        math.dist(start, end) * _acute(_heading_deg(start, end) - direction_deg)
        for start, end in parts(line)
    ) / (whole or 1)


def distance_to_point_m(line: Line, point: Point) -> float:
    """Return the shortest distance from a line to a point, in m.

    Examples
    --------
    >>> distance_to_point_m(((0, 0), (4, 0)), (7, 4))
    5.0
    """
    return min(_to_part_m(point, start, end) for start, end in parts(line))


def nearest_m(line: Line, points: Iterable[Point]) -> float | None:
    """Return the distance to the nearest of some points (pivots); None without any.

    Examples
    --------
    >>> nearest_m(((0, 0), (4, 0)), [(1, 2), (3, 1)])
    1.0
    """
    return min((distance_to_point_m(line, point) for point in points), default=None)


def distance_m(one: Line, other: Line) -> float:
    """Return the shortest distance between two lines, in m; 0 where they meet.

    Examples
    --------
    >>> distance_m(((0, 0), (4, 0)), ((2, 3), (2, 9)))
    3.0
    """
    if crossings(one, other):
        return 0.0
    ends = [distance_to_point_m(one, point) for point in other]
    return min(ends + [distance_to_point_m(other, point) for point in one])


def crossings(one: Line, other: Line) -> int:
    """Return how many times two lines cross, touching at an end included.

    Lines that run along each other do not cross.

    Examples
    --------
    >>> crossings(((0, 0), (4, 0)), ((1, -1), (1, 1), (2, 1), (2, -1)))
    2
    """
    found: list[Point] = []
    for start, end in parts(one):
        for begin, stop in parts(other):
            point = _meeting(start, end, begin, stop)
            if point and all(math.dist(point, other) > ON_LINE_M for other in found):
                found.append(point)
    return len(found)


def parts(line: Line) -> Iterator[tuple[Point, Point]]:
    """Return the straight parts of a line, start and end of each."""
    if len(line) < 2:
        raise OutOfRangeError(f"a line needs two points; there is {len(line)}")
    for x, y in line:
        check_range("place on the plan in m", max(abs(x), abs(y)), up_to=1e5)
    if all(point == line[0] for point in line):
        raise OutOfRangeError("a line has no length")
    return itertools.pairwise(line)


def heading_deg(line: Line) -> float:
    """Return the direction from the first to the last point of a line."""
    parts(line)
    if line[0] == line[-1]:
        raise OutOfRangeError("a line that ends where it starts has no direction")
    return _heading_deg(line[0], line[-1])


def _heading_deg(start: Point, end: Point) -> float:
    return math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))


def _acute(turn_deg: float) -> float:
    turn = abs(turn_deg) % 180
    return min(turn, 180 - turn)


def _to_part_m(point: Point, start: Point, end: Point) -> float:
    along = (end[0] - start[0], end[1] - start[1])
    square = along[0] ** 2 + along[1] ** 2
    if square == 0:
        return math.dist(point, start)
    share = ((point[0] - start[0]) * along[0] + (point[1] - start[1]) * along[1]) / square
    share = min(1.0, max(0.0, share))
    return math.dist(point, (start[0] + share * along[0], start[1] + share * along[1]))


def _meeting(start: Point, end: Point, begin: Point, stop: Point) -> Point | None:
    """Return the point in which two straight parts meet; None if they do not."""
    ax, ay = end[0] - start[0], end[1] - start[1]
    bx, by = stop[0] - begin[0], stop[1] - begin[1]
    cross = ax * by - ay * bx
    if abs(cross) < 1e-12:
        return None
    dx, dy = begin[0] - start[0], begin[1] - start[1]
    share, other = (dx * by - dy * bx) / cross, (dx * ay - dy * ax) / cross
    if not (-1e-9 <= share <= 1 + 1e-9 and -1e-9 <= other <= 1 + 1e-9):
        return None
    return start[0] + share * ax, start[1] + share * ay
