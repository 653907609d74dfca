"""Marks, short questions and progress on the screen."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING

from diagnose.practice.feedback import Remark, Topic
from diagnose.practice.item import Item, ItemKind, is_right
from diagnose.practice.mark import Mark
from diagnose.practice.measures import confidence_marks
from diagnose.practice.schedule import Due
from diagnose.practice.wording import causes_words, percent_words
from diagnose.rulebook.model import Rules

if TYPE_CHECKING:
    from diagnose.cli.screen import Screen

HEADINGS = {
    Topic.RESULT: "The cause",
    Topic.SETTLED: "What told",
    Topic.SHOULD_HAVE_TOLD: "What should have told",
    Topic.WOULD_HAVE_TOLD: "What was not asked",
    Topic.QUESTION: "The questions",
    Topic.LOOK_ALIKE: "What separates them",
    Topic.MISCONCEPTION: "Heard on site",
    Topic.CAUTION: "Cautions",
    Topic.BELIEF: "How sure",
    Topic.REMEDY: "The remedy",
}
SURE = "how sure: 1 guess, 2 think so, 3 certain > "
LEAVE = ("stop", "pause", "quit", "exit")
"""Words that leave at any prompt; what was answered before is kept."""


def show_mark(
    screen: Screen, rules: Rules, mark: Mark, remarks: Sequence[Remark], case: str
) -> None:
    """Show the points of a case and what there is to learn."""
    screen.heading(f"Case {case}: {mark.total} points of 100")
    screen.table(
        ("part", "points", "why"),
        ((part.name, f"{part.points} of {part.of}", part.why) for part in mark.parts),
    )
    before = None
    for remark in remarks:
        if remark.topic is not before:
            screen.heading(HEADINGS[remark.topic])
            before = remark.topic
        screen.text(remark.text)
        if remark.sources:
            screen.faint(f"Sources: {', '.join(remark.sources)}")
    if mark.best.questions:
        screen.heading("The program's own way")
        for number, name in enumerate(mark.best.questions, start=1):
            screen.text(rules.questions[name].ask, mark=f"{number:>2}")
        screen.text(f"Then it stopped. Its finding: {_finding(rules, mark)}.")


def _finding(rules: Rules, mark: Mark) -> str:
    found = mark.best.found
    named = causes_words(rules, found.causes) if found.causes else "none of its causes"
    return f"{named}, {percent_words(found.probability)}"


def show_item(screen: Screen, number: int, count: int, item: Item) -> None:
    """Show a short question."""
    first, *rest = item.ask.split("\n")
    screen.heading(f"{number} of {count}")
    screen.text(first)
    for line in rest:
        screen.text(line)
    for place, option in enumerate(item.options, start=1):
        screen.text(option.text, mark=f"{place:>2}", indent=1)


def read_answer(typed: str, item: Item) -> tuple[int, ...] | None:
    """Return the options typed, from 0; None if they are no answer."""
    parts = typed.replace(",", " ").split()
    if not all(part.isascii() and part.isdigit() for part in parts):
        return None
    found = tuple(int(part) - 1 for part in parts)
    wanted = len(item.options) if item.kind is ItemKind.STEPS_IN_ORDER else 1
    fits = len(set(found)) == len(found) == wanted
    return found if fits and all(0 <= each < len(item.options) for each in found) else None


def ask_item(screen: Screen, item: Item, read: Callable[[str], str]) -> tuple[tuple[int, ...], int]:
    """Ask for an answer and how sure it is; both are asked again until they fit.

    Raises
    ------
    EOFError
        The learner types a word that leaves, or closes the input.
    """
    order = item.kind is ItemKind.STEPS_IN_ORDER
    while True:
        typed = _typed(read, "the numbers in order > " if order else "number > ")
        answer = read_answer(typed, item)
        if answer is not None:
            break
        wanted = "every number once" if order else f"one number from 1 to {len(item.options)}"
        screen.text(f"Type {wanted}; stop leaves, and what was answered is kept.")
    while True:
        typed = _typed(read, SURE)
        if typed in ("1", "2", "3"):
            return answer, int(typed)
        screen.text("Type 1, 2 or 3; stop leaves, and what was answered is kept.")


def _typed(read: Callable[[str], str], prompt: str) -> str:
    typed = read(prompt).strip().lower()
    if typed in LEAVE:
        raise EOFError
    return typed


def show_answer(screen: Screen, item: Item, answer: Sequence[int], sure: int) -> None:
    """Show whether an answer was right, and why."""
    right = is_right(item, answer)
    marks = f"{confidence_marks(right, sure):+d}".replace("+0", "0")
    marks += " mark" if marks == "+1" else " marks"
    if right:
        screen.strong(f"Right: {marks}.")
    else:
        numbers = " ".join(str(each + 1) for each in item.key)
        screen.strong(f"No: {marks}. It is {numbers}.")
        if item.kind is not ItemKind.STEPS_IN_ORDER and not item.why.startswith(item.key_text):
            screen.text(item.key_text, indent=2)
    screen.text(item.why)
    if item.sources:
        screen.faint(f"Sources: {', '.join(item.sources)}")


def subject_words(rules: Rules, subject: str) -> str:
    """Return a subject of practice in words."""
    kind, _, name = subject.partition(":")
    named = {
        "cause": {each.id: each.name for each in rules.causes.values()},
        "remedy": {each.id: each.name for each in rules.remedies.values()},
        "symptom": {each.id: each.name for each in rules.symptoms.values()},
        "limit": {each.id: each.name for each in rules.limits.values()},
        "caution": {
            **{each.id: f"before {each.name}" for each in rules.acts.values()},
            **{each.id: f"before {each.name}" for each in rules.remedies.values()},
        },
    }.get(kind, {})
    if name in named:
        return f"{kind}: {named[name][:1].lower()}{named[name][1:]}"
    if kind == "teaching" and name in rules.teaching:
        return f'heard on site: "{rules.teaching[name].heard}"'
    if kind == "look-alike" and name in rules.look_alikes:
        pair = rules.look_alikes[name]
        first, second = rules.causes[pair.cause].name, rules.causes[pair.taken_for].name
        return f"{first.lower()} or {second.lower()}"
    return f"{kind} {name.replace('-', ' ')}"


def due_rows(rules: Rules, standing: Sequence[Due], most: int) -> list[tuple[str, str, str]]:
    """Return rows of what is due: subject, day, how well it would be known."""
    return [
        (
            subject_words(rules, each.subject),
            each.due.date().isoformat(),
            "missed last time" if each.known is None else f"{round(each.known * 100)} %",
        )
        for each in standing[:most]
    ]
