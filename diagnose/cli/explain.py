"""`diagnose explain`: one page on anything the rules know."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from diagnose.cli.screen import Screen
    from diagnose.rulebook.explain import Explanation, Row, SourceShown

app = typer.Typer(
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    add_completion=False,
)


@app.command()
def explain(
    name: Annotated[
        list[str],
        typer.Argument(
            metavar="ID",
            help="Id or name of a symptom, cause, stage, question, act, check, limit, remedy, "
            "caution, source or teaching point.",
        ),
    ],
    as_json: Annotated[bool, typer.Option("--json", help="Write the page as JSON.")] = False,
    rules: Annotated[
        Path | None, typer.Option("--rules", help="Folder of rules other than the program's own.")
    ] = None,
) -> None:
    """Explain a symptom, cause, question, check, limit, remedy or source on one page.

    Cautions come first. Ids in brackets have a page of their own.
    """
    from dataclasses import asdict

    from diagnose.cli.screen import Screen, put_json
    from diagnose.cli.where import the_rules
    from diagnose.rulebook.explain import explain as page_of

    page = page_of(the_rules(rules), " ".join(name))
    if as_json:
        put_json(asdict(page))
    else:
        _show(page, Screen())


def _show(page: Explanation, screen: Screen) -> None:
    for caution in page.cautions:
        screen.caution(f"{caution.name}", caution.text, caution.defer_to)
    if page.cautions:
        screen.air()
    screen.strong(page.name)
    screen.faint(f"{page.kind}: {page.id}")
    if page.also:
        screen.faint("see also " + ", ".join(page.also))
    if page.text:
        screen.air()
        screen.text(page.text)
    for section in page.sections:
        screen.heading(section.title)
        if section.note:
            screen.faint(section.note)
        for row in section.rows:
            _row(row, screen)
    if page.sources:
        screen.heading("Sources")
        for source in page.sources:
            screen.text(_source(source), mark="-")


def _row(row: Row, screen: Screen) -> None:
    screen.text(f"{row.text} [{row.id}]" if row.id else row.text, mark="-")
    if row.note:
        screen.text(row.note, indent=4)
    for point in row.points:
        screen.text(point, indent=4, mark="*")


def _source(source: SourceShown) -> str:
    if source.support == "no source":
        return source.title + (f" ({source.note})" if source.note else "")
    clause = f", clause {source.clause}" if source.clause else ""
    note = f" Note: {source.note}." if source.note else ""
    return (
        f"{source.title}, {source.year}{clause} [{source.id}]: {source.support}. "
        f"Read as: {source.read_as.rstrip('.')}.{note}"
    )
