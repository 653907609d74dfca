"""`diagnose explain`: one page on anything the rules know."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from diagnose.cli.where import CASEBOOK_HELP
from diagnose.errors import InputError, Problem

if TYPE_CHECKING:
    from diagnose.cli.screen import Screen
    from diagnose.rulebook.explain import Explanation, Listing, Row, SourceShown
    from diagnose.rulebook.model import Rules

app = typer.Typer(
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    add_completion=False,
)


@app.command()
def explain(
    name: Annotated[
        list[str] | None,
        typer.Argument(
            metavar="[ID]",
            help="Id or name of a symptom, cause, stage, question, act, check, limit, remedy, "
            "caution, source or teaching point; or a list: symptoms, causes and so on.",
        ),
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Write the page as JSON.")] = False,
    sensitivity: Annotated[
        bool,
        typer.Option(
            "--sensitivity",
            help="ID is a case, or a complaint file (.yaml): which judged numbers its finding "
            "hangs on most.",
        ),
    ] = False,
    casebook: Annotated[Path | None, typer.Option("--casebook", help=CASEBOOK_HELP)] = None,
    rules: Annotated[
        Path | None, typer.Option("--rules", help="Folder of rules other than the program's own.")
    ] = None,
) -> None:
    """Explain a symptom, cause, question, check, limit, remedy or source on one page.

    Cautions follow the title. Ids in brackets have a page of their own. Without an
    id it tells which lists there are; words out of a name find what holds them.
    With --sensitivity it explains the finding of a case instead.
    """
    from dataclasses import asdict

    from diagnose.cli.screen import Screen, put_json
    from diagnose.cli.where import the_rules
    from diagnose.rulebook.explain import Listing

    if sensitivity:
        _explain_numbers(the_rules(rules), " ".join(name or ()), casebook, as_json=as_json)
        return
    if casebook is not None:
        hint = "give --sensitivity and the id of a case, or leave --casebook out"
        raise InputError([Problem(None, "--casebook goes with --sensitivity", hint)])
    page = _page_of(the_rules(rules), " ".join(name or ()))
    if as_json:
        put_json(asdict(page))
    elif isinstance(page, Listing):
        _show_list(page, Screen(), asked=bool(name))
    else:
        _show(page, Screen())


def _explain_numbers(rules: Rules, name: str, casebook: Path | None, *, as_json: bool) -> None:
    """Show which judged numbers the finding of a case hangs on most."""
    from diagnose.cli.blocks_screen import show
    from diagnose.cli.case_numbers import number_blocks, numbers_dict
    from diagnose.cli.case_of import inspection_of
    from diagnose.cli.screen import Screen, put_json
    from diagnose.cli.where import open_casebook

    if not name:
        hint = "diagnose explain --sensitivity CASE; `diagnose case list` names the cases"
        raise InputError([Problem(None, "say which case: its id is missing", hint)])
    with open_casebook(casebook) as book:
        inspection = inspection_of(book, rules, name)
    if as_json:
        put_json({"case": name} | numbers_dict(inspection))
        return
    show(Screen(), number_blocks(inspection))


def _page_of(rules: Rules, text: str) -> Explanation | Listing:
    """Return the page or the list that is meant; words alone may mean several pages."""
    from diagnose.errors import NotFoundError
    from diagnose.rulebook.explain import LISTED, WORDS, explain, found_by_words, listing, overview

    if not text.strip():
        return overview(rules)
    if (word := text.strip().casefold().replace(" ", "-")) in LISTED:
        return listing(rules, word)
    try:
        return explain(rules, text)
    except NotFoundError:
        found = found_by_words(rules, text)
        rows = [(section.title, row) for section in found.sections for row in section.rows]
        if not rows:
            raise
        if len(rows) > 1:
            return found
        [(kind, row)] = rows
        return explain(rules, f"{WORDS[kind.replace('-', '_')]}:{row.id}")


def _show_list(page: Listing, screen: Screen, *, asked: bool) -> None:
    screen.strong(page.title)
    for section in page.sections:
        screen.heading(section.title)
        for row in section.rows:
            _row(row, screen)
    screen.air()
    one = "diagnose explain ID" if asked else "diagnose explain symptoms"
    more = "shows the page of one." if asked else "lists them; diagnose explain ID shows one."
    screen.faint(f"{one} {more}")


def _show(page: Explanation, screen: Screen) -> None:
    screen.strong(page.name)
    screen.faint(f"{page.kind}: {page.id}")
    if page.also:
        screen.faint("see also " + ", ".join(page.also))
    if page.cautions:
        screen.air()
    for caution in page.cautions:
        screen.caution(f"{caution.name}", caution.text, caution.defer_to)
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
