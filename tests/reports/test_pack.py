"""The handover pack has every item that is handed over, or names it as missing."""

from __future__ import annotations

from dataclasses import replace
from types import ModuleType

import pytest

from diagnose.model import EntryRef, Provenance
from diagnose.record.fields import field_of
from diagnose.record.model import Completion, Job
from diagnose.reports.blocks import PictureBlock, TableBlock
from diagnose.reports.pack import NOT_RECORDED, Pack, pack_to_dict
from diagnose.reports.pack_use import CARE, NORMAL
from diagnose.reports.pack_words import pack_blocks, zone_of

# What is handed over at completion: exchange of information and completion as the clauses of
# BS 5325:2001 name them, the CRI 105 clauses on protection and use after laying, clauses on
# batches and spare carpet of a UK model specification, and common practice for the rest.
HANDED_OVER = {
    "job": (
        "Client", "Site", "People on the job", "What was ordered", "Expected use", "Castor chairs",
        "Rolling loads", "Codes", "Seam plan agreed on", "Work started", "Work finished",
        "Floor handed over", "Handed to",
    ),
    "use": (
        "Walked on from", "Furnished and wheeled on from", "Wet-cleaned from",
        "The client was told these times",
    ),
    "care": (
        "Water in cleaning", "Dry again after cleaning", "pH of cleaners",
        "Air in the room, also when nobody is there", "Care advice was given",
        "The least temperature was told",
    ),
    "normal": (
        "Shading and pile reversal were explained", "That a seam is never invisible was explained",
    ),
    "offcuts": (
        "Offcut kept", "Offcut labelled with its batch", "Spare carpet handed over, m²",
        "Batches to match",
    ),
    "call": ("If something is amiss",),
    "laid": (
        "Product", "Its data sheet", "Approved sample", "Rolls inspected before cutting",
        "Method of fixing",
    ),
    "base": ("Asbestos survey",),
    "conditions": ("Climate logs",),
    "self-check": (
        "Self check by", "Floor walked over with the client", "Protection after laying",
        "Carpet was the last trade", "Fitter's written objection",
    ),
    "photos": ("Photos taken",),
    "papers": (
        "List of batches", "Moisture report", "Safety data sheets", "Care sheet",
        "Data sheet of the carpet",
    ),
}  # fmt: skip
SHEETS = {
    "laid": ("Areas", "Drops"),
    "stuck": ("Lots used", "Spreads of adhesive"),
    "seams": ("Every seam",),
    "base": ("Readings",),
    "conditions": ("Goods left to condition", "Air and floor while spreading"),
    "photos": ("Photos kept with the record",),
}


def facts_of(pack: Pack) -> dict[str, dict[str, str]]:
    return {part.id: {each.label: each.text for each in part.facts} for part in pack.sections}


@pytest.fixture(scope="module")
def demo(made: ModuleType) -> Pack:
    pack = made.pack_value(made.invented_job("larch-house"))
    assert isinstance(pack, Pack)
    return pack


def test_every_item_is_there_or_named_as_missing(made: ModuleType, demo: Pack) -> None:
    for pack in (demo, made.pack_value(Job(id="bare"))):
        facts, missing = facts_of(pack), dict(pack.missing)
        for part in pack.sections:
            for label in HANDED_OVER.get(part.id, ()):
                assert label in facts[part.id]
                assert facts[part.id][label] or label in missing[part.name]
            held = {sheet.name: sheet for sheet in part.sheets}
            for name in SHEETS.get(part.id, ()):
                assert held[name].rows or name in missing[part.name]
        assert {part.id for part in pack.sections} >= HANDED_OVER.keys() | SHEETS.keys()


def test_what_is_missing_is_named_in_words(demo: Pack) -> None:
    missing = {label for _, labels in demo.missing for label in labels}
    assert {"Spare carpet handed over, m²", "If something is amiss", "Approved sample"} <= missing
    assert "data sheet of S1" in missing
    words = [block for block in pack_blocks(demo) if isinstance(block, TableBlock)]
    cells = [row for table in words for row in table.rows]
    assert ("Spare carpet handed over, m²", NOT_RECORDED) in cells


def test_a_bare_job_still_makes_a_pack(made: ModuleType) -> None:
    pack = made.pack_value(Job(id="bare"))
    texts = [each.text for part in pack.sections for each in part.facts]
    told = sum(bool(text) for text in texts)
    # Care limits hold for any floor, and the absence of an objection is said.
    assert told == 5
    assert "Nobody knows when" in str(pack_blocks(pack))


def test_times_of_use_are_days_and_hours_after_the_work(demo: Pack) -> None:
    """Last rolling 2026-03-03 09:45, end of work 2026-03-03: 24 h and 72 h, 30 days."""
    use = facts_of(demo)["use"]
    assert use["Walked on from"].startswith("2026-03-04 09:45 (24 h after; ")
    assert use["Furnished and wheeled on from"].startswith("2026-03-06 09:45 (72 h after; ")
    assert use["Wet-cleaned from"].startswith("2026-04-02 (30 days after; ")


def test_every_drop_is_traced_to_its_batch(made: ModuleType, demo: Pack) -> None:
    job = made.invented_job("larch-house")
    laid = next(part for part in demo.sections if part.id == "laid")
    rows = {row[0]: row for row in laid.sheets[1].rows}
    assert rows.keys() == job.drops.keys()
    for name, drop in job.drops.items():
        assert rows[name][2:4] == (drop.roll, job.rolls[drop.roll].batch)
    assert {picture.title for picture in laid.pictures} == {"Plan of Day room", "Plan of Corridor"}


def test_climate_log_is_drawn_with_the_laying(demo: Pack) -> None:
    (drawn,) = [
        block
        for block in pack_blocks(demo)
        if isinstance(block, PictureBlock) and "Climate" in block.title
    ]
    assert drawn.description.count("Laid into adhesive") == 4


def test_deviations_of_the_record_are_not_kept_back(demo: Pack) -> None:
    checked = next(part for part in demo.sections if part.id == "checked")
    assert any("forced" in line for line in checked.lines)
    assert f"{len(checked.lines)} deviate" in checked.intro


def test_late_entries_are_counted_apart(made: ModuleType) -> None:
    job = made.invented_job("larch-house")
    at = made.a_job().START
    origins = {
        "seams.S1.kind": EntryRef("phone", 1, "a" * 64, at),
        "seams.S2.kind": EntryRef("phone", 2, "b" * 64, at, provenance=Provenance.LATE),
    }
    pack = made.pack_value(replace(job, origins=origins))
    assert pack.entered == {"on-the-day": 1, "late": 1}
    assert "2 values; entered: 1 on the day, 1 late." in str(pack_blocks(pack))


def test_no_is_not_the_same_as_not_recorded(made: ModuleType) -> None:
    job = replace(made.invented_job("larch-house"), completion=Completion(offcut_kept=False))
    offcuts = facts_of(made.pack_value(job))["offcuts"]
    assert offcuts["Offcut kept"] == "no"
    assert offcuts["Offcut labelled with its batch"] == ""


def test_advice_that_the_floor_does_not_need_is_left_out(made: ModuleType) -> None:
    """Shading concerns cut pile."""
    job = made.invented_job("larch-house")
    cut = replace(job, product=replace(job.product, pile="cut"))
    loop_lines, cut_lines = (
        [line for part in made.pack_value(each).sections for line in part.lines]
        for each in (job, cut)
    )
    assert any(line.startswith("Shading") for line in cut_lines)
    assert not any(line.startswith("Shading") for line in loop_lines)


def test_named_causes_and_symptoms_are_in_the_rules(made: ModuleType) -> None:
    rules = made.rules()
    assert [name for name in CARE if name not in rules.causes] == []
    assert [name for name in NORMAL if not rules.symptoms[name].normal] == []


def test_json_says_null_for_what_is_not_recorded(demo: Pack) -> None:
    plain = pack_to_dict(demo)
    facts = {f["label"]: f["text"] for part in plain["sections"] for f in part["facts"]}
    assert facts["Spare carpet handed over, m²"] is None
    assert plain["not_recorded"]["Whom to call"] == ["If something is amiss"]


@pytest.mark.parametrize("zone", [None, "Nowhere/Atall", "../etc/passwd", "Europe/London"])
def test_any_zone_gives_one(zone: str | None) -> None:
    assert zone_of(Job(id="x", zone=zone)) is not None


def test_labels_of_the_record_are_those_of_its_fields(demo: Pack) -> None:
    rule = field_of("completion.self_check_by")
    assert rule is not None
    assert rule.label.capitalize() in facts_of(demo)["self-check"]
