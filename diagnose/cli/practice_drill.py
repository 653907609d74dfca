"""The command `practice drill`: find what is wrong before the van leaves."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from diagnose.cli.practice_files import fresh_seed
from diagnose.cli.practice_record import RECORD_HELP, shown
from diagnose.errors import NotFoundError

if TYPE_CHECKING:
    from diagnose.cli.screen import Screen
    from diagnose.practice.leaving import Leaving, LeavingMark
    from diagnose.rulebook.model import Rules

HELP = f"""\
NUMBER         look at that line of the record
mend NUMBER    put it right, or write down what is missing
list           the lines again, with what you know
{RECORD_HELP}
go             the van leaves
stop           leave without being marked"""


def drill(
    seed: int | None = typer.Option(None, "--seed", min=0, help="Same seed, same job."),
    look: list[str] = typer.Option([], "--look", help="Line to look at; may be given again."),
    mend: list[str] = typer.Option([], "--mend", help="Line to put right or write down."),
    no_input: bool = typer.Option(False, "--no-input", help="Ask nothing; leave after that."),
    json: bool = typer.Option(False, "--json", help="Write one JSON document; asks nothing."),
    rules_folder: Path | None = typer.Option(None, "--rules", help="Folder of other rules."),
) -> None:
    """Put a finished job right before leaving.

    Go over an invented record line by line, and mend what can still be mended.
    """
    from diagnose.cli.screen import Screen, put_json
    from diagnose.cli.where import the_rules
    from diagnose.practice import leaving as drills

    rules = the_rules(rules_folder)
    state = drills.Leaving(drills.draw_leaving(rules, fresh_seed() if seed is None else seed))
    for name in look:
        state = drills.look(rules, state, _line(state, name))
    for name in mend:
        state = drills.mend(rules, state, _line(state, name))
    screen = Screen()
    if not (json or no_input or mend):
        if not sys.stdin.isatty():
            print(
                "error: nobody is at the keyboard\n"
                "hint: give --look and --mend, each with the number of a line",
                file=sys.stderr,
            )
            raise typer.Exit(2)
        state = _talk(rules, state, screen)
    found = drills.mark_leaving(rules, state)
    if json:
        put_json(_data(rules, state, found))
    else:
        _show(rules, state, found, screen)


def _talk(rules: Rules, state: Leaving, screen: Screen) -> Leaving:
    from diagnose.cli.practice_prompt import show_help
    from diagnose.cli.practice_show import LEAVE
    from diagnose.practice import leaving as drills
    from diagnose.practice.site import floor_words
    from diagnose.practice.wording import INVENTED

    screen.faint(INVENTED)
    screen.heading(f"The {state.case.site.room} is finished")
    screen.text(floor_words(state.case.floor, state.case.site))
    screen.text(f"The van leaves in {state.case.minutes} minutes. What do you look at?")
    _list(rules, state, screen)
    screen.faint("Type a number to look, mend NUMBER to put right, go to leave, help for more.")
    while True:
        left = state.case.minutes - drills.spent(rules, state)
        screen.faint(f"{left:g} min left")
        try:
            word, _, rest = input("> ").strip().lower().partition(" ")
            if word in LEAVE:
                raise EOFError
        except (EOFError, KeyboardInterrupt):
            again = f"`diagnose practice drill --seed {state.case.seed}`"
            print(f"\nThe drill was left; {again} begins it afresh.", file=sys.stderr)
            raise typer.Exit(0) from None
        if word == "go":
            return state
        if word in ("help", "?"):
            show_help(screen, HELP)
        elif word == "list":
            _list(rules, state, screen)
        elif shown(screen, state.case.sampled, word, rest):
            continue
        elif word:
            state = _move(rules, state, word, rest, screen)


def _move(rules: Rules, state: Leaving, word: str, rest: str, screen: Screen) -> Leaving:
    from diagnose.practice import leaving as drills
    from diagnose.practice.play import MoveError

    name = _line(state, rest if word in ("mend", "look") else word)
    try:
        after = (drills.mend if word == "mend" else drills.look)(rules, state, name)
    except (MoveError, NotFoundError) as error:
        screen.text(_said_of(rules, state, name, str(error)))
        return state
    if word == "mend":
        screen.text(f"Done: {rules.checks[name].put_right or rules.checks[name].record_now}")
    else:
        screen.text(f"{rules.checks[name].name} - {_words(rules, after, name)}")
    return after


def _said_of(rules: Rules, state: Leaving, name: str, error: str) -> str:
    """Return what is wrong with a move, with the name of the line in place of its id."""
    if name in state.case.lines:
        said = error.replace(name, f'"{rules.checks[name].name}"')
        return f"{said[:1].upper()}{said[1:]}."
    return f"There is no line {name}; the list goes to {len(state.case.lines)}. Type help."


def _line(state: Leaving, typed: str) -> str:
    lines = state.case.lines
    if typed.isascii() and typed.isdigit() and 1 <= int(typed) <= len(lines):
        return lines[int(typed) - 1]
    return typed


def _list(rules: Rules, state: Leaving, screen: Screen) -> None:
    for number, name in enumerate(state.case.lines, start=1):
        told = f" - {_words(rules, state, name)}" if name in state.looked else ""
        screen.text(f"{rules.checks[name].name}{told}", mark=f"{number:>2}")


def _words(rules: Rules, state: Leaving, name: str) -> str:
    from diagnose.model import Outcome
    from diagnose.practice.leaving import cost

    if name in (*state.righted, *state.written):
        return "mended"
    outcome = state.case.outcomes[name]
    minutes = cost(rules, state.case, name)
    said = state.case.said(name)
    if outcome is Outcome.DEVIATES and not rules.checks[name].put_right:
        return f"deviates: {said}; it cannot be put right here"
    if outcome is Outcome.DEVIATES:
        return f"deviates: {said}; putting it right takes {minutes:g} min"
    if outcome is Outcome.IN_ORDER:
        return f"in order: {said}"
    return f"not recorded; writing it down takes {minutes:g} min"


def _show(rules: Rules, state: Leaving, found: LeavingMark, screen: Screen) -> None:
    screen.heading(f"{found.points} points of 100")
    screen.text(f"{found.minutes:g} of {state.case.minutes} min used. Seed {state.case.seed}.")
    for name in found.put_right:
        screen.text(f"Put right: {rules.checks[name].name}.", mark="-")
    for name in found.left_wrong:
        check = rules.checks[name]
        screen.text(f"Left wrong: {check.name}. It would have been: {check.put_right}", mark="-")
    for name in found.left_open:
        check = rules.checks[name]
        screen.text(f"Not written down: {check.name}. Note: {check.record_now}", mark="-")
    if found.callbacks:
        screen.heading("What is likely to come back")
    for cause, symptom in dict.fromkeys(row[1:] for row in found.callbacks):
        names = rules.symptoms[symptom].name, rules.causes[cause].name.lower()
        screen.text(f"{names[0]}, from: {names[1]}.", mark="-")


def _data(rules: Rules, state: Leaving, found: LeavingMark) -> dict[str, Any]:
    return {
        "v": 1,
        "seed": state.case.seed,
        "minutes": f"{found.minutes:g}",
        "minutes_given": state.case.minutes,
        "lines": [
            {
                "check": name,
                "name": rules.checks[name].name,
                "outcome": state.case.outcomes[name].value if name in state.looked else "",
                "said": state.case.said(name) if name in state.looked else "",
            }
            for name in state.case.lines
        ],
        "points": found.points,
        "put_right": list(found.put_right),
        "left_wrong": list(found.left_wrong),
        "left_open": list(found.left_open),
        "callbacks": [list(row) for row in found.callbacks],
    }
