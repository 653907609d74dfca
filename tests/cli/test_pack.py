"""`diagnose pack` writes the handover pack and says what is not recorded."""

from __future__ import annotations

import json
from pathlib import Path


def test_pack_is_written_in_every_form(diagnose, demo: Path, tmp_path: Path) -> None:
    files = [tmp_path / f"pack{ending}" for ending in (".html", ".pdf", ".md", ".json")]
    given = [word for file in files for word in ("--to", file)]
    seen = diagnose("pack", "larch-house", *given, "--casebook", demo)
    assert seen.code == 0, seen.err
    assert "Not recorded:" in seen.out
    assert files[1].read_bytes().startswith(b"%PDF-")
    page = files[0].read_text("utf-8")
    # Two areas and one climate log are drawn.
    assert page.count("<svg ") == 3
    assert "Handover pack: Larch House" in page


def test_head_of_the_casebook_and_the_maker_stand_in_the_pack(
    diagnose, demo: Path, tmp_path: Path
) -> None:
    from diagnose.store.journal import Casebook

    file = tmp_path / "pack.json"
    diagnose("pack", "larch-house", "--to", file, "--who", "AB", "--casebook", demo)
    pack = json.loads(file.read_text("utf-8"))["pack"]
    with Casebook.open(demo) as book:
        heads = [str(head) for head in book.heads()]
    assert pack["casebook_head"] in heads
    assert pack["made_by"] == "AB"
    assert pack["entered"]["on-the-day"] > 100


def test_whom_to_call_is_taken_from_the_command(diagnose, demo: Path, tmp_path: Path) -> None:
    file = tmp_path / "pack.md"
    diagnose("pack", "larch-house", "--to", file, "--casebook", demo)
    assert "| If something is amiss | not recorded |" in file.read_text("utf-8")
    diagnose(
        "pack", "larch-house", "--to", file, "--call", "the office, weekdays", "--casebook", demo
    )
    assert "| If something is amiss | the office, weekdays |" in file.read_text("utf-8")


def test_a_slip_in_the_job_is_answered_with_the_nearest(
    diagnose, demo: Path, tmp_path: Path
) -> None:
    seen = diagnose("pack", "larch-hous", "--to", tmp_path / "p.html", "--casebook", demo)
    assert seen.code == 3
    assert "larch-house" in seen.err


def test_cobie_sheets_go_to_a_folder(diagnose, demo: Path, tmp_path: Path) -> None:
    pack, folder = tmp_path / "pack.md", tmp_path / "cobie"
    seen = diagnose("pack", "larch-house", "--to", pack, "--cobie", folder, "--casebook", demo)
    assert seen.code == 0, seen.err
    assert len(list(folder.glob("*.csv"))) == 6
    assert folder.joinpath("Attribute.csv").read_bytes().startswith(b"\xef\xbb\xbf")


def test_without_a_file_the_pack_is_shown_with_its_plan(diagnose, demo: Path) -> None:
    seen = diagnose("pack", "larch-house", "--casebook", demo)
    assert seen.code == 0, seen.err
    assert "Plan of Day room:" in seen.out
    assert "#...... L1" in seen.out
    assert "Drops:" in seen.out
