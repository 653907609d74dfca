"""The command `practice`: invented cases and short questions, marked and spaced."""

from __future__ import annotations

import json as jsonlib
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from diagnose.cli.practice_drill import drill
from diagnose.cli.practice_files import (
    BOOK_HELP,
    PUPIL_HELP,
    finished,
    fresh_seed,
    practice_book,
    pupil_name,
    read_open_round,
    read_progress,
    stamp,
)
from diagnose.cli.practice_files import keep as keep_lines
from diagnose.cli.practice_order import order_of
from diagnose.cli.practice_quiz import quiz
from diagnose.cli.practice_sheets import progress_command, sheet
from diagnose.errors import DiagnoseError, NotFoundError

if TYPE_CHECKING:
    from diagnose.cli.screen import Screen
    from diagnose.engine.network import Network
    from diagnose.practice.mark import Mark
    from diagnose.practice.play import Round
    from diagnose.rulebook.model import Rules

app = typer.Typer(
    rich_markup_mode=None,
    add_completion=False,
    no_args_is_help=True,
    help="Practise finding the cause of drawn faults.",
)

SEED = typer.Option(None, "--seed", min=0, help="Same seed, same case; drawn if left out.")
DIFFICULTY = typer.Option(
    "one-cause",
    "--difficulty",
    "-d",
    help="one-cause, look-alike, two-causes, silent-record, misleading-record.",
)
STAGE = typer.Option([], "--stage", help="Only causes of this stage.")
CAUSE = typer.Option([], "--about", help="Only this cause.")
BOOK = typer.Option(None, "--casebook", help=BOOK_HELP)
PUPIL = typer.Option(None, "--pupil", help=PUPIL_HELP)
RULES = typer.Option(None, "--rules", help="Folder of other rules.")
JSON = typer.Option(False, "--json", help="Write one JSON document.")


@app.command()
def draw(
    seed: int | None = SEED,
    difficulty: str = DIFFICULTY,
    stage: list[str] = STAGE,
    about: list[str] = CAUSE,
    count: int = typer.Option(1, "--count", min=1, max=100, help="Cases, one seed after another."),
    key: bool = typer.Option(False, "--key", help="Show what was wrong; for the trainer."),
    out: Path | None = typer.Option(
        None, "--out", help="Folder to make: each job as sheet and log, and a casebook of them."
    ),
    json: bool = JSON,
    rules_folder: Path | None = RULES,
) -> None:
    """Draw invented cases for a class."""
    from diagnose.cli.screen import Screen, put_json
    from diagnose.cli.where import the_rules
    from diagnose.practice.draw import draw_case
    from diagnose.practice.sheet import as_text, case_key, case_sheet
    from diagnose.practice.told import VERSION, case_data

    rules = the_rules(rules_folder)
    first = fresh_seed() if seed is None else seed
    orders = [order_of(first + n, difficulty, stage, about) for n in range(count)]
    cases = [draw_case(rules, order) for order in orders]
    if out is not None:
        from diagnose.cli.practice_job import next_steps, write_jobs

        path = write_jobs(rules, out, cases, key=key)
        for line in next_steps(path, cases):
            print(line, file=sys.stderr)
    if json:
        put_json({"v": VERSION, "cases": [case_data(rules, case, key=key) for case in cases]})
        return
    width = Screen().width
    sys.stdout.write(as_text(case_sheet(rules, cases, "Practice cases"), width))
    if key:
        sys.stdout.write("\n" + as_text(case_key(rules, cases, "Practice cases"), width))


@app.command()
def play(
    seed: int | None = SEED,
    difficulty: str = DIFFICULTY,
    stage: list[str] = STAGE,
    about: list[str] = CAUSE,
    minutes: int = typer.Option(90, "--minutes", min=1, max=600, help="Minutes on site."),
    harm: int = typer.Option(72, "--harm", min=0, max=600, help="Harm the owner allows."),
    ask: list[str] = typer.Option([], "--ask", help="Question to ask; may be given again."),
    cause: list[str] = typer.Option([], "--cause", help="Cause you name; may be given again."),
    sure: int | None = typer.Option(None, "--sure", min=0, max=100, help="How sure, in a hundred."),
    remedy: str = typer.Option("", "--remedy", help="Remedy you name."),
    answers: Path | None = typer.Option(
        None,
        "--answers",
        help="File of lines: ask ID, ask ID without-caution, cause ID, sure N, remedy ID.",
    ),
    no_input: bool = typer.Option(False, "--no-input", help="Ask nothing at the keyboard."),
    new: bool = typer.Option(False, "--new", help="Give up the round that is open."),
    json: bool = JSON,
    casebook: Path | None = BOOK,
    pupil: str | None = PUPIL,
    rules_folder: Path | None = RULES,
) -> None:
    """Find the cause of an invented complaint.

    Question the floor, name the cause, say how sure you are, and be marked.

    A round that was broken off goes on where it stopped; every move is kept at once.
    """
    from diagnose.cli.practice_script import Script, read_script, with_options
    from diagnose.cli.screen import Screen
    from diagnose.cli.where import the_rules
    from diagnose.practice.draw import draw_case, network_of
    from diagnose.practice.play import Allowed, start

    rules = the_rules(rules_folder)
    book, name = practice_book(casebook), pupil_name(pupil)
    script = with_options(read_script(answers) if answers else Script(), ask, cause, sure, remedy)
    round_ = None if new or seed is not None else open_round(rules, book, name)
    if round_ is None:
        known = () if seed is not None or about else weak_of(book, name)
        weak = tuple(cause for cause in known if cause in rules.causes)
        number = fresh_seed() if seed is None else seed
        order = order_of(number, difficulty, stage, about, weak)
        round_ = start(draw_case(rules, order), Allowed(minutes, harm))
    network = network_of(rules, round_.case)
    keep = keeper(book, name)
    keep(round_)
    round_ = script.applied(rules, network, round_, keep)
    if round_.stated is None and not (no_input or json):
        round_ = talk(rules, network, round_, Screen(), keep)
    finish(rules, round_, book, name, json=json)


@app.command("mark")
def mark_command(
    case: str = typer.Argument("", help="Name of a finished case; the last one if left out."),
    json: bool = JSON,
    casebook: Path | None = BOOK,
    pupil: str | None = PUPIL,
    rules_folder: Path | None = RULES,
) -> None:
    """Show again how a round was marked."""
    from diagnose.cli.where import the_rules
    from diagnose.practice.draw import draw_case
    from diagnose.practice.saved import read_round

    name = pupil_name(pupil)
    own = read_progress(practice_book(casebook), name).cases
    found = [row for row in own if not case or row.case == case]
    if not found:
        what = f"no finished round {case}" if case else "no finished round"
        raise NotFoundError(
            f"{name} has {what} yet; `diagnose practice play` begins one",
            sorted({row.case for row in own})[:5],
        )
    rules = the_rules(rules_folder)
    data = jsonlib.loads(found[-1].round)
    show(rules, read_round(data, lambda order: draw_case(rules, order)), json=json)


def weak_of(book: Path | None, pupil: str) -> tuple[str, ...]:
    """Return the causes that a learner misses, and those that are due again."""
    from diagnose.cli.where import now
    from diagnose.practice.analysis import weak_spots
    from diagnose.practice.schedule import due_now

    own = read_progress(book, pupil)
    due = [name for name in due_now(own.reviews, now()) if name.startswith("cause:")]
    found = (*weak_spots(own.cases), *(name.removeprefix("cause:") for name in due))
    return tuple(dict.fromkeys(found))


def open_round(rules: Rules, book: Path | None, pupil: str) -> Round | None:
    """Return the round a learner broke off, if it belongs to these rules."""
    from diagnose.practice.draw import draw_case
    from diagnose.practice.saved import read_round

    text = read_open_round(book, pupil)
    if not text:
        return None
    try:
        found = read_round(jsonlib.loads(text), lambda order: draw_case(rules, order))
    except DiagnoseError as error:
        print(f"note: {error}", file=sys.stderr)
        return None
    print(f"note: going on with {found.case.name}; --new begins another", file=sys.stderr)
    return found


def keeper(book: Path | None, pupil: str) -> Any:
    """Return the function that stores a round after each move."""
    from diagnose.practice.progress import OpenRound
    from diagnose.practice.saved import round_data

    def keep(round_: Round) -> None:
        text = jsonlib.dumps(round_data(round_), sort_keys=True, separators=(",", ":"))
        keep_lines(book, OpenRound(stamp(), pupil, text))

    return keep


def talk(rules: Rules, network: Network, round_: Round, screen: Screen, keep: Any) -> Round:
    """Talk with the learner; leave with a note when they break off."""
    from diagnose.cli.practice_prompt import Broken
    from diagnose.cli.practice_talk import PlayTalk

    if not sys.stdin.isatty():
        print(
            "error: nothing was stated and there is nobody at the keyboard\n"
            "hint: give --cause and --sure, or --answers; --no-input shows the round so far",
            file=sys.stderr,
        )
        raise typer.Exit(2)
    try:
        return PlayTalk(rules, network, round_, screen, keep).run()
    except Broken:
        print("\nKept. `diagnose practice play` goes on from here.", file=sys.stderr)
        raise typer.Exit(0) from None


def finish(rules: Rules, round_: Round, book: Path | None, pupil: str, *, json: bool) -> None:
    """Mark a finished round and note it; show an unfinished one."""
    from diagnose.cli.practice_talk import PlayTalk
    from diagnose.cli.screen import Screen, put_json
    from diagnose.practice.draw import network_of
    from diagnose.practice.told import VERSION, round_told

    if round_.stated is None:
        if json:
            put_json({"v": VERSION, **round_told(rules, round_)})
        else:
            network = network_of(rules, round_.case)
            PlayTalk(rules, network, round_, Screen(), lambda _: None).show_round()
        return
    mark = show(rules, round_, json=json)
    keep_lines(book, *finished(round_, mark, pupil))


def show(rules: Rules, round_: Round, *, json: bool) -> Mark:
    """Mark a round and show it."""
    from diagnose.cli.practice_show import show_mark
    from diagnose.cli.screen import Screen, put_json
    from diagnose.practice.feedback import feedback
    from diagnose.practice.mark import mark as mark_round
    from diagnose.practice.told import VERSION, mark_data, round_told

    found = mark_round(rules, round_)
    remarks = feedback(rules, round_, found)
    if json:
        put_json({"v": VERSION, **round_told(rules, round_), "mark": mark_data(found, remarks)})
    else:
        show_mark(Screen(), rules, found, remarks, round_.case.name)
    return found


app.command("quiz")(quiz)
app.command("drill")(drill)
app.command("progress")(progress_command)
app.command("sheet")(sheet)
