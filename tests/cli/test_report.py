"""`diagnose report` writes the last finding of a case in every form asked for."""

from __future__ import annotations

import json
from pathlib import Path

import pytest


@pytest.fixture
def case(diagnose, demo: Path) -> str:
    seen = diagnose("case", "list", "--json", "--casebook", demo)
    found = json.loads(seen.out)[0]["id"]
    assert isinstance(found, str)
    return found


def test_every_form_is_written_in_one_go(diagnose, demo: Path, case: str, tmp_path: Path) -> None:
    files = [tmp_path / f"finding{ending}" for ending in (".html", ".pdf", ".md", ".json")]
    given = [word for file in files for word in ("--to", file)]
    seen = diagnose("report", case, *given, "--casebook", demo)
    assert seen.code == 0, seen.err
    starts = [file.read_bytes()[:15].lower() for file in files]
    assert starts[0] == b"<!doctype html>"
    assert starts[1].startswith(b"%pdf-")
    assert starts[2].startswith(b"# finding: ")
    assert json.loads(files[3].read_text("utf-8"))["kind"] == "finding"
    assert all(str(file) in seen.out.replace("\n", "") for file in files)


def test_the_report_is_that_of_the_stored_finding(
    diagnose, demo: Path, case: str, tmp_path: Path
) -> None:
    diagnose("report", case, "--to", tmp_path / "f.json", "--casebook", demo)
    written = json.loads((tmp_path / "f.json").read_text("utf-8"))["finding"]
    shown = json.loads(diagnose("case", "show", case, "--json", "--casebook", demo).out)
    assert written == shown["finding"]
    assert written["case"] == case


def test_the_page_draws_reasoning_and_plan(diagnose, demo: Path, case: str, tmp_path: Path) -> None:
    diagnose("report", case, "--to", tmp_path / "f.html", "--casebook", demo)
    page = (tmp_path / "f.html").read_text("utf-8")
    assert page.count("<svg ") == 2
    assert "Pinned: complaint at seam:S2." in page


def test_an_unknown_form_writes_nothing(diagnose, demo: Path, case: str, tmp_path: Path) -> None:
    good, bad = tmp_path / "f.html", tmp_path / "f.docx"
    seen = diagnose("report", case, "--to", good, "--to", bad, "--casebook", demo)
    assert seen.code == 3
    assert "a report ends in .html, .pdf, .md, .json; .docx is none of them" in seen.err
    assert not good.exists()


def test_an_unknown_case_is_named(diagnose, demo: Path, tmp_path: Path) -> None:
    seen = diagnose("report", "case-0", "--to", tmp_path / "f.html", "--casebook", demo)
    assert seen.code == 3
    assert "case-0" in seen.err


def test_a_case_without_a_finding_says_how_to_go_on(diagnose, demo: Path, tmp_path: Path) -> None:
    from datetime import UTC, datetime

    from diagnose.store.cases import open_case
    from diagnose.store.journal import Casebook

    with Casebook.open(demo) as book:
        new = open_case(
            book, symptoms=("open-seam",), at=datetime(2026, 5, 1, tzinfo=UTC), said_by="client"
        )
    seen = diagnose("report", new, "--to", tmp_path / "f.html", "--casebook", demo)
    assert seen.code == 3
    assert f"diagnose walk --resume {new}" in seen.err


def test_a_folder_that_is_not_there_is_no_traceback(
    diagnose, demo: Path, case: str, tmp_path: Path
) -> None:
    seen = diagnose("report", case, "--to", tmp_path / "no" / "f.html", "--casebook", demo)
    assert seen.code == 5
    assert "cannot be written: No such file or directory" in seen.err
    assert "Traceback" not in seen.err


def test_without_a_file_the_report_is_shown_with_plan_and_bars(
    diagnose, demo: Path, case: str
) -> None:
    seen = diagnose("report", case, "--casebook", demo)
    assert seen.code == 0, seen.err
    assert "! complaint" in seen.out
    assert "####" in seen.out.split("What leads to the finding:")[1].splitlines()[1]


def test_on_a_narrow_screen_the_plan_is_told_in_words(
    diagnose, demo: Path, case: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("diagnose.cli.screen.PIPED", 40)
    seen = diagnose("report", case, "--casebook", demo)
    assert seen.code == 0, seen.err
    assert "Drop L1: roll R1" in seen.out
    assert max(map(len, seen.out.splitlines())) <= 40
