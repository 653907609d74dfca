"""A drawn case: the same for a seed, believable, consistent, and of its difficulty."""

from __future__ import annotations

import re

import pytest

from diagnose.engine.evidence import answered
from diagnose.engine.posterior import infer
from diagnose.engine.ranking import rank
from diagnose.errors import NotFoundError
from diagnose.model import Facet, Outcome, Provenance
from diagnose.practice.chance import stream
from diagnose.practice.draw import (
    Order,
    draw_case,
    known_at_the_start,
    network_of,
)
from diagnose.practice.fault import Curriculum, Difficulty, choose
from diagnose.practice.site import plan_lines
from diagnose.practice.wording import INVENTED, complaint_words, facts_words, record_words
from diagnose.rulebook.applies import applies_to

EVERY = [each.value for each in Difficulty]
TELLING = 30
"""How many of the most telling questions the quick test asks of a floor."""


@pytest.mark.parametrize("difficulty", EVERY)
def test_the_same_seed_gives_the_same_case(case, difficulty):
    assert case(11, difficulty) == case(11, difficulty)


def test_other_seeds_give_other_cases(case):
    drawn = {(c.truth, c.symptoms, str(c.place)) for c in (case(seed) for seed in range(40))}
    assert len(drawn) > 35


@pytest.mark.parametrize("difficulty", EVERY)
def test_the_fault_is_one_that_the_rules_link_to_the_complaint(rules, case, difficulty):
    for seed in range(12):
        drawn = case(seed, difficulty)
        for cause in drawn.truth:
            assert any(f"{cause}.{symptom}" in rules.links for symptom in drawn.symptoms)
            assert applies_to(rules.causes[cause].applies, drawn.floor)
        network = network_of(rules, drawn)
        assert {network.index[cause] for cause in drawn.truth} <= network.candidates


def test_two_causes_are_two_and_a_look_alike_has_its_double(rules, case):
    for seed in range(15):
        assert len(set(case(seed, "two-causes").truth)) == 2
        drawn = case(seed, "look-alike")
        pairs = {(pair.cause, pair.taken_for) for pair in rules.look_alikes.values()}
        assert (drawn.truth[0], drawn.rival) in pairs


def test_a_silent_record_says_little_and_an_ordinary_one_more(case):
    def share(difficulty):
        lines = [line for seed in range(25) for line in case(seed, difficulty).record]
        return sum(line.outcome is Outcome.NOT_RECORDED for line in lines) / len(lines)

    assert share("silent-record") > 0.7
    assert share("one-cause") < 0.4


def test_a_misleading_record_was_written_after_the_complaint(rules, case):
    accused = 0
    for seed in range(15):
        drawn = case(seed, "misleading-record")
        own = [line for line in drawn.record if drawn.truth[0] in rules.checks[line.check].backs]
        assert own
        assert all(
            (line.outcome, line.provenance) == (Outcome.IN_ORDER, Provenance.AFTER_COMPLAINT)
            for line in own
        )
        accused += any(
            line.outcome is Outcome.DEVIATES and drawn.rival in rules.checks[line.check].backs
            for line in drawn.record
        )
    assert accused >= 10


def test_variants_of_one_cause_differ(case):
    drawn = [case(seed, about=("sealer-omitted",)) for seed in range(8)]
    assert {c.truth for c in drawn} == {("sealer-omitted",)}
    assert len({(c.symptoms, str(c.place), tuple(sorted(c.answers.items()))) for c in drawn}) == 8


def test_a_stage_holds_and_weak_spots_come_up_more_often(rules):
    for seed in range(12):
        drawn = draw_case(rules, Order(seed, curriculum=Curriculum(stages=("sealing",))))
        assert rules.causes[drawn.truth[0]].stage == "sealing"

    def share(weak):
        wanted = (Difficulty.ONE_CAUSE, Curriculum(weak=weak))
        drawn = [choose(rules, stream("weak", seed), *wanted) for seed in range(200)]
        return sum(rules.causes[each.causes[0]].stage == "bonding" for each in drawn)

    assert share(("bonding",)) > 1.5 * share(())


@pytest.mark.parametrize(
    "curriculum",
    [Curriculum(stages=("sealng",)), Curriculum(causes=("no-such",)), Curriculum(weak=("no",))],
)
def test_an_unknown_name_is_refused(rules, curriculum):
    with pytest.raises(NotFoundError, match="is called"):
        draw_case(rules, Order(1, curriculum=curriculum))


def test_an_unknown_stage_is_answered_with_the_nearest(rules):
    with pytest.raises(NotFoundError) as refused:
        draw_case(rules, Order(1, curriculum=Curriculum(stages=("sealng",))))
    assert "sealing" in refused.value.near


def test_all_is_well_is_never_ticked_beside_a_fault(rules, case):
    for seed in range(20):
        for name, given in case(seed).answers.items():
            usual = {answer.id for answer in rules.questions[name].answers if answer.usual}
            assert len(given) == 1 or not usual & {*given}


def test_the_words_give_nothing_away_and_say_that_all_is_invented(rules, case):
    assert "Invented" in INVENTED
    for seed in range(30):
        drawn = case(seed)
        words = f"{complaint_words(rules, drawn)} {facts_words(drawn)}"
        cause = rules.causes[drawn.truth[0]]
        assert cause.name.lower() not in words.lower()
        assert cause.id not in words
        assert not re.search(r"[a-z]-[a-z]+-[a-z]", facts_words(drawn)), facts_words(drawn)
        for line in drawn.record:
            assert rules.checks[line.check].name in record_words(rules, line)


def test_the_built_in_fault_is_among_what_the_engine_finds(rules, case):
    """Thirty questions a floor; the whole thousand with every question is a measurement."""
    found = 0
    for seed in range(10):
        drawn = case(seed, EVERY[seed % len(EVERY)])
        network = network_of(rules, drawn)
        known = known_at_the_start(network, drawn)
        worth = sorted(rank(infer(network, known), list(drawn.answers)), key=lambda w: -w.gain_bit)
        asked = [answered(w.question, *drawn.answers[w.question]) for w in worth[:TELLING]]
        sets = [set(each.causes) for each in infer(network, [*known, *asked]).explanations]
        found += any(set(drawn.truth) <= each for each in sets)
    assert found >= 9


def full_questioning(network, case):
    """The evidence when every question of the case has been asked."""
    asked = [answered(question, *given) for question, given in case.answers.items()]
    return (*known_at_the_start(network, case), *asked)


@pytest.mark.bench
def test_the_built_in_fault_in_a_thousand_cases(rules, case):
    found = 0
    for seed in range(1000):
        drawn = case(seed, EVERY[seed % len(EVERY)])
        network = network_of(rules, drawn)
        known = full_questioning(network, drawn)
        sets = [set(each.causes) for each in infer(network, known).explanations]
        found += any(set(drawn.truth) <= each for each in sets)
    print(f"built-in fault found in {found} of 1000 cases")
    assert found >= 950


def different(rules, count):
    names = set()
    floors = set()
    for seed in range(count):
        drawn = draw_case(rules, Order(seed, Difficulty(EVERY[seed % len(EVERY)])))
        names.add(drawn.name)
        floors.add((drawn.truth, drawn.symptoms, str(drawn.place), tuple(drawn.answers.items())))
    return len(names), len(floors)


def test_no_two_cases_are_the_same(rules):
    assert different(rules, 60) == (60, 60)


@pytest.mark.bench
def test_no_two_of_a_thousand_cases_are_the_same(rules):
    assert different(rules, 1000) == (1000, 1000)


def test_the_place_is_on_the_plan(case):
    tiles = 0
    for seed in range(60):
        drawn = case(seed)
        plan = plan_lines(drawn.floor, drawn.site)
        assert bool(plan) is (drawn.floor.facets[Facet.METHOD] != "tile")
        tiles += not plan
        if plan and drawn.place.kind in ("seam", "edge", "drop"):
            assert re.search(rf"\b{drawn.place.name}\b", "\n".join(plan))
        assert all(len(row) <= 60 for row in plan[:-1])
        assert len({len(row) for row in plan[:3]}) <= 1
    assert 0 < tiles < 60
