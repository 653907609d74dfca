"""When a subject is due again: spacing by the `fsrs` package.

Only the log of reviews is kept; the state of a card is worked out by playing
its reviews again, so that the logs of two devices can be merged.  Facts and
recognition are spaced; whole cases come up as fresh variants of a cause that
is due.

References
----------
.. [1] FSRS-6 with the package's default weights (py-fsrs 6.3, MIT).
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import TYPE_CHECKING

from diagnose.practice.progress import Review

if TYPE_CHECKING:
    from fsrs import Card, Scheduler

WANTED_RETENTION = 0.9
AGAIN, HARD, GOOD, EASY = 1, 2, 3, 4


@dataclass(frozen=True, slots=True)
class Due:
    """How a subject stands at a moment."""

    subject: str
    due: datetime
    retrievability: float
    """Chance that it would be known now, had the last answer been right."""
    reviews: int
    last_rating: int

    @property
    def known(self) -> float | None:
        """Chance that it would be known now; None for what was missed last time.

        The formula takes a miss for learnt again at once, which nobody has seen yet.
        """
        return None if self.last_rating == AGAIN else self.retrievability


def rating(right: bool, confidence: int) -> int:
    """Return the rating of an answer: sure and right is easy, wrong is forgotten.

    >>> rating(True, 1), rating(True, 3), rating(False, 3)
    (2, 4, 1)
    """
    return {1: HARD, 2: GOOD, 3: EASY}[confidence] if right else AGAIN


def rating_of_case(right: bool, percent: int) -> int:
    """Return the rating that a whole case gives its cause."""
    if not right:
        return AGAIN
    return GOOD if percent >= 60 else HARD


def card_id(subject: str) -> int:
    """Return the number of a subject's card, the same on every device."""
    return int.from_bytes(hashlib.sha256(subject.encode("utf-8")).digest()[:6], "big")


def standing(reviews: Iterable[Review], now: datetime) -> tuple[Due, ...]:
    """Return how every subject stands, the most overdue first.

    Parameters
    ----------
    reviews : of one learner, in any order
    now : time with an offset
    """
    scheduler = _scheduler()
    by_subject: dict[str, list[Review]] = {}
    for review in sorted(set(reviews)):
        by_subject.setdefault(review.subject, []).append(review)
    found = []
    for subject, own in by_subject.items():
        card = _card(scheduler, subject, own)
        known = float(scheduler.get_card_retrievability(card, _utc(now)))
        found.append(Due(subject, card.due, known, len(own), own[-1].rating))
    return tuple(sorted(found, key=lambda each: (each.due, each.subject)))


def due_now(reviews: Iterable[Review], now: datetime) -> tuple[str, ...]:
    """Return the subjects that are due, the most overdue first."""
    return tuple(each.subject for each in standing(reviews, now) if each.due <= _utc(now))


def _scheduler() -> Scheduler:
    from fsrs import Scheduler

    return Scheduler(
        desired_retention=WANTED_RETENTION,
        learning_steps=(),
        relearning_steps=(),
        enable_fuzzing=False,
    )


def _card(scheduler: Scheduler, subject: str, reviews: list[Review]) -> Card:
    from fsrs import Card, Rating

    card = Card(card_id=card_id(subject))
    last: datetime | None = None
    for review in reviews:
        at = _utc(datetime.fromisoformat(review.at))
        # A clock that was put back must not make a gap negative.
        at = max(at, last) if last else at
        card, _ = scheduler.review_card(card, Rating(review.rating), at)
        last = at
    return card


def _utc(at: datetime) -> datetime:
    return at.astimezone(UTC)
