"""A sheet that is read again yields only what changed."""

from __future__ import annotations

from pathlib import Path

from diagnose.record.difference import Change, differences
from diagnose.record.fold import flatten, fold
from diagnose.record.sheet import Sheet, read_sheet

LARCH = Path(__file__).parents[2] / "casebook" / "larch-house" / "job.yaml"


def read(text: str) -> Sheet:
    return read_sheet(f"id: a-job\nzone: Europe/London\n{text}\n".encode(), "sheet.yaml")


def pairs(changes: tuple[Change, ...]) -> list[tuple[str, str | None, str | None]]:
    return [(change.path, change.old, change.new) for change in changes]


def test_the_same_sheet_changes_nothing() -> None:
    sheet = read_sheet(LARCH.read_bytes(), LARCH.name)
    assert differences(sheet.texts(), sheet) == ()
    assert differences(flatten(fold(sheet.job_id, sheet.texts())), sheet) == ()


def test_a_first_sheet_adds_every_value_in_order_of_lines() -> None:
    sheet = read_sheet(LARCH.read_bytes(), LARCH.name)
    changes = differences({}, sheet)
    assert len(changes) == len(sheet.values)
    assert all(change.old is None for change in changes)
    lines = [change.at.line for change in changes]
    assert lines == sorted(lines)


def test_only_what_changed_is_told() -> None:
    old = read("title: Hall\nseams: {S1: {forced: no}, S2: {forced: no}}").texts()
    changes = differences(old, read("title: Hall\nseams:\n  S1: {forced: yes, photo: no}"))
    assert pairs(changes) == [
        ("seams.S1.forced", "no", "yes"),
        ("seams.S1.photo", None, "no"),
        ("seams.S2.forced", "no", None),
    ]
    assert [str(change.at) for change in changes] == [
        "sheet.yaml, line 5",
        "sheet.yaml, line 5",
        "sheet.yaml",
    ]


def test_one_value_in_two_forms_is_no_change() -> None:
    old = {
        "zone": "Europe/London",
        "spreads.SP1.air_c": "19.50",
        "spreads.SP1.laid_at": "2026-07-02T08:00:00+00:00",
        "seams.S1.line_m": "[[0.0,0],[4,0]]",
    }
    sheet = read(
        "spreads: {SP1: {air_c: 19.5, laid_at: 2026-07-02 09:00}}\nseams: {S1: {line_m: [[0, 0], [4, 0]]}}"
    )
    assert differences(old, sheet) == ()


def test_a_log_from_a_file_is_not_removed() -> None:
    old = {"zone": "Europe/London", "climate.C1.points": "[]", "climate.C1.zone": "Europe/London"}
    assert differences(old, read("")) == ()


def test_an_old_value_out_of_form_is_replaced() -> None:
    old = {"zone": "Europe/London", "seams.S1.bead_mm": "thick", "attic": "1"}
    assert pairs(differences(old, read("seams: {S1: {bead_mm: 3}}"))) == [
        ("seams.S1.bead_mm", "thick", "3"),
        ("attic", "1", None),
    ]
