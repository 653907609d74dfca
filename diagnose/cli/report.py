"""The command `report`: write the finding of a case as a page, PDF, Markdown or JSON."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import typer

from diagnose.cli.where import CASEBOOK_HELP, open_casebook
from diagnose.errors import NotFoundError, StoreError

if TYPE_CHECKING:
    from diagnose.record.model import Job
    from diagnose.reports.report import Report
    from diagnose.store.journal import Casebook

TO_HELP = "File to write: .html, .pdf, .md or .json; may be given again. Without, show it here."

app = typer.Typer(rich_markup_mode=None, add_completion=False)


@app.command()
def report(
    case: str = typer.Argument(..., help="Id of the case."),
    to: list[Path] = typer.Option([], "--to", help=TO_HELP),
    casebook: Path | None = typer.Option(None, "--casebook", help=CASEBOOK_HELP),
) -> None:
    """Write the last finding of a case as a report; without --to, show it here."""
    from diagnose.reports.finding_json import finding_from_json
    from diagnose.reports.finding_report import finding_report
    from diagnose.store.cases import show_case

    with open_casebook(casebook) as book:
        found = show_case(book, case)
        if not found.findings:
            raise NotFoundError(
                f"the case {found.id} has no finding yet; "
                f"go on with: diagnose walk --resume {found.id}"
            )
        finding = finding_from_json(str(found.findings[-1].body["finding"]))
        job = _job(book, finding.job)
    show_or_write(finding_report(finding, job), to)


def _job(book: Casebook, job_id: str) -> Job | None:
    """Return the job of a finding; None where the floor has no record here."""
    from diagnose.cli.record_of import job_of

    try:
        return job_of(book, job_id) if job_id else None
    except NotFoundError:
        return None


def show_or_write(made: Report, files: list[Path]) -> None:
    """Write a report to the files named, or show it where none is."""
    if files:
        write_all(made, files)
        return
    from diagnose.cli.blocks_screen import show
    from diagnose.cli.screen import Screen
    from diagnose.reports.blocks import PictureBlock, TableBlock

    screen = Screen()
    for block in made.blocks:
        if isinstance(block, PictureBlock):
            screen.strong(f"{block.title}:")
            fits = all(len(line) <= screen.width for line in block.text)
            for line in block.text if block.text and fits else (block.description,):
                screen.text(line)
            continue
        if isinstance(block, TableBlock) and block.caption:
            screen.strong(f"{block.caption}:")
        show(screen, (block,))


def write_all(made: Report, files: list[Path]) -> None:
    """Write a report to every file named; each ending says the form.

    Raises
    ------
    NotFoundError
        A form is unknown; nothing is written then.
    StoreError
        A file cannot be written.
    """
    from diagnose.cli.screen import Screen
    from diagnose.reports.forms import report_writer

    writers = [(file, report_writer(file.suffix)) for file in files]
    screen = Screen()
    for file, write in writers:
        data = write(made)
        try:
            file.write_bytes(data)
        except OSError as error:
            raise StoreError(f"{file} cannot be written: {error.strerror or error}") from None
        screen.text(f"Written: {file} ({max(1, round(len(data) / 1000))} kB)")
