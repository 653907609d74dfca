"""Invented cases do not contradict themselves: floor, complaint, answers and words agree."""

from __future__ import annotations

import re

import pytest

from diagnose.model import Facet, Floor
from diagnose.practice.chance import stream
from diagnose.practice.consistent import (
    ANSWER_NEEDS,
    DENIES,
    QUESTION_NEEDS,
    asked_in_vain,
    fitting_words,
    ruled_out,
)
from diagnose.practice.draw import draw_case, network_of
from diagnose.practice.fault import Curriculum, Difficulty, choose
from diagnose.practice.leaving import draw_leaving
from diagnose.practice.play import MoveError, ask, open_questions, start

SEEDS = range(60)


def test_every_id_of_the_tables_is_in_the_rules(rules):
    named = {*ANSWER_NEEDS}
    named |= {(q, a) for table in DENIES.values() for q, answers in table.items() for a in answers}
    for question, answer in sorted(named):
        assert answer in {each.id for each in rules.questions[question].answers}, question
    assert {*QUESTION_NEEDS} <= {*rules.questions}
    assert {*DENIES} <= {*rules.symptoms}


def test_no_answer_denies_the_complaint_or_the_floor(case):
    for seed in SEEDS:
        drawn = case(seed)
        for name, given in drawn.answers.items():
            assert not {*given} & ruled_out(drawn.floor, drawn.symptoms, name), (seed, name)
            assert not asked_in_vain(drawn.floor, name), (seed, name)


@pytest.mark.parametrize("cause", ["edges-cut-over-full", "pile-trapped-in-join"])
def test_a_join_that_stands_up_does_not_lie_low(case, cause):
    lies = {"over-full-seam": "sunken", "sunken-seam": "both-rounded"}
    met = 0
    for seed in range(25):
        drawn = case(seed, about=(cause,))
        said = drawn.answers.get("height-on-one-side-or-both", ())
        for symptom in {*drawn.symptoms} & {*lies}:
            met += 1
            assert lies[symptom] not in said
    assert met


def test_goods_go_together(rules):
    seen = set()
    for seed in range(300):
        fault = choose(rules, stream("goods", seed), Difficulty.ONE_CAUSE, Curriculum())
        seen.add((fault.floor.facets[Facet.CONSTRUCTION], fault.floor.facets[Facet.PILE]))
    assert {pile for construction, pile in seen if construction == "needled"} == {"flat"}
    assert ("tufted", "flat") not in seen
    for seed in range(40):
        facets = draw_leaving(rules, seed).floor.facets
        assert (facets[Facet.CONSTRUCTION] == "needled") <= (facets[Facet.PILE] == "flat")


def test_a_question_that_does_not_apply_is_not_offered_and_refused(rules, case):
    met = 0
    for seed in SEEDS:
        drawn = case(seed)
        network = network_of(rules, drawn)
        offered = open_questions(rules, network, start(drawn))
        for name in network.questions:
            if asked_in_vain(drawn.floor, name):
                met += 1
                assert name not in offered
                with pytest.raises(MoveError, match="does not apply"):
                    ask(rules, network, start(drawn), name)
    assert met


def test_an_untaped_join_has_nothing_under_its_tape():
    stuck, stretched = (Floor({Facet.METHOD: method}) for method in ("double-stick", "stretch-in"))
    assert asked_in_vain(stuck, "under-the-tape")
    assert not asked_in_vain(stretched, "under-the-tape")
    assert not asked_in_vain(Floor({}), "under-the-tape")
    assert "taped-and-stretched" in ruled_out(stuck, (), "taped-or-stuck")
    assert "taped-and-stretched" not in ruled_out(stretched, (), "taped-or-stuck")


def test_the_words_of_the_complaint_name_only_what_the_floor_has(rules):
    stretched = Floor({Facet.METHOD: "stretch-in", Facet.PILE: "loop"})
    tiles = Floor({Facet.METHOD: "tile", Facet.PILE: "cut"})
    drawn_back = rules.symptoms["shrinkage-from-wall"].looks_like
    assert "gripper" in fitting_words(drawn_back, stretched)
    for symptom in rules.symptoms.values():
        words = fitting_words(symptom.looks_like, tiles)
        assert not re.search(r"\bgripper\b|\bunderlay\b|In loop pile", words), symptom.id
        assert words.endswith("."), words
        assert "In tiles" not in fitting_words(symptom.looks_like, stretched)


def test_all_of_a_difficulty_can_still_be_drawn(rules, case):
    for difficulty in Difficulty:
        assert case(3, difficulty.value) == draw_case(rules, case(3, difficulty.value).order)
