"""The command `check`: what to look at, put right and write down before leaving site."""

from __future__ import annotations

import json as json_text
import sys
from dataclasses import asdict
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from diagnose.cli.where import CASEBOOK_HELP, now, open_casebook, the_rules

if TYPE_CHECKING:
    from diagnose.forecast.values import LeaveSite
    from diagnose.model import Place
    from diagnose.record.contradictions import Contradiction

app = typer.Typer(rich_markup_mode=None, add_completion=False)

FORMAT = 1
DEVIATES = 1
"""Exit code where something deviates."""


@app.command(
    epilog=(
        "Exit code: 0 nothing that is recorded deviates, 1 something deviates or cannot be so. "
        "Errors write nothing to standard output: 1 the input cannot be used, 2 wrong use, 3 no such job or "
        "place, 5 the casebook cannot be read."
    )
)
def check(
    job: str = typer.Argument(..., help="Id of the job."),
    place: str = typer.Option("", "--place", help="Only this place, such as seam:S2."),
    to: list[Path] = typer.Option(
        [], "--to", help="File to write: .html, .pdf, .md or .json; may be given again."
    ),
    json: bool = typer.Option(False, "--json", help="Write JSON."),
    all_: bool = typer.Option(False, "--all", help="Show also what hardly matters."),
    casebook: Path | None = typer.Option(None, "--casebook", help=CASEBOOK_HELP),
) -> None:
    """Check a job before leaving site.

    Shows what can hurt someone, what deviates, what can still be put right, the callbacks to
    expect and what is worth recording now.
    """
    from diagnose.cli.blocks_screen import show
    from diagnose.cli.record_of import job_of
    from diagnose.cli.screen import Screen, put_json
    from diagnose.forecast.leave_site import leave_site
    from diagnose.record.contradictions import contradictions
    from diagnose.record.place import find_place
    from diagnose.reports.check_words import check_blocks

    with open_casebook(casebook) as book:
        record = job_of(book, job)
    rules = the_rules()
    found = leave_site(rules, record, find_place(record, place) if place else None, told=_progress)
    _progress_ends()
    amiss = contradictions(record, None if record.invented else now())
    if json:
        put_json(_plain(found, amiss))
    elif to:
        from diagnose.cli.report import write_all
        from diagnose.reports.check_report import check_report

        write_all(check_report(found, rules, whole=all_, amiss=amiss), to)
    else:
        show(Screen(), check_blocks(found, rules, whole=all_, amiss=amiss))
    raise typer.Exit(0 if found.clean and not amiss else DEVIATES)


def _progress(place: Place, number: int, count: int) -> None:
    """Show on a terminal how far the check has come; nothing where output is piped."""
    if sys.stderr.isatty() and count > 1:
        sys.stderr.write(f"\rLooking at {place} ({number} of {count})".ljust(60)[:60])
        sys.stderr.flush()


def _progress_ends() -> None:
    if sys.stderr.isatty():
        sys.stderr.write("\r" + " " * 60 + "\r")
        sys.stderr.flush()


def _plain(found: LeaveSite, amiss: tuple[Contradiction, ...]) -> Any:
    """Return the check as plain values, times in ISO form."""

    def written(value: object) -> str:
        return value.isoformat() if isinstance(value, datetime) else str(value)

    values = {
        "format": FORMAT,
        "clean": found.clean and not amiss,
        "cannot_be_so": [asdict(each) for each in amiss],
        **asdict(found),
    }
    return json_text.loads(json_text.dumps(values, default=written))
