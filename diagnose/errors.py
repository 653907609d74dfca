"""What can go wrong with input, as values and as exceptions.

A `Problem` is one thing that is wrong at one place, with a way out.  Loading
collects problems and raises them all at once in an `InputError`; checking a
record returns findings as values and raises nothing.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Position:
    """A line in a file, as the reader of a message needs it.

    `line` counts from 1; 0 means the file as a whole.
    """

    file: str
    line: int = 0

    def __str__(self) -> str:
        return f"{self.file}, line {self.line}" if self.line else self.file


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong: where, what was found, what would be allowed."""

    at: Position | None
    text: str
    hint: str = ""

    def __str__(self) -> str:
        where = f"{self.at}: " if self.at else ""
        hint = f"\nhint: {self.hint}" if self.hint else ""
        return f"{where}{self.text}{hint}"


class DiagnoseError(Exception):
    """Base of every error that this project raises on purpose."""


class InputError(DiagnoseError):
    """Input that cannot be used; carries every problem found, in file order."""

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class NotFoundError(DiagnoseError):
    """A job, case, place or id that is not there; `near` lists close matches."""

    def __init__(self, text: str, near: Iterable[str] = ()) -> None:
        self.text = text
        self.near = tuple(near)
        super().__init__(text)


class ImpossibleEvidenceError(DiagnoseError):
    """Answers that no explanation in the rules allows together."""


class StoreError(DiagnoseError):
    """The casebook cannot be read or written, or its chain is broken."""
