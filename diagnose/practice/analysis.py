"""What a class's answers say about the questions and about the class.

References
----------
.. [1] Difficulty as share right and discrimination as corrected item-rest
   correlation, Ebel and Frisbie (1991).  Read as restated in teaching pages.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from diagnose.practice.progress import CaseResult, ItemResult
from diagnose.rulebook.model import Rules

FEWEST_FOR_A_VERDICT = 30
"""Learners below which only counts are shown."""
REVIEW_BELOW = 0.2
"""Item-rest correlation below which an item is to be looked at."""
BANDS = ((0, 39), (40, 59), (60, 79), (80, 94), (95, 100))
"""Stated per cent that are counted together."""


@dataclass(frozen=True, slots=True)
class ItemFigures:
    """How one item did."""

    item: str
    right: int
    asked: int
    item_rest: float | None
    """Correlation with the rest of the test; None where it cannot be worked out."""

    @property
    def difficulty(self) -> float:
        """Share of right answers."""
        return self.right / self.asked if self.asked else 0.0

    @property
    def verdict(self) -> str:
        """What the figures call for; only counts below thirty learners."""
        if self.asked < FEWEST_FOR_A_VERDICT:
            return "too few learners for a verdict"
        if self.item_rest is None:
            return "everybody answered alike"
        if self.item_rest < 0:
            return "check the key"
        return "look at it again" if self.item_rest < REVIEW_BELOW else "sound"


def item_figures(results: Iterable[ItemResult]) -> tuple[ItemFigures, ...]:
    """Return the figures of every item, the hardest first.

    An item counts once for each learner: the first answer.  The rest of the
    test is what that learner's other items came to.
    """
    first: dict[tuple[str, str], bool] = {}
    for result in sorted(results):
        first.setdefault((result.item, result.pupil), result.right)
    items = sorted({item for item, _ in first})
    score = {pupil: 0 for _, pupil in first}
    for (_, pupil), right in first.items():
        score[pupil] += right
    found = []
    for item in items:
        rows = [(pupil, right) for (name, pupil), right in first.items() if name == item]
        own = [int(right) for _, right in rows]
        rest = [score[pupil] - int(right) for pupil, right in rows]
        found.append(ItemFigures(item, sum(own), len(own), _correlation(own, rest)))
    return tuple(sorted(found, key=lambda each: (each.difficulty, each.item)))


@dataclass(frozen=True, slots=True)
class Band:
    """What came of the findings stated with about the same confidence."""

    low: int
    high: int
    stated: int
    right: int
    mean_percent: float


def calibration(cases: Iterable[CaseResult]) -> tuple[Band, ...]:
    """Return how often findings were right, by how sure they were stated."""
    rows = list(cases)
    found = []
    for low, high in BANDS:
        own = [row for row in rows if low <= row.percent <= high]
        if own:
            mean = sum(row.percent for row in own) / len(own)
            found.append(Band(low, high, len(own), sum(row.right for row in own), mean))
    return tuple(found)


def mean_brier(cases: Iterable[CaseResult]) -> float | None:
    """Return the mean Brier score of stated findings; None without any."""
    scores = [(row.percent / 100 - float(row.right)) ** 2 for row in cases]
    return sum(scores) / len(scores) if scores else None


def missed_causes(cases: Iterable[CaseResult]) -> Mapping[str, tuple[int, int]]:
    """Return for each cause how often it was missed, of how often it was there."""
    there: dict[str, int] = {}
    missed: dict[str, int] = {}
    for row in cases:
        for cause in row.truth:
            there[cause] = there.get(cause, 0) + 1
            missed[cause] = missed.get(cause, 0) + (cause not in row.named)
    order = sorted(there, key=lambda cause: (-missed[cause] / there[cause], -there[cause], cause))
    return {cause: (missed[cause], there[cause]) for cause in order}


def weak_stages(rules: Rules, cases: Iterable[CaseResult]) -> Mapping[str, tuple[int, int]]:
    """Return for each stage how many of its causes were missed, of how many there were."""
    found: dict[str, tuple[int, int]] = {}
    for cause, (missed, there) in missed_causes(cases).items():
        if cause in rules.causes:
            stage = rules.causes[cause].stage
            before = found.get(stage, (0, 0))
            found[stage] = (before[0] + missed, before[1] + there)
    order = sorted(found, key=lambda stage: (-found[stage][0] / found[stage][1], stage))
    return {stage: found[stage] for stage in order}


def weak_spots(cases: Iterable[CaseResult]) -> tuple[str, ...]:
    """Return the causes missed at least half the time, the worst first."""
    return tuple(c for c, (missed, there) in missed_causes(cases).items() if 2 * missed >= there)


def _correlation(first: Sequence[int], second: Sequence[int]) -> float | None:
    spread = math.sqrt(_variance(first) * _variance(second))
    if spread == 0:
        return None
    mean_a, mean_b = sum(first) / len(first), sum(second) / len(second)
    pairs = zip(first, second, strict=True)
    return sum((a - mean_a) * (b - mean_b) for a, b in pairs) / len(first) / spread


def _variance(values: Sequence[int]) -> float:
    mean = sum(values) / len(values) if values else 0.0
    return sum((value - mean) ** 2 for value in values) / len(values) if values else 0.0
