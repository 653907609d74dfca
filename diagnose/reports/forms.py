"""The four forms that a report is written in."""

from __future__ import annotations

from collections.abc import Callable

from diagnose.errors import NotFoundError
from diagnose.reports.html import html_page
from diagnose.reports.markdown import markdown
from diagnose.reports.report import Report, report_json
from diagnose.reports.typst_pdf import pdf_bytes


def report_writer(ending: str) -> Callable[[Report], bytes]:
    """Return what writes a report to a file of that ending, such as `.html`.

    Raises
    ------
    NotFoundError
        No form of report has that ending.
    """
    writers: dict[str, Callable[[Report], bytes]] = {
        ".html": lambda report: html_page(report).encode(),
        ".pdf": pdf_bytes,
        ".md": lambda report: markdown(report.blocks).encode(),
        ".json": lambda report: report_json(report).encode(),
    }
    found = writers.get(ending.lower())
    if found is None:
        raise NotFoundError(
            f"a report ends in {', '.join(writers)}; {ending or 'no ending'} is none of them"
        )
    return found
