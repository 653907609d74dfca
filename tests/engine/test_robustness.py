"""Errors in the judged numbers, single numbers, and the smallest change of answers."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from diagnose.engine.adjust import BACKGROUND, PRIOR, Dial, dials, figure, findings, turned
from diagnose.engine.evidence import Answered, CheckSaid, NotMentioned, SymptomSeen
from diagnose.engine.posterior import infer
from diagnose.engine.robustness import Survival, sentence, survival
from diagnose.engine.sensitivity import SHIFT, sensitivity, turning_point
from diagnose.engine.smallest_change import smallest_change
from diagnose.model import Outcome
from tests.engine.by_hand import finding, network, question
from tests.engine.small_networks import draw


@pytest.fixture
def two_causes():
    """Cause a by far the likelier, until the answer `b-like` is given."""
    symptom = finding("symptom:s", {0: (0.3, 0.1, 0.6), 1: (0.3, 0.1, 0.6)}, (0.99, 0.002, 0.008))
    asked = question(
        "look",
        ["a-like", "b-like"],
        finding("question:look", {0: (0.3, 0.7, 0.0), 1: (0.2, 0.0, 0.8)}, (0.9, 0.05, 0.05)),
    )
    check = finding("check:c", {1: (0.2, 0.8)}, (0.95, 0.05))
    return network(
        {"a": 0.1, "b": 0.02}, symptoms={"s": symptom}, questions=[asked], checks={"c": check}
    )


COMPLAINT = (SymptomSeen("s"), NotMentioned())


def test_turning_nothing_changes_nothing():
    drawn = draw(5, causes=6)
    same = turned(drawn.network, dict.fromkeys(dials(drawn.network), 0.0))
    one, two = infer(drawn.network, drawn.evidence), infer(same, drawn.evidence)
    np.testing.assert_allclose(one.chance, two.chance, rtol=0, atol=1e-8)


def test_turning_a_prior_shifts_its_log_odds(two_causes):
    other = turned(two_causes, {Dial("a", PRIOR): 1.0})
    before, after = two_causes.prior[0], other.prior[0]
    assert np.log(after / (1 - after)) - np.log(before / (1 - before)) == pytest.approx(1.0)
    assert other.prior[1] == pytest.approx(two_causes.prior[1])


@pytest.mark.parametrize("seed", range(5))
def test_turned_numbers_stay_chances_in_order(seed):
    drawn = draw(seed, causes=6)
    rng = np.random.default_rng(seed)
    shifts = {dial: float(rng.normal(0, 1.5)) for dial in dials(drawn.network)}
    for each in findings(turned(drawn.network, shifts)):
        for row in (*each.net, each.base):
            if each.mixture:
                assert row.sum() == pytest.approx(1.0)
            else:
                assert np.all(np.diff(row) >= -1e-12)
                assert row[-1] == 1.0
            assert np.all((row >= 0) & (row <= 1))


def test_only_numbers_the_evidence_touches_are_listed(two_causes):
    listed = dials(two_causes, COMPLAINT)
    assert Dial("a", "symptom:s") in listed
    assert not [dial for dial in listed if dial.about == "question:look"]
    assert Dial(BACKGROUND, "question:look") in dials(two_causes)


def test_a_clear_finding_survives_and_a_close_one_does_not(two_causes):
    clear = survival(two_causes, [*COMPLAINT, Answered("look", ("a-like",))], seed=1)
    assert clear[0].share >= 0.9
    close = dataclasses.replace(two_causes, prior=np.array([0.021, 0.02]))
    hangs = survival(close, COMPLAINT, seed=1)
    assert hangs[0].share < 0.9
    assert hangs[0].others[0][0] == ("b",)
    assert sum(n for _, n in hangs[0].others) + hangs[0].stayed == hangs[0].draws
    assert survival(close, COMPLAINT, seed=1) == hangs


@pytest.mark.parametrize(
    ("moderate", "gross", "part"),
    [(60, 58, "does not hang"), (58, 30, "gross ones do in 5 cases in ten"), (30, 10, "hangs on")],
)
def test_the_sentence(moderate, gross, part):
    said = sentence([Survival(0.5, 60, moderate, ()), Survival(1.0, 60, gross, ())])
    assert part in said
    assert said.count(".") == 1


def test_the_smallest_change_turns_the_finding(two_causes):
    evidence = [*COMPLAINT, Answered("look", ("a-like",)), CheckSaid("c", Outcome.IN_ORDER)]
    found = smallest_change(two_causes, evidence)
    assert found is not None
    new = {item.key: other for item, other in found.instead}
    changed = [kept for item in evidence if (kept := new.get(item.key, item)) is not None]
    after = infer(two_causes, changed)
    assert after.leading == found.leading
    assert after.leading.causes != infer(two_causes, evidence).leading.causes
    one_by_one = [i for i in evidence if i.key.startswith(("question", "check"))]
    assert len(found.instead) <= len(one_by_one)


def test_no_change_where_only_the_complaint_speaks(two_causes):
    assert smallest_change(two_causes, COMPLAINT) is None
    held = [*COMPLAINT, Answered("look", ("a-like",))]
    assert smallest_change(two_causes, held, may_change=lambda item: False) is None


def test_sensitivity_of_single_numbers(two_causes):
    evidence = [*COMPLAINT, Answered("look", ("a-like",))]
    effects = {effect.dial: effect for effect in sensitivity(two_causes, evidence, least_chance=0)}
    own = effects[Dial("a", PRIOR)]
    assert own.lower < infer(two_causes, evidence).leading.probability < own.higher
    assert effects[Dial("b", PRIOR)].higher < effects[Dial("b", PRIOR)].lower
    ranges = [effect.range for effect in sensitivity(two_causes, evidence)]
    assert ranges == sorted(ranges, reverse=True)
    by_hand = infer(turned(two_causes, {Dial("a", PRIOR): SHIFT}), evidence).leading.probability
    assert own.higher == pytest.approx(by_hand, abs=1e-12)


def test_the_turning_point_of_a_frequency_by_hand():
    """With the complaint alone, a and b give it alike: b leads once it is the commoner."""
    symptom = finding("symptom:s", {0: (0.3, 0.1, 0.6), 1: (0.3, 0.1, 0.6)}, (0.99, 0.002, 0.008))
    net = network({"a": 0.1, "b": 0.02}, symptoms={"s": symptom})
    evidence = (SymptomSeen("s"), NotMentioned())
    found = turning_point(net, evidence, Dial("b", PRIOR))
    assert found is not None
    assert found.leading == ("b",)
    assert found.figure == pytest.approx(0.1, rel=0.02)
    assert found.shift == pytest.approx(np.log((0.1 / 0.9) / (0.02 / 0.98)), abs=0.03)
    down = turning_point(net, evidence, Dial("a", PRIOR))
    assert down is not None
    assert down.figure == pytest.approx(0.02, rel=0.03)
    assert turning_point(net, evidence, Dial(BACKGROUND, "symptom:s")) is not None
    alone = network({"a": 0.1}, symptoms={"s": dataclasses.replace(symptom, **_only_a(symptom))})
    assert turning_point(alone, [SymptomSeen("s")], Dial("a", "symptom:s")) is None


def _only_a(symptom):
    return {
        "parents": symptom.parents[:1],
        "net": symptom.net[:1],
        "base": np.array([1 - 1e-9, 1 - 1e-10, 1.0]),
    }


def test_the_figure_of_a_number_is_the_chance_it_stands_for(two_causes):
    def read(of, about, *evidence):
        return figure(two_causes, Dial(of, about), evidence)

    assert read("b", PRIOR) == pytest.approx(0.02)
    assert read("a", "symptom:s") == pytest.approx(0.7)
    assert read(BACKGROUND, "check:c") == pytest.approx(0.05)
    assert read("b", "check:c") == pytest.approx(0.8)
    # b alone gives b-like with .8, and the background with .05 besides
    said = Answered("look", ("b-like",))
    assert read("b", "question:look", said) == pytest.approx(1 - 0.2 * 0.95)
    assert read(BACKGROUND, "question:look", Answered("look")) == pytest.approx(0.9)
