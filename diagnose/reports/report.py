"""One report value, and the same as JSON."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, fields
from typing import Any

from diagnose.reports.blocks import Block, PictureBlock

FORMAT = 1


@dataclass(frozen=True, slots=True)
class Report:
    """What is reported, as blocks to read and as plain values for a program."""

    kind: str
    """finding, pack or check."""
    title: str
    blocks: tuple[Block, ...]
    data: Mapping[str, Any]


def report_json(report: Report) -> str:
    """Return the report as indented JSON: its values, and every block in words."""
    words = [_plain_block(block) for block in report.blocks]
    whole = {
        "format": FORMAT,
        "kind": report.kind,
        "title": report.title,
        report.kind: report.data,
        "blocks": words,
    }
    return json.dumps(whole, ensure_ascii=True, indent=1) + "\n"


def _plain_block(block: Block) -> dict[str, Any]:
    values = {field.name: getattr(block, field.name) for field in fields(block)}
    for drawn in ("svg", "text") if isinstance(block, PictureBlock) else ():
        values.pop(drawn)
    return {"block": type(block).__name__.removesuffix("Block").lower(), **values}
