"""The commands `practice progress` and `practice sheet`: what was learnt, what to print."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from diagnose.cli.practice_files import (
    BOOK_HELP,
    PUPIL_HELP,
    forget_learner,
    fresh_seed,
    learners,
    old_file,
    practice_book,
    pupil_name,
    read_progress,
    take_in,
)
from diagnose.errors import InputError, NotFoundError, Problem, StoreError

if TYPE_CHECKING:
    from diagnose.practice.progress import Progress
    from diagnose.practice.sheet import Line
    from diagnose.rulebook.model import Rules

MOST_ROWS = 12
SHEETS = ("questions", "key", "cases", "cases-key", "class", "items")
FORMATS = ("markdown", "text", "csv")


def progress_command(
    merge: Path | None = typer.Option(
        None, "--merge", help="Take in a progress file of an earlier version of this program."
    ),
    forget: str = typer.Option("", "--forget", help="Remove the name of a learner for good."),
    yes: bool = typer.Option(False, "--yes", help="Forget without asking."),
    json: bool = typer.Option(False, "--json", help="Write one JSON document."),
    casebook: Path | None = typer.Option(None, "--casebook", help=BOOK_HELP),
    pupil: str | None = typer.Option(None, "--pupil", help=PUPIL_HELP),
    rules_folder: Path | None = typer.Option(None, "--rules", help="Folder of other rules."),
) -> None:
    """Show what was done, is weak and is due.

    Practice is kept in the casebook. Two devices are brought together as
    everything else in it: `diagnose casebook bundle FILE` on one, `diagnose
    casebook merge FILE` on the other. To keep it apart from the jobs, set
    DIAGNOSE_PRACTICE=practice.db, and add --casebook practice.db to those two.
    """
    from diagnose.cli.screen import Screen, put_json
    from diagnose.cli.where import now, the_rules
    from diagnose.practice.schedule import standing

    book = practice_book(casebook)
    if merge is not None:
        number = take_in(book, merge)
        print(f"Taken in from {merge}: {_counted(number, 'new line')}.", file=sys.stderr)
    if forget:
        _forget(book, forget, yes)
        return
    rules, name = the_rules(rules_folder), pupil_name(pupil)
    own = read_progress(book, name)
    stands = standing(own.reviews, now())
    if json:
        put_json(_data(rules, own, name, stands))
    else:
        _show(Screen(), rules, own, name, stands)


def _forget(book: Path | None, name: str, yes: bool) -> None:
    known = learners(book)
    if name not in known:
        raise NotFoundError(f"there is no learner {name}", known[:5])
    if not yes:
        if not sys.stdin.isatty():
            print("error: forgetting cannot be taken back; give --yes", file=sys.stderr)
            raise typer.Exit(2)
        print(
            "The answers stay and tell of nobody. The name goes wherever it stands in the "
            "casebook; bundles and backups made before still hold it.",
            file=sys.stderr,
        )
        if not typer.confirm(f"Remove the name {name} for good?"):
            raise typer.Exit(1)
    forget_learner(book, name)
    print(f"Forgotten: {name}", file=sys.stderr)


def _data(rules: Rules, own: Progress, name: str, stands: Any) -> dict[str, Any]:
    from diagnose.practice.analysis import mean_brier, missed_causes, weak_stages

    brier = mean_brier(own.cases)
    return {
        "v": 1,
        "pupil": name,
        "cases": [
            {"case": row.case, "at": row.at, "points": row.points, "right": row.right}
            for row in own.cases
        ],
        "questions": len(own.items),
        "right": sum(item.right for item in own.items),
        "brier": None if brier is None else round(brier, 4),
        "missed": {cause: list(pair) for cause, pair in missed_causes(own.cases).items()},
        "stages": {stage: list(pair) for stage, pair in weak_stages(rules, own.cases).items()},
        "due": [
            {
                "subject": each.subject,
                "due": each.due.isoformat(),
                "known": None if each.known is None else round(each.known, 4),
                "reviews": each.reviews,
            }
            for each in stands
        ],
    }


def _show(screen: Any, rules: Rules, own: Progress, name: str, stands: Any) -> None:
    from diagnose.cli.practice_show import due_rows
    from diagnose.practice.analysis import mean_brier, weak_stages
    from diagnose.practice.measures import confidence_marks

    screen.heading(f"Progress of {name}")
    if not own.cases and not own.items:
        screen.text("Nothing yet. Begin with `diagnose practice quiz` or `diagnose practice play`.")
        if old := old_file():
            screen.text(f"What an earlier version kept: `diagnose practice progress --merge {old}`")
        return
    brier = mean_brier(own.cases)
    if brier is not None:
        right = sum(row.right for row in own.cases)
        screen.text(f"{_counted(len(own.cases), 'case')}, {right} right.")
        screen.text(
            f"How sure you were, against what was so: {brier:.2f} by the Brier score. 0 is best; "
            "always saying 50 in a hundred comes to 0.25."
        )
    if own.items:
        marks = sum(confidence_marks(item.right, item.confidence) for item in own.items)
        done = sum(item.right for item in own.items)
        asked = _counted(len(own.items), "short question")
        screen.text(f"{asked}, {done} right, {_counted(marks, 'mark')}.")
    weak = [(s, f"{m} of {n}") for s, (m, n) in weak_stages(rules, own.cases).items() if m]
    if weak:
        screen.heading("Weak stages")
        screen.table(("stage", "missed"), weak[:MOST_ROWS])
    if stands:
        screen.heading("Due next")
        screen.table(("what", "on", "known now"), due_rows(rules, stands, MOST_ROWS))


def _counted(number: int, noun: str) -> str:
    return f"{number} {noun}" if abs(number) == 1 else f"{number} {noun}s"


def sheet(
    what: str = typer.Argument("questions", help=f"One of: {', '.join(SHEETS)}."),
    count: int = typer.Option(10, "--count", "-n", min=1, max=500, help="Questions or cases."),
    seed: int | None = typer.Option(None, "--seed", min=0, help="Same seed, same sheet and key."),
    kind: list[str] = typer.Option([], "--kind", help="Kind of question; may be given again."),
    stage: list[str] = typer.Option([], "--stage", help="Stage of the work; may be given again."),
    difficulty: str = typer.Option("one-cause", "--difficulty", "-d", help="Of the cases."),
    format: str = typer.Option("markdown", "--format", help=f"One of: {', '.join(FORMATS)}."),
    out: Path | None = typer.Option(None, "--out", "-o", help="File to write; else the screen."),
    casebook: Path | None = typer.Option(None, "--casebook", help=BOOK_HELP),
    rules_folder: Path | None = typer.Option(None, "--rules", help="Folder of other rules."),
) -> None:
    """Write a sheet for a class.

    Questions, cases, their keys, or how the class and the questions did.
    """
    from diagnose.cli.where import the_rules
    from diagnose.practice.sheet import as_csv, as_markdown, as_text

    wrong: list[tuple[str, tuple[str, ...], str]] = []
    wrong += [(what, SHEETS, "sheet")] if what not in SHEETS else []
    wrong += [(format, FORMATS, "format")] if format not in FORMATS else []
    if wrong:
        problems = [
            Problem(None, f"{w} is no {k}", f"allowed: {', '.join(a)}") for w, a, k in wrong
        ]
        raise InputError(problems)
    number = fresh_seed() if seed is None else seed
    rules = the_rules(rules_folder)
    known = read_progress(practice_book(casebook)) if what in ("class", "items") else None
    lines = _lines(rules, known, what, number, count, kind, stage, difficulty)
    write = {"markdown": as_markdown, "text": as_text, "csv": as_csv}[format]
    text = write(lines)
    if out is None:
        sys.stdout.write(text)
        return
    try:
        mark = "\ufeff" if format == "csv" else ""
        out.write_text(mark + text, "utf-8", newline="")
    except OSError as error:
        raise StoreError(f"{out} cannot be written: {error.strerror or error}") from None
    print(f"Written: {out} (seed {number})", file=sys.stderr)


def _lines(
    rules: Rules,
    progress: Progress | None,
    what: str,
    seed: int,
    count: int,
    kind: list[str],
    stage: list[str],
    difficulty: str,
) -> list[Line]:
    from diagnose.cli.practice_order import order_of
    from diagnose.cli.practice_quiz import kinds_of
    from diagnose.practice import sheet as sheets
    from diagnose.practice.draw import draw_case
    from diagnose.practice.items import draw_items

    if progress is not None:
        by_class = what == "class"
        return sheets.class_sheet(rules, progress) if by_class else sheets.item_sheet(progress)
    if what in ("questions", "key"):
        items = draw_items(rules, seed, count, kinds=kinds_of(kind), stages=stage)
        make = sheets.question_sheet if what == "questions" else sheets.answer_key
        return make(items, f"Short questions {seed}")
    orders = [order_of(seed + n, difficulty, stage, ()) for n in range(count)]
    cases = [draw_case(rules, order) for order in orders]
    write = sheets.case_sheet if what == "cases" else sheets.case_key
    return write(rules, cases, f"Practice cases {seed}")
