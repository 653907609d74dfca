"""Place labels on a picture so that none covers another.

Greedy: labels are placed in the order given, each at the first of its wished
places that is free.  One that finds no free place goes to the margin, at the
height of its point if it can, and is tied to it by a leader line; leaders
never cross, since of two that would the ends are exchanged.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

from diagnose.reports.svg import FONT, text_width

HEIGHT = FONT + 4
ROW = HEIGHT + 2
STEP = 6.0
"""Grain of the search for a free place in a label's home."""


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle on the sheet, in units; y counts downwards."""

    x: float
    y: float
    width: float
    height: float

    def overlaps(self, other: Box) -> bool:
        """True when the two share more than an edge."""
        return (
            self.x < other.x + other.width
            and other.x < self.x + self.width
            and self.y < other.y + other.height
            and other.y < self.y + self.height
        )

    def inside(self, other: Box) -> bool:
        """True when this box lies wholly within `other`."""
        return (
            self.x >= other.x
            and self.y >= other.y
            and self.x + self.width <= other.x + other.width
            and self.y + self.height <= other.y + other.height
        )


@dataclass(frozen=True, slots=True)
class Wish:
    """A label that wants to stand near a point."""

    text: str
    x: float
    y: float
    role: str = "ink"
    bold: bool = False
    spread: float = 8.0
    """Distance from the point at which the label would stand."""
    home: Box | None = None
    """Where it may stand instead, as near to its point as can be."""


@dataclass(frozen=True, slots=True)
class Placed:
    """A label with its box; `led` when it stands in the margin with a leader."""

    wish: Wish
    box: Box
    led: bool = False

    @property
    def base_line(self) -> float:
        """y of the text's base line."""
        return self.box.y + self.box.height - 3.0

    @property
    def leader(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """The line from the point to the label in the margin."""
        return (self.wish.x, self.wish.y), (self.box.x, self.box.y + self.box.height / 2)


@dataclass(slots=True)
class Sheet:
    """Space for labels: where they may stand and what is taken already."""

    field_: Box
    margin: Box
    """Column for labels that find no place; it may be left below its height."""
    taken: list[Box] = field(default_factory=list)
    lowest: float = 0.0

    def place(self, wishes: Iterable[Wish]) -> tuple[Placed, ...]:
        """Return every wish with a box; no two boxes overlap."""
        placed: list[Placed] = []
        homeless: list[Wish] = []
        for wish in wishes:
            box = self._free(wish)
            if box is None:
                homeless.append(wish)
            else:
                self.taken.append(box)
                placed.append(Placed(wish, box))
        return (*placed, *self._in_the_margin(homeless))

    def bottom(self) -> float:
        """Return the lowest y that any margin label reaches."""
        return max(self.margin.y, self.lowest)

    def _free(self, wish: Wish) -> Box | None:
        width = text_width(wish.text) + 4
        for box in (*_near(wish, width), *_at_home(wish, width)):
            if box.inside(self.field_) and not any(box.overlaps(other) for other in self.taken):
                return box
        return None

    def _in_the_margin(self, wishes: Sequence[Wish]) -> list[Placed]:
        """Spread the labels down the margin, each as level with its point as can be."""
        ordered = sorted(wishes, key=lambda wish: (wish.y, wish.x))
        tops: list[float] = []
        for wish in ordered:
            least = tops[-1] + ROW if tops else self.margin.y
            tops.append(max(least, wish.y - HEIGHT / 2))
        last = self.margin.y + self.margin.height - HEIGHT
        for back in range(len(tops)):
            index = len(tops) - 1 - back
            fitting = max(self.margin.y + index * ROW, last - back * ROW)
            tops[index] = min(tops[index], fitting)
        placed = [
            Placed(wish, Box(self.margin.x, top, text_width(wish.text) + 4, HEIGHT), led=True)
            for wish, top in zip(ordered, tops, strict=True)
        ]
        self.lowest = max([self.lowest, *(each.box.y + ROW for each in placed)])
        return _uncrossed(placed)


def cross(one: Placed, other: Placed) -> bool:
    """True when the leaders of two labels in the margin cross."""
    (a, b), (c, d) = one.leader, other.leader
    return _side(a, b, c) * _side(a, b, d) < 0 and _side(c, d, a) * _side(c, d, b) < 0


def _uncrossed(placed: list[Placed]) -> list[Placed]:
    """Exchange the ends of leaders that cross; each exchange shortens them, so it ends."""
    crossing = True
    while crossing:
        crossing = False
        for i, j in itertools.combinations(range(len(placed)), 2):
            one, other = placed[i], placed[j]
            if cross(one, other):
                placed[i] = replace(one, box=replace(one.box, y=other.box.y))
                placed[j] = replace(other, box=replace(other.box, y=one.box.y))
                crossing = True
    return placed


def _side(a: tuple[float, float], b: tuple[float, float], c: tuple[float, float]) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _near(wish: Wish, width: float) -> Sequence[Box]:
    """Return the places round the point, nearest and most usual first."""
    left, middle, right = wish.x - wish.spread - width, wish.x - width / 2, wish.x + wish.spread
    above, centre, below = wish.y - wish.spread - HEIGHT, wish.y - HEIGHT / 2, wish.y + wish.spread
    corners = (
        (middle, centre),
        (middle, above),
        (middle, below),
        (right, centre),
        (left, centre),
        (right, above),
        (right, below),
        (left, above),
        (left, below),
    )
    further = tuple((x, y + step) for step in (HEIGHT, -HEIGHT) for x, y in corners)
    start = 0 if wish.spread == 0 else 1
    return [Box(x, y, width, HEIGHT) for x, y in (*corners[start:], *further)]


def _at_home(wish: Wish, width: float) -> Sequence[Box]:
    home = wish.home
    if home is None or home.width < width or home.height < HEIGHT:
        return []
    across = int((home.width - width) / STEP) + 1
    down = int((home.height - HEIGHT) / STEP) + 1
    boxes = [
        Box(home.x + i * STEP, home.y + j * STEP, width, HEIGHT)
        for i in range(across)
        for j in range(down)
    ]
    return sorted(
        boxes,
        key=lambda box: math.hypot(box.x + width / 2 - wish.x, 1.5 * (box.y + HEIGHT / 2 - wish.y)),
    )
