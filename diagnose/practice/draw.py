"""A practice case: an invented floor with a known fault, drawn from the rules.

The same rules, seed, difficulty and curriculum give the same case.  What each
question would show is drawn once and belongs to the case.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from random import Random

from diagnose.engine.evidence import CheckSaid, Evidence, NotMentioned, SymptomSeen
from diagnose.engine.network import Network, build
from diagnose.errors import NotFoundError
from diagnose.model import Floor, Outcome, Place, Provenance
from diagnose.practice import sample
from diagnose.practice.chance import level, pick, pick_weighted, shuffled, stream
from diagnose.practice.consistent import asked_in_vain, ruled_out
from diagnose.practice.fault import Curriculum, Difficulty, Fault, choose
from diagnose.practice.figures import figure
from diagnose.practice.site import Site, invent_site
from diagnose.rulebook.model import Question, Rules

MOST_RECORD_LINES = 14
MOST_MENTIONED = 3
SILENT_SHARE = 0.85
"""Share of a silent record's lines that nobody filled in."""
ENTERED: Mapping[Provenance, float] = {
    Provenance.ON_THE_DAY: 0.75,
    Provenance.LATE: 0.15,
    Provenance.AFTER_COMPLAINT: 0.1,
}
"""When the entries of a drawn record were made; invented shares."""


@dataclass(frozen=True, slots=True)
class RecordLine:
    """What one check makes of the invented record."""

    check: str
    outcome: Outcome
    provenance: Provenance = Provenance.ON_THE_DAY
    figure: str = ""
    """An invented reading or log that says the same; empty for many checks."""


@dataclass(frozen=True, slots=True)
class Order:
    """All that decides a case, beside the rules."""

    seed: int
    difficulty: Difficulty = Difficulty.ONE_CAUSE
    curriculum: Curriculum = field(default_factory=Curriculum)


@dataclass(frozen=True, slots=True)
class PracticeCase:
    """An invented case with its key."""

    order: Order
    edition: str
    """Edition of the rules that it was drawn from."""
    floor: Floor
    place: Place
    symptoms: tuple[str, ...]
    """What the caller complains of, the main symptom first."""
    record: tuple[RecordLine, ...]
    answers: Mapping[str, tuple[str, ...]]
    """What each question would show; a question that is missing gets "cannot tell"."""
    truth: tuple[str, ...]
    """The causes laid in.  The key: not for the learner's eyes."""
    rival: str
    """A cause it is easily taken for; empty if none was laid in."""
    site: Site

    @property
    def name(self) -> str:
        """Short name that people can read out."""
        return f"{self.order.difficulty.value}-{self.order.seed}"


def draw_case(rules: Rules, order: Order) -> PracticeCase:
    """Return the invented case of an order.

    Raises
    ------
    NotFoundError
        The curriculum leaves nothing to draw, or names what the rules lack.
    """
    rng = stream("case", order.seed, order.difficulty.value, order.curriculum)
    fault = choose(rules, rng, order.difficulty, order.curriculum)
    network = build(rules, fault.floor, symptoms=fault.symptoms, place_kind=fault.place.kind)
    lost = [cause for cause in fault.causes if cause not in network.index]
    if lost:
        raise NotFoundError(f"the cause {lost[0]} does not apply to the floor drawn for it")
    on = sample.states(network, fault.causes, rng)
    said = sample.mentioned(network, on, rng, fault.symptoms)
    symptoms = (*fault.symptoms, *said)[:MOST_MENTIONED]
    figures = stream("figures", order.seed)
    record = tuple(
        replace(
            line, figure=figure(rules, rules.checks[line.check], line.outcome, fault.floor, figures)
        )
        for line in _record(network, fault, on, rng, order.difficulty)
    )
    answers = {}
    for question in network.questions.values():
        barred = ruled_out(fault.floor, symptoms, question.id)
        said_of_it = sample.answer(question, on, rng, barred)
        if said_of_it is not None and not asked_in_vain(fault.floor, question.id):
            answers[question.id] = _coherent(rules.questions[question.id], said_of_it)
    if order.difficulty is Difficulty.SILENT_RECORD:
        for name in _about_the_record(rules, answers):
            del answers[name]
    return PracticeCase(
        order=order,
        edition=rules.edition,
        floor=fault.floor,
        place=fault.place,
        symptoms=symptoms,
        record=record,
        answers=answers,
        truth=fault.causes,
        rival=fault.rival,
        site=invent_site(rng, fault.floor, fault.place),
    )


def network_of(rules: Rules, case: PracticeCase) -> Network:
    """Return the network in which a case is reasoned about."""
    return build(rules, case.floor, symptoms=case.symptoms, place_kind=case.place.kind)


def known_at_the_start(network: Network, case: PracticeCase) -> tuple[Evidence, ...]:
    """Return what the complaint and the record say before the first question."""
    seen = [SymptomSeen(symptom) for symptom in case.symptoms]
    said = [
        CheckSaid(line.check, line.outcome, line.provenance)
        for line in case.record
        if line.check in network.checks
    ]
    return (*seen, NotMentioned(), *said)


def _coherent(question: Question, given: tuple[str, ...]) -> tuple[str, ...]:
    """Return the ticks without "all is well" where something else is ticked too."""
    usual = {answer.id for answer in question.answers if answer.usual}
    faults = tuple(answer for answer in given if answer not in usual)
    return faults or given


def _about_the_record(rules: Rules, answers: Mapping[str, tuple[str, ...]]) -> list[str]:
    return [name for name in answers if rules.questions[name].settled_by]


def _record(
    network: Network, fault: Fault, on: frozenset[int], rng: Random, difficulty: Difficulty
) -> tuple[RecordLine, ...]:
    """Draw the lines of the record; those that could bear on the complaint, in rule order."""
    bearing = [
        name
        for name, finding in network.checks.items()
        if {int(parent) for parent in finding.parents} & network.candidates
    ]
    chosen = set(shuffled(rng, bearing)[:MOST_RECORD_LINES])
    forced = _misleading(network, fault, rng) if difficulty is Difficulty.MISLEADING_RECORD else {}
    lines = []
    for name in network.checks:
        if name in forced:
            lines.append(forced[name])
        elif name in chosen:
            lines.append(_line(network, name, on, rng, difficulty))
    return tuple(lines)


def _line(
    network: Network, name: str, on: frozenset[int], rng: Random, difficulty: Difficulty
) -> RecordLine:
    provenance = pick_weighted(rng, ENTERED)
    trust = network.figures.trust(provenance.value)
    deviates = level(rng, sample.chances(network.checks[name], on, trust=trust)) == 1
    missing = network.figures.number(
        "not_recorded_deviation" if deviates else "not_recorded_in_order"
    )
    if difficulty is Difficulty.SILENT_RECORD:
        missing = SILENT_SHARE
    if rng.random() < missing:
        return RecordLine(name, Outcome.NOT_RECORDED)
    return RecordLine(name, Outcome.DEVIATES if deviates else Outcome.IN_ORDER, provenance)


def _misleading(network: Network, fault: Fault, rng: Random) -> dict[str, RecordLine]:
    """Return entries made after the complaint that clear the fault and accuse another."""
    forced: dict[str, RecordLine] = {}
    after = Provenance.AFTER_COMPLAINT
    own = _backing(network, fault.causes[0])
    for name in own:
        forced[name] = RecordLine(name, Outcome.IN_ORDER, after)
    rival = [name for name in _backing(network, fault.rival) if name not in own]
    if rival:
        name = pick(rng, rival)
        forced[name] = RecordLine(name, Outcome.DEVIATES, after)
    return forced


def _backing(network: Network, cause: str) -> list[str]:
    number = network.index.get(cause, -1)
    return [name for name, finding in network.checks.items() if number in set(finding.parents)]
