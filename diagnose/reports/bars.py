"""A small bar chart of chances, each with what is usual beside it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from diagnose.reports.blocks import PictureBlock
from diagnose.reports.svg import (
    FONT,
    WIDTH,
    Shape,
    label,
    picture,
    polyline,
    safe_name,
    shape,
    wrap,
)

LEFT, TOP = 12.0, 14.0
LONG = WIDTH - 2 * LEFT - 58
BAR = 12.0
LINE = FONT + 4
SIGNS, MOST_NAME = 20, 40


@dataclass(frozen=True, slots=True)
class Bar:
    """One chance; `usual` is that of a sound job, None where it is not known."""

    label: str
    chance: float
    usual: float | None = None


def bars_picture(title: str, bars: Sequence[Bar]) -> PictureBlock | None:
    """Return the chart, or None where there is nothing to draw.

    The scale ends at the next ten in a hundred above the greatest chance, so
    that small chances can still be told apart; the axis says so.
    """
    if not bars:
        return None
    most = max(max(bar.chance, bar.usual or 0.0) for bar in bars)
    top = min(1.0, max(0.1, -(-most // 0.1) * 0.1))
    shapes: list[Shape] = []
    y = TOP
    for bar in bars:
        drawn, y = _bar(bar, y, top)
        shapes += drawn
    shapes += _axis(y, top)
    description = " ".join(_words(bar) for bar in bars)
    svg = picture(f"bars-{safe_name(title)}", title, description, y + 48, shapes)
    return PictureBlock(title, description, svg, bar_lines(bars))


def bar_lines(bars: Sequence[Bar]) -> tuple[str, ...]:
    """Return the bars for a terminal: name, bar of twenty signs, chance, what is usual.

    Examples
    --------
    >>> for line in bar_lines([Bar("open seam", 0.3, 0.1), Bar("fraying", 0.05)]):
    ...     print(line)
    open seam  ######..............  30 in 100 (sound job 10 in 100)
    fraying    #...................  5.0 in 100
    """
    longest = max((len(bar.label) for bar in bars), default=0)
    return tuple(_bar_line(bar, min(longest, MOST_NAME)) for bar in bars)


def _bar_line(bar: Bar, wide: int) -> str:
    name = shorten_to(bar.label, wide)
    full = round(min(1.0, max(0.0, bar.chance)) * SIGNS)
    usual = "" if bar.usual is None else f" (sound job {_percent(bar.usual)})"
    return f"{name:<{wide}}  {'#' * full}{'.' * (SIGNS - full)}  {_percent(bar.chance)}{usual}"


def shorten_to(text: str, wide: int) -> str:
    """Return a text of at most `wide` signs."""
    return text if len(text) <= wide else text[: wide - 1] + "…"


def _words(bar: Bar) -> str:
    usual = "" if bar.usual is None else f", on a sound job {_percent(bar.usual)}"
    return f"{bar.label}: {_percent(bar.chance)}{usual}."


def _percent(chance: float) -> str:
    return f"{chance * 100:.1f} in 100" if chance < 0.095 else f"{chance * 100:.0f} in 100"


def _bar(bar: Bar, y: float, top: float) -> tuple[list[Shape], float]:
    lines = wrap(bar.label, WIDTH - 2 * LEFT, lines=2)
    shapes = [label(LEFT, y + LINE * (n + 1) - 4, line) for n, line in enumerate(lines)]
    y += LINE * len(lines)
    wide = max(1.0, LONG * bar.chance / top)
    shapes.append(shape("rect", "panel", x=LEFT, y=y, width=LONG, height=BAR))
    shapes.append(shape("rect", "for", x=LEFT, y=y, width=wide, height=BAR))
    if bar.usual is not None:
        x = LEFT + LONG * bar.usual / top
        shapes.append(polyline([(x, y - 3), (x, y + BAR + 3)], "mark-line", stroke_width=2.5))
    number = _percent(bar.chance).removesuffix(" in 100")
    shapes.append(label(LEFT + LONG + 6, y + BAR - 1, number, bold=True))
    return shapes, y + BAR + 10


def _axis(y: float, top: float) -> list[Shape]:
    shapes = [polyline([(LEFT, y), (LEFT + LONG, y)], "faint", stroke_width=1)]
    for share, anchor in ((0.0, "start"), (0.5, "middle"), (1.0, "end")):
        text = f"{top * share * 100:g}"
        shapes.append(label(LEFT + LONG * share, y + 15, text, role="quiet", anchor=anchor))
    shapes.append(label(LEFT + LONG + 6, y + 15, "in 100", role="quiet"))
    mark = polyline([(LEFT + 4, y + 24), (LEFT + 4, y + 38)], "mark-line", stroke_width=2.5)
    return [*shapes, mark, label(LEFT + 12, y + 36, "on a sound job", role="quiet")]
