"""A practice case: an invented floor with a known fault, drawn from the rules.

The same rules, seed, difficulty and curriculum give the same case.  What each
question would show is drawn once and belongs to the case.  The record is that of
a whole invented job, and says what the checks of the rules say of that job.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from diagnose.engine.evidence import CheckSaid, Evidence, NotMentioned, SymptomSeen
from diagnose.engine.network import Network, build
from diagnose.errors import NotFoundError
from diagnose.model import Floor, Outcome, Place, Provenance
from diagnose.practice import sample
from diagnose.practice.answers import AGE, FloorAnswers
from diagnose.practice.chance import stream
from diagnose.practice.entries import draw_entries
from diagnose.practice.fault import Curriculum, Difficulty, choose
from diagnose.practice.job.sampled import JobOrder, SampledJob, sample_job
from diagnose.practice.on_paper import age_days, stated_fields, style_is_plain
from diagnose.practice.site import WEEKDAYS, Site, invent_site
from diagnose.rulebook.model import Rules

MOST_MENTIONED = 3


@dataclass(frozen=True, slots=True)
class RecordLine:
    """What one check makes of the invented record."""

    check: str
    outcome: Outcome
    provenance: Provenance = Provenance.ON_THE_DAY
    figure: str = ""
    """What the check found, in one sentence: "laid after 46 min; allowed: at most 40 min"."""


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
    sampled: SampledJob
    """The whole invented job that the record was read from."""

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
    floor = FloorAnswers(rules, network, fault, symptoms, on, rng)
    first = floor.first()
    site = invent_site(rng, fault.floor, fault.place)
    entries = draw_entries(network, rules, fault, on, rng, order.difficulty)
    wanted = JobOrder(
        fault.floor,
        fault.place,
        site,
        f"practice-{order.difficulty.value}-{order.seed}",
        symptoms,
        age_days(rules.questions.get(AGE), first.get(AGE, ())),
        style_is_plain(fault.floor, first),
        stated_fields(rules, first),
        entries.own,
    )
    sampled = sample_job(rules, wanted, entries.of, rng)
    answers = dict(floor.agreeing(first, sampled))
    if order.difficulty is Difficulty.SILENT_RECORD:
        for name in _about_the_record(rules, answers):
            del answers[name]
    return PracticeCase(
        order=order,
        edition=rules.edition,
        floor=fault.floor,
        place=sampled.place,
        symptoms=symptoms,
        record=_lines(network, sampled),
        answers=answers,
        truth=fault.causes,
        rival=fault.rival,
        site=replace(site, window=sampled.window, weekday=_weekday(sampled, site)),
        sampled=sampled,
    )


def _weekday(sampled: SampledJob, site: Site) -> str:
    """Return the day of the week on which the record has the call."""
    made = [each.made_at for each in sampled.job.complaints.values() if each.made_at]
    return WEEKDAYS[made[0].weekday()] if made else site.weekday


def _lines(network: Network, sampled: SampledJob) -> tuple[RecordLine, ...]:
    """Return what the checks make of the job, as far as the engine weighs it."""
    return tuple(
        RecordLine(name, found.outcome, found.provenance, found.summary)
        for name in network.checks
        if (found := sampled.results.get(name)) is not None
        and found.outcome is not Outcome.DOES_NOT_APPLY
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


def _about_the_record(rules: Rules, answers: Mapping[str, tuple[str, ...]]) -> list[str]:
    return [name for name in answers if rules.questions[name].settled_by]
