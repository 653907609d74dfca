"""The engine on the real rules against an independent library, and on whole complaints."""

from __future__ import annotations

import numpy as np
import pytest

from diagnose.data import data_folder
from diagnose.engine import answers
from diagnose.engine.evidence import (
    Answered,
    CheckSaid,
    NotMentioned,
    SymptomFound,
    SymptomSeen,
)
from diagnose.engine.network import build
from diagnose.engine.posterior import infer, infer_chances
from diagnose.engine.ranking import rank
from diagnose.engine.sampling import draw
from diagnose.model import Facet, Floor, Outcome, Provenance
from diagnose.rulebook.load import load_rules
from diagnose.rulebook.model import AnswerRule

gum = pytest.importorskip("pyagrum")
from tests.engine.exported import Exported  # noqa: E402

FLOORS = {
    "unknown": Floor(),
    "adhered": Floor({Facet.METHOD: "adhered", Facet.CONSTRUCTION: "tufted"}, age_days=60),
    "stretch-in": Floor({Facet.METHOD: "stretch-in", Facet.PILE: "cut"}, age_days=900),
    "tile": Floor({Facet.METHOD: "tile", Facet.HEATING: "underfloor"}, age_days=20),
}


@pytest.fixture(scope="module")
def rules():
    return load_rules(data_folder("rules"))


@pytest.fixture(scope="module")
def networks(rules):
    return {name: build(rules, floor, symptoms=[]) for name, floor in FLOORS.items()}


def drawn_case(rules, networks, seed):
    """A drawn floor with its complaint, record and some answers, whatever they are."""
    rng = np.random.default_rng(seed)
    name = list(networks)[seed % len(networks)]
    floor = draw(networks[name], rng)
    network = build(rules, FLOORS[name], symptoms=floor.mentioned)
    rules_wanted = (AnswerRule.EITHER_OR, AnswerRule.TICKS, AnswerRule.GRADED, AnswerRule.GRADED)
    answers = []
    for number in range(4 + seed % 5):
        rule = rules_wanted[number % 4]
        of_rule = [
            q.id
            for q in network.questions.values()
            if q.rule is rule and q.id not in {a.question for a in answers}
        ]
        if of_rule:
            answers.append(floor.answer(str(rng.choice(of_rule))))
    return network, [*floor.complaint(), *floor.record(), *answers]


@pytest.mark.parametrize("seed", range(12))
def test_posteriors_equal_those_of_the_library(rules, networks, seed):
    network, evidence = drawn_case(rules, networks, seed)
    found = infer(network, evidence, delta=1e-6)
    chances, log_evidence = Exported(network, evidence).chances()
    assert found.exact
    np.testing.assert_allclose(found.chance, chances, rtol=0, atol=1e-9)
    assert found.log_evidence == pytest.approx(log_evidence, abs=1e-8)


@pytest.mark.parametrize("provenance", list(Provenance))
def test_entries_of_every_provenance_equal_the_library(rules, provenance):
    network = build(rules, FLOORS["adhered"], symptoms=["bond-loss"])
    outcomes = (Outcome.DEVIATES, Outcome.IN_ORDER)
    record = [
        CheckSaid(check, outcomes[number % 2], provenance)
        for number, check in enumerate(list(network.checks)[:12])
    ]
    evidence = [SymptomSeen("bond-loss"), SymptomFound("blisters"), NotMentioned(), *record]
    found = infer(network, evidence)
    chances, log_evidence = Exported(network, evidence).chances()
    np.testing.assert_allclose(
        found.chance[: network.roots], chances[: network.roots], rtol=0, atol=1e-9
    )
    assert found.log_evidence == pytest.approx(log_evidence, abs=1e-8)


@pytest.mark.parametrize("symptom", ["edge-curl", "mottling", "tile-gaps"])
def test_chances_of_answers_equal_the_library(rules, symptom, monkeypatch):
    network = build(rules, FLOORS["unknown"], symptoms=[symptom])
    evidence = [SymptomSeen(symptom), NotMentioned()]
    before = infer(network, evidence, delta=1e-5)
    asked = [q for q in network.questions.values() if q.rule is not AnswerRule.TICKS][::9]
    quick = rank(before, [q.id for q in asked])
    monkeypatch.setattr(answers, "MOST_SETS_RANKED", 10**6)
    whole = rank(before, [q.id for q in asked])
    for short, worth, question in zip(quick, whole, asked, strict=True):
        exported = Exported(network, evidence)
        exported.add(question.id, question.findings[0])
        run = exported.engine()
        run.addTarget(question.id)
        run.makeInference()
        expected = run.posterior(question.id).toarray()[1:]
        assert worth.answers == pytest.approx(list(expected), abs=1e-4)
        assert short.answers == pytest.approx(list(expected), abs=0.01)


@pytest.mark.parametrize("symptom", ["mottling", "tile-doming"])
def test_gain_is_what_inference_after_each_answer_makes_of_it(rules, symptom, monkeypatch):
    monkeypatch.setattr(answers, "MOST_SETS_RANKED", 10**6)
    network = build(rules, FLOORS["unknown"], symptoms=[symptom])
    evidence = [SymptomSeen(symptom), NotMentioned()]
    before = infer(network, evidence, delta=1e-5)

    def doubt(posterior):
        p = np.array([each.probability for each in posterior.explanations])
        return float(-(p * np.log2(p)).sum())

    single = [q for q in network.questions.values() if q.rule is not AnswerRule.TICKS]
    worths = sorted(rank(before, [q.id for q in single]), key=lambda each: -each.gain_bit)
    compared = 0
    for worth in worths[:5]:
        question = network.questions[worth.question]
        gain, hope, cut = doubt(before), 0.0, 0.0
        chances = (1 - sum(worth.answers), *worth.answers)
        for answer, chance in zip((None, *question.answers), chances, strict=True):
            given = Answered(question.id, () if answer is None else (answer,))
            after = infer(network, [*evidence, given], delta=1e-5)
            ratio = np.exp(after.log_evidence - before.log_evidence)
            assert ratio == pytest.approx(chance, abs=1e-4)
            gain -= chance * doubt(after)
            hope += chance * after.leading.probability
            cut = max(cut, after.cut)
        if cut < 1e-4:
            assert worth.gain_bit == pytest.approx(gain, abs=1e-3)
            assert worth.hope == pytest.approx(hope, abs=1e-4)
            compared += 1
    assert compared >= 2


def test_every_symptom_can_be_complained_of(rules):
    for symptom in rules.symptoms:
        network = build(rules, Floor(), symptoms=[symptom])
        found = infer(network, [SymptomSeen(symptom), NotMentioned()])
        assert found.cut <= 0.05
        some = sum(each.probability for each in found.explanations if each.causes)
        assert some > 0.5, symptom
        listed = sum(each.probability for each in found.explanations)
        assert listed == pytest.approx(1 - found.cut, abs=1e-9)


@pytest.mark.parametrize("seed", range(3))
def test_chances_of_answers_with_a_whole_record(rules, networks, seed):
    """Where weakly coupled causes are summed out of the sets, the answers stay right."""
    network, evidence = drawn_case(rules, networks, seed)
    known = [item for item in evidence if not isinstance(item, Answered)]
    before = infer(network, known)
    asked = [q for q in network.questions.values() if q.rule is not AnswerRule.TICKS][::12]
    for worth, question in zip(rank(before, [q.id for q in asked]), asked, strict=True):
        for answer, chance in zip(question.answers, worth.answers, strict=True):
            after = infer_chances(network, [*known, Answered(question.id, (answer,))])
            ratio = np.exp(after.log_evidence - before.log_evidence)
            assert chance == pytest.approx(ratio, abs=0.015)
