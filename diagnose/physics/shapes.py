"""Setting out with areas: drops in a room, their shared edges, joints beneath them.

Outlines are closed by themselves; plan coordinates are metres.  shapely is
imported only when a function here is called.

References
----------
.. [1] Carpet Installation Standard (2011) 6.2 and 6.4, read as page copy: seams run
   the length of the area; no carpet over a moving joint.
.. [2] AS 2455.2 (2019) 5.1, read as extract: tile edges off the joints of panels.
The areas and lengths are geometry.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from diagnose.physics.guard import OutOfRangeError, check_range
from diagnose.physics.lines import Line, Point

TOUCH_M = 0.02
"""Two edges drawn nearer than this are one join on a plan."""


def area_m2(outline: Line) -> float:
    """Return the area of an outline in m2.

    Examples
    --------
    >>> area_m2(((0, 0), (9, 0), (9, 4), (0, 4)))
    36.0
    """
    return float(_shape(outline).area)


def long_axis_deg(outline: Line) -> float:
    """Return the direction, 0 up to 180, of the longer side of the box around an outline.

    The box is the smallest in any turn; in a square either side may be returned.

    Examples
    --------
    >>> long_axis_deg(((0, 0), (9, 0), (9, 4), (0, 4)))
    0.0
    """
    corners = list(_shape(outline).minimum_rotated_rectangle.exterior.coords)
    sides = list(itertools.pairwise(corners))
    (x, y), (to_x, to_y) = max(sides, key=lambda side: math.dist(*side))
    return round(math.degrees(math.atan2(to_y - y, to_x - x)) % 180, 9) % 180


def covered_by_line_m(outline: Line, line: Line) -> float:
    """Return how many m of a line (a moving joint, say) lie under an outline.

    A line along the very edge counts as under it.

    Examples
    --------
    >>> covered_by_line_m(((0, 0), (4, 0), (4, 9), (0, 9)), ((-1, 5), (10, 5)))
    4.0
    """
    from shapely import LineString

    return float(_shape(outline).intersection(LineString(_points(line))).length)


def overlap_m2(one: Line, other: Line) -> float:
    """Return the area in m2 that two outlines share.

    Examples
    --------
    >>> overlap_m2(((0, 0), (4, 0), (4, 9), (0, 9)), ((3, 0), (7, 0), (7, 9), (3, 9)))
    9.0
    """
    return float(_shape(one).intersection(_shape(other)).area)


def uncovered_m2(room: Line, drops: Iterable[Line]) -> float:
    """Return the area in m2 of a room on which no drop lies.

    Examples
    --------
    >>> uncovered_m2(((0, 0), (9, 0), (9, 4), (0, 4)), [((0, 0), (4, 0), (4, 4), (0, 4))])
    20.0
    """
    from shapely import unary_union

    return float(_shape(room).difference(unary_union([_shape(drop) for drop in drops])).area)


@dataclass(frozen=True, slots=True)
class Join:
    """Two drops that lie edge to edge, and over how many m."""

    one: str
    other: str
    length_m: float


def joins(drops: Mapping[str, Line], within_m: float = TOUCH_M) -> tuple[Join, ...]:
    """Return which drops lie edge to edge; drops that meet only in a corner do not.

    Sides count that run within 3 degrees of each other and no farther apart than
    `within_m`.

    Examples
    --------
    >>> joins({"D1": ((0, 0), (4, 0), (4, 9), (0, 9)), "D2": ((4, 0), (8, 0), (8, 9), (4, 9))})
    (Join(one='D1', other='D2', length_m=9.0),)
    """
    from shapely import STRtree

    check_range("gap in m", within_m, above=0, up_to=1)
    names = list(drops)
    shapes = [_shape(drops[name]) for name in names]
    near = STRtree(shapes).query(shapes, predicate="dwithin", distance=within_m)
    found = []
    for one, other in sorted((int(i), int(j)) for i, j in zip(*near, strict=True) if i < j):
        sides, others = _sides(drops[names[one]]), _sides(drops[names[other]])
        length = sum(_along_m(side, next_to, within_m) for side in sides for next_to in others)
        if length > within_m:
            found.append(Join(names[one], names[other], round(length, 3)))
    return tuple(found)


def seam_off_join_m(seam: Line, one: Line, other: Line) -> float:
    """Return how far the farthest point of a seam lies from either of its drops' edges.

    A large value means that the seam was drawn, or named, at the wrong drops.

    Examples
    --------
    >>> d1, d2 = ((0, 0), (4, 0), (4, 9), (0, 9)), ((4, 0), (8, 0), (8, 9), (4, 9))
    >>> seam_off_join_m(((4, 0), (4, 9)), d1, d2)
    0.0
    >>> seam_off_join_m(((8, 0), (8, 9)), d1, d2)
    4.0
    """
    from shapely import LineString

    line = LineString(_points(seam))
    ends = [_shape(outline).exterior for outline in (one, other)]
    along = [line.interpolate(share / 8, normalized=True) for share in range(9)]
    return max(float(point.distance(edge)) for edge in ends for point in along)


def edge_to_panel_joint_mm(tile_edge: Line, panel_joints: Iterable[Line]) -> float | None:
    """Return the distance in mm from a line of tile edges to the nearest panel joint [2]_.

    None without panel joints.

    Examples
    --------
    >>> edge_to_panel_joint_mm(((0, 0.3), (6, 0.3)), [((0, 0), (6, 0)), ((0, 0.6), (6, 0.6))])
    300.0
    """
    from shapely import LineString

    edge = LineString(_points(tile_edge))
    apart = [float(edge.distance(LineString(_points(joint)))) for joint in panel_joints]
    return round(1000 * min(apart), 6) if apart else None


def _sides(outline: Line) -> list[tuple[Point, Point]]:
    ends = [*outline[1:], outline[0]]
    return [(start, end) for start, end in zip(outline, ends, strict=True) if start != end]


def _along_m(side: tuple[Point, Point], other: tuple[Point, Point], within_m: float) -> float:
    """Return over how many m two straight sides run next to each other."""
    (x, y), end = side
    length = math.dist(*side)
    ux, uy = (end[0] - x) / length, (end[1] - y) / length
    along = [(px - x) * ux + (py - y) * uy for px, py in other]
    across = [(py - y) * ux - (px - x) * uy for px, py in other]
    if abs(across[1] - across[0]) > math.sin(math.radians(3)) * math.dist(*other):
        return 0.0
    if abs(sum(across)) / 2 > within_m:
        return 0.0
    return max(0.0, min(length, max(along)) - max(0.0, min(along)))


def _points(line: Line) -> list[Point]:
    if len(line) < 2:
        raise OutOfRangeError(f"a line needs two points; there is {len(line)}")
    for x, y in line:
        check_range("place on the plan in m", max(abs(x), abs(y)), up_to=1e5)
    return list(line)


def _shape(outline: Line) -> Any:
    from shapely import Polygon

    if len(set(outline)) < 3:
        raise OutOfRangeError(f"an outline needs three corners; there are {len(set(outline))}")
    shape = Polygon(_points(outline))
    if not shape.is_valid or shape.area == 0:
        raise OutOfRangeError("an outline crosses itself or has no area")
    return shape
