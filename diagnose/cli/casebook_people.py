"""Names, telephone numbers and addresses: keep them apart, list them, forget them."""

from __future__ import annotations

import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from diagnose.cli.where import CASEBOOK_HELP, now, open_casebook
from diagnose.errors import InputError, NotFoundError, Problem

if TYPE_CHECKING:
    from diagnose.store.journal import Casebook
    from diagnose.store.search import Hit

app = typer.Typer(rich_markup_mode=None, add_completion=False)

_CASEBOOK = typer.Option(None, "--casebook", help=CASEBOOK_HELP)
_JSON = typer.Option(False, "--json", help="Write JSON.")
_TEXT = typer.Argument(None, help="The text; asked for if left out, and read from a pipe.")


@app.command(short_help="List the names and addresses kept.")
def people(json: bool = _JSON, casebook: Path | None = _CASEBOOK) -> None:
    """List the names and addresses that are kept, with the jobs that hold them."""
    from diagnose.cli.screen import Screen, put_json
    from diagnose.store.people import everyone, uses
    from diagnose.store.practice_log import marks

    with open_casebook(casebook) as book:
        used = uses(book)
        learners = marks(book)
        kept = [(person, used.get(person.mark, ())) for person in everyone(book)]
    kept.sort(key=lambda pair: pair[0].value.casefold())
    if json:
        put_json(
            [
                {
                    "text": each.value,
                    "mark": each.mark,
                    "jobs": list(jobs),
                    "practice": each.mark in learners,
                }
                for each, jobs in kept
            ]
        )
        return
    screen = Screen()
    if not kept:
        screen.text("The casebook keeps no names or addresses.")
        return
    places = ((*jobs, *(("practice",) if each.mark in learners else ())) for each, jobs in kept)
    rows = ((each.value, ", ".join(at) or "-") for (each, _), at in zip(kept, places, strict=True))
    screen.table(("text", "jobs"), rows)


@app.command(short_help="Keep a name, telephone number or address.")
def remember(
    text: str | None = _TEXT,
    casebook: Path | None = _CASEBOOK,
) -> None:
    """Keep a name, telephone number or address, and print the mark that stands for it.

    The mark goes into the record in place of the text, as in
    `diagnose job log JOB contract.client=MARK`. The client's name in a sheet is
    kept in this way by itself.
    """
    from diagnose.store.people import LONGEST
    from diagnose.store.people import remember as keep

    wanted = _asked(text, "Text to keep")
    if len(wanted) > LONGEST:
        raise InputError(
            [Problem(None, f"the text has {len(wanted)} letters; at most {LONGEST} are kept")]
        )
    with open_casebook(casebook, create=True) as book:
        sys.stdout.write(keep(book, wanted) + "\n")


@app.command(short_help="Remove one of them for good.")
def forget(
    text: str | None = _TEXT,
    reason: str = typer.Option("", "--reason", help="Why; do not name the person in it."),
    yes: bool = typer.Option(False, "--yes", help="Do not ask."),
    casebook: Path | None = _CASEBOOK,
) -> None:
    """Remove a name, telephone number or address for good; verification still holds.

    The entries keep a mark that no longer tells anything. Other devices remove
    the text at the next merge; what was written down on one of them and never
    merged has a mark of its own, and is to be forgotten there. Backups and
    bundles made before still hold it.
    """
    from diagnose.cli.casebook_words import count, hit_line, hit_where
    from diagnose.cli.screen import Screen
    from diagnose.store.people import forget as remove
    from diagnose.store.people import kept

    wanted = _asked(text, "Text to forget")
    if wanted.casefold() in reason.casefold():
        raise InputError([Problem(None, "the reason names what is to be forgotten, and it stays")])
    screen = Screen()
    with open_casebook(casebook) as book:
        if not kept(book, wanted):
            raise NotFoundError(
                "that text is not among the names and addresses kept here, letter for letter; "
                "`diagnose casebook people` lists them"
            )
        stays = _elsewhere(book, wanted)
        for hit in stays[:5]:
            screen.text(
                f"It also stands in an entry that stays: {hit_line(hit)}, {hit_where(hit)}."
            )
        if len(stays) > 5:
            screen.text(f"and in {count(len(stays) - 5, 'other place')}.")
        if not yes and not _agreed("Remove it for good?"):
            screen.text("Nothing was removed.")
            raise typer.Exit(1)
        remove(book, wanted, at=now(), reason=reason)
        report = book.verify()
    state = "still verifies" if report.sound else "does not verify; see `diagnose casebook verify`"
    screen.text(f"It was removed; the casebook {state}.")
    screen.text("Backups and bundles made before still hold it: delete or replace them.")


def _elsewhere(book: Casebook, text: str) -> tuple[Hit, ...]:
    """Return where a text stands, as whole words, in entries that cannot be changed."""
    from diagnose.store.search import FEWEST_LETTERS, search

    if len(text) < FEWEST_LETTERS:
        return ()
    whole = re.compile(rf"(?<!\w){re.escape(text.casefold())}(?!\w)")
    return tuple(hit for hit in search(book, text) if whole.search(hit.text.casefold()))


def _asked(text: str | None, prompt: str) -> str:
    """Return the text given, or ask for it, so that it need not stand in the shell's history."""
    if text is None:
        text = typer.prompt(prompt, err=True) if sys.stdin.isatty() else sys.stdin.readline()
    text = text.strip()
    if not text:
        raise InputError([Problem(None, "no text was given")])
    return text


def _agreed(question: str) -> bool:
    if not sys.stdin.isatty():
        raise InputError([Problem(None, "this removes something for good", "add --yes to do it")])
    return typer.confirm(question, err=True)
