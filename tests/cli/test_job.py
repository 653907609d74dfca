"""Keeping a record from the command line: only differences are entered, nothing is lost."""

import json

SHEET = """\
id: elm-court
title: Elm Court (invented)
invented: yes
zone: Europe/London
method: adhered
areas: {hall: {name: Hall, outline_m: [[0, 0], [8, 0], [8, 4], [0, 4]]}}
drops:
  L1: {area: hall}
  L2: {area: hall}
seams:
  S1: {area: hall, drops: [L1, L2], made_by: stuck, edges_sealed: 1}
"""


def entries(diagnose, book, path):
    return diagnose("job", "history", "elm-court", path, "--casebook", book).out


def test_only_what_differs_is_entered(diagnose, tmp_path):
    book, sheet = tmp_path / "own.db", tmp_path / "elm.yaml"
    sheet.write_text(SHEET)
    assert diagnose("job", "sheet", sheet, "--casebook", book).code == 0
    again = diagnose("job", "sheet", sheet, "--casebook", book)
    assert "Nothing differs" in again.out
    sheet.write_text(SHEET.replace("edges_sealed: 1", "edges_sealed: 2"))
    tried = diagnose("job", "sheet", sheet, "--dry-run", "--casebook", book)
    assert "seams.S1.edges_sealed: 1 -> 2" in tried.out
    changed = diagnose("job", "sheet", sheet, "--reason", "sealed after all", "--casebook", book)
    assert "1 value entered" in changed.out
    seen = entries(diagnose, book, "seams.S1.edges_sealed")
    assert "sealed after all" in seen
    assert seen.index(" 1 ") < seen.index(" 2 ")


def test_a_value_logged_singly_survives_the_old_sheet(diagnose, tmp_path):
    book, sheet = tmp_path / "own.db", tmp_path / "elm.yaml"
    sheet.write_text(SHEET)
    diagnose("job", "sheet", sheet, "--casebook", book)
    diagnose("job", "log", "elm-court", "seams.S1.face_checked=yes", "--casebook", book)
    sheet.write_text(SHEET.replace(", made_by: stuck", ""))
    diagnose("job", "sheet", sheet, "--casebook", book)
    values = json.loads(diagnose("job", "show", "elm-court", "--json", "--casebook", book).out)
    assert values["seams.S1.face_checked"] == "yes"
    assert "seams.S1.made_by" not in values


def test_a_broken_sheet_changes_nothing_and_makes_no_casebook(diagnose, tmp_path):
    book, sheet = tmp_path / "own.db", tmp_path / "elm.yaml"
    sheet.write_text(SHEET.replace("edges_sealed: 1", "edges_sealed: many"))
    seen = diagnose("job", "sheet", sheet, "--casebook", book)
    assert seen.code == 1
    assert "elm.yaml, line 11" in seen.err
    assert not book.exists()


def test_what_is_written_comes_back_as_it_is(diagnose, demo, tmp_path):
    for job in ("larch-house", "rowan-lounge"):
        sheet = tmp_path / f"{job}.yaml"
        sheet.write_text(diagnose("job", "write", job, "--casebook", demo).out)
        assert "Nothing differs" in diagnose("job", "sheet", sheet, "--casebook", demo).out


def test_a_blank_sheet_can_be_brought_in(diagnose, tmp_path):
    target = tmp_path / "new.yaml"
    assert diagnose("job", "new", "oak-hall", "--to", target).code == 0
    assert diagnose("job", "new", "oak-hall", "--to", target).code == 1
    assert diagnose("job", "sheet", target, "--casebook", tmp_path / "own.db").code == 0


def test_slips_in_single_values_are_all_named_at_once(diagnose, demo):
    seen = diagnose(
        "job",
        "log",
        "larch-house",
        "seams.S2.closed_at=tomorrow",
        "seams.S2.colour=3",
        "seams.S2.face_checked",
        "spreads.SP1.lot=A9",
        "--casebook",
        demo,
    )
    assert seen.code == 1
    assert "a time is needed" in seen.err
    assert "no field of the record" in seen.err
    assert "no equals sign" in seen.err


def test_a_value_that_names_no_part_is_refused(diagnose, demo):
    seen = diagnose("job", "log", "larch-house", "spreads.SP1.lot=A9", "--casebook", demo)
    assert seen.code == 1
    assert "A9" in seen.err


def test_an_ambiguous_climate_log_is_asked_about(diagnose, demo, tmp_path):
    log = tmp_path / "log.csv"
    log.write_text("time,temp_c,rh\n03/04/2026 08:00,19,50\n05/04/2026 08:15,19,51\n")
    seen = diagnose("job", "climate", "larch-house", log, "--area", "corridor", "--casebook", demo)
    assert seen.code == 1
    assert "day-first" in seen.err
    sure = diagnose(
        "job",
        "climate",
        "larch-house",
        log,
        "--area",
        "corridor",
        "--dates",
        "day-first",
        "--casebook",
        demo,
    )
    assert sure.code == 0
    wrong = diagnose("job", "climate", "larch-house", log, "--area", "attic", "--casebook", demo)
    assert wrong.code == 3


def test_plans_are_drawn(diagnose, demo, tmp_path):
    seen = diagnose("job", "plan", "larch-house", "--to", tmp_path / "plans", "--casebook", demo)
    assert seen.code == 0
    assert (tmp_path / "plans" / "day-room.svg").read_text().startswith("<svg")
