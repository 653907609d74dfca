"""Short questions: two thousand of them, all fair, none twice; and the proof can fail."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import replace

import pytest

from diagnose.errors import NotFoundError
from diagnose.model import Floor
from diagnose.practice.consistent import about_another, on_one_floor, ruled_out
from diagnose.practice.item import ItemKind, Option, alike, is_right, kin
from diagnose.practice.items import draw_items
from diagnose.practice.items_proof import doubts
from diagnose.practice.items_work import figure_words

COUNT = 500


@pytest.fixture(scope="module")
def items(rules):
    return draw_items(rules, 2, COUNT)


def test_every_question_is_fair_and_no_two_are_the_same(rules, items):
    assert fair_and_different(rules, items) == COUNT


@pytest.mark.bench
def test_two_thousand_questions_are_fair_and_different(rules):
    assert fair_and_different(rules, draw_items(rules, 2, 2000)) == 2000


def fair_and_different(rules, items):
    unfair = {item.id: found for item in items if (found := doubts(rules, item))}
    assert not unfair
    assert len({item.id for item in items}) == len(items)
    return len({(item.ask, item.key_text) for item in items})


def test_every_kind_is_there_and_every_id_and_source_in_the_rules(rules, items):
    assert set(Counter(item.kind for item in items)) == set(ItemKind)
    known = {
        *rules.links,
        *rules.causes,
        *rules.questions,
        *rules.checks,
        *rules.look_alikes,
        *rules.teaching,
        *rules.remedies,
        *rules.cautions,
        *rules.acts,
        *rules.limits,
        *rules.symptoms,
    }
    for item in items:
        assert {*item.rules} <= known
        assert {*item.sources} <= {*rules.sources}
        assert item.why
        assert item.key_text in " / ".join(option.text for option in item.options) or (
            item.kind is ItemKind.STEPS_IN_ORDER
        )


def test_the_key_is_not_always_in_the_same_place(items):
    places = Counter(item.key[0] for item in items if len(item.options) == 4)
    for place in range(4):
        assert places[place] > 0.15 * sum(places.values())


def test_the_same_seed_gives_the_same_set(rules):
    first = draw_items(rules, 9, 20)
    assert first == draw_items(rules, 9, 20)
    assert first != draw_items(rules, 10, 20)


def test_wrong_options_are_plausible(rules, items):
    """Other causes that give the symptom, or a look-alike; cautions and records of their kind."""
    for item in items:
        if item.kind is not ItemKind.WHICH_CAUSE:
            continue
        symptom = item.shown[0][1]
        pairs = [{p.cause, p.taken_for} for p in rules.look_alikes.values()]
        right = item.options[item.key[0]].rule
        for option in item.options:
            linked = f"{option.rule}.{symptom}" in rules.links
            assert linked or {option.rule, right} in pairs


def test_only_what_is_known_is_asked_as_a_limit(rules, items):
    for item in items:
        if item.kind is ItemKind.WHICH_LIMIT:
            limit = rules.limits[item.rules[0]]
            right = item.options[item.key[0]].text
            surely = [value for value in limit.values if value.sure != "memory"]
            assert right in {figure_words(value, limit.unit) for value in surely}


def tampered(item):
    """The same question with another option as its key."""
    if item.kind is ItemKind.STEPS_IN_ORDER:
        return replace(item, key=item.key[1:] + item.key[:1])
    return replace(item, key=((item.key[0] + 1) % len(item.options),))


@pytest.mark.parametrize("kind", list(ItemKind))
def test_the_proof_finds_a_wrong_key(rules, items, kind):
    own = [item for item in items if item.kind is kind][:10]
    assert own
    for item in own:
        assert doubts(rules, tampered(item)), item


def test_the_proof_finds_a_second_right_option(rules, items):
    item = next(each for each in items if each.kind is ItemKind.WHICH_CAUSE)
    twin = Option("Said otherwise", item.options[item.key[0]].rule)
    wrong = (item.key[0] + 1) % len(item.options)
    options = tuple(twin if n == wrong else o for n, o in enumerate(item.options))
    assert doubts(rules, replace(item, options=options))
    same = tuple(replace(o, text="The same") for o in item.options)
    assert "two options say the same" in doubts(rules, replace(item, options=same))


@pytest.mark.parametrize("kind", list(ItemKind))
def test_each_kind_can_be_had_by_itself(rules, kind):
    found = draw_items(rules, 3, 5, kinds=[kind])
    assert {item.kind for item in found} == {kind}


def test_subjects_and_stages_are_kept_to(rules):
    about = draw_items(rules, 1, 4, subjects=["cause:sealer-omitted"])
    assert {item.subject for item in about} == {"cause:sealer-omitted"}
    sealing = draw_items(rules, 1, 10, stages=["sealing"])
    assert {item.stage for item in sealing} == {"sealing"}


def test_asking_for_more_than_there_is_says_how_many(rules):
    with pytest.raises(NotFoundError, match=r"the rules give \d+ different questions"):
        draw_items(rules, 1, 400, kinds=[ItemKind.HEARD_ON_SITE])


def test_steps_are_right_only_in_full(rules):
    item = draw_items(rules, 1, 1, kinds=[ItemKind.STEPS_IN_ORDER])[0]
    assert is_right(item, item.key)
    assert not is_right(item, item.key[:1])
    steps = rules.remedies[item.rules[0]].steps
    assert tuple(item.options[n].text for n in item.key) == steps
    assert tuple(option.text for option in item.options) != steps


def test_no_option_can_be_taken_for_the_key(items):
    for item in items:
        if item.kind in (ItemKind.WHAT_TO_RECORD, ItemKind.WHERE_ON_RECORD):
            key = item.options[item.key[0]].text
            others = [o.text for n, o in enumerate(item.options) if n != item.key[0]]
            assert not [text for text in others if alike(key, text)]
    assert alike("Sealer used at each seam.", "Sealer used at each seam, by marks on the bottle.")
    assert not alike("Time of the first rolling.", "Widest gap at the wall.")


def test_the_proof_sees_an_option_that_says_nearly_the_same_or_tells_of_kin(rules, items):
    item = next(i for i in items if i.kind is ItemKind.WHAT_TO_RECORD)
    key = item.options[item.key[0]]
    other = next(n for n in range(len(item.options)) if n != item.key[0])

    def swapped(option):
        options = [option if n == other else o for n, o in enumerate(item.options)]
        return doubts(rules, replace(item, options=tuple(options)))

    assert not swapped(item.options[other])
    assert swapped(Option(f"{key.text} And a photo.", item.options[other].rule))
    # No cause of the rules is a kind of another at present; let one of the item's be.
    cause, backed = item.rules[1], next(iter(rules.checks[item.options[other].rule].backs))
    narrower = replace(rules.causes[backed], kind_of=cause)
    wider = replace(rules, causes={**rules.causes, backed: narrower})
    assert kin(wider, cause) == kin(rules, cause) | {backed}
    assert cause in kin(wider, backed)
    assert any("tells of it too" in doubt for doubt in doubts(wider, item))


def test_a_wrong_figure_can_be_believed(items):
    """None beyond what there can be, none so far off that it gives itself away."""
    seen = 0
    for item in items:
        if item.kind is not ItemKind.WHICH_LIMIT:
            continue
        seen += 1
        figures = [[float(n) for n in re.findall(r"\d+(?:\.\d+)?", o.text)] for o in item.options]
        right = figures[item.key[0]]
        for option, figure in zip(item.options, figures, strict=True):
            assert not (option.text.endswith(" pH") and figure[0] > 14), option
            assert not (option.text.endswith(" % RH") and figure[-1] > 100), option
            # Digits of the unit itself, such as 24 h, stand in both.
            assert all(a / 4 <= b <= 4 * a for a, b in zip(right, figure, strict=True)), item
        assert "n.d." not in item.ask
        assert "no source" not in item.ask
    assert seen >= 20


def test_what_a_picture_in_words_tells_fits_its_complaint(rules, items):
    """No waves are asked for at a blister, and one floor can give all the answers."""
    pictures = [item for item in items if item.kind is ItemKind.WHICH_CAUSE]
    assert len(pictures) > 50
    for item in pictures:
        (_, symptom), *shown = item.shown
        assert on_one_floor(shown)
        for question, answer in shown:
            assert not about_another(symptom, question)
            assert answer not in ruled_out(Floor(), [symptom], question)
    assert about_another("blisters", "direction-of-the-waves")
    assert not about_another("ripples", "direction-of-the-waves")
    assert not about_another("blisters", "when-first-seen")
    loop_and_foam = [("taped-or-stuck", "double-stuck"), ("release-one-wall", "x")]
    assert not on_one_floor(loop_and_foam)


def test_a_wrong_temperature_is_one_a_room_can_have(items):
    figures = [
        float(number)
        for item in items
        if item.kind is ItemKind.WHICH_LIMIT
        for option in item.options
        if option.text.endswith("°C")
        for number in re.findall(r"[\d.]+", option.text)
    ]
    assert figures
    assert max(figures) <= 45


def test_a_long_title_is_cut_at_its_colon_and_reads_as_a_sentence(items):
    limits = [item for item in items if item.kind is ItemKind.WHICH_LIMIT]
    assert max(len(item.ask) for item in limits) < 330
    assert not [item.why for item in limits if " has it." in item.why]


def test_a_stage_that_is_none_is_answered_with_those_there_are(rules):
    with pytest.raises(NotFoundError, match=r"called roof; the stages are .*bonding"):
        draw_items(rules, 1, 3, stages=("roof",))
    with pytest.raises(NotFoundError) as caught:
        draw_items(rules, 1, 3, stages=("bondin",))
    assert caught.value.near[0] == "bonding"
