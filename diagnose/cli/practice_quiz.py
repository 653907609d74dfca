"""The command `practice quiz`: short questions made from the rules."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from diagnose.cli.practice_files import (
    BOOK_HELP,
    PUPIL_HELP,
    fresh_seed,
    keep,
    practice_book,
    pupil_name,
    read_progress,
    stamp,
)
from diagnose.errors import InputError, NotFoundError, Problem

if TYPE_CHECKING:
    from diagnose.practice.item import Item, ItemKind


def quiz(
    count: int = typer.Option(10, "--count", "-n", min=1, max=500, help="How many questions."),
    seed: int | None = typer.Option(None, "--seed", min=0, help="Same seed, same questions."),
    kind: list[str] = typer.Option([], "--kind", help="Kind of question; may be given again."),
    stage: list[str] = typer.Option([], "--stage", help="Stage of the work; may be given again."),
    due: bool = typer.Option(False, "--due", help="Only what is due for you today."),
    answer: list[str] = typer.Option(
        [], "--answer", help='Answers in order, each "NUMBER sure N", such as "2 sure 3".'
    ),
    no_input: bool = typer.Option(False, "--no-input", help="Show the questions, ask nothing."),
    json: bool = typer.Option(False, "--json", help="Write one JSON document; asks nothing."),
    casebook: Path | None = typer.Option(None, "--casebook", help=BOOK_HELP),
    pupil: str | None = typer.Option(None, "--pupil", help=PUPIL_HELP),
    rules_folder: Path | None = typer.Option(None, "--rules", help="Folder of other rules."),
) -> None:
    """Answer short questions.

    Every answer is kept at once.
    """
    from diagnose.cli.practice_show import ask_item, show_answer, show_item
    from diagnose.cli.screen import Screen, put_json
    from diagnose.cli.where import the_rules
    from diagnose.practice.item import is_right
    from diagnose.practice.items import draw_items
    from diagnose.practice.measures import confidence_marks
    from diagnose.practice.sheet import FLOORS_INVENTED, MARKS
    from diagnose.practice.told import item_data

    rules = the_rules(rules_folder)
    book, name = practice_book(casebook), pupil_name(pupil)
    number = fresh_seed() if seed is None else seed
    subjects = _due(book, name) if due else ()
    items = draw_items(rules, number, count, kinds=kinds_of(kind), subjects=subjects, stages=stage)
    given = _given(answer, items)
    screen = Screen()
    rows, total = [], 0
    if not json:
        screen.faint(f"{MARKS} {FLOORS_INVENTED}")
    for place, item in enumerate(items, start=1):
        reply = given[place - 1] if place <= len(given) else None
        if not json:
            show_item(screen, place, len(items), item)
        if reply is None and not (json or no_input):
            if not sys.stdin.isatty():
                print(
                    "error: nobody is at the keyboard\n"
                    'hint: give --answer "2 sure 3" for each question, or --no-input to read only',
                    file=sys.stderr,
                )
                raise typer.Exit(2)
            try:
                reply = ask_item(screen, item, input)
            except (EOFError, KeyboardInterrupt):
                kept = f"Kept {place - 1} of {len(items)} answers."
                again = f"`diagnose practice quiz --seed {number} -n {len(items)}`"
                print(f"\n{kept} {again} asks the same set again.", file=sys.stderr)
                raise typer.Exit(0) from None
        row = item_data(item, key=reply is not None)
        if reply is not None:
            right = is_right(item, reply[0])
            total += confidence_marks(right, reply[1])
            row |= {"answer": [n + 1 for n in reply[0]], "sure": reply[1], "right": right}
            _keep(book, name, item, right, reply[1])
            if not json:
                show_answer(screen, item, *reply)
        rows.append(row)
    if json:
        put_json({"v": 1, "seed": number, "marks": total, "questions": rows})
    elif any("right" in row for row in rows):
        right_ones = sum(bool(row.get("right")) for row in rows)
        screen.heading(f"{right_ones} of {len(items)} right; {total} marks. Seed {number}.")


def kinds_of(names: list[str]) -> list[ItemKind]:
    """Return the kinds of question named."""
    from diagnose.practice.item import ItemKind

    allowed = [kind.value for kind in ItemKind]
    wrong = [name for name in names if name not in allowed]
    if wrong:
        hint = f"allowed: {', '.join(allowed)}"
        raise InputError([Problem(None, f"{each} is no kind of question", hint) for each in wrong])
    return [ItemKind(name) for name in names]


def _due(book: Path | None, pupil: str) -> tuple[str, ...]:
    from diagnose.cli.where import now
    from diagnose.practice.schedule import due_now

    found = due_now(read_progress(book, pupil).reviews, now())
    if not found:
        raise NotFoundError(f"nothing is due for {pupil} now; leave --due out for fresh questions")
    return found


def _given(answers: list[str], items: tuple[Item, ...]) -> list[tuple[tuple[int, ...], int]]:
    from diagnose.cli.practice_show import read_answer

    found, problems = [], []
    for number, (typed, item) in enumerate(zip(answers, items, strict=False), start=1):
        words, _, sure = typed.partition("sure")
        answer = read_answer(words, item)
        if answer is None or sure.strip() not in ("1", "2", "3"):
            hint = f'such as "2 sure 3"; this question has {len(item.options)} options'
            problems.append(Problem(None, f"answer {number}, {typed!r}, does not fit", hint))
        else:
            found.append((answer, int(sure)))
    if problems:
        raise InputError(problems)
    return found


def _keep(book: Path | None, pupil: str, item: Item, right: bool, sure: int) -> None:
    from diagnose.practice.progress import ItemResult, Review
    from diagnose.practice.schedule import rating

    at = stamp()
    result = ItemResult(at, pupil, item.id, item.kind.value, item.subject, right, sure)
    review = Review(at, pupil, item.subject, rating(right, sure))
    keep(book, result, review)
