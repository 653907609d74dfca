"""What is known of a case, as typed items; the engine reads nothing else.

"Cannot tell" is not an item: it changes nothing and is simply not passed on.
The order of items never matters for what the engine concludes.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from diagnose.engine.numbers import NONE_OF_THESE
from diagnose.errors import NotFoundError
from diagnose.model import Outcome, Provenance


@dataclass(frozen=True, slots=True)
class SymptomSeen:
    """The complaint mentions this symptom."""

    symptom: str

    @property
    def key(self) -> str:
        """Name of the item in traces and weights."""
        return f"symptom:{self.symptom}"


@dataclass(frozen=True, slots=True)
class SymptomFound:
    """Nobody complained of it, but it was looked for or noticed, and is there."""

    symptom: str

    @property
    def key(self) -> str:
        """Name of the item in traces and weights."""
        return f"symptom:{self.symptom}"


@dataclass(frozen=True, slots=True)
class SymptomAbsent:
    """It was looked for and is not there."""

    symptom: str

    @property
    def key(self) -> str:
        """Name of the item in traces and weights."""
        return f"symptom:{self.symptom}"


@dataclass(frozen=True, slots=True)
class NotMentioned:
    """No other symptom was mentioned; each is then absent or was passed over.

    Passed by default; leave it out only to count what it weighs.
    """

    @property
    def key(self) -> str:
        """Name of the item in traces and weights."""
        return "not-mentioned"


@dataclass(frozen=True, slots=True)
class Answered:
    """A question was answered.

    `answers` holds one answer id, or any number for a ticked question; empty
    or `none-of-these` says that it was looked at and none of them holds.
    """

    question: str
    answers: tuple[str, ...] = ()

    @property
    def key(self) -> str:
        """Name of the item in traces and weights."""
        return f"question:{self.question}"

    @property
    def given(self) -> frozenset[str]:
        """The listed answers given; empty for none of these."""
        return frozenset(self.answers) - {NONE_OF_THESE}


@dataclass(frozen=True, slots=True)
class CheckSaid:
    """A check of the record at the place gave this outcome."""

    check: str
    outcome: Outcome
    provenance: Provenance = Provenance.ON_THE_DAY

    @property
    def key(self) -> str:
        """Name of the item in traces and weights."""
        return f"check:{self.check}"


Evidence = SymptomSeen | SymptomFound | SymptomAbsent | NotMentioned | Answered | CheckSaid


def without(evidence: Iterable[Evidence], key: str) -> tuple[Evidence, ...]:
    """Return the evidence with the items of one key taken back."""
    return tuple(item for item in evidence if item.key != key)


def answered(question: str, *answers: str) -> Answered:
    """Short form: `answered("pile-direction", "same")`."""
    if len(answers) > 1 and NONE_OF_THESE in answers:
        raise NotFoundError(f"question {question}: none-of-these cannot go with another answer")
    return Answered(question, tuple(answers))
