"""`diagnose rules export` of a network, as a person calls it."""

from __future__ import annotations

import sys
from pathlib import Path

import pyagrum as gum
import pytest

from diagnose.cli.app import run
from diagnose.data import data_folder
from diagnose.rulebook.load import load_rules

ENDINGS = {"bif": "bif", "xmlbif": "bifxml"}


def at_the_keyboard(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], *args: str
) -> tuple[int, str, str]:
    monkeypatch.setattr(sys, "argv", ["diagnose", "rules", "export", *args])
    with pytest.raises(SystemExit) as ended:
        run()
    out, err = capsys.readouterr()
    return int(ended.value.code or 0), out, err


@pytest.mark.parametrize("form", ENDINGS)
def test_the_command_writes_a_file_that_is_read_back(
    form: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    path = tmp_path / f"floor.{ENDINGS[form]}"
    words = ("--symptom", "tile-doming", "--method", "tile", "--backing", "impervious")
    code, out, _ = at_the_keyboard(
        monkeypatch, capsys, "--format", form, *words, "--out", str(path)
    )
    assert (code, out) == (0, "")
    text = path.read_text("utf-8")
    assert load_rules(data_folder("rules")).edition in text
    assert "method tile, backing impervious" in text
    net = gum.loadBN(str(path))
    assert net.variable("symptom_tile_doming").labels() == ("absent", "not_mentioned", "mentioned")


@pytest.mark.parametrize(
    ("args", "code", "hint"),
    [
        (("--format", "bif", "--method", "glued"), 1, "words: adhered"),
        (("--format", "bif", "--symptom", "seam-peeking"), 3, "did you mean seam-peaking"),
        (("--format", "json", "--method", "tile"), 1, "take --format bif or xmlbif"),
        (("--format", "gif"), 3, "did you mean"),
    ],
)
def test_a_slip_is_named_with_a_hint(
    args: tuple[str, ...],
    code: int,
    hint: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    ended, out, err = at_the_keyboard(monkeypatch, capsys, *args)
    assert (ended, out) == (code, "")
    assert hint in err
