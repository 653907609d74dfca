"""`diagnose calc` shows the limits that the rules hold, and works without them."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

import pytest

from diagnose.cli import calc_limits
from diagnose.cli.app import run
from diagnose.data import data_folder
from diagnose.errors import StoreError


@pytest.fixture
def call(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Any:
    """Run the command line and return exit code, standard output and standard error."""

    def at(*args: str) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["diagnose", "calc", *args])
        with pytest.raises(SystemExit) as ended:
            run()
        out, err = capsys.readouterr()
        code = ended.value.code
        return (0 if code is None else int(code)), out, err

    return at


def test_missing_rules_cost_the_limits_and_nothing_else(
    call: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    def absent(name: str) -> Path:
        raise StoreError(f"the folder {name} is missing")

    monkeypatch.setattr(calc_limits, "data_folder", absent)
    code, out, _ = call("stretch", "--before", "6000", "--after", "6060")
    assert code == 0
    assert "1.00 %" in out
    assert "The rules are not there" in out
    assert "\nlimit " not in out


LIMITS = """\
limits:
- id: stretch-least
  name: stretch in each direction
  quantity: growth by stretching
  unit: "%"
  values:
  - {low: 1, set_by: code, sure: seen, when: {construction: [tufted]},
     source: {ref: a-standard, clause: "16.5", support: stated, note: invented}}
  - {low: 2, set_by: common-practice, sure: memory, source: {ref: from-memory, support: none}}
- id: broken
  name: has no values
"""
SOURCES = """\
sources:
- {id: a-standard, title: An invented standard, year: "2011", kind: standard, read_as: extract}
"""


def test_limits_come_from_the_rules_and_a_broken_one_is_left_out(tmp_path: Path) -> None:
    (tmp_path / "limits").mkdir()
    (tmp_path / "limits" / "a.yaml").write_text(LIMITS)
    (tmp_path / "limits" / "b.yaml").write_text("limits: [")
    (tmp_path / "sources.yaml").write_text(SOURCES)
    tufted, remembered = calc_limits.limits_of(["broken", "stretch-least"], {}, tmp_path)
    assert tufted["words"] == (
        "stretch in each direction: at least 1 % (construction tufted) "
        "[An invented standard; 16.5; read in extract; invented]"
    )
    assert remembered["low"] == 2
    (woven,) = calc_limits.limits_of(["stretch-least"], {"construction": "woven"}, tmp_path)
    assert woven["low"] == 2


def test_every_limit_named_is_in_the_rules(call: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: set[str] = set()
    monkeypatch.setattr(calc_limits, "limits_of", lambda ids, known: asked.update(ids) or [])
    examples = json.loads(Path(__file__).with_name("calc_examples.json").read_text("utf-8"))
    for name, rows in examples.items():
        for args in rows:
            call(name, *args)
    assert len(asked) > 15
    assert asked <= set(calc_limits.read_items(data_folder("rules"), "limits"))


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (["stretch", "--before", "6000", "--after", "6048"], "0.8 % is below the limit"),
        (["stretch", "--before", "6000", "--after", "6060"], "1 % is within the limit"),
        (["pile-turn", "--one", "90", "--other", "270"], "180° is above the limit"),
        (["seam-to-light", "0,4 9,4", "0,0 6,0"], "0° is below the limit"),
        (["seam-to-light", "4,0 4,9", "0,0 6,0"], "90° is within the limit"),
        (["width-change", "--width", "4000", "--change", "-0.9"], "0.9 % is above the limit"),
        (["peak-surplus", "--height", "6"], "mm or more is partly within the limit"),
        (["porosity", "300"], "300 s is above the limit"),
    ],
)
def test_a_result_is_held_against_each_limit(call: Any, args: list[str], said: str) -> None:
    code, out, _ = call(*args)
    assert code == 0
    assert said in " ".join(out.split())


def test_data_hold_a_verdict_for_each_source(call: Any) -> None:
    _, out, _ = call("adhesive-used", "--used", "6", "--area", "24", "--json")
    verdicts = [figure["verdict"] for figure in json.loads(out)["limits"]]
    # 250 g/m²; each source has its own figures.
    assert {"below", "above", "within"} == set(verdicts)
    _, out, _ = call("open-time", "--latest", "20", "--json")
    assert {figure["verdict"] for figure in json.loads(out)["limits"]} == {None}


def test_what_is_judged_is_there_to_be_judged(call: Any) -> None:
    limits = calc_limits.read_items(data_folder("rules"), "limits")
    examples = json.loads(Path(__file__).with_name("calc_examples.json").read_text("utf-8"))
    judged: set[tuple[str, str]] = set()
    for name, rows in examples.items():
        for args in rows:
            data = json.loads(call(name, *args, "--json")[1])
            judged |= {(name, figure["limit"]) for figure in data["limits"] if figure["verdict"]}
    assert {name for _, name in calc_limits.JUDGED} <= set(limits)
    assert judged == set(calc_limits.JUDGED)
