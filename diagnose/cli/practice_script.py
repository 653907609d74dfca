"""A round played from options or a file, for scripts and tests."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from diagnose.errors import InputError, Position, Problem

if TYPE_CHECKING:
    from diagnose.engine.network import Network
    from diagnose.practice.play import Round
    from diagnose.rulebook.model import Rules

WITHOUT = "without-caution"
ALLOWED = "allowed: ask ID, ask ID without-caution, cause ID, sure N, remedy ID"


@dataclass(frozen=True, slots=True)
class Script:
    """What is to be asked, with or without reading the caution, and what is stated."""

    asked: tuple[tuple[str, bool], ...] = ()
    causes: tuple[str, ...] = ()
    sure: int | None = None
    remedy: str = ""

    def applied(
        self, rules: Rules, network: Network, round_: Round, keep: Callable[[Round], None]
    ) -> Round:
        """Play the script on a round, keeping every move."""
        from diagnose.practice.play import Stated, ask, stop

        for question, read in self.asked:
            if question not in round_.asked:
                round_ = ask(rules, network, round_, question, caution_read=read)
                keep(round_)
        if self.causes and self.sure is None:
            hint = "give --sure, from 0 to 100"
            raise InputError([Problem(None, "a cause is named, but not how sure you are", hint)])
        if self.causes and self.sure is not None:
            round_ = stop(rules, round_, Stated(self.causes, self.sure, self.remedy))
            keep(round_)
        return round_


def with_options(
    script: Script, ask: Sequence[str], cause: Sequence[str], sure: int | None, remedy: str
) -> Script:
    """Return the script with what the options say put behind or over it."""
    asked = []
    for each in ask:
        question, _, how = each.partition(" ")
        asked.append((question, how.strip() != WITHOUT))
    return Script(
        asked=(*script.asked, *asked),
        causes=(*script.causes, *cause),
        sure=script.sure if sure is None else sure,
        remedy=remedy or script.remedy,
    )


def read_script(path: Path) -> Script:
    """Read a file of lines, one move each; `#` begins a remark.

    Raises
    ------
    InputError
        With every line that is no move.
    """
    from diagnose.cli.where import read_file

    script = Script()
    problems = []
    text = read_file(path).decode("utf-8", "replace")
    for number, line in enumerate(text.splitlines(), start=1):
        words = line.partition("#")[0].split()
        if not words:
            continue
        match words:
            case ["ask", question]:
                script = replace(script, asked=(*script.asked, (question, True)))
            case ["ask", question, how] if how == WITHOUT:
                script = replace(script, asked=(*script.asked, (question, False)))
            case ["cause", cause]:
                script = replace(script, causes=(*script.causes, cause))
            case ["sure", sure] if sure.isascii() and sure.isdigit() and int(sure) <= 100:
                script = replace(script, sure=int(sure))
            case ["remedy", remedy]:
                script = replace(script, remedy=remedy)
            case _:
                text = f"{' '.join(words)!r} is no move"
                problems.append(Problem(Position(str(path), number), text, ALLOWED))
    if problems:
        raise InputError(problems)
    return script
