"""Hints say what can be written instead: the right word, a possible day, a good id."""

from __future__ import annotations

import re

import pytest

from diagnose.errors import InputError
from diagnose.record.blank_sheet import blank_sheet, good_id
from diagnose.record.contradictions import contradictions
from diagnose.record.fold import fold
from diagnose.record.sheet import read_sheet
from diagnose.record.sheet_numbers import NotReadableError
from diagnose.record.sheet_times import read_day, read_time
from diagnose.record.sheet_values import one_of
from diagnose.record.words import TRADE_WORDS, WORDS


@pytest.mark.parametrize(
    ("field", "said", "right"),
    [
        ("product.fibre", "nylon", "polyamide"),
        ("product.fibre", "80/20", "wool-blend"),
        ("method", "glued", "adhered"),
        ("method", "Stuck down", "adhered"),
        ("method", "stretched", "stretch-in"),
        ("method", "stretch fit", "stretch-in"),
        ("method", "double-bond", "double-stick"),
        ("method", "double stuck", "double-stick"),
        ("method", "tiles", "tile"),
        ("product.backing", "PVC-backed", "impervious"),
        ("product.backing", "vinyl", "impervious"),
        ("areas.*.subfloor.kind", "vinyl", "old-floor"),
        ("product.backing", "jute", "secondary"),
        ("product.backing", "action back", "secondary"),
        ("areas.*.subfloor.kind", "concrete slab", "concrete"),
        ("seams.*.made_by", "glued", "stuck"),
    ],
)
def test_a_trade_word_is_met_with_the_right_one(field: str, said: str, right: str) -> None:
    with pytest.raises(NotReadableError) as refused:
        one_of(said, WORDS[field])
    assert refused.value.hint == f"write {right} for {said}"


def test_every_trade_word_leads_to_a_word_of_the_record() -> None:
    allowed = {word for words in WORDS.values() for word in words}
    assert {word for words in TRADE_WORDS.values() for word in words} <= allowed


@pytest.mark.parametrize("written", ["2026-02-30", "2026-02-30 08:30", "2026-13-01", "1400-02-30"])
@pytest.mark.parametrize("read", [read_day, lambda text: read_time(text, None)])
def test_an_impossible_day_is_never_offered(read, written: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(NotReadableError) as refused:
        read(written)
    offered = re.findall(r"\d{4}-\d\d-\d\d", refused.value.hint)
    assert offered
    assert [read_day(day) for day in offered] == offered


def test_the_blank_sheet_is_valid_with_its_examples_taken_in() -> None:
    sheet = read_sheet(blank_sheet("oak-hall", 'Oak "Hall"').encode(), "blank")
    assert set(sheet.values) == {"title", "zone"}
    filled = re.sub(r"^(\s*)# ", r"\1", blank_sheet("oak-hall"), flags=re.M)
    values = read_sheet(filled.encode(), "filled").texts()
    assert values["seams.S1.drops"] == '["L1","L2"]'
    assert values["people.AB"] == "fitter"
    assert values["product.limits.open-time.high"] == "30"
    assert contradictions(fold("oak-hall", values), None) == ()


@pytest.mark.parametrize("written", ["Elm Court!", "Café №3", "-x", "a" * 90, "elm.court"])
def test_an_id_that_a_sheet_refuses_is_refused_with_a_good_one(written: str) -> None:
    with pytest.raises(InputError) as refused:
        blank_sheet(written)
    good = good_id(written)
    assert refused.value.problems[0].hint == f"write {good}"
    assert read_sheet(blank_sheet(good).encode(), "blank").job_id == good
