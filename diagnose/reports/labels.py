"""Place labels on a picture so that none covers another.

Greedy: labels are placed in the order given, each at the first of its wished
places that is free; one that finds no free place goes to the margin, where
rows never overlap, and is tied to its point by a leader line.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from diagnose.reports.svg import FONT, text_width


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


@dataclass(slots=True)
class Sheet:
    """Space for labels: where they may stand and what is taken already."""

    field_: Box
    margin: Box
    """Column for labels that find no place; it may be left below its height."""
    taken: list[Box] = field(default_factory=list)
    margin_rows: int = 0

    def place(self, wishes: Iterable[Wish]) -> tuple[Placed, ...]:
        """Return every wish with a box; no two boxes overlap."""
        return tuple(self._place_one(wish) for wish in wishes)

    def bottom(self) -> float:
        """Return the lowest y that any margin label reaches."""
        return self.margin.y + self.margin_rows * ROW

    def _place_one(self, wish: Wish) -> Placed:
        width = text_width(wish.text) + 4
        for box in _candidates(wish, width):
            if box.inside(self.field_) and not any(box.overlaps(other) for other in self.taken):
                self.taken.append(box)
                return Placed(wish, box)
        return self._in_the_margin(wish, width)

    def _in_the_margin(self, wish: Wish, width: float) -> Placed:
        while True:
            box = Box(self.margin.x, self.margin.y + self.margin_rows * ROW, width, HEIGHT)
            self.margin_rows += 1
            if not any(box.overlaps(other) for other in self.taken):
                self.taken.append(box)
                return Placed(wish, box, led=True)


HEIGHT = FONT + 4
ROW = HEIGHT + 2


def _candidates(wish: Wish, width: float) -> Sequence[Box]:
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
