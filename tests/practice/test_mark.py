"""Marks: three learners come out clearly apart, and the figures are the published ones."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from diagnose.errors import DiagnoseError
from diagnose.model import Provenance
from diagnose.practice.best import best_path
from diagnose.practice.draw import Order, draw_case, network_of
from diagnose.practice.feedback import Topic, feedback, misconception_behind
from diagnose.practice.mark import POINTS, mark
from diagnose.practice.measures import (
    as_good_as,
    brier,
    confidence_marks,
    regret,
    surprise_bits,
)
from diagnose.practice.play import (
    Stated,
    answered_by_record,
    ask,
    open_questions,
    price,
    start,
    stop,
)

SEEDS = range(6)
REPROACH = ("So sure and wrong", "surer than the answers allow", "trusted the answers more")


@pytest.fixture(scope="module")
def three(rules, case, by_policy, at_random):
    """Marks of the policy, of random asking, and of a planted misconception."""
    found = []
    for seed in SEEDS:
        drawn = case(seed, "look-alike")
        good = by_policy(drawn)
        blind = replace(good, stated=Stated((drawn.rival,), 95))
        first = mark(rules, good)
        others = ((r, mark(rules, r, best=first.best)) for r in (at_random(drawn), blind))
        found.append((drawn, (good, first), *others))
    return found


def mean(values):
    values = list(values)
    return sum(values) / len(values)


def test_the_three_learners_come_out_apart(three):
    """On the whole by a wide margin, and in the same order on every floor."""
    marks = [[found.total for _, found in row[1:]] for row in three]
    policy, random, planted = (mean(column) for column in zip(*marks, strict=True))
    assert policy > 85
    assert random < 30
    assert random + 15 < planted < policy - 40
    for by_policy, at_random, by_belief in marks:
        assert by_policy > by_belief + 25 > at_random + 25


def topics(rules, round_, found):
    return {remark.topic for remark in feedback(rules, round_, found)}


def belief_text(rules, round_, found):
    (remark,) = (r for r in feedback(rules, round_, found) if r.topic is Topic.BELIEF)
    return remark.text


def test_each_of_the_three_hears_what_is_meant_for_it(rules, three):
    """Praise and nothing to mend; where to look and what to read; what the answers had told."""
    reproaches = {Topic.SHOULD_HAVE_TOLD, Topic.WOULD_HAVE_TOLD, Topic.QUESTION, Topic.CAUTION}
    right = [row for row in three if row[1][1].right]
    assert len(right) >= len(three) - 1
    for _, policy, random, planted in right:
        assert not topics(rules, *policy) & (reproaches | {Topic.REMEDY})
        assert not any(word in belief_text(rules, *policy) for word in REPROACH)
        assert feedback(rules, *policy)[0].text.startswith("Right: ")
        # It asked as the policy does; only what it made of the answers was wrong.
        assert topics(rules, *planted) & reproaches == {Topic.SHOULD_HAVE_TOLD}
        assert {Topic.LOOK_ALIKE, Topic.REMEDY} <= topics(rules, *planted)
        assert REPROACH[0] in belief_text(rules, *planted)
        assert Topic.QUESTION in topics(rules, *random)
        missing = {Topic.SHOULD_HAVE_TOLD, Topic.WOULD_HAVE_TOLD} & topics(rules, *random)
        assert missing or random[1].right
        assert any(word in belief_text(rules, *random) for word in REPROACH[:2])


def test_a_misconception_is_answered_by_a_point_about_it(rules):
    """Every pair that is confused, planted both ways: the point heard is one about that error."""
    answered_by = {}
    for pair in rules.look_alikes.values():
        for true, wrong in ((pair.cause, pair.taken_for), (pair.taken_for, pair.cause)):
            points = misconception_behind(rules, (true,), (wrong,))
            of_both = [p for p in rules.teaching.values() if {true, wrong} <= {*p.about}]
            of_wrong = [p for p in rules.teaching.values() if wrong in p.about]
            first = {point.id for point in points[:1]}
            wanted = {point.id for point in of_both or of_wrong}
            assert first <= wanted or not wanted, (true, wrong)
            assert bool(first) >= bool(wanted), (true, wrong)
            if wanted:
                answered_by[wrong] = next(iter(first))
    assert len(answered_by) >= 20
    assert len({*answered_by.values()}) >= 15
    assert misconception_behind(rules, ("no-such-cause",), ()) == ()


def test_the_policy_is_marked_as_its_own_equal(three):
    for _, (_, found), *_ in three:
        assert all(step.good for step in found.steps)
        assert all(step.regret == pytest.approx(0, abs=1e-12) for step in found.steps)
        parts = {part.name: part.points for part in found.parts}
        for name in ("minutes", "harm", "cautions"):
            assert parts[name] == POINTS[name]


def test_the_planted_misconception_gets_its_own_feedback(rules, three):
    for drawn, _, _, (round_, found) in three:
        remarks = feedback(rules, round_, found)
        pairs = [pair for r in remarks if r.topic is Topic.LOOK_ALIKE for pair in r.rules[:1]]
        named = [rules.look_alikes[pair] for pair in pairs]
        assert any({p.cause, p.taken_for} == {drawn.truth[0], drawn.rival} for p in named)
        assert found.missed == drawn.truth
        assert found.wrongly_named == (drawn.rival,)
        points = misconception_behind(rules, drawn.truth, (drawn.rival,))
        cited = [r.rules[0] for r in remarks if r.topic is Topic.MISCONCEPTION]
        assert cited == [point.id for point in points[: len(cited)]]
        if any(drawn.rival in point.about for point in rules.teaching.values()):
            assert cited
            assert drawn.rival in rules.teaching[cited[0]].about
        belief = next(r for r in remarks if r.topic is Topic.BELIEF)
        assert "So sure and wrong" in belief.text


def test_answers_that_should_have_told_are_named(rules, three):
    told = 0
    for _, _, _, (round_, found) in three:
        for remark in feedback(rules, round_, found):
            if remark.topic is Topic.SHOULD_HAVE_TOLD:
                told += 1
                *causes, rule = remark.rules
                assert causes
                assert {*causes} <= {*found.missed, *found.wrongly_named}
                assert rule in {*round_.asked, *rules.checks}
    assert told >= 2


def test_the_random_learner_hears_what_to_ask_and_of_the_cautions(rules, three):
    skipped = 0
    for _, _, (round_, found), _ in three:
        remarks = feedback(rules, round_, found)
        topics = {remark.topic for remark in remarks}
        assert Topic.QUESTION in topics
        cautions = [r for r in remarks if r.topic is Topic.CAUTION]
        assert bool(cautions) is bool(found.skipped_cautions)
        skipped += len(found.skipped_cautions)
        for remark in remarks:
            if remark.topic is Topic.WOULD_HAVE_TOLD:
                assert remark.rules[0] in found.best.questions
                assert remark.rules[0] not in round_.asked
    assert skipped > 0


def test_every_id_and_source_of_the_feedback_is_in_the_rules(rules, three):
    known = {
        *rules.causes,
        *rules.questions,
        *rules.checks,
        *rules.look_alikes,
        *rules.teaching,
        *rules.remedies,
        *rules.cautions,
        *rules.acts,
    }
    for _, *players in three:
        for round_, found in players:
            for remark in feedback(rules, round_, found):
                assert {*remark.rules} <= known
                assert {*remark.sources} <= {*rules.sources}
                assert "  " not in remark.text


def test_a_question_after_all_is_settled_is_waste(rules, case, by_policy):
    drawn = next(
        c
        for c in (case(s) for s in range(20))
        if best_path(rules, network_of(rules, c), start(c)).stop == "settled"
    )
    good = by_policy(drawn)
    network = network_of(rules, drawn)
    further = next(
        n for n in network.questions if n not in good.asked and not price(rules, good, n).harm
    )
    longer = ask(rules, network, replace(good, stated=None), further)
    longer = stop(rules, longer, good.stated)
    found = mark(rules, longer)
    assert found.steps[-1].after_settled
    assert found.total < mark(rules, good).total
    assert any("settled already" in r.text for r in feedback(rules, longer, found))


def test_asking_what_the_record_told_is_waste_unless_it_was_written_afterwards(rules, case):
    seen = 0
    for seed in range(60):
        drawn = case(seed)
        told = answered_by_record(rules, drawn)
        network = network_of(rules, drawn)
        free = [n for n in sorted(told) if not price(rules, start(drawn), n).harm]
        for line in drawn.record:
            if line.provenance is Provenance.AFTER_COMPLAINT:
                only = [n for n in drawn.answers if rules.questions[n].settled_by == (line.check,)]
                assert not told & {*only}
        if free and seen < 3:
            seen += 1
            asked = ask(rules, network, start(drawn), free[0])
            round_ = stop(rules, asked, Stated(drawn.truth, 60))
            found = mark(rules, round_)
            assert found.steps[0].on_record
            assert next(p.points for p in found.parts if p.name == "order") == 0
            assert not found.steps[0].good
            assert not told & {*found.best.questions}
            assert any("record had told" in r.text for r in feedback(rules, round_, found))
    assert seen == 3


def test_points_add_up_to_a_hundred_and_an_open_round_has_no_mark(rules, case):
    assert sum(POINTS.values()) == 100
    with pytest.raises(DiagnoseError, match="not finished"):
        mark(rules, start(case(1)))


def test_naming_one_of_two_causes_is_half_right(rules, case):
    drawn = case(0, "two-causes")
    one = mark(rules, stop(rules, start(drawn), Stated(drawn.truth[:1], 50)))
    both = mark(rules, stop(rules, start(drawn), Stated(drawn.truth, 50)))
    assert (one.right, both.right) == (False, True)
    assert one.missed == drawn.truth[1:]
    assert one.parts[0].points == round(POINTS["cause"] * 2 / 3)
    assert both.parts[0].points == POINTS["cause"]


def test_honest_belief_scores_best():
    """Brier and log score are proper: saying what one believes is best on average."""
    for truth in (0.1, 0.35, 0.8):

        def expected(score, said, truth=truth):
            return truth * score(said, True) + (1 - truth) * score(said, False)

        grid = [n / 100 for n in range(101)]
        assert min(grid, key=lambda said: expected(brier, said)) == pytest.approx(truth)
        logs = min(
            grid[1:-1],
            key=lambda s: truth * surprise_bits(s) + (1 - truth) * surprise_bits(1 - s),
        )
        assert logs == pytest.approx(truth)
    assert surprise_bits(0.7) == pytest.approx(0.5146, abs=5e-5)


def test_confidence_marks_switch_at_two_thirds_and_four_fifths():
    def expected(chance, sure):
        return chance * confidence_marks(True, sure) + (1 - chance) * confidence_marks(False, sure)

    assert expected(2 / 3, 1) == pytest.approx(expected(2 / 3, 2))
    assert expected(0.8, 2) == pytest.approx(expected(0.8, 3))
    for chance, best in ((0.5, 1), (0.7, 2), (0.9, 3)):
        assert max((1, 2, 3), key=lambda sure: expected(chance, sure)) == best
    with pytest.raises(ValueError, match="1, 2 or 3"):
        confidence_marks(True, 4)


def entropy(chances):
    chances = np.asarray(chances)[np.asarray(chances) > 0]
    return float(-(chances * np.log2(chances)).sum())


def gain(joint):
    """H(p) less the expected H(p | a), in bits; rows are causes, columns answers."""
    left = sum(column.sum() * entropy(column / column.sum()) for column in joint.T)
    return entropy(joint.sum(axis=1)) - left


def test_the_worked_regret_example():
    """Damp 0.5, stretch 0.3, heat 0.2 and three yes-or-no questions, one minute each."""
    prior = np.array([0.5, 0.3, 0.2])
    yes = {"wet": (0.9, 0.1, 0.1), "ripple": (0.3, 0.9, 0.4), "heater": (0.2, 0.2, 0.95)}
    tables = {
        name: prior[:, None] * np.stack([1 - np.array(p), np.array(p)], axis=1)
        for name, p in yes.items()
    }
    gains = {name: gain(table) for name, table in tables.items()}
    assert gains["wet"] == pytest.approx(0.531004, abs=1e-6)
    assert gains["ripple"] == pytest.approx(0.224466, abs=1e-6)
    assert gains["heater"] == pytest.approx(0.299246, abs=1e-6)
    best = max(gains.values())
    assert regret(gains["wet"], best) == 0
    assert regret(gains["ripple"], best) == pytest.approx(0.306539, abs=1e-6)
    assert regret(gains["heater"], best) == pytest.approx(0.231758, abs=1e-6)
    together = prior[:, None]
    for name in yes:
        given = tables[name] / prior[:, None]
        together = (together[:, :, None] * given[:, None, :]).reshape(3, -1)
    assert gain(together) == pytest.approx(0.900902, abs=1e-6)
    assert as_good_as(0.96, 1.0)
    assert not as_good_as(0.94, 1.0)


def points_of(found):
    return {part.name: part.points for part in found.parts}


def test_belief_beyond_what_the_answers_allow_costs(rules, case):
    """A lucky guess, right or wrong, is marked by the engine's own belief."""
    drawn = case(5)
    network = network_of(rules, drawn)
    best = best_path(rules, network, start(drawn))

    def marked(percent, causes=drawn.truth):
        return mark(rules, stop(rules, start(drawn), Stated(causes, percent)), best=best)

    honest = round(marked(50).on_evidence * 100)
    assert honest < 70
    assert points_of(marked(honest))["belief"] == POINTS["belief"]
    beyond = [points_of(marked(honest + more))["belief"] for more in (0, 10, 20, 30)]
    assert beyond == sorted(beyond, reverse=True)
    assert beyond[-1] <= 0.4 * POINTS["belief"]
    assert points_of(marked(min(100, honest + 50)))["belief"] == 0
    wrong = next(c for c in network.causes if c not in drawn.truth)
    assert points_of(marked(90, (wrong,)))["belief"] <= 2


def test_a_skipped_caution_costs_clearly(rules, case):
    drawn = case(5)
    network = network_of(rules, drawn)
    risky = next(
        name
        for name in drawn.answers
        if price(rules, start(drawn), name).cautions
        and name in open_questions(rules, network, start(drawn))
    )
    careful, careless = (
        mark(
            rules,
            stop(
                rules,
                ask(rules, network, start(drawn), risky, caution_read=read),
                Stated(drawn.truth, 50),
            ),
        )
        for read in (True, False)
    )
    assert careful.total - careless.total == POINTS["cautions"] >= 14


def test_a_remedy_counts_only_for_a_true_cause_that_was_named(rules, case):
    drawn = case(5)
    network = network_of(rules, drawn)
    best = best_path(rules, network, start(drawn))
    own = rules.causes[drawn.truth[0]].remedies
    foreign = next(name for name in rules.remedies if name not in own)
    kin = {drawn.truth[0], rules.causes[drawn.truth[0]].kind_of}
    kin |= {c for pair in rules.inseparable for c in pair.causes}
    other = next(c for c in network.causes if c not in kin)

    def remedy(causes, name):
        finding = Stated(causes, 50, name)
        return points_of(mark(rules, stop(rules, start(drawn), finding), best=best))["remedy"]

    assert remedy(drawn.truth, own[0]) == POINTS["remedy"]
    assert remedy(drawn.truth, foreign) == 0
    assert remedy((other,), own[0]) == 0


def test_making_safe_is_half_of_mending(rules, case):
    safe = next(
        (cause.id, name)
        for cause in rules.causes.values()
        for name in cause.remedies
        if rules.remedies[name].make_safe
        and not all(rules.remedies[each].make_safe for each in cause.remedies)
        and any(
            link.cause == cause.id and link.strength != "rarely" for link in rules.links.values()
        )
    )
    drawn = case(1, about=(safe[0],))
    found = mark(rules, stop(rules, start(drawn), Stated(drawn.truth, 50, safe[1])))
    assert points_of(found)["remedy"] == POINTS["remedy"] // 2


def test_an_answer_that_should_have_told_is_said_once(rules):
    """One that speaks for what was missed and against what was named stands in one remark."""
    both = 0
    for seed in (31, 11, 4, 9):
        case = draw_case(rules, Order(seed))
        network = network_of(rules, case)
        round_ = start(case)
        path = best_path(rules, network, round_)
        for name in path.questions:
            round_ = ask(rules, network, round_, name)
        named = (*path.found.causes, *network.causes)
        wrong = next(cause for cause in named if cause not in case.truth)
        round_ = stop(rules, round_, Stated((wrong,), 50))
        said = [
            r
            for r in feedback(rules, round_, mark(rules, round_))
            if r.topic is Topic.SHOULD_HAVE_TOLD
        ]
        items = [remark.rules[-1] for remark in said]
        assert len(items) == len(set(items))
        both += sum(" and speaks " in remark.text for remark in said)
    assert both
