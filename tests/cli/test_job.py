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
        "seams.S2.edgs=1",
        "seams.S2.face_checked",
        "spreads.SP1.lot=A9",
        "--casebook",
        demo,
    )
    assert seen.code == 1
    assert "a time is needed" in seen.err
    assert "no field of the record" in seen.err
    assert "fields of like names: seams.*.edges_sealed" in seen.err
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


def made(diagnose, tmp_path, text=SHEET):
    book, sheet = tmp_path / "own.db", tmp_path / "elm.yaml"
    sheet.write_text(text)
    return book, diagnose("job", "sheet", sheet, "--casebook", book)


ODD = SHEET.replace("invented: yes\n", "") + (
    "spreads:\n  SP1: {started_at: 2026-03-02 09:00, laid_at: 2026-03-02 08:40}\n"
)


def test_times_that_cannot_be_so_are_told_but_kept(diagnose, tmp_path):
    book, seen = made(diagnose, tmp_path, ODD)
    assert seen.code == 0
    assert "cannot be so" in seen.out
    out = " ".join(seen.out.split())
    assert "2026-03-02 08:40, before spreading began, spread SP1: 2026-03-02 09:00" in out
    tried = diagnose("job", "sheet", tmp_path / "elm.yaml", "--dry-run", "--casebook", book)
    assert "cannot be so" in tried.out
    far = "seams.S1.closed_at=2199-01-01 10:00"
    logged = diagnose("job", "log", "elm-court", far, "--casebook", book)
    assert logged.code == 0
    assert "still to come" in " ".join(logged.out.split())
    mend = ("spreads.SP1.laid_at=2026-03-02 09:20", "seams.S1.closed_at=")
    mended = diagnose("job", "log", "elm-court", *mend, "--casebook", book)
    assert "cannot be so" not in mended.out


def test_the_check_begins_with_what_cannot_be_so(diagnose, tmp_path):
    book, _ = made(diagnose, tmp_path, ODD)
    seen = diagnose("check", "elm-court", "--casebook", book)
    assert seen.code == 1
    order = [seen.out.index(words) for words in ("hurt someone", "What cannot be so", "What dev")]
    assert order == sorted(order)
    found = json.loads(diagnose("check", "elm-court", "--json", "--casebook", book).out)
    assert found["clean"] is False
    assert found["cannot_be_so"][0]["path_a"] == "spreads.SP1.laid_at"
    page = tmp_path / "check.json"
    assert diagnose("check", "elm-court", "--casebook", book, "--to", page).code == 1
    assert "spreads.SP1.laid_at" in page.read_text()


def test_a_slip_in_an_id_makes_no_new_part(diagnose, tmp_path):
    book, _ = made(diagnose, tmp_path)
    value = "seams.S9.closed_at=2026-03-02 10:00"
    refused = diagnose("job", "log", "elm-court", value, "--casebook", book)
    assert refused.code == 1
    assert "holds no seam S9" in refused.err
    assert "S1" in refused.err
    assert "--new" in refused.err
    assert diagnose("job", "log", "elm-court", value, "--new", "--casebook", book).code == 0
    assert diagnose("job", "log", "elm-court", value, "--casebook", book).code == 0
    door = "areas.hall.doors.D1.kept_closed=yes"
    assert "no door D1" in diagnose("job", "log", "elm-court", door, "--casebook", book).err
    side = "drops.L1.edges.left.cut=row-parted"
    assert diagnose("job", "log", "elm-court", side, "--casebook", book).code == 0


def test_logging_tells_what_was_replaced(diagnose, tmp_path):
    book, _ = made(diagnose, tmp_path)
    values = ("seams.S1.edges_sealed=2", "seams.S1.forced=no", "seams.S1.made_by=")
    out = diagnose("job", "log", "elm-court", *values, "--casebook", book).out
    assert "seams.S1.edges_sealed: 1 -> 2" in out
    assert "seams.S1.forced: nothing -> no" in out
    assert "seams.S1.made_by: stuck -> taken out" in out
    again = diagnose("job", "log", "elm-court", "seams.S1.forced=no", "--casebook", book).out
    assert "->" not in again


def test_the_history_marks_statements_and_what_was_taken_out(diagnose, tmp_path):
    book, _ = made(diagnose, tmp_path)
    value = "seams.S1.edges_sealed"
    told = ("--statement", "--reason", "by telephone")
    diagnose("job", "log", "elm-court", f"{value}=2", *told, "--casebook", book)
    diagnose("job", "log", "elm-court", f"{value}=", "--casebook", book)
    seen = entries(diagnose, book, value)
    assert seen.count("statement") == 1
    assert "by telephone" in seen
    assert seen.count("taken out") == 1


def test_a_climate_log_tells_what_it_replaces_and_what_is_odd(diagnose, tmp_path):
    text = SHEET + "dates: {started_at: 2026-03-02 08:00}\n"
    book, _ = made(diagnose, tmp_path, text)
    log = tmp_path / "log.csv"
    log.write_text("time,temp_c,rh\n2026-03-02 08:00,19,50\n2026-03-02 09:00,fault,51\n")
    call = ("job", "climate", "elm-court", log, "--area", "hall", "--casebook", book)
    first = " ".join(diagnose(*call).out.split())
    assert "1 cell that cannot be read" in first
    assert "replaces" not in first
    assert "outside the job" not in first
    log.write_text("time,temp_c,rh\n2025-03-02 08:00,19,50\n2025-03-03 09:00,19,51\n")
    second = " ".join(diagnose(*call).out.split())
    assert "replaces the earlier log of the area hall: 2 points" in second
    assert "2 of 2 days lie more than 60 days outside the job" in second


def test_a_new_job_needs_an_id_that_a_sheet_may_bear(diagnose, tmp_path):
    target = tmp_path / "new.yaml"
    seen = diagnose("job", "new", "Elm Court!", "--to", target)
    assert seen.code == 1
    assert "elm-court" in seen.err
    assert not target.exists()


def test_the_schema_of_a_sheet_is_written(diagnose, tmp_path):
    target = tmp_path / "sheet.json"
    assert diagnose("job", "schema", "--to", target).code == 0
    assert json.loads(target.read_text())["properties"]["seams"]
    assert json.loads(diagnose("job", "schema").out) == json.loads(target.read_text())
