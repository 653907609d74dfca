"""Answers of an invented floor that agree with its record: its age, its plan, its checks.

What is on paper for all to read must not be denied by what the floor answers.
Entries made after the complaint bind nobody; a misleading record lives on that.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import timedelta

from diagnose.model import Facet, Floor, Outcome, Provenance
from diagnose.practice.job.sampled import SampledJob
from diagnose.record.place import words_at
from diagnose.rulebook.model import Answer, Question, Rules

BELIEVED = (Provenance.ON_THE_DAY, Provenance.LATE)
USUAL_AGE_DAYS = 75.0
YOUNGEST_DAYS = 12.0
"""Days from the end of the work to the complaint; the least leaves time for late entries."""
MONTHS, YEARS = 60.0, 730.0

SAYS_NOTHING: Mapping[str, tuple[str, ...]] = {
    "waiting-time-before-laying": ("not-noted",),
    "rolling-on-record": ("nothing-noted",),
    "batch-numbers": ("labels-not-kept",),
    "damp-protection-below": ("nobody-asked",),
    "floor-temperature-while-laying": ("nobody-measured",),
    "air-at-laying-and-since": ("no-log",),
    "use-against-specification": ("no-specification",),
    "roll-edges-and-sequence": ("not-known",),
}
"""Answers that nothing was written down, which an entry on the subject denies."""

NEEDS_AGE: Mapping[str, tuple[tuple[str, float], ...]] = {
    "when-first-seen": (("a-year-or-more", 400.0), ("weeks-to-months", 20.0)),
    "flat-where-and-when": (("lanes-after-years", YEARS),),
    "what-smell": (("sweet-sharp-warm-days", YEARS),),
    "dent-age-and-load": (("heavy-long", MONTHS),),
}
"""Answers that a floor younger than so many days cannot give."""


def age_days(question: Question | None, given: Iterable[str]) -> float:
    """Return how long after the work the complaint came, by what is answered on the age."""
    chosen = {*given}
    for answer in question.answers if question else ():
        if answer.id in chosen and answer.age_days:
            low, high = answer.age_days
            young = min(USUAL_AGE_DAYS, high - 2)
            return max(YOUNGEST_DAYS, young if low < USUAL_AGE_DAYS else low * 1.3)
    return USUAL_AGE_DAYS


def youngest(rules: Rules, causes: Iterable[str]) -> float:
    """Return the least age in days at which a fault of these causes has come about."""
    later = {"maintenance", "building"}
    return MONTHS if later & {rules.causes[cause].stage for cause in causes} else 0.0


def too_young(question: Question, least_days: float) -> frozenset[str]:
    """Return the answers on the age that are too young for the fault."""
    return frozenset(
        answer.id
        for answer in question.answers
        if answer.age_days and answer.age_days[1] <= least_days
    )


def stated_fields(rules: Rules, answers: Mapping[str, tuple[str, ...]]) -> dict[str, str]:
    """Return fields such as `areas.room_emptied` with the value that the answers speak of."""
    found = {}
    for name, given in answers.items():
        for answer in rules.questions[name].answers:
            if answer.id in given:
                found.update({path: values[0] for path, values in answer.recorded.items()})
    return found


def denied(rules: Rules, question: Question, sampled: SampledJob) -> frozenset[str]:
    """Return the answers to a question that the record of the job denies."""
    return frozenset(
        {
            *_by_checks(rules, question, sampled),
            *_by_age(question, sampled),
            *_by_plan(question, sampled),
        }
    )


def stated(question: Question, sampled: SampledJob) -> tuple[str, ...] | None:
    """Return the answer that the record itself gives; None where it gives none or several."""
    recorded = words_at(sampled.job, sampled.place)

    def known(answer: Answer) -> bool:
        return bool(answer.recorded) and all(
            recorded.get(path) and recorded[path] <= set(values)
            for path, values in answer.recorded.items()
        )

    given = [answer.id for answer in question.answers if known(answer)]
    return (given[0],) if len(given) == 1 else None


def _by_checks(rules: Rules, question: Question, sampled: SampledJob) -> Iterable[str]:
    """What is in order cannot be answered as a fault, what deviates not as usual."""
    told = False
    for name in question.settled_by:
        found = sampled.results.get(name)
        if found is None or found.provenance not in BELIEVED:
            continue
        backs = {*rules.checks[name].backs}
        if found.outcome is Outcome.IN_ORDER:
            told = True
            yield from (a.id for a in question.answers if not a.usual and backs & {*a.speaks_for})
        elif found.outcome is Outcome.DEVIATES:
            told = True
            yield from (answer.id for answer in question.answers if answer.usual)
    if told:
        yield from SAYS_NOTHING.get(question.id, ())


def _by_age(question: Question, sampled: SampledJob) -> Iterable[str]:
    complaint = next(iter(sampled.job.complaints.values()), None)
    finished = sampled.job.dates.finished_at
    if complaint is None or complaint.made_at is None or finished is None:
        return
    age = (complaint.made_at - finished) / timedelta(days=1)
    for name, least in NEEDS_AGE.get(question.id, ()):
        if age < least:
            yield name


def _by_plan(question: Question, sampled: SampledJob) -> Iterable[str]:
    """What the plan shows of the light, and that the complaint is at a join."""
    at_seam = sampled.place.kind == "seam"
    if question.id == "join-against-plan-light-doors" and at_seam:
        along = sampled.window in ("east", "west")
        yield "out-of-the-way" if along else "across-the-light"
    if question.id == "crosses-a-join" and at_seam:
        yield "near-no-join"


def style_is_plain(floor: Floor, answers: Mapping[str, tuple[str, ...]]) -> bool:
    """Return whether the goods were answered to be plain, so that no pattern is on record."""
    plain = "plain-velvet" in answers.get("style-that-shows-joins", ())
    return plain and floor.facets.get(Facet.PILE) == "cut"
