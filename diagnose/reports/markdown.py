"""Write blocks as Markdown that any reader shows the same way."""

from __future__ import annotations

import re
from collections.abc import Iterable

from diagnose.reports.blocks import (
    Block,
    CautionBlock,
    Heading,
    Item,
    Paragraph,
    PictureBlock,
    Steps,
    TableBlock,
)
from diagnose.text import clean

_SPECIAL = re.compile(r"([\\`*_{}\[\]<>#|~])")


def markdown(blocks: Iterable[Block]) -> str:
    """Return the blocks as Markdown; what a record holds cannot become markup."""
    text = ""
    last: Block | None = None
    for block in blocks:
        near = isinstance(block, Item) and isinstance(last, Item)
        text += ("" if near or not text else "\n") + _block(block)
        last = block
    return text


def _block(block: Block) -> str:
    match block:
        case Heading(text, level):
            return f"{'#' * level} {_safe(text)}\n"
        case Paragraph(text, strong):
            return f"**{_safe(text)}**\n" if strong else f"{_safe(text)}\n"
        case Item(text, _, below):
            mark = {"+": "(+) ", "-": ""}.get(block.mark, "")
            lines = [f"- {mark}{_safe(text)}", *(f"  - {_safe(line)}" for line in below)]
            return "\n".join(lines) + "\n"
        case Steps(name, steps):
            lines = [f"**{_safe(name)}**", ""]
            lines += [f"{number}. {_safe(step)}" for number, step in enumerate(steps, start=1)]
            return "\n".join(lines) + "\n"
        case CautionBlock(name, text, defer_to):
            more = f" The last word: {_safe(defer_to.rstrip('.'))}." if defer_to else ""
            return f"> **Caution - {_safe(name)}.** {_safe(text)}{more}\n"
        case PictureBlock(title, description):
            return f"*Picture: {_safe(title)}.* {_safe(description)}\n"
        case TableBlock(columns, rows, caption):
            named = [f"{_safe(caption)}:", ""] if caption else []
            lines = [_row(columns), _row(["---"] * len(columns)), *(_row(row) for row in rows)]
            lines = named + lines
            return "\n".join(lines) + "\n"


def _row(cells: Iterable[str]) -> str:
    return "| " + " | ".join(c if c == "---" else _safe(c) for c in cells) + " |"


def _safe(text: str) -> str:
    return _SPECIAL.sub(r"\\\1", " ".join(clean(text).split()))
