"""Each symptom, complained of without a record, is walked to an honest end.

Check: the cause taken as true is the one the rules themselves call likeliest
(how common it is, times how often it gives the symptom), on a floor that fits
it; the answers are those that speak for it.  No outside figure: the test asks
whether the questions can lead there at all, and at what cost.  A walk ends when
the engine stops it, or when the first explanation's causes are settled one by
one; what then remains to ask is only whether others acted besides, and that
is not walked here.
"""

from dataclasses import dataclass
from functools import cache

import pytest

from diagnose.data import data_folder
from diagnose.engine.numbers import NONE_OF_THESE
from diagnose.engine.policy import Stop
from diagnose.model import Facet, Floor, Place
from diagnose.rulebook.load import load_rules
from diagnose.walk.inspection import Intake, begin
from diagnose.walk.steps import Step, StepKind

MOST_QUESTIONS = 15
PLAIN_FLOOR = {
    Facet.METHOD: "adhered",
    Facet.PILE: "loop",
    Facet.CONSTRUCTION: "tufted",
    Facet.BACKING: "secondary",
    Facet.FIBRE: "polyamide",
    Facet.SUBFLOOR: "concrete",
    Facet.HEATING: "none",
}
TILE_BACKING = "unitary"


@dataclass(frozen=True, slots=True)
class Walked:
    symptom: str
    cause: str
    first: tuple[str, ...]
    rank: int
    probability: float
    asked: tuple[str, ...]
    minutes: float
    stop: Stop | None
    cause_settled: bool


@cache
def rules():
    return load_rules(data_folder("rules"))


def floor_of(symptom, link):
    """The plain floor, changed as far as symptom, cause and link ask; None if none fits."""
    facets = dict(PLAIN_FLOOR)
    conditions = (rules().symptoms[symptom].applies, rules().causes[link.cause].applies)
    for facet, plain in PLAIN_FLOOR.items():
        asked = [each[facet] for each in (*conditions, link.applies) if facet in each]
        wanted = [plain, *(value for values in asked for value in values)]
        fitting = [value for value in wanted if all(value in values for values in asked)]
        if not fitting:
            return None
        facets[facet] = fitting[0]
    if facets[Facet.METHOD] == "tile" and facets[Facet.BACKING] == PLAIN_FLOOR[Facet.BACKING]:
        facets[Facet.BACKING] = TILE_BACKING
    return Floor(facets)


def typical_link(symptom):
    scale = rules().scale
    place = rules().symptoms[symptom].shows_at[0]
    links = [
        link
        for link in rules().links.values()
        if link.symptom == symptom
        and (not link.shows_at or place in link.shows_at)
        and floor_of(symptom, link)
    ]
    return max(
        links,
        key=lambda link: (
            scale.how_common.words[rules().causes[link.cause].how_common]
            * scale.link_strength.words[link.strength]
        ),
    )


def told(question, cause):
    """What is seen or said where only this cause is at work.

    The answer that speaks for it most; where none does, or only weakly, the
    usual one, which is then likelier.
    """
    words = rules().scale.answer_for.words
    speaking = {a.id: words[a.speaks_for[cause]] for a in question.answers if cause in a.speaks_for}
    best = max(speaking, key=lambda answer: speaking[answer], default=None)
    usual = next((answer for answer in question.answers if answer.usual), None)
    fits = usual is not None and cause not in usual.speaks_against
    if best and not (fits and speaking[best] == words["weak"]):
        return Step(StepKind.ANSWERED, question.id, (best,))
    if usual is None:
        return Step(StepKind.CANNOT_TELL, question.id)
    return Step(StepKind.ANSWERED, question.id, (usual.id if fits else NONE_OF_THESE,))


def named(inspection):
    """Whether every cause of the first explanation is settled by itself."""
    posterior = inspection.posterior
    causes = posterior.leading.causes
    least = min((posterior.of(cause) for cause in causes), default=0.0)
    return least >= rules().scale.numbers["settle_at"]


@cache
def walked(symptom):
    link = typical_link(symptom)
    place = Place(rules().symptoms[symptom].shows_at[0])
    inspection = begin(rules(), Intake((symptom,), place, floor_of(symptom, link)))
    asked, minutes = [], 0.0
    while len(asked) < MOST_QUESTIONS and not named(inspection) and not inspection.advice.stop:
        best = inspection.advice.candidates[0]
        asked.append(best.question)
        minutes += best.minutes
        inspection = inspection.after(told(rules().questions[best.question], link.cause))
    found = inspection.posterior.explanations
    rank = next((n for n, each in enumerate(found, 1) if link.cause in each.causes), len(found) + 1)
    return Walked(
        symptom,
        link.cause,
        found[0].causes,
        rank,
        found[0].probability,
        tuple(asked),
        minutes,
        inspection.advice.stop,
        named(inspection),
    )


@pytest.mark.parametrize("symptom", rules().symptoms)
def test_the_walk_ends(symptom):
    end = walked(symptom)
    assert end.cause_settled or end.stop, f"not after {', '.join(end.asked)}"
    assert 1 <= len(end.asked) <= MOST_QUESTIONS
    if end.stop is Stop.NOT_WORTH_IT:
        assert end.probability < rules().scale.numbers["settle_at"]


def test_the_cause_answered_for_comes_first_or_second():
    ends = [walked(symptom) for symptom in rules().symptoms]
    missed = [f"{end.symptom}: {end.cause} but {end.first}" for end in ends if end.rank > 2]
    assert len(missed) <= 0.1 * len(ends), "\n".join(missed)


@pytest.mark.parametrize("symptom", rules().symptoms)
def test_no_act_that_harms_the_floor_comes_first(symptom):
    first = rules().questions[walked(symptom).asked[0]]
    assert rules().acts[first.act].damage == "none"
