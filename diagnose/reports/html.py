"""Write a report as one self-contained HTML page.

The page asks nothing of any network, runs no script and carries its pictures
inside; a content policy says so to the browser.  Everything that a record
holds is cleaned and escaped on its way in.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from diagnose.reports.blocks import Block, Item, PictureBlock
from diagnose.reports.report import Report
from diagnose.reports.svg import page_colours
from diagnose.text import clean

if TYPE_CHECKING:
    from jinja2 import Template

_HERE = Path(__file__).parent
POLICY = "default-src 'none'; img-src data:; style-src 'unsafe-inline'; base-uri 'none'"
"""Content policy of every page: no script, no request, no form."""


def html_page(report: Report) -> str:
    """Return the whole page; the same report gives the same bytes."""
    from markupsafe import Markup

    # The style and the policy are ours, not a record's; they are the only text not escaped.
    return _template().render(
        title=report.title,
        groups=list(_groups(report.blocks)),
        policy=Markup(POLICY),
        style=Markup(_style()),
        colours={scheme: Markup(page_colours(scheme)) for scheme in ("light", "dark")},
    )


@cache
def _style() -> str:
    return (_HERE / "page.css").read_text("utf-8")


@cache
def _template() -> Template:
    from jinja2 import Environment, FileSystemLoader, StrictUndefined

    environment = Environment(
        loader=FileSystemLoader(_HERE),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_cleaned,
    )
    return environment.get_template("page.html.j2")


def _cleaned(value: Any) -> Any:
    """Spell out control characters in text; leave markup of our own as it is."""
    return clean(value) if type(value) is str else value


def _groups(blocks: Iterable[Block]) -> Iterable[tuple[str, Any]]:
    """Yield (kind, block), with neighbouring items as one list."""
    from markupsafe import Markup

    items: list[Item] = []
    for block in blocks:
        if isinstance(block, Item):
            items.append(block)
            continue
        if items:
            yield "list", items
            items = []
        if isinstance(block, PictureBlock):
            # `reports.svg` has escaped it already.
            yield "picture", (block, Markup(block.svg))
        else:
            yield type(block).__name__.removesuffix("Block").lower(), block
    if items:
        yield "list", items
