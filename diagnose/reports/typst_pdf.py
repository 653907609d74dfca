"""Write a report as a tagged PDF with typst, which comes with the extra `pdf`.

Text reaches the template as data, never as its source, so nothing a record
holds can be code there.  System fonts are left out: the same report gives the
same file on every machine.
"""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import Any, Final

from diagnose.errors import DiagnoseError
from diagnose.reports.blocks import Block, PictureBlock
from diagnose.reports.report import Report
from diagnose.text import clean

_TEMPLATE = Path(__file__).parent / "page.typ"
STANDARD: Final = "ua-1"
"""PDF for everyone: headings, tables and pictures are tagged; typst checks it."""


def pdf_bytes(report: Report) -> bytes:
    """Return the report as a PDF file.

    Raises
    ------
    DiagnoseError
        The extra `pdf` is not installed; the message says how to do without.
    """
    try:
        import typst
    except ImportError:
        raise DiagnoseError(
            "writing a PDF needs the extra `pdf`: install this program again with it, "
            "as its README shows; or write the report as .html and print it from a browser"
        ) from None
    data = {"title": clean(report.title), "blocks": [_plain(block) for block in report.blocks]}
    made = typst.compile(
        _TEMPLATE.read_bytes(),
        format="pdf",
        ignore_system_fonts=True,
        pdf_standards=[STANDARD],
        sys_inputs={"data": json.dumps(data)},
    )
    assert isinstance(made, bytes)
    return made


def _plain(block: Block) -> dict[str, Any]:
    values = _cleaned(asdict(block))
    assert isinstance(values, dict)
    if isinstance(block, PictureBlock):
        values["svg"] = block.svg
    return {"block": type(block).__name__.removesuffix("Block").lower(), **values}


def _cleaned(value: Any) -> Any:
    if isinstance(value, str):
        return clean(value)
    if isinstance(value, dict):
        return {key: _cleaned(each) for key, each in value.items()}
    if isinstance(value, list | tuple):
        return [_cleaned(each) for each in value]
    return value
