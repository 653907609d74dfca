"""One round: what a question costs, what is allowed, how it ends, how it is kept."""

from __future__ import annotations

import json

import pytest

from diagnose.errors import InputError, NotFoundError
from diagnose.practice.draw import draw_case, network_of
from diagnose.practice.play import (
    Allowed,
    MoveError,
    Stated,
    ask,
    given,
    open_questions,
    price,
    spent,
    start,
    stop,
)
from diagnose.practice.saved import read_round, round_data


@pytest.fixture(scope="module")
def played(rules, case):
    drawn = case(5, "look-alike")
    return drawn, network_of(rules, drawn)


def with_act(rules, network, *, cautions):
    """Two questions that one act opens."""
    for act in rules.acts.values():
        opened = [name for name in network.questions if rules.questions[name].act == act.id]
        if len(opened) > 1 and bool(act.cautions) is cautions and act.minutes:
            return act, opened
    raise AssertionError("the rules have no such act")


def test_an_act_is_paid_once(rules, played):
    drawn, network = played
    act, (first, second, *_) = with_act(rules, network, cautions=False)
    round_ = ask(rules, network, start(drawn), first)
    assert (
        price(rules, start(drawn), second).minutes == rules.questions[second].minutes + act.minutes
    )
    assert price(rules, round_, second).minutes == rules.questions[second].minutes
    both = ask(rules, network, round_, second)
    together = act.minutes + sum(rules.questions[name].minutes for name in (first, second))
    assert spent(rules, both)[0] == together


def test_the_floor_gives_one_answer(rules, played):
    drawn, network = played
    for name in network.questions:
        round_ = ask(rules, network, start(drawn, Allowed(600, 600)), name)
        assert given(round_, name) == drawn.answers.get(name)
        with pytest.raises(MoveError, match="already"):
            ask(rules, network, round_, name)
        break


def test_a_caution_comes_before_the_act_and_only_once(rules, played):
    drawn, network = played
    act, (first, second, *_) = with_act(rules, network, cautions=True)
    assert price(rules, start(drawn), first).cautions == act.cautions
    skipped = ask(rules, network, start(drawn), first, caution_read=False)
    assert not skipped.moves[0].caution_read
    assert price(rules, skipped, second).cautions == ()
    again = ask(rules, network, skipped, second, caution_read=False)
    assert again.moves[1].caution_read, "nothing was left to read"


def test_minutes_and_harm_run_out(rules, played):
    drawn, network = played
    name = max(network.questions, key=lambda each: price(rules, start(drawn), each).minutes)
    short = start(drawn, Allowed(minutes=1, harm=600))
    with pytest.raises(MoveError, match="min are left"):
        ask(rules, network, short, name)
    harming = next(n for n in network.questions if price(rules, start(drawn), n).harm)
    careful = start(drawn, Allowed(minutes=600, harm=0))
    with pytest.raises(MoveError, match="harm"):
        ask(rules, network, careful, harming)
    assert harming not in open_questions(rules, network, careful)


def test_a_round_ends_once(rules, played):
    drawn, network = played
    over = stop(rules, start(drawn), Stated((drawn.truth[0], drawn.truth[0]), 70))
    assert over.stated is not None
    assert over.stated.causes == (drawn.truth[0],)
    with pytest.raises(MoveError, match="over"):
        stop(rules, over, Stated(drawn.truth, 70))
    with pytest.raises(MoveError, match="over"):
        ask(rules, network, over, next(iter(network.questions)))


@pytest.mark.parametrize(
    ("stated", "error", "words"),
    [
        (Stated((), 50), MoveError, "at least one"),
        (Stated(("sealer-omitted",), 101), MoveError, "0 to 100"),
        (Stated(("sealer-omited",), 50), NotFoundError, "sealer-omited"),
        (Stated(("sealer-omitted",), 50, "no-remedy"), NotFoundError, "no-remedy"),
    ],
)
def test_a_finding_that_says_nothing_is_refused(rules, played, stated, error, words):
    with pytest.raises(error, match=words):
        stop(rules, start(played[0]), stated)


def test_an_unknown_question_is_answered_with_the_nearest(rules, played):
    with pytest.raises(NotFoundError) as refused:
        ask(rules, played[1], start(played[0]), "how-it-chnges")
    assert "how-it-changes" in refused.value.near


def test_a_round_comes_back_from_its_moves(rules, played):
    drawn, network = played
    round_ = start(drawn)
    for name in list(open_questions(rules, network, round_))[:3]:
        round_ = ask(rules, network, round_, name, caution_read=False)
    for each in (round_, stop(rules, round_, Stated(drawn.truth, 66, ""))):
        data = json.loads(json.dumps(round_data(each)))
        assert read_round(data, lambda order: draw_case(rules, order)) == each
        assert not any(isinstance(leaf, float) for leaf in leaves(data))


def leaves(data):
    if isinstance(data, dict):
        data = list(data.values())
    if isinstance(data, list):
        return [leaf for each in data for leaf in leaves(each)]
    return [data]


def test_a_round_of_another_edition_is_not_taken_up(rules, played):
    data = round_data(start(played[0])) | {"edition": "0" * 64}
    with pytest.raises(InputError, match="another edition"):
        read_round(data, lambda order: draw_case(rules, order))


@pytest.mark.parametrize(
    "data", [None, [], {}, {"seed": "1"}, {"seed": True, "difficulty": "one-cause"}, 3]
)
def test_what_is_no_order_is_refused(rules, data):
    with pytest.raises(InputError, match="not a saved round"):
        read_round({"order": data}, lambda order: draw_case(rules, order))
