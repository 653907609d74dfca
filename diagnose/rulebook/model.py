"""The rule graph as typed, immutable values.

Every class mirrors one kind of YAML item under rules/.  Loading and checking
are done elsewhere; nothing here knows a file format.  `at` names the file and
line an item was read from, so that a later message can point to it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from diagnose.errors import Position
from diagnose.model import Facet

Applies = Mapping[Facet, tuple[str, ...]]
"""Facet to the values it may have; a facet that is missing is no condition."""


class Damage(StrEnum):
    """What an act does to the floor, from nothing to a sample cut out."""

    NONE = "none"
    LIFTS_AN_EDGE = "lifts-an-edge"
    CUTS_OR_CORES = "cuts-or-cores"


class AnswerRule(StrEnum):
    """How causes that act together produce one answer."""

    GRADED = "graded"
    """The answer highest in order of dominance is seen (noisy-MAX)."""
    TICKS = "ticks"
    """Any number of answers may be ticked; each is its own noisy-OR."""
    EITHER_OR = "either-or"
    """One of the causes present made what is looked at (mixture)."""


@dataclass(frozen=True, slots=True)
class Cite:
    """One source of a rule: id in sources.yaml, clause, how far it says so.

    `support` is `stated`, `inferred` or `none` (common practice, no source).
    """

    source: str
    clause: str = ""
    support: str = "inferred"
    note: str = ""


@dataclass(frozen=True, slots=True)
class Source:
    """A published source, or one of the two honest non-sources."""

    id: str
    title: str
    year: str
    kind: str
    """`standard`, `code-of-practice`, `guide`, `article`, `paper`, `data-sheet`, `non-source`."""
    edition: str
    read_as: str
    """How it was read: whole text, extract, abstract, second-hand, from memory."""
    code: str
    """Name under which a contract can call it, such as `cri-104-2015`; else empty."""
    address: str
    note: str
    at: Position


@dataclass(frozen=True, slots=True)
class Symptom:
    """What is seen: one visible defect."""

    id: str
    name: str
    looks_like: str
    """What it is, in plain words."""
    shows_at: tuple[str, ...]
    """Kinds of place (`diagnose.model.PLACE_KINDS`)."""
    where: str
    """Where it shows, in words."""
    applies: Applies
    measure: str
    tolerance: str
    normal: str
    """What is normal and not a fault; empty where nothing needs saying."""
    taken_for: tuple[str, ...]
    """Ids of symptoms or causes it is mistaken for."""
    make_safe: tuple[str, ...]
    """Ids of remedies that make the place safe at once."""
    cautions: tuple[str, ...]
    sources: tuple[Cite, ...]
    at: Position


@dataclass(frozen=True, slots=True)
class Cause:
    """What was done or happened, and why that gives a symptom."""

    id: str
    name: str
    stage: str
    applies: Applies
    happened: str
    mechanism: str
    how_common: str
    """A word of scale.yaml `how_common`."""
    answers_for: str
    """Who is usually asked to explain; guidance, never a verdict."""
    on_record: str
    """What an install record would show of it."""
    remedies: tuple[str, ...]
    prevention: str
    cautions: tuple[str, ...]
    kind_of: str
    """Id of a wider cause that this is a kind of; empty for most."""
    sources: tuple[Cite, ...]
    at: Position


@dataclass(frozen=True, slots=True)
class Link:
    """A cause gives a symptom, with a strength that is a word of scale.yaml."""

    cause: str
    symptom: str
    strength: str
    because: str
    applies: Applies
    shows_at: tuple[str, ...]
    """Kinds of place where the link holds; empty means wherever the symptom shows."""
    sources: tuple[Cite, ...]
    at: Position

    @property
    def id(self) -> str:
        """`cause.symptom`."""
        return f"{self.cause}.{self.symptom}"

    @property
    def support(self) -> str:
        """The best support of its sources: stated, else inferred, else none."""
        said = {cite.support for cite in self.sources}
        return next((word for word in ("stated", "inferred") if word in said), "none")


@dataclass(frozen=True, slots=True)
class Act:
    """Something done to the floor that makes one or more questions possible.

    Its minutes are paid once; questions opened by one act with `together` set
    are not independent of each other.
    """

    id: str
    name: str
    how: str
    minutes: float
    tools: tuple[str, ...]
    damage: Damage
    consent: bool
    cautions: tuple[str, ...]
    together: bool
    put_back: str
    """How the floor is made good afterwards."""
    sources: tuple[Cite, ...]
    at: Position


@dataclass(frozen=True, slots=True)
class Answer:
    """One listed answer of a question, with weights for and against causes.

    Weights are words of scale.yaml: `sighting`, `strong`, `moderate`, `weak`.
    """

    id: str
    text: str
    speaks_for: Mapping[str, str]
    speaks_against: Mapping[str, str]
    usual: bool = False
    """True for the answer a sound floor gives; it then has a real background."""
    alone: bool = False
    """True for an answer of a ticked question that cannot go with another tick."""
    means: str = ""
    """What seeing this tells a learner; optional."""
    at: Position = field(default=Position(""), compare=False)
    age_days: tuple[float, ...] = ()
    """Least and most age of the floor at which this answer is known unasked; or empty."""
    recorded: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    """Field of the record (`seams.made_by`) to the values that give this answer unasked."""


@dataclass(frozen=True, slots=True)
class Question:
    """A question about the floor or its history, with its listed answers.

    "None of these" and "cannot tell" are always possible and never listed.
    Answers of a graded question stand in order of dominance, the least first.
    """

    id: str
    ask: str
    help: str
    group: str
    rule: AnswerRule
    act: str
    """Id of the act that opens it; `ask` for a mere question."""
    minutes: float
    who: tuple[str, ...]
    asks_at: tuple[str, ...]
    """Kinds of place where it makes sense; empty means any."""
    applies: Applies
    answers: tuple[Answer, ...]
    settled_by: tuple[str, ...]
    """Ids of checks whose outcome makes it needless to ask."""
    sources: tuple[Cite, ...]
    at: Position


@dataclass(frozen=True, slots=True)
class LookAlike:
    """Two causes taken for each other, and the one observation that parts them."""

    id: str
    symptom: str
    cause: str
    taken_for: str
    gives_it: bool
    """False when the second does not give the symptom but is taken for it."""
    separates: str
    questions: tuple[str, ...]
    sources: tuple[Cite, ...]
    at: Position


@dataclass(frozen=True, slots=True)
class TeachingPoint:
    """A misconception heard on site and what is nearer the truth."""

    id: str
    heard: str
    better: str
    about: tuple[str, ...]
    sources: tuple[Cite, ...]
    at: Position


@dataclass(frozen=True, slots=True)
class Remedy:
    """What to do about a cause, or how to make a place safe at once."""

    id: str
    name: str
    steps: tuple[str, ...]
    make_safe: bool
    damage: Damage
    cautions: tuple[str, ...]
    sources: tuple[Cite, ...]
    at: Position


@dataclass(frozen=True, slots=True)
class Caution:
    """A hazard, shown before the step that meets it."""

    id: str
    name: str
    text: str
    defer_to: str
    """Local code or licensed practice that has the last word."""
    applies: Applies
    sources: tuple[Cite, ...]
    at: Position


@dataclass(frozen=True, slots=True)
class LimitValue:
    """One source's figure for a limit, with its edition and conditions."""

    low: float | None
    high: float | None
    set_by: str
    """`contract-code`, `code`, `common-practice`; data sheets come from the job."""
    code: str
    """Contract code under which it applies; empty means general."""
    when: Mapping[str, tuple[str, ...]]
    """Facets and other words (`method`, `reading`, `month`, ...) it holds for."""
    sure: str
    """`seen`, `second-hand`, `memory`, `computed`."""
    cite: Cite
    at: Position


@dataclass(frozen=True, slots=True)
class Limit:
    """A limit that a record can be checked against; several sources may differ."""

    id: str
    name: str
    quantity: str
    unit: str
    values: tuple[LimitValue, ...]
    note: str
    at: Position


@dataclass(frozen=True, slots=True)
class Check:
    """A computed comparison of the record with a limit, and what it speaks for."""

    id: str
    name: str
    stage: str
    calculation: str
    """Name of the calculation in diagnose/checks that computes it."""
    looks_at: str
    """Kind of part: spread, seam, drop, edge, doorway, area, roll, job."""
    limit: str
    """Limit id, or empty where the comparison needs no figure."""
    options: Mapping[str, str]
    """Settings handed to the calculation, such as which side of the limit counts."""
    backs: Mapping[str, str]
    """Cause to weight word: how surely the record would deviate were it present."""
    applies: Applies
    needs: tuple[str, ...]
    """Trade words of the record entries it needs."""
    put_right: str
    """What can still be done before leaving site; empty if nothing."""
    put_right_minutes: float
    record_now: str
    """What to write down now if it was not recorded."""
    cautions: tuple[str, ...]
    sources: tuple[Cite, ...]
    at: Position
    more_limits: tuple[str, ...] = ()
    """Ids of further limits that the calculation chooses from by itself."""


@dataclass(frozen=True, slots=True)
class Mechanism:
    """A hidden state that several causes bring about and several answers show."""

    id: str
    name: str
    brought_about_by: Mapping[str, str]
    """Cause to strength word."""
    answers: Mapping[str, str]
    """`question.answer` to weight word."""
    sources: tuple[Cite, ...]
    at: Position


@dataclass(frozen=True, slots=True)
class Inseparable:
    """Two causes that nothing in the rules can tell apart, and why."""

    symptom: str
    causes: tuple[str, str]
    reason: str
    at: Position


@dataclass(frozen=True, slots=True)
class Abbreviation:
    """A short form that the rules may use, and what it stands for."""

    short: str
    long: str
    at: Position

    @property
    def id(self) -> str:
        """The short form itself."""
        return self.short


@dataclass(frozen=True, slots=True)
class WordScale:
    """Words with numbers, in file order; `source` says where the scale is from."""

    name: str
    words: Mapping[str, float]
    source: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Scale:
    """The only place where words become numbers (rules/scale.yaml)."""

    link_strength: WordScale
    answer_for: WordScale
    answer_against: WordScale
    """Divisors of the background."""
    check_backs: WordScale
    how_common: WordScale
    trust: WordScale
    """Provenance to how far an entry is believed, 0 to 1."""
    damage_minutes: WordScale
    """Damage to the minutes it is counted as when choosing a question."""
    probability_words: WordScale
    """Upper band edges, in ascending order."""
    weight_words: WordScale
    """Upper band edges of a likelihood ratio, in ascending order."""
    numbers: Mapping[str, float]
    """leak, background, mention_rate, check_false_alarm, settle_at, ..."""


@dataclass(frozen=True, slots=True)
class Rules:
    """The whole rule graph, each kind by id in file order."""

    scale: Scale
    sources: Mapping[str, Source]
    symptoms: Mapping[str, Symptom]
    causes: Mapping[str, Cause]
    links: Mapping[str, Link]
    acts: Mapping[str, Act]
    questions: Mapping[str, Question]
    checks: Mapping[str, Check]
    limits: Mapping[str, Limit]
    remedies: Mapping[str, Remedy]
    cautions: Mapping[str, Caution]
    look_alikes: Mapping[str, LookAlike]
    teaching: Mapping[str, TeachingPoint]
    mechanisms: Mapping[str, Mechanism]
    inseparable: tuple[Inseparable, ...] = field(default=())
    abbreviations: Mapping[str, Abbreviation] = field(default_factory=dict)
    edition: str = ""
    """SHA-256 over the content of the rule files; stored in every finding."""
