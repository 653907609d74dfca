"""The command `job`: keep the install record of a job."""

from __future__ import annotations

import sys
from pathlib import Path

import typer

from diagnose.cli import job_withdraw
from diagnose.cli.job_words import doubt, marks, say, say_change, tell
from diagnose.cli.where import CASEBOOK_HELP, now, open_casebook, read_file, who
from diagnose.errors import InputError, NotFoundError, Problem

app = typer.Typer(
    rich_markup_mode=None,
    add_completion=False,
    no_args_is_help=True,
    help="Keep the install record of a job.",
)

_CASEBOOK = typer.Option(None, "--casebook", help=CASEBOOK_HELP)
_JSON = typer.Option(False, "--json", help="Write JSON.")
_WHO = typer.Option(None, "--who", help="Who says so; your login name if left out.")


@app.command()
def new(
    job: str = typer.Argument(..., help="Id of the job, such as elm-court."),
    title: str = typer.Option("", "--title", help="What and where, in a few words."),
    to: Path | None = typer.Option(None, "--to", help="File to write; the screen if left out."),
) -> None:
    """Write an empty sheet to fill in."""
    from diagnose.record.blank_sheet import blank_sheet

    text = blank_sheet(job, title)
    if to is None:
        sys.stdout.write(text)
        return
    if to.exists():
        raise InputError([Problem(None, f"{to} is there already", "name another file")])
    to.write_text(text, encoding="utf-8")
    say(f"{to} is written. Fill it in, then: diagnose job sheet {to}")


@app.command("list")
def list_(json: bool = _JSON, casebook: Path | None = _CASEBOOK) -> None:
    """List the jobs of the casebook."""
    from dataclasses import asdict

    from diagnose.cli.screen import Screen, put_json
    from diagnose.store.jobs import jobs

    with open_casebook(casebook) as book:
        lines = jobs(book)
    if json:
        put_json([asdict(line) for line in lines])
        return
    screen = Screen()
    if not lines:
        screen.text("There is no job yet. `diagnose job sheet FILE` brings one in.")
        return
    screen.table(
        ("job", "what", "laid", "finished"),
        ((j.id, j.title or "-", j.method or "-", (j.finished_at or "-")[:10]) for j in lines),
    )


@app.command(short_help="Show what is recorded of a job.")
def show(
    job: str = typer.Argument(..., help="Id of the job."),
    part: str = typer.Option("", "--part", help="Only values below this path, such as seams.S2."),
    json: bool = _JSON,
    casebook: Path | None = _CASEBOOK,
) -> None:
    """Show what is recorded of a job, with who entered it and when."""
    from diagnose.cli.screen import Screen, put_json
    from diagnose.record.fields import label_of
    from diagnose.store.jobs import values_of

    with open_casebook(casebook) as book:
        from diagnose.cli.record_of import job_of

        values, _ = values_of(book, job)
        origins = job_of(book, job).origins
    inside = (p for p in values if p == part or p.startswith(f"{part}."))
    wanted = list(inside) if part else [p for p in values if not p.startswith("climate.")]
    if part and not wanted:
        tops = sorted({path.split(".")[0] for path in values})
        raise NotFoundError(f"nothing is recorded at {part} of the job {job}", tops)
    if json:
        put_json({path: values[path] for path in wanted})
        return
    screen = Screen()
    rows = []
    for path in wanted:
        entry = origins.get(path)
        how = (
            f"{entry.entered_at:%Y-%m-%d %H:%M} {entry.said_by}, {str(entry.provenance).replace('-', ' ')}"
            if entry
            else "-"
        )
        text = values[path] if len(values[path]) <= 80 else values[path][:77] + "..."
        rows.append((f"{path}\n{label_of(path)}", text, how))
    screen.table(("value", "recorded", "entered"), rows, whole=1)


@app.command(short_help="Bring in a sheet; what differs is entered.")
def sheet(
    file: Path = typer.Argument(..., help="The sheet, YAML."),
    dry_run: bool = typer.Option(False, "--dry-run", help="Only show what would change."),
    reason: str = typer.Option("", "--reason", help="Why values are corrected."),
    said_by: str | None = _WHO,
    casebook: Path | None = _CASEBOOK,
) -> None:
    """Bring a sheet in; only what differs from the casebook is entered."""
    from diagnose.cli.job_import import import_sheet, sheet_changes
    from diagnose.cli.record_of import job_of
    from diagnose.record.fold import fold
    from diagnose.record.sheet import read_sheet

    data = read_file(file)
    if dry_run:
        read = read_sheet(data, str(file))
        with open_casebook(casebook, create=True) as book:
            tell(sheet_changes(book, read), "would change")
        doubt(fold(read.job_id, read.texts()))
        return
    read_sheet(data, str(file))
    with open_casebook(casebook, create=True) as book:
        read, changes = import_sheet(
            book, file, data, said_by=who(said_by), at=now(), reason=reason
        )
        job = job_of(book, read.job_id)
    for query in read.queries:
        say(f"{query.at}: {query.text}")
    tell(changes, f"entered for the job {read.job_id}")
    doubt(job)


@app.command(short_help="Write the sheet of a job as recorded.")
def write(
    job: str = typer.Argument(..., help="Id of the job."),
    casebook: Path | None = _CASEBOOK,
) -> None:
    """Write the sheet of a job as the casebook has it, to edit and bring back."""
    from diagnose.record.sheet_write import write_sheet
    from diagnose.store.jobs import values_of

    with open_casebook(casebook) as book:
        values, _ = values_of(book, job)
    sys.stdout.write(write_sheet(job, values))


@app.command(short_help="Enter single values, as they happen.")
def log(
    job: str = typer.Argument(..., help="Id of the job."),
    values: list[str] = typer.Argument(..., help="path=value, such as seams.S2.closed_at=now."),
    statement: bool = typer.Option(False, "--statement", help="From memory or hearsay."),
    new: bool = typer.Option(False, "--new", help="Parts that are not recorded yet are begun."),
    reason: str = typer.Option("", "--reason", help="Why a value is corrected."),
    said_by: str | None = _WHO,
    casebook: Path | None = _CASEBOOK,
) -> None:
    """Enter single values; `now` stands for the time now."""
    from diagnose.cli.record_of import job_of
    from diagnose.record.single_values import read_values, replaced
    from diagnose.store.jobs import import_changes, values_of

    at = now()
    with open_casebook(casebook) as book:
        present, _ = values_of(book, job)
        wanted = read_values(job, values, present, at, new_parts=new)
        entry = import_changes(
            book,
            job,
            wanted,
            said_by=who(said_by),
            at=at,
            statement=statement,
            reason=reason,
        )
        record = job_of(book, job)
    say("Nothing changed." if entry is None else f"Entered as {entry.device[:8]}/{entry.seq}.")
    for path, old, value in replaced(present, wanted):
        say_change(path, old, value)
    doubt(record)


@app.command()
def climate(
    job: str = typer.Argument(..., help="Id of the job."),
    file: Path = typer.Argument(..., help="The logger's file."),
    area: str = typer.Option(..., "--area", help="Area that the logger stood in."),
    dates: str | None = typer.Option(
        None, "--dates", help="day-first or month-first, where the file leaves it open."
    ),
    said_by: str | None = _WHO,
    casebook: Path | None = _CASEBOOK,
) -> None:
    """Bring in a climate log."""
    from diagnose.cli.job_import import import_climate

    data = read_file(file)
    if dates not in (None, "day-first", "month-first"):
        hint = "write day-first or month-first"
        raise InputError([Problem(None, f"--dates {dates} is not known", hint)])
    with open_casebook(casebook) as book:
        done = import_climate(
            book, job, file, data, area=area, dates=dates, said_by=who(said_by), at=now()
        )
    log = done.log
    say(f"Climate log {log.id}: {len(log.points)} points kept; {log.note}.")
    if done.before is not None:
        was = f"{len(done.before.points)} points of {done.before.file_name or 'another file'}"
        say(f"It replaces the earlier log of the area {area}: {was}.")
    if done.days_outside:
        say(
            f"{done.days_outside} of {len(log.days)} days lie more than 60 days outside the job, "
            f"{done.job_days}: is it the right file, with day and month the right way round?"
        )


@app.command(short_help="List the places a complaint can name.")
def places(
    job: str = typer.Argument(..., help="Id of the job."),
    json: bool = _JSON,
    casebook: Path | None = _CASEBOOK,
) -> None:
    """List the places of a job that a complaint can name."""
    from diagnose.cli.record_of import job_of
    from diagnose.cli.screen import Screen, put_json
    from diagnose.record.place import places_of

    with open_casebook(casebook) as book:
        found = [str(place) for place in places_of(job_of(book, job))]
    if json:
        put_json(found)
        return
    screen = Screen()
    for place in found:
        screen.text(place)


@app.command(short_help="Show every value a field has had.")
def history(
    job: str = typer.Argument(..., help="Id of the job."),
    path: str = typer.Argument(..., help="Path of a value, such as seams.S2.edges_sealed."),
    casebook: Path | None = _CASEBOOK,
) -> None:
    """Show every value a field has had, and who entered it when."""
    from diagnose.cli.screen import Screen
    from diagnose.store.jobs import history_of

    with open_casebook(casebook) as book:
        steps = history_of(book, job, path)
    Screen().table(
        ("entered", "by", "value", "how and why"),
        (
            (
                f"{step.entry.entered_at:%Y-%m-%d %H:%M}",
                str(step.entry.body.get("said_by", "")),
                "(taken out)" if step.value is None else step.value,
                "; ".join(filter(None, marks(step))),
            )
            for step in steps
        ),
    )


@app.command(short_help="Draw the plan of every area.")
def plan(
    job: str = typer.Argument(..., help="Id of the job."),
    to: Path = typer.Option(..., "--to", help="Folder for the drawings, one SVG an area."),
    casebook: Path | None = _CASEBOOK,
) -> None:
    """Draw the plan of every area that has an outline."""
    from diagnose.cli.record_of import job_of
    from diagnose.reports.plan import complaint_pins, draw_job

    with open_casebook(casebook) as book:
        found = job_of(book, job)
    drawings = draw_job(found, complaint_pins(found))
    if not drawings:
        raise NotFoundError(f"no area of the job {job} has an outline to draw")
    to.mkdir(parents=True, exist_ok=True)
    for drawing in drawings:
        target = to / f"{drawing.area}.svg"
        target.write_text(drawing.svg, encoding="utf-8")
        say(f"{target}")


@app.command(short_help="Write the schema of a sheet for an editor.")
def schema(
    to: Path | None = typer.Option(None, "--to", help="File to write; the screen if left out."),
) -> None:
    """Write the JSON Schema of a sheet, with which an editor completes and checks it."""
    import json as json_text

    from diagnose.record.schema import sheet_schema

    text = json_text.dumps(sheet_schema(), indent=2) + "\n"
    if to is None:
        sys.stdout.write(text)
        return
    to.write_text(text, encoding="utf-8")
    say(f"{to} is written. First line of a sheet: # yaml-language-server: $schema={to}")


app.add_typer(job_withdraw.app)
