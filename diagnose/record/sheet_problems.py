"""Collect the problems of one sheet, up to a bound."""

from __future__ import annotations

from diagnose.errors import Position, Problem

MOST_PROBLEMS = 200


class Problems:
    """Problems of one file; past the bound they are counted, not kept."""

    def __init__(self) -> None:
        self.found: list[Problem] = []
        self.further = 0

    @property
    def full(self) -> bool:
        """Whether further problems are only counted, so hints can be spared."""
        return len(self.found) >= MOST_PROBLEMS

    def add(self, at: Position, text: str, hint: str = "") -> None:
        """Keep one problem, or count it when there are many already."""
        if self.full:
            self.further += 1
        else:
            self.found.append(Problem(at, text, hint))

    def in_order(self) -> list[Problem]:
        """Return the problems by line, and how many more there are."""
        kept = sorted(self.found, key=lambda problem: problem.at.line if problem.at else 0)
        if self.further:
            kept.append(Problem(None, f"{self.further} further problems are not listed"))
        return kept
