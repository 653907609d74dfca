"""The command `pack`: write the handover pack of a job."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import typer

from diagnose.cli.report import TO_HELP, show_or_write
from diagnose.cli.where import CASEBOOK_HELP, now, open_casebook, the_rules, who
from diagnose.errors import StoreError

if TYPE_CHECKING:
    from diagnose.record.model import Job

app = typer.Typer(rich_markup_mode=None, add_completion=False)


@app.command()
def pack(
    job: str = typer.Argument(..., help="Id of the job."),
    to: list[Path] = typer.Option([], "--to", help=TO_HELP),
    call: str = typer.Option("", "--call", help="Whom to call, as it is to stand in the pack."),
    cobie: Path | None = typer.Option(
        None, "--cobie", help="Folder for COBie sheets as CSV, made if it is not there."
    ),
    casebook: Path | None = typer.Option(None, "--casebook", help=CASEBOOK_HELP),
    made_by: str | None = typer.Option(None, "--who", help="Who hands over."),
) -> None:
    """Write the handover pack: what was laid where, with what, and how to use it; without --to, show it here."""
    from diagnose.cli.record_of import job_of
    from diagnose.cli.screen import Screen
    from diagnose.reports.pack_words import pack_of, pack_report

    rules = the_rules()
    with open_casebook(casebook) as book:
        found = job_of(book, job)
        head = book.own_head()
    made = pack_of(
        found,
        rules,
        head=str(head) if head else "",
        made_at=now().isoformat(timespec="seconds"),
        made_by=who(made_by),
        call=call,
    )
    show_or_write(pack_report(made), to)
    if cobie is not None:
        _write_cobie(found, cobie, made.made_at, made.made_by)
    count = sum(len(missing) for _, missing in made.missing)
    if count:
        Screen().text(f"Not recorded: {count} items; the pack names them at its end.")


def _write_cobie(job: Job, folder: Path, made_at: str, made_by: str) -> None:
    """Write the sheets; spreadsheets tell UTF-8 by the mark at the start."""
    from diagnose.cli.screen import Screen
    from diagnose.reports.cobie import cobie_sheets

    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, text in cobie_sheets(job, made_at=made_at, made_by=made_by).items():
            folder.joinpath(f"{name}.csv").write_bytes(text.encode("utf-8-sig"))
    except OSError as error:
        raise StoreError(f"{folder} cannot be written: {error.strerror or error}") from None
    Screen().text(f"Written: COBie sheets in {folder}; check them against the client's own list.")
