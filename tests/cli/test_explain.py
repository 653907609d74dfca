"""`diagnose explain`: a page for a person, the same as JSON, and an honest "not found"."""

from __future__ import annotations

import json
import math
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from diagnose.cli.app import run
from diagnose.engine.adjust import Dial, turned
from diagnose.engine.posterior import infer
from diagnose.model import STAGES
from diagnose.rulebook.explain import LISTED, WORDS
from diagnose.store.cases import list_cases
from diagnose.store.journal import Casebook
from tests.walk.test_worked_jobs import inspected

Call = Callable[..., tuple[int, str, str]]


@pytest.fixture
def call(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Call:
    def at(*args: str) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["diagnose", "explain", *args])
        with pytest.raises(SystemExit) as ended:
            run()
        out, err = capsys.readouterr()
        return int(ended.value.code or 0), out, err

    return at


def test_cautions_follow_the_title_and_stand_before_the_rest(call: Call) -> None:
    code, out, _ = call("sealer-omitted")
    assert code == 0
    assert out.startswith("Cut edges never sealed\ncause: sealer-omitted\n\nCAUTION Solvent fumes")
    assert "[fraying-edge]" in out
    assert out.index("CAUTION ") < out.index("[fraying-edge]")
    assert "Sources" in out


def test_without_an_id_it_says_what_can_be_asked(call: Call) -> None:
    code, out, err = call()
    assert (code, err) == (0, "")
    for word in LISTED:
        assert f"- {word}: " in out
    assert "diagnose explain symptoms lists them" in out


@pytest.mark.parametrize("word", LISTED)
def test_every_list_leads_to_pages(call: Call, word: str) -> None:
    code, out, _ = call(word, "--json")
    assert code == 0
    rows = [row for section in json.loads(out)["sections"] for row in section["rows"]]
    assert len(rows) >= 10
    kind = WORDS.get(word.replace("-", "_"), "stage")
    for row in (rows[0], rows[-1]):
        code, page, _ = call(f"{kind}:{row['id']}", "--json")
        assert (code, json.loads(page)["id"]) == (0, row["id"])


def test_causes_are_listed_stage_by_stage(call: Call) -> None:
    _, out, _ = call("causes")
    stages = [
        line.split(" (")[0] for line in out.splitlines() if re.fullmatch(r"[a-z]+ \(\d+\)", line)
    ]
    assert stages == [stage for stage in STAGES if stage in stages]
    assert len(stages) > 8
    assert "- Cut edges never sealed [sealer-omitted]" in out[out.index("sealing (") :]


@pytest.mark.parametrize(
    ("words", "found"),
    [
        (("asbestos",), "[old-black-adhesive-asbestos]"),
        (("cri", "104"), "[cri-104-2015]"),
        (("CRI 104",), "[cri-standard-2011]"),
    ],
)
def test_free_words_find_what_holds_them(call: Call, words: tuple[str, ...], found: str) -> None:
    code, out, err = call(*words)
    assert (code, err) == (0, "")
    assert out.startswith("Holding the words")
    assert found in out


def test_words_that_only_one_item_holds_show_its_page(call: Call) -> None:
    code, out, _ = call("old", "tiles", "asbestos")
    assert code == 0
    assert "caution: old-black-adhesive-asbestos" in out


def test_a_name_in_several_words_needs_no_quotes(call: Call) -> None:
    code, out, _ = call("seam", "peaking")
    assert code == 0
    assert "symptom: seam-peaking" in out


def test_json_holds_the_page(call: Call) -> None:
    code, out, _ = call("seam-peaking", "--json")
    page = json.loads(out)
    assert code == 0
    assert (page["kind"], page["id"]) == ("symptom", "seam-peaking")
    titles = [section["title"] for section in page["sections"]]
    assert {"What gives it", "Make safe at once"} <= set(titles)


def test_an_unknown_id_ends_with_3_and_the_nearest(call: Call) -> None:
    code, out, err = call("seam-peeking")
    assert (code, out) == (3, "")
    assert "nothing in the rules is called 'seam-peeking'" in err
    assert "seam-peaking" in err


def test_an_unknown_id_cannot_steer_the_terminal(call: Call) -> None:
    code, _, err = call("\x1b[2Jx")
    assert code == 3
    assert "\x1b" not in err


@pytest.mark.parametrize("name", ["seam-peaking", "sealer-omitted", "moisture-humidity"])
def test_piped_output_is_plain(name: str, root: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "diagnose", "explain", name],
        cwd=root,
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=True,
    )
    assert "\x1b" not in done.stdout
    assert max(map(len, done.stdout.splitlines())) <= 120


@pytest.mark.parametrize("columns", [60, 120])
@pytest.mark.parametrize("colour", [True, False], ids=["colour", "NO_COLOR"])
def test_a_terminal_of_any_width_is_kept(columns: int, colour: bool, root: Path) -> None:
    pexpect = pytest.importorskip("pexpect")
    import os

    env = {**os.environ, "TERM": "xterm", "COLUMNS": str(columns)}
    env |= {} if colour else {"NO_COLOR": "1"}
    out = pexpect.run(
        f"{sys.executable} -m diagnose explain sealer-omitted",
        cwd=str(root),
        env=env,
        timeout=60,
        dimensions=(40, columns),
    ).decode("utf-8")
    assert ("\x1b[" in out) == colour
    bare = re.sub(r"\x1b\[[0-9;]*m", "", out)
    assert max(len(line.rstrip("\r")) for line in bare.split("\n")) <= columns
    assert "Cut edges never sealed" in bare


CASE_FILE = Path(__file__).parents[2] / "casebook" / "rowan-lounge" / "complaint.yaml"


@pytest.fixture
def numbers(call: Call, demo: Path) -> Callable[..., tuple[int, str, str]]:
    def of(case: str, *more: str) -> tuple[int, str, str]:
        return call("--sensitivity", case, "--casebook", str(demo), *more)

    return of


def test_sensitivity_names_the_numbers_with_what_would_turn_the_finding(
    numbers: Callable[..., tuple[int, str, str]],
) -> None:
    code, out, err = numbers(str(CASE_FILE))
    assert (code, err) == (0, "")
    assert "The numbers it hangs on most: ordinary pull across a taped join" in out
    said = " ".join(out.split())
    assert "1. How common it is: seam lying across the light: 1 in 100. With 5 in 1,000" in said
    assert "would come first." in said
    assert "Even a thousandth of the odds" in said
    assert max(map(len, out.splitlines())) <= 100


def test_sensitivity_as_json_is_what_turning_the_number_does(
    numbers: Callable[..., tuple[int, str, str]],
) -> None:
    code, out, _ = numbers(str(CASE_FILE), "--json")
    assert code == 0
    told = json.loads(out)
    moves = [
        abs(n["at_double_odds"]["probability"] - n["at_half_odds"]["probability"])
        for n in told["numbers"]
    ]
    assert 3 <= len(moves) <= 10
    assert moves == sorted(moves, reverse=True)
    _, inspection = inspected("rowan-lounge")
    network, evidence = inspection.network, inspection.evidence
    for number in told["numbers"]:
        turn = number["another_comes_first"]
        if turn is None:
            continue
        dial, shift = Dial(number["of"], number["about"]), math.log(turn["odds_times"])
        beyond = infer(turned(network, {dial: shift}), evidence).leading.causes
        short = infer(turned(network, {dial: shift * 0.95}), evidence).leading.causes
        assert list(beyond) == turn["causes"] != told["causes"]
        assert list(short) == told["causes"]


def test_case_firm_shows_the_same_numbers(
    numbers: Callable[..., tuple[int, str, str]],
    demo: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    with Casebook.open(demo) as book:
        [line] = list_cases(book)
    _, out, _ = numbers(line.id)
    argv = ["diagnose", "case", "firm", line.id, "--numbers", "--casebook", str(demo)]
    monkeypatch.setattr(sys, "argv", argv)
    with pytest.raises(SystemExit):
        run()
    assert capsys.readouterr().out.endswith(out)


@pytest.mark.parametrize(
    ("args", "said"),
    [
        (["--sensitivity"], "say which case: its id is missing"),
        (["--sensitivity", "nonesuch"], "the casebook has no case nonesuch"),
        (["--sensitivity", "nonesuch.yaml"], "nonesuch.yaml: No such file"),
        (["seam-peaking"], "--casebook goes with --sensitivity"),
    ],
)
def test_sensitivity_of_what_is_not_there(
    call: Call, demo: Path, args: list[str], said: str
) -> None:
    code, out, err = call(*args, "--casebook", str(demo))
    assert code != 0
    assert out == ""
    assert err.startswith("error: ")
    assert said in err
