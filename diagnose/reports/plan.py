"""Draw one area of a job as a floor plan in SVG.

Shows the outline, drops with pile arrows, batches told apart by hatch and
letter, numbered seams, doors, windows and their light, the traffic line,
readings, and the complaint pinned.  Everything that is drawn is also said in
the picture's description.  Built from the record alone; draws only what was
recorded and names what was not.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from diagnose.record.model import Area, Drop, Job, Line, Point, Reading
from diagnose.reports.blocks import PictureBlock
from diagnose.reports.labels import Box, Placed, Sheet, Wish
from diagnose.reports.plan_frame import (
    PLAN_LEFT,
    PLAN_TOP,
    Frame,
    centre,
    frame_of,
    middle,
    point_of,
)
from diagnose.reports.plan_hatch import batch_letters, hatch_fill, hatch_patterns
from diagnose.reports.plan_key import key_of
from diagnose.reports.plan_pins import Pin as Pin
from diagnose.reports.plan_pins import complaint_pins as complaint_pins
from diagnose.reports.plan_shapes import (
    along,
    around,
    arrow_shape,
    bounds,
    inward,
    label_shapes,
    pin_shape,
    scale_bar,
)
from diagnose.reports.plan_text import plan_lines
from diagnose.reports.plan_words import describe, reading_text
from diagnose.reports.svg import (
    WIDTH,
    Shape,
    label,
    picture,
    polygon,
    polyline,
    safe_name,
    shorten,
)

REACH = 90.0
"""How far from its opening the label of a door or window may stand."""


@dataclass(frozen=True, slots=True)
class PlanDrawing:
    """A floor plan with its words and the boxes that its labels take."""

    area: str
    title: str
    description: str
    svg: str
    labels: tuple[Placed, ...]
    pinned: tuple[str, ...] = ()
    """Labels of the pins that lie on this area."""
    text: tuple[str, ...] = ()
    """The same for a terminal, line by line."""


def draw_area(job: Job, area_id: str, pins: Sequence[Pin] = ()) -> PlanDrawing | None:
    """Return the plan of one area, or None where no outline was recorded."""
    area = job.areas[area_id]
    frame = frame_of(job, area)
    if frame is None:
        return None
    name = f"plan-{safe_name(area_id)}"
    letters = batch_letters(job, area_id)
    pins = [pin for pin in pins if point_of(job, area, pin[1]) is not None]
    drawer = _Drawer(job, area, frame, letters, name)
    shapes, labels, bottom = drawer.draw(pins)
    key, height = key_of(job, area, letters, name, bottom + 12, bool(pins))
    title = f"Plan of {area.name or area_id}"
    description = describe(job, area, letters, pins)
    heading = label(
        PLAN_LEFT, 18, shorten(_heading(area, frame), WIDTH - 24, 15), size=15, bold=True
    )
    drawn = (hatch_patterns(letters, name), heading, *shapes, *key)
    svg = picture(name, title, description, height, drawn)
    pinned, lines = tuple(text for text, _ in pins), plan_lines(job, area_id, pins)
    return PlanDrawing(area_id, title, description, svg, labels, pinned, lines)


def draw_job(job: Job, pins: Sequence[Pin] = ()) -> tuple[PlanDrawing, ...]:
    """Return the plan of every area that has an outline, in the record's order."""
    drawings = (draw_area(job, area_id, pins) for area_id in job.areas)
    return tuple(drawing for drawing in drawings if drawing is not None)


def plan_block(plan: PlanDrawing) -> PictureBlock:
    """Return a floor plan as a block of a report."""
    return PictureBlock(plan.title, plan.description, plan.svg, plan.text)


def _heading(area: Area, frame: Frame) -> str:
    across, up = frame.high[0] - frame.low[0], frame.high[1] - frame.low[1]
    return f"{area.name or area.id}, {across:.1f} × {up:.1f} m"


@dataclass(slots=True)
class _Drawer:
    job: Job
    area: Area
    frame: Frame
    letters: Mapping[str, str]
    name: str

    def draw(self, pins: Sequence[Pin]) -> tuple[list[Shape], tuple[Placed, ...], float]:
        """Return shapes, placed labels and the lowest y that is used."""
        shapes = [*self._drops(), *self._outline(), *self._windows(), *self._doors()]
        shapes += [*self._traffic(), *self._seams(), *self._readings()]
        pinned = self._pinned(pins)
        shapes += [pin_shape(*point) for _, point in pinned]
        sheet = self._sheet(pinned)
        labels = sheet.place(self._wishes(pinned))
        shapes.append(scale_bar(self.frame))
        shapes += [
            polyline(placed.leader, "faint", stroke_width=0.8) for placed in labels if placed.led
        ]
        shapes += [part for placed in labels for part in label_shapes(placed)]
        bottom = max(PLAN_TOP + self.frame.height + 26, sheet.bottom())
        return shapes, labels, bottom

    def _drops(self) -> Iterable[Shape]:
        for drop in self._my_drops():
            outline = self.frame.units(drop.outline_m)
            yield polygon(outline, "panel", "faint", stroke_width=0.8)
            yield polygon(outline, fill=hatch_fill(self.job, drop, self.letters, self.name))
            arrow = self._arrow(drop)
            if arrow:
                yield arrow_shape(*arrow)

    def _my_drops(self) -> list[Drop]:
        return [
            drop
            for drop in self.job.drops.values()
            if drop.area == self.area.id and len(drop.outline_m) >= 3
        ]

    def _arrow(self, drop: Drop) -> tuple[Point, Point] | None:
        if drop.pile_direction_deg is None:
            return None
        across, down = self.frame.direction(drop.pile_direction_deg)
        outline = self.frame.units(drop.outline_m)
        wide = max(x for x, _ in outline) - min(x for x, _ in outline)
        high = max(y for _, y in outline) - min(y for _, y in outline)
        half = min(20.0, 0.3 * (abs(across) * wide + abs(down) * high))
        x, y = self.frame.unit(centre(drop.outline_m))
        return (x - across * half, y - down * half), (x + across * half, y + down * half)

    def _outline(self) -> Iterable[Shape]:
        if self.area.outline_m:
            yield polygon(self.frame.units(self.area.outline_m), "none", "line", stroke_width=2)

    def _windows(self) -> Iterable[Shape]:
        for window in self.area.windows:
            line = self.frame.units(window.line_m)
            if len(line) >= 2:
                yield polyline(line, "for-line", stroke_width=4)
                yield polyline(line, "paper-line", stroke_width=1.2)
                yield from self._rays(line)

    def _rays(self, line: Sequence[Point]) -> Iterable[Shape]:
        """Three short dashes that show from where daylight falls in."""
        (ax, ay), (bx, by) = line[0], line[-1]
        across, down = inward(line, self.frame.unit(self._centre()))
        for share in (0.25, 0.5, 0.75):
            x, y = ax + (bx - ax) * share, ay + (by - ay) * share
            ends = [(x + across * 4, y + down * 4), (x + across * 14, y + down * 14)]
            yield polyline(ends, "for-line", stroke_width=1.2, stroke_dasharray="3 2")

    def _centre(self) -> Point:
        low, high = self.frame.low, self.frame.high
        return (low[0] + high[0]) / 2, (low[1] + high[1]) / 2

    def _doors(self) -> Iterable[Shape]:
        for door in self.area.doors:
            line = self.frame.units(door.line_m)
            if len(line) >= 2:
                yield polyline(line, "paper-line", stroke_width=4)
                yield polyline(line, "line", stroke_width=3, stroke_dasharray="2 2")

    def _traffic(self) -> Iterable[Shape]:
        if len(self.area.traffic_m) >= 2:
            line = self.frame.units(self.area.traffic_m)
            yield polyline(
                line, "faint", stroke_width=2, stroke_dasharray="1 4", stroke_linecap="round"
            )

    def _my_seams(self) -> Iterable[tuple[str, Line]]:
        for seam in self.job.seams.values():
            here = seam.area == self.area.id or any(
                drop.id in seam.drops and seam.area is None for drop in self._my_drops()
            )
            if here and len(seam.line_m) >= 2:
                yield seam.id, seam.line_m

    def _seams(self) -> Iterable[Shape]:
        for _, line in self._my_seams():
            yield polyline(self.frame.units(line), "line", stroke_width=2, stroke_dasharray="7 3")

    def _my_readings(self) -> list[tuple[Reading, Point]]:
        return [
            (reading, self.frame.unit(reading.point_m))
            for reading in self.job.readings.values()
            if reading.area == self.area.id and reading.point_m is not None
        ]

    def _readings(self) -> Iterable[Shape]:
        for _, (x, y) in self._my_readings():
            yield polygon([(x, y - 4), (x + 4, y), (x, y + 4), (x - 4, y)], "ink")

    def _pinned(self, pins: Sequence[Pin]) -> list[tuple[str, Point]]:
        found = []
        for text, place in pins:
            point = point_of(self.job, self.area, place)
            if point is not None:
                found.append((text, self.frame.unit(point)))
        return found

    def _sheet(self, pinned: Sequence[tuple[str, Point]]) -> Sheet:
        taken = [around(point, 8) for _, point in pinned]
        taken += [around(point, 5) for _, point in self._my_readings()]
        arrows = (self._arrow(drop) for drop in self._my_drops())
        lines = [list(arrow) for arrow in arrows if arrow]
        lines += [self.frame.units(line) for _, line in self._my_seams()]
        lines += [self.frame.units(door.line_m) for door in self.area.doors]
        lines += [self.frame.units(window.line_m) for window in self.area.windows]
        taken += [around(point, 3) for line in lines for point in along(line, 6)]
        right = PLAN_LEFT + self.frame.width
        room = Box(PLAN_LEFT, PLAN_TOP, self.frame.width, self.frame.height)
        margin = Box(right + 10, PLAN_TOP, WIDTH - right - 12, self.frame.height)
        return Sheet(room, margin, taken)

    def _wishes(self, pinned: Sequence[tuple[str, Point]]) -> Iterable[Wish]:
        space = WIDTH - PLAN_LEFT - self.frame.width - 16
        for text, (x, y) in pinned:
            yield Wish(shorten(text, space), x, y, "mark", True, 9)
        for seam_id, line in self._my_seams():
            yield self._wish(seam_id, middle(line), 4, bold=True)
        for drop in self._my_drops():
            wish = self._wish(self._drop_text(drop), centre(drop.outline_m), 6)
            yield replace(wish, home=bounds(self.frame.units(drop.outline_m)))
        for reading, (x, y) in self._my_readings():
            yield Wish(shorten(reading_text(reading), space), x, y, spread=6)
        for door in self.area.doors:
            yield self._by_wall(f"door {door.id}", middle(door.line_m), 5)
        for window in self.area.windows:
            yield self._by_wall(f"window {window.id}", middle(window.line_m), 16)

    def _by_wall(self, text: str, point: Point | None, spread: float) -> Wish:
        """A label that may slide along the wall of its opening."""
        wish = self._wish(text, point, spread, role="quiet")
        right, foot = PLAN_LEFT + self.frame.width, PLAN_TOP + self.frame.height
        left, top = max(PLAN_LEFT, wish.x - REACH), max(PLAN_TOP, wish.y - REACH)
        home = Box(left, top, min(right, wish.x + REACH) - left, min(foot, wish.y + REACH) - top)
        return replace(wish, home=home)

    def _wish(
        self, text: str, point: Point | None, spread: float, role: str = "ink", bold: bool = False
    ) -> Wish:
        x, y = self.frame.unit(point or self._centre())
        space = WIDTH - PLAN_LEFT - self.frame.width - 16
        return Wish(shorten(text, space), x, y, role, bold, spread)

    def _drop_text(self, drop: Drop) -> str:
        roll = self.job.rolls.get(drop.roll or "")
        batch = roll.batch if roll else None
        return (
            f"{drop.id} · {self.letters[batch]}"
            if batch and batch in self.letters
            else f"{drop.id} · ?"
        )
