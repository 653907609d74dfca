"""The prompts of a practice round: words that leave, go back or ask what can be typed."""

from __future__ import annotations

from collections.abc import Callable

from diagnose.cli.screen import Screen
from diagnose.rulebook.model import Rules

HELP = """\
list           groups of questions; a number then opens one of them
find WORD      questions that hold a word
NUMBER         the group or the question with that number on the screen
said           what you have been told so far
case           the call and the record again
checks         how many checks found what; checks WORD shows those of a stage or with a word
causes         what it could be
stop           name the cause and end the round; once there, stop goes back
pause          go on another day; nothing is lost"""
HARM_HELP = (
    "Harm is what an act does to the floor, counted in the minutes it takes to make good. "
    "The owner allows so much and no more."
)


def show_help(screen: Screen, text: str) -> None:
    """Show words that can be typed, each with what it does; long lines stay in their column."""
    for row in text.split("\n"):
        word, does = row[:COLUMN].rstrip(), row[COLUMN:]
        screen.text(does, mark=f"{word:<{COLUMN - 1}}")


COLUMN = 15
"""Where the second column of a help text begins."""
LEAVE = ("pause", "quit", "exit")
OUT = "stop goes back to the questions, pause leaves and keeps all"
CAUTION = "Type r to read the caution, s to skip it, n to leave the floor alone"


class Broken(Exception):
    """The learner leaves in the middle; every move is kept already."""


class Back(Exception):
    """The learner goes back to the questions without having stated anything."""


def line(read: Callable[[str], str], prompt: str) -> str:
    """Return the line typed at a prompt.

    Raises
    ------
    Broken
        The learner pauses, or closes the input.
    """
    try:
        typed = read(prompt).strip()
    except (EOFError, KeyboardInterrupt):
        raise Broken from None
    if typed.lower() in LEAVE:
        raise Broken
    return typed


def detail(read: Callable[[str], str], prompt: str, screen: Screen, allowed: str) -> str:
    """Return the line typed in the middle of stating; help says what can be typed.

    Raises
    ------
    Back
        The learner goes back to the questions.
    Broken
        As for `line`.
    """
    while True:
        typed = line(read, prompt)
        if typed.lower() in ("stop", "back"):
            raise Back
        if typed.lower() not in ("help", "?", "why"):
            return typed
        screen.text(f"{allowed}; {OUT}.")


def named_causes(
    rules: Rules, possible: tuple[str, ...], typed: str
) -> tuple[tuple[str, ...], str]:
    """Return the causes that a line names; or none, and what is wrong with it."""
    parts = typed.replace(",", " ").split()
    if all(part.isascii() and part.isdigit() for part in parts):
        wrong = [part for part in parts if not 1 <= int(part) <= len(possible)]
        if wrong:
            return (), f"There is no number {wrong[0]}; the list goes from 1 to {len(possible)}"
        return tuple(dict.fromkeys(possible[int(part) - 1] for part in parts)), ""
    found = [
        cause
        for cause in possible
        if typed.lower() in rules.causes[cause].name.lower() or typed == cause
    ]
    if len(found) == 1:
        return tuple(found), ""
    if found:
        names = " or ".join(f'"{rules.causes[cause].name}"' for cause in found[:3])
        more = " or others" if len(found) > 3 else ""
        return (), f"{typed!r} may mean {names}{more}; type more of the name, or its number"
    return (), f"No cause of the list holds {typed!r}"
