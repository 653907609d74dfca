"""What learners have done so far, as one value worked out from their log.

Learners go by pseudonyms.  The log is only ever added to, and a line that came
over two ways counts once; what a learner knows is worked out, never stored.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, order=True)
class Review:
    """One look at one subject: when, who, how it went."""

    at: str
    """UTC, ISO 8601 ending in Z."""
    pupil: str
    subject: str
    """`cause:ID`, `look-alike:ID`, `teaching:ID` and so on."""
    rating: int
    """1 forgotten, 2 with trouble, 3 known, 4 known at once."""


@dataclass(frozen=True, slots=True, order=True)
class ItemResult:
    """One short question answered."""

    at: str
    pupil: str
    item: str
    kind: str
    subject: str
    right: bool
    confidence: int
    """1 a guess, 2 thinks so, 3 certain."""


@dataclass(frozen=True, slots=True, order=True)
class CaseResult:
    """One round finished; `round` is the round itself, to be marked again."""

    at: str
    pupil: str
    case: str
    difficulty: str
    truth: tuple[str, ...]
    named: tuple[str, ...]
    percent: int
    right: bool
    points: int
    round: str


@dataclass(frozen=True, slots=True, order=True)
class OpenRound:
    """Where a round stands after a move; the last one a learner entered counts."""

    at: str
    pupil: str
    round: str
    """Empty when the round was finished."""


Line = Review | ItemResult | CaseResult | OpenRound
"""One line of a learner's log."""


@dataclass(frozen=True, slots=True)
class Progress:
    """What was finished, each line once and in order of time."""

    reviews: tuple[Review, ...] = ()
    items: tuple[ItemResult, ...] = ()
    cases: tuple[CaseResult, ...] = ()

    @property
    def lines(self) -> tuple[Review | ItemResult | CaseResult, ...]:
        """Every line there is."""
        return (*self.reviews, *self.items, *self.cases)

    @property
    def pupils(self) -> tuple[str, ...]:
        """All pseudonyms, sorted."""
        return tuple(sorted({line.pupil for line in self.lines}))

    def of(self, pupil: str) -> Progress:
        """Return the lines of one learner."""
        return progress_of(line for line in self.lines if line.pupil == pupil)


def progress_of(lines: Iterable[Line]) -> Progress:
    """Return what lines come to, in whatever order and however often they are given.

    >>> seen = Review("2026-03-02T08:00:00.000Z", "wren", "cause:sealer-omitted", 3)
    >>> progress_of([seen, seen]).reviews == (seen,)
    True
    """
    found = set(lines)
    return Progress(
        tuple(sorted(line for line in found if isinstance(line, Review))),
        tuple(sorted(line for line in found if isinstance(line, ItemResult))),
        tuple(sorted(line for line in found if isinstance(line, CaseResult))),
    )
