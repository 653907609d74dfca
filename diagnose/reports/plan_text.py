"""A compact floor plan for a terminal: letters and signs in a grid.

Each cell is one letter; a cell is about twice as high as it is wide, and the
scale follows that.  Batches differ by their sign, as they do by hatch in the
picture; nothing rests on colour.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Mapping, Sequence

from diagnose.record.model import Area, Job, Line, Point
from diagnose.reports.plan_frame import Frame, centre, frame_of, middle, point_of
from diagnose.reports.plan_hatch import batch_letters
from diagnose.reports.plan_pins import Pin

WIDE, HIGH = 56, 20
SIGNS = ".:/%o=x~"
"""Sign of each batch in turn; a drop of unknown batch shows `?`."""
ARROWS = ("→", "↗", "↑", "↖", "←", "↙", "↓", "↘")


def plan_lines(job: Job, area_id: str, pins: Sequence[Pin] = ()) -> tuple[str, ...]:
    """Return the plan of an area as lines of text, or none where no outline is recorded."""
    area = job.areas[area_id]
    frame = frame_of(job, area)
    if frame is None:
        return ()
    letters = batch_letters(job, area_id)
    grid = _Grid(frame)
    _fill(grid, job, area, letters)
    _lines(grid, job, area)
    _names(grid, job, area)
    pinned = [at for _, place in pins if (at := point_of(job, area, place)) is not None]
    for at in pinned:
        grid.put(at, "!")
    return (*grid.rows(), *_key(job, area, letters, bool(pinned)))


class _Grid:
    """Cells over the plan, with one more on every side for the walls."""

    def __init__(self, frame: Frame) -> None:
        self.frame = frame
        self.scale = min(WIDE / frame.width, 2 * HIGH / frame.height)
        self.wide = max(3, math.ceil(frame.width * self.scale))
        self.high = max(2, math.ceil(frame.height * self.scale / 2))
        self.cells = [[" "] * (self.wide + 2) for _ in range(self.high + 2)]
        self.corner = frame.unit((frame.low[0], frame.low[1] if frame.turned else frame.high[1]))

    def cell(self, point: Point) -> tuple[int, int]:
        """Return row and column of a point of the plan."""
        x, y = self._place(point)
        down = self.frame.height * self.scale / 2
        return _index(y, down, self.high), _index(x, self.frame.width * self.scale, self.wide)

    def put(self, point: Point, text: str) -> None:
        """Write a text whose middle stands at a point."""
        row, column = self.cell(point)
        start = min(max(0, column - len(text) // 2), max(0, self.wide + 2 - len(text)))
        for offset, sign in enumerate(text[: self.wide + 2]):
            self.cells[row][start + offset] = sign

    def draw(self, line: Line, sign: str) -> None:
        """Put a sign on every cell that a line passes."""
        for (ax, ay), (bx, by) in itertools.pairwise(line):
            steps = max(2, 4 * (self.wide + self.high))
            for step in range(steps + 1):
                share = step / steps
                row, column = self.cell((ax + (bx - ax) * share, ay + (by - ay) * share))
                self.cells[row][column] = sign

    def fill(self, outline: Line, sign: str) -> None:
        """Put a sign on every cell whose middle lies within an outline."""
        shape = [self._place(point) for point in outline]
        for row in range(self.high):
            for column in range(self.wide):
                if _within((column + 0.5, row + 0.5), shape):
                    self.cells[row + 1][column + 1] = sign

    def _place(self, point: Point) -> Point:
        x, y = self.frame.unit(point)
        return (x - self.corner[0]) * self.scale, (y - self.corner[1]) * self.scale / 2

    def rows(self) -> Iterable[str]:
        """Yield the lines, blanks at their ends cut off."""
        for row in self.cells:
            yield "".join(row).rstrip()


def _fill(grid: _Grid, job: Job, area: Area, letters: Mapping[str, str]) -> None:
    for drop in job.drops.values():
        if drop.area == area.id and len(drop.outline_m) >= 3:
            roll = job.rolls.get(drop.roll or "")
            grid.fill(drop.outline_m, sign_of((roll.batch if roll else None) or "", letters))
    if area.outline_m:
        grid.draw((*area.outline_m, area.outline_m[0]), "#")


def _index(at: float, end: float, count: int) -> int:
    """Return the cell of a distance; both ends lie on the wall outside."""
    if at <= 1e-6:
        return 0
    return count + 1 if at >= end - 1e-6 else min(1 + int(at), count)


def sign_of(batch: str, letters: Mapping[str, str]) -> str:
    """Return the sign that fills the drops of a batch."""
    return SIGNS[list(letters).index(batch) % len(SIGNS)] if batch in letters else "?"


def _lines(grid: _Grid, job: Job, area: Area) -> None:
    for seam in job.seams.values():
        if seam.area == area.id:
            grid.draw(seam.line_m, "|" if _upright(grid, seam.line_m) else "-")
    for window in area.windows:
        grid.draw(window.line_m, "W")
    for door in area.doors:
        grid.draw(door.line_m, "D")


def _upright(grid: _Grid, line: Line) -> bool:
    if len(line) < 2:
        return False
    (ar, ac), (br, bc) = grid.cell(line[0]), grid.cell(line[-1])
    return abs(br - ar) * 2 >= abs(bc - ac)


def _names(grid: _Grid, job: Job, area: Area) -> None:
    for drop in job.drops.values():
        if drop.area == area.id and len(drop.outline_m) >= 3:
            pile = ""
            if drop.pile_direction_deg is not None:
                across, down = grid.frame.direction(drop.pile_direction_deg)
                turned = math.degrees(math.atan2(-down, across))
                pile = ARROWS[round(turned / 45) % 8]
            grid.put(centre(drop.outline_m), f" {drop.id[:8]}{pile} ")
    for seam in job.seams.values():
        at = middle(seam.line_m[:1] + seam.line_m[-1:]) if seam.area == area.id else None
        if at is not None:
            quarter = ((at[0] + seam.line_m[0][0]) / 2, (at[1] + seam.line_m[0][1]) / 2)
            grid.put(quarter, seam.id[:8])


def _key(job: Job, area: Area, letters: Mapping[str, str], pinned: bool) -> Iterable[str]:
    signs = [f"{sign_of(batch, letters)} batch {batch}" for batch in letters]
    signs += ["D door"] if area.doors else []
    signs += ["W window"] if area.windows else []
    signs += ["| - seam"] if any(seam.area == area.id for seam in job.seams.values()) else []
    signs += ["! complaint"] if pinned else []
    yield ", ".join(signs)


def _within(point: Point, outline: Sequence[Point]) -> bool:
    """Ray to the right: inside when it crosses the outline an odd number of times."""
    x, y = point
    inside = False
    for (ax, ay), (bx, by) in zip(outline, [*outline[1:], outline[0]], strict=True):
        if (ay > y) != (by > y) and x < ax + (y - ay) * (bx - ax) / (by - ay):
            inside = not inside
    return inside
