"""The command `job withdraw`: take back what should never have been entered."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import typer

from diagnose.cli.job_words import say, say_change
from diagnose.cli.where import CASEBOOK_HELP, now, open_casebook, who
from diagnose.errors import InputError, Problem

app = typer.Typer(rich_markup_mode=None, add_completion=False)

MOST_SHOWN = 20
_ENTRY = re.compile(r"([0-9a-z][0-9a-z-]{0,63})/([0-9]{1,9})")


@app.command(short_help="Take back a value or entry made by a slip.")
def withdraw(
    job: str = typer.Argument(..., help="Id of the job."),
    path: str | None = typer.Argument(
        None, help="Path of the value, such as seams.S2.edges_sealed."
    ),
    entry: str | None = typer.Option(
        None, "--entry", help="A whole entry, as `job history` and `job log` name it: 1a2b3c4d/7."
    ),
    reason: str = typer.Option("", "--reason", help="Why; asked for if left out."),
    said_by: str | None = typer.Option(
        None, "--who", help="Who says so; your login name if left out."
    ),
    casebook: Path | None = typer.Option(None, "--casebook", help=CASEBOOK_HELP),
) -> None:
    """Take back a value, or a whole entry, that should never have been made.

    For a slip: a value in the wrong job or at the wrong seam. What was recorded
    before it counts again. The value taken back stays in `job history`, marked
    as withdrawn, with who did it and why. Where a value was simply wrong, enter
    the right one with `job log` and `--reason` instead.
    """
    from diagnose.store.withdraw import withdraw_entry, withdraw_value

    if (path is None) == (entry is None):
        raise InputError(
            [
                Problem(
                    None,
                    "say what is to be withdrawn: the path of a value, or a whole entry",
                    f"diagnose job withdraw {job} seams.S2.edges_sealed; "
                    f"diagnose job withdraw {job} --entry 1a2b3c4d/7",
                )
            ]
        )
    name = _entry(entry) if entry is not None else None
    at, by = now(), who(said_by)
    why = _reason(reason)
    with open_casebook(casebook) as book:
        if name is not None:
            done = withdraw_entry(book, job, *name, said_by=by, at=at, reason=why)
        else:
            done = withdraw_value(book, job, str(path), said_by=by, at=at, reason=why)
    say(
        f"Withdrawn from the job {job}: what was entered as {done.of.device[:8]}/{done.of.seq} "
        f"on {done.of.entered_at:%Y-%m-%d}; it stays readable in `diagnose job history`."
    )
    for changed, (old, new) in list(done.changes.items())[:MOST_SHOWN]:
        say_change(changed, old, new)
    if not done.changes:
        say("Later entries had replaced it, so no present value changes.")
    elif len(done.changes) > MOST_SHOWN:
        say(f"and {len(done.changes) - MOST_SHOWN} other values.")


def _entry(text: str) -> tuple[str, int]:
    found = _ENTRY.fullmatch(text.strip().lower())
    if not found:
        raise InputError(
            [
                Problem(
                    None,
                    f"--entry {text[:60]!r} names no entry",
                    "it reads like 1a2b3c4d/7; `diagnose job history` shows it",
                )
            ]
        )
    return found[1], int(found[2])


def _reason(given: str) -> str:
    """Return the reason given, or ask for it."""
    text = given.strip()
    if not text and sys.stdin.isatty():
        text = str(typer.prompt("Why is it withdrawn", err=True)).strip()
    if not text:
        raise InputError(
            [Problem(None, "a withdrawal needs its reason", 'add --reason "wrong seam"')]
        )
    return text
