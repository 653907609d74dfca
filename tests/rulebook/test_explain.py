"""Every id has a page, and a page says what its item is tied to."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.data import data_folder
from diagnose.errors import NotFoundError
from diagnose.rulebook.explain import Explanation, explain, explained_ids
from diagnose.rulebook.load import load_rules
from diagnose.rulebook.model import Damage, Rules

SOUND = Path(__file__).parents[1] / "broken" / "rules" / "sound"


@pytest.fixture(scope="module")
def sound() -> Rules:
    return load_rules(SOUND)


@pytest.fixture(scope="module")
def shipped() -> Rules:
    return load_rules(data_folder("rules"))


def rows(page: Explanation, title: str) -> list[tuple[str, str]]:
    return [
        (row.id, row.note) for each in page.sections if each.title == title for row in each.rows
    ]


def test_every_id_has_a_page_that_leads_to_pages(shipped: Rules) -> None:
    known = set(explained_ids(shipped))
    for name in known:
        page = explain(shipped, name)
        assert page.name
        led_to = {row.id for each in page.sections for row in each.rows if row.id}
        assert led_to <= known, name


def test_a_symptom_names_all_its_causes_the_likeliest_first(sound: Rules) -> None:
    page = explain(sound, "seam-peaking")
    found = rows(page, "What gives it")
    assert [name for name, _ in found] == ["edges-too-full", "blade-blunt"]
    assert found[0][1] == "often, about 70 in 100. Two edges fight for one place."
    assert rows(page, "Make safe at once")[0][0] == "tape-it-down"
    assert [source.support for source in page.sources] == ["says so"]


def test_every_symptom_names_every_cause_and_back(shipped: Rules) -> None:
    for link in shipped.links.values():
        there = rows(explain(shipped, link.symptom), "What gives it")
        assert link.cause in [name for name, _ in there]
        back = rows(explain(shipped, link.cause), "What it gives")
        assert link.symptom in [name for name, _ in back]


def test_a_cause_names_what_speaks_for_and_against_it(sound: Rules) -> None:
    page = explain(sound, "blade-blunt")
    assert rows(page, "What speaks for it") == [
        ("shape-of-the-ridge", "strong"),
        ("edge-of-the-sample", "strong"),
        ("blade-changed", "strong"),
    ]
    assert rows(page, "What speaks against it") == [("shape-of-the-ridge", "strong")]
    assert rows(page, "Look-alikes, and what parts them") == [
        ("too-full-or-blunt", "Look at the edge.")
    ]
    remedy = next(each for each in page.sections if each.title == "What to do about it").rows[0]
    assert remedy.points == ("Open it.", "Cut it.", "Close it.")
    assert [caution.id for caution in page.cautions] == ["consent-before-damage"]


def test_a_question_says_what_each_answer_means_and_warns_of_its_act(sound: Rules) -> None:
    page = explain(sound, "edge-of-the-sample")
    assert [caution.id for caution in page.cautions] == ["consent-before-damage"]
    answers = next(each for each in page.sections if each.title == "What each answer says").rows
    assert answers[0].note == "A sound floor gives this answer."
    assert answers[1].points == ("for Blunt blade (strong)",)


def test_a_limit_gives_every_figure_with_who_set_it(sound: Rules) -> None:
    page = explain(sound, "metres-per-blade")
    figure = next(each for each in page.sections if each.title == "Figures").rows[0]
    assert figure.text == "at most 30 m"
    assert "set by contract code; read in the source" in figure.note
    assert "holds for method adhered" in figure.note
    assert rows(page, "Checks that use it")[0][0] == "blade-changed"
    assert page.sources[0].clause == "1"


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("blade-changed", "check"),
        ("cut-a-sample", "act"),
        ("tape-it-down", "remedy"),
        ("consent-before-damage", "caution"),
        ("a-standard", "source"),
        ("edges-under-pressure", "mechanism"),
        ("fuller-is-safer", "teaching point"),
        ("too-full-or-blunt", "look-alike"),
        ("blade-blunt.seam-peaking", "link"),
        ("cutting", "stage"),
        ("RH", "abbreviation"),
    ],
)
def test_the_kind_of_page(sound: Rules, name: str, kind: str) -> None:
    assert explain(sound, name).kind == kind


def test_a_name_in_words_finds_its_page(sound: Rules) -> None:
    assert explain(sound, "Seam Peaking").id == "seam-peaking"
    assert explain(sound, "what does the ridge look like?").id == "shape-of-the-ridge"


def test_an_id_that_two_kinds_share_shows_the_first_and_names_the_other(shipped: Rules) -> None:
    page = explain(shipped, "release-one-wall")
    assert page.kind == "question"
    assert page.also == ("act:release-one-wall",)
    assert explain(shipped, "act:release-one-wall").kind == "act"


@pytest.mark.parametrize(
    ("name", "near"), [("seam-peking", "seam-peaking"), ("ridge", "shape-of-the-ridge")]
)
def test_an_unknown_id_is_told_with_the_nearest(sound: Rules, name: str, near: str) -> None:
    with pytest.raises(NotFoundError) as caught:
        explain(sound, name)
    assert near in caught.value.near


@pytest.mark.parametrize("name", ["", ":", "nothing:seam-peaking", "-", "\x1b[2J", "x" * 10_000])
def test_odd_ids_are_not_found(sound: Rules, name: str) -> None:
    with pytest.raises(NotFoundError):
        explain(sound, name)


def test_whatever_cuts_shows_its_caution_before_all_else(shipped: Rules) -> None:
    cutting = {act.id for act in shipped.acts.values() if act.damage is Damage.CUTS_OR_CORES}
    asked = [question.id for question in shipped.questions.values() if question.act in cutting]
    assert asked
    for name in asked:
        page = explain(shipped, f"question:{name}")
        assert "consent-before-damage" in [caution.id for caution in page.cautions]


def test_short_forms_are_spelled_out_on_the_page(sound: Rules) -> None:
    page = explain(sound, "seam-peaking")
    assert page.sections[-1].title == "Short forms"
    assert page.sections[-1].rows[0].text == "RH: relative humidity"
    assert "Short forms" not in [each.title for each in explain(sound, "RH").sections]
