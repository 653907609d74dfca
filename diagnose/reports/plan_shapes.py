"""The small shapes of a floor plan: arrow, pin, label, scale bar, and room for labels."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence

from diagnose.record.model import Point
from diagnose.reports.labels import Box, Placed
from diagnose.reports.plan_frame import PLAN_LEFT, PLAN_TOP, Frame
from diagnose.reports.svg import Shape, group, label, number, polygon, polyline, shape


def arrow_shape(start: Point, end: Point) -> Shape:
    """Return an arrow from `start` to `end` with a filled head."""
    across, down = end[0] - start[0], end[1] - start[1]
    length = math.hypot(across, down) or 1.0
    across, down = across / length, down / length
    back = (end[0] - across * 6, end[1] - down * 6)
    head = [
        end,
        (back[0] - down * 3, back[1] + across * 3),
        (back[0] + down * 3, back[1] - across * 3),
    ]
    shaft = polyline([start, back], "line", stroke_width=1.5)
    return group([shaft, polygon(head, "ink")])


def pin_shape(x: float, y: float) -> Shape:
    """Return the ring with a mark that stands for a complaint."""
    ring = shape("circle", "paper", "mark-line", cx=x, cy=y, r=7, stroke_width=2)
    return group([ring, label(x, y + 4, "!", role="mark", anchor="middle", bold=True)])


def label_shapes(placed: Placed) -> Iterable[Shape]:
    """Yield a label on its own ground."""
    box, wish = placed.box, placed.wish
    yield shape(
        "rect",
        "paper",
        x=box.x,
        y=box.y,
        width=box.width,
        height=box.height,
        rx=2,
        fill_opacity="0.85",
    )
    yield label(box.x + 2, placed.base_line, wish.text, role=wish.role, bold=wish.bold)


def scale_bar(frame: Frame) -> Shape:
    """Return a bar of whole metres below the plan."""
    metres = next((step for step in (5, 2, 1) if step * frame.scale <= 90), 0.5)
    y = PLAN_TOP + frame.height + 16
    ends = [(PLAN_LEFT, y), (PLAN_LEFT + metres * frame.scale, y)]
    bar = polyline(
        [(ends[0][0], y - 3), ends[0], ends[1], (ends[1][0], y - 3)], "line", stroke_width=1.2
    )
    return group([bar, label(ends[1][0] + 6, y + 3, f"{number(metres)} m", role="quiet")])


def around(point: Point, reach: float) -> Box:
    """Return the square that reaches so far on every side of a point."""
    return Box(point[0] - reach, point[1] - reach, 2 * reach, 2 * reach)


def bounds(line: Sequence[Point]) -> Box:
    """Return the box within an outline in which its label may stand."""
    low_x, low_y = min(x for x, _ in line), min(y for _, y in line)
    high_x, high_y = max(x for x, _ in line), max(y for _, y in line)
    return Box(low_x + 3, low_y + 3, high_x - low_x - 6, high_y - low_y - 6)


def along(line: Sequence[Point], step: float) -> Iterable[Point]:
    """Yield points of a line that lie about `step` apart, its ends among them."""
    for (ax, ay), (bx, by) in itertools.pairwise(line):
        count = max(1, int(math.hypot(bx - ax, by - ay) / step))
        for index in range(count + 1):
            share = index / count
            yield ax + (bx - ax) * share, ay + (by - ay) * share


def inward(line: Sequence[Point], towards: Point) -> Point:
    """Return the unit vector square to a line that faces a point."""
    (ax, ay), (bx, by) = line[0], line[-1]
    length = math.hypot(bx - ax, by - ay) or 1.0
    normal = (-(by - ay) / length, (bx - ax) / length)
    to_middle = (towards[0] - (ax + bx) / 2, towards[1] - (ay + by) / 2)
    facing = normal[0] * to_middle[0] + normal[1] * to_middle[1]
    return normal if facing >= 0 else (-normal[0], -normal[1])
