"""A finding: the answer of an inspection with everything that speaks for it.

It says how likely each explanation is, never who is to blame.  All of it is
plain values, so that every report and the stored case tell the same.
"""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.model import InputUsed, LimitUsed


@dataclass(frozen=True, slots=True)
class CauseLine:
    """One cause as a finding names it."""

    id: str
    name: str
    stage: str
    probability: float
    """Of this cause being present, whatever else is."""
    happened: str
    answers_for: str
    """Who is usually asked to explain; guidance, never a verdict."""


@dataclass(frozen=True, slots=True)
class ExplanationLine:
    """A set of causes that together explain the complaint."""

    causes: tuple[str, ...]
    names: tuple[str, ...]
    probability: float
    word: str
    odds: str
    """Such as "about nine in ten"."""


@dataclass(frozen=True, slots=True)
class Reason:
    """One thing known, and how much it weighs for the causes found."""

    kind: str
    """complaint, not-mentioned, answer, noticed, record, gap."""
    about: str
    """Cause it is weighed for."""
    text: str
    log10: float
    """Log10 of the likelihood ratio, given everything else."""
    words: str
    subject: str
    """Question, check or symptom id."""
    provenance: str = ""
    inputs: tuple[InputUsed, ...] = ()
    working: tuple[str, ...] = ()
    limit: LimitUsed | None = None
    sources: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Misfit:
    """An answer that hardly goes with the likeliest explanation."""

    question: str
    ask: str
    answer: str
    with_causes: float
    """Chance of the answer on a floor with the causes found, and no others."""
    without: float
    """Chance of the answer on a floor without any of the question's causes."""


@dataclass(frozen=True, slots=True)
class RuledOut:
    """A cause that was in question and is not likely any more."""

    cause: str
    name: str
    before: float
    now: float
    by: str
    """What weighs most against it, in words; empty if no single thing does."""


@dataclass(frozen=True, slots=True)
class Gap:
    """Something the record is silent about, and which causes it leaves open."""

    check: str
    name: str
    missing: tuple[str, ...]
    causes: tuple[str, ...]
    worth: float
    """Expected change it could make, to put the most useful gaps first."""


@dataclass(frozen=True, slots=True)
class LookAlikeLine:
    """A cause that one found is taken for, and what parts them."""

    found: str
    other: str
    other_name: str
    separates: str
    asked: bool
    """Whether a question that parts them was answered."""


@dataclass(frozen=True, slots=True)
class RemedyLine:
    """A remedy as the finding proposes it."""

    id: str
    name: str
    steps: tuple[str, ...]
    cautions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CauseWork:
    """What to do about one cause."""

    cause: str
    remedies: tuple[RemedyLine, ...]
    prevention: str


@dataclass(frozen=True, slots=True)
class CautionLine:
    """A hazard to read before any step."""

    id: str
    name: str
    text: str
    defer_to: str


@dataclass(frozen=True, slots=True)
class WouldSettle:
    """A question still open that would tell most."""

    question: str
    ask: str
    act: str
    minutes: float
    damage: str
    gain_bit: float
    hope: float
    """Probability the likeliest explanation would have on average afterwards."""


@dataclass(frozen=True, slots=True)
class AnswerGiven:
    """One step of the walk, as it stands."""

    question: str
    ask: str
    answers: tuple[str, ...]
    texts: tuple[str, ...]
    cannot_tell: bool = False
    note: str = ""


@dataclass(frozen=True, slots=True)
class Finding:
    """Everything a report needs; see the classes above for the parts."""

    job: str
    title: str
    invented: bool
    place: str
    symptoms: tuple[tuple[str, str], ...]
    """(id, name) of each symptom complained of."""
    floor: tuple[tuple[str, str], ...]
    age_days: int | None
    settled: bool
    explanations: tuple[ExplanationLine, ...]
    left_out: float
    """Probability of everything that is not listed or was cut."""
    causes: tuple[CauseLine, ...]
    """Causes of the likeliest explanation."""
    also_found: tuple[CauseLine, ...]
    reasons: tuple[Reason, ...]
    ruled_out: tuple[RuledOut, ...]
    gaps: tuple[Gap, ...]
    look_alikes: tuple[LookAlikeLine, ...]
    work: tuple[CauseWork, ...]
    make_safe: tuple[RemedyLine, ...]
    cautions: tuple[CautionLine, ...]
    normal: tuple[str, ...]
    """What is normal and no fault, for the symptoms complained of."""
    answers: tuple[AnswerGiven, ...]
    would_settle: tuple[WouldSettle, ...]
    stop: str
    """settled, not-worth-it, nothing-left, or stopped (the person stopped)."""
    edition: str
    """Of the rules."""
    casebook_head: str
    made_at: str
    made_by: str
    case: str = ""
    firmness: str = ""
    """One sentence on how far it survives errors in the judged numbers."""
    misfits: tuple[Misfit, ...] = ()
    singly: tuple[CauseLine, ...] = ()
    """Causes likely by themselves, where no one set of causes stands out."""
    not_there: tuple[str, ...] = ()
    """Names of symptoms complained of that were looked for and not found."""
    also_seen: tuple[str, ...] = ()
    """Names of symptoms noticed that nobody had complained of."""
    named_sure: bool = False
    """Not settled as a whole, but each cause of the likeliest explanation by itself is."""

    @property
    def likeliest(self) -> ExplanationLine:
        """The explanation that comes first."""
        return self.explanations[0]
