"""The command `demo`: invented jobs, and one complaint followed to its finding."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from diagnose.errors import StoreError

if TYPE_CHECKING:
    from diagnose.cli.screen import Screen
    from diagnose.rulebook.model import Rules
    from diagnose.store.journal import Casebook
    from diagnose.walk.finding import Finding

app = typer.Typer(rich_markup_mode=None, add_completion=False)

FIRST = "larch-house"


@app.command()
def demo(
    folder: Path = typer.Argument(
        Path("carpet-demo"), help="Folder to make; it must not exist or be empty."
    ),
) -> None:
    """Make a casebook of invented jobs and follow one complaint to its finding."""
    from diagnose.cli.blocks_screen import show
    from diagnose.cli.screen import Screen
    from diagnose.cli.where import open_casebook, the_rules
    from diagnose.data import data_folder
    from diagnose.reports.finding_words import finding_blocks

    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise StoreError(f"{folder} is there already and not empty; name another folder")
    folder.mkdir(parents=True, exist_ok=True)
    screen = Screen()
    path = folder / "casebook.db"
    rules = the_rules()
    with open_casebook(path, create=True) as book:
        screen.text("Five invented jobs go into the casebook; none of them exists.")
        rows = []
        for source in sorted(data_folder("casebook").iterdir()):
            if (source / "job.yaml").is_file():
                rows.append(_bring_in(book, source))
        screen.table(("job", "what", "values"), rows)
        finding = _first_complaint(screen, book, rules)
    show(screen, finding_blocks(finding))
    _try_next(screen, path, finding.case)


def _bring_in(book: Casebook, source: Path) -> tuple[str, str, str]:
    """Keep one job as its people would have: on the day it was finished."""
    from diagnose.cli.job_import import import_climate, import_sheet

    sheet_path = source / "job.yaml"
    data = sheet_path.read_bytes()
    finished = _finished(data, sheet_path)
    sheet, changes = import_sheet(book, sheet_path, data, said_by="fitter", at=finished)
    count = len(changes)
    for log in sorted(source.glob("climate-*.csv")):
        import_climate(
            book,
            sheet.job_id,
            log,
            log.read_bytes(),
            area=log.stem.removeprefix("climate-"),
            dates="day-first",
            said_by="fitter",
            at=finished + timedelta(minutes=5),
        )
    title = sheet.values["title"].text if "title" in sheet.values else ""
    return sheet.job_id, title, str(count)


def _finished(data: bytes, path: Path) -> datetime:
    from diagnose.record.sheet import read_sheet

    return datetime.fromisoformat(read_sheet(data, str(path)).values["dates.finished_at"].text)


def _first_complaint(screen: Screen, book: Casebook, rules: Rules) -> Finding:
    from diagnose.cli.walk import conclude_and_store
    from diagnose.cli.walk_start import on_record
    from diagnose.data import data_folder
    from diagnose.store.cases import add_step, open_case
    from diagnose.walk.complaint import read_complaint
    from diagnose.walk.inspection import begin
    from diagnose.walk.steps import body_of, in_short

    path = data_folder("casebook") / FIRST / "complaint.yaml"
    told = read_complaint(path.read_bytes(), path.name, rules)
    screen.heading(f"A complaint comes in: {told.words}")
    started = on_record(book, rules, told.job, told.symptoms, told.at, told.inspected_at.date())
    case = open_case(
        book,
        symptoms=told.symptoms,
        at=told.made_at,
        said_by="client",
        job=told.job,
        place=told.at,
        words=told.words,
    )
    inspection = begin(rules, started.intake)
    for number, step in enumerate(told.steps, start=1):
        asked = rules.questions[step.subject]
        texts = [answer.text for answer in asked.answers if answer.id in step.answers]
        said = "; ".join(texts) or "none of these"
        screen.text(f"{in_short(asked.ask)} {said}", mark=f"{number}.")
        add_step(book, case, body_of(step), at=told.inspected_at + timedelta(minutes=number))
        inspection = inspection.after(step)
    return conclude_and_store(
        book,
        inspection,
        started.title,
        invented=started.invented,
        case=case,
        by="inspector",
        at=told.inspected_at + timedelta(minutes=30),
    )


def _try_next(screen: Screen, path: Path, case: str) -> None:
    screen.heading("Try next")
    for line in (
        f"diagnose walk millbrook-school --symptom fraying-edge --at seam:S1 --casebook {path}",
        f"diagnose case show {case} --casebook {path}",
        f"diagnose job show quayside-office --casebook {path}",
        "diagnose explain seam-peaking",
    ):
        screen.text(line, indent=2)
