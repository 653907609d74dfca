"""Show the blocks of a report on a screen."""

from __future__ import annotations

from collections.abc import Iterable

from diagnose.cli.screen import Screen
from diagnose.reports.blocks import (
    Block,
    CautionBlock,
    Heading,
    Item,
    Paragraph,
    Steps,
    TableBlock,
)


def show(screen: Screen, blocks: Iterable[Block], *, working: bool = True) -> None:
    """Write the blocks; without `working` the lines below items are left out."""
    for block in blocks:
        match block:
            case Heading(text):
                screen.heading(text)
            case Paragraph(text, strong, faint):
                write = screen.strong if strong else screen.faint if faint else screen.text
                write(text)
            case Item(text, mark, below):
                screen.text(text, mark=mark)
                for line in below if working else ():
                    screen.faint(line, indent=4)
            case Steps(name, steps):
                screen.text(f"{name}:")
                for number, step in enumerate(steps, start=1):
                    screen.text(step, mark=f"{number}.", indent=2)
            case CautionBlock(name, text, defer_to):
                screen.caution(name, text, defer_to)
            case TableBlock(columns, rows):
                screen.table(columns, rows)
