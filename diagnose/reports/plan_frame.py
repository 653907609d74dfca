"""Turn the metres of an area's plan into units on the sheet.

Long areas are turned a quarter so that their length runs down the page; pile
arrows turn with them.  Also finds the point of the plan that a place means.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from diagnose.model import Place
from diagnose.record.model import Area, Job, Line, Point

PLAN_LEFT = 12.0
PLAN_TOP = 34.0
PLAN_WIDE = 246.0
PLAN_HIGH = 430.0
TURN_FROM = 1.5
"""Areas longer than this many times their depth are turned."""


@dataclass(frozen=True, slots=True)
class Frame:
    """Scale, origin and turning of one area's plan."""

    low: Point
    high: Point
    turned: bool
    scale: float
    """Units for a metre."""

    @property
    def width(self) -> float:
        """Width of the drawn area in units."""
        return self.scale * (self._tall if self.turned else self._long)

    @property
    def height(self) -> float:
        """Height of the drawn area in units."""
        return self.scale * (self._long if self.turned else self._tall)

    @property
    def _long(self) -> float:
        return self.high[0] - self.low[0]

    @property
    def _tall(self) -> float:
        return self.high[1] - self.low[1]

    def unit(self, point: Point) -> Point:
        """Return a point of the plan (m) in units of the sheet."""
        x, y = point
        if self.turned:
            return PLAN_LEFT + (y - self.low[1]) * self.scale, PLAN_TOP + (
                x - self.low[0]
            ) * self.scale
        return PLAN_LEFT + (x - self.low[0]) * self.scale, PLAN_TOP + (
            self.high[1] - y
        ) * self.scale

    def units(self, line: Iterable[Point]) -> list[Point]:
        """Return a line of the plan in units of the sheet."""
        return [self.unit(point) for point in line]

    def direction(self, degrees: float) -> Point:
        """Return the unit vector on the sheet of a direction on the plan."""
        across, up = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
        return (up, across) if self.turned else (across, -up)


def frame_of(job: Job, area: Area) -> Frame | None:
    """Return the frame of an area, or None where no outline is recorded at all."""
    drops = [drop.outline_m for drop in job.drops.values() if drop.area == area.id]
    points = [point for line in (area.outline_m, *drops) for point in line]
    if len(points) < 3:
        return None
    low = (min(x for x, _ in points), min(y for _, y in points))
    high = (max(x for x, _ in points), max(y for _, y in points))
    long, tall = high[0] - low[0], high[1] - low[1]
    if long <= 0 or tall <= 0:
        return None
    turned = long > TURN_FROM * tall
    wide, deep = (tall, long) if turned else (long, tall)
    return Frame(low, high, turned, min(PLAN_WIDE / wide, PLAN_HIGH / deep))


def middle(line: Line) -> Point | None:
    """Return the point half-way along a line, or None for an empty one."""
    if not line:
        return None
    lengths = [math.dist(a, b) for a, b in itertools.pairwise(line)]
    left = sum(lengths) / 2
    for (a, b), length in zip(itertools.pairwise(line), lengths, strict=True):
        if length and left <= length:
            share = left / length
            return a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share
        left -= length
    return line[0]


def centre(outline: Sequence[Point]) -> Point:
    """Return the centroid of a polygon, or the mean of its points if it is flat."""
    doubled = moment_x = moment_y = 0.0
    for (ax, ay), (bx, by) in zip(outline, [*outline[1:], outline[0]], strict=True):
        cross = ax * by - bx * ay
        doubled += cross
        moment_x += (ax + bx) * cross
        moment_y += (ay + by) * cross
    if abs(doubled) < 1e-9:
        return (
            sum(x for x, _ in outline) / len(outline),
            sum(y for _, y in outline) / len(outline),
        )
    return moment_x / (3 * doubled), moment_y / (3 * doubled)


def point_of(job: Job, area: Area, place: Place) -> Point | None:
    """Return where a place lies on the plan of `area`; None if it is elsewhere."""
    if place.kind == "seam" and place.name in job.seams:
        seam = job.seams[place.name]
        return middle(seam.line_m) if _of_area(job, seam.area, seam.drops, area) else None
    if place.kind in ("edge", "doorway"):
        return _edge_point(job, area, place.name)
    if place.kind == "drop" and place.name in job.drops:
        drop = job.drops[place.name]
        return centre(drop.outline_m) if drop.area == area.id and drop.outline_m else None
    if place.kind == "area" and place.name == area.id and area.outline_m:
        return centre(area.outline_m)
    return None


def _of_area(job: Job, named: str | None, drops: Iterable[str], area: Area) -> bool:
    areas = {job.drops[drop].area for drop in drops if drop in job.drops}
    return area.id == named or (named is None and area.id in areas)


def _edge_point(job: Job, area: Area, name: str) -> Point | None:
    edge = job.edges.get(name)
    if edge and edge.area == area.id and edge.line_m:
        return middle(edge.line_m)
    door_name = edge.door if edge and edge.area == area.id else name
    for door in area.doors:
        if door.id == door_name:
            return middle(door.line_m)
    return None
