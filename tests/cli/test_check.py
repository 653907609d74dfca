"""`diagnose check`: dangers first, an honest exit code, readable at any width."""

from __future__ import annotations

import io
import json
import re
import shutil
import sys

import pexpect
import pytest

from diagnose.cli.blocks_screen import show
from diagnose.cli.record_of import job_of
from diagnose.cli.screen import Screen
from diagnose.cli.where import the_rules
from diagnose.forecast.leave_site import leave_site
from diagnose.reports.check_words import bar, check_blocks
from diagnose.store.journal import Casebook

SOUND = """
id: small-hall
title: Small hall
method: adhered
areas:
  hall:
    name: Small hall
"""


def test_dangers_stand_before_what_to_do(diagnose, demo):
    seen = diagnose("check", "larch-house", "--casebook", demo)
    assert seen.code == 1
    assert seen.err == ""
    order = [
        "Before leaving site, larch-house",
        "First, what can hurt someone",
        "CAUTION Raised seam or edge",
        "Look at seam S2 before you go",
        "What deviates",
        "Put right now",
        "Callbacks to expect",
        "Worth recording now",
        "What this rests on",
    ]
    at = [seen.out.index(words) for words in order]
    assert at == sorted(at)
    assert "Invented example" in seen.out


def test_a_deviation_shows_working_limit_and_who_set_it(diagnose, demo):
    out = diagnose("check", "larch-house", "--casebook", demo).out
    part = out[out.index("What deviates") : out.index("Put right now")]
    plain = " ".join(part.split())
    assert "seam S2: surplus width 3 mm; allowed: at most 0 mm" in plain
    assert "3 mm against at most 0 mm: deviates" in plain
    assert "Limit: at most 0 mm, Carpet and Rug Institute" in plain
    assert "(set by a code" in plain
    assert "cri-105" not in plain


def test_the_act_and_what_it_saves(diagnose, demo):
    out = " ".join(diagnose("check", "millbrook-school", "--casebook", demo).out.split())
    assert "Open the seam while the adhesive gives, seal and close it again." in out
    assert re.search(r"Fraying or ravelling edge at seam S1: \d+ in 100 now, \d+ in 100", out)
    assert "some of this may come too late" in out


def test_bars_need_no_colour(diagnose, demo, monkeypatch):
    monkeypatch.setenv("NO_COLOR", "1")
    out = diagnose("check", "larch-house", "--casebook", demo).out
    assert "\x1b" not in out
    assert re.search(r"^\[#{15,20}\.*\] Seam peaking: \d+ \(sound job .+; .+ times\)", out, re.M)


def test_a_bar_is_as_long_as_its_chance():
    assert [bar(chance, 10).count("#") for chance in (0.0, 0.01, 0.25, 0.5, 1.0)] == [
        0,
        1,
        2,
        5,
        10,
    ]
    assert {len(bar(chance / 100)) for chance in range(101)} == {22}


def test_one_place_only(diagnose, demo):
    seen = diagnose("check", "larch-house", "--place", "S1", "--casebook", demo)
    assert "Only seam S1 was looked at." in seen.out
    assert "seam S2:" not in seen.out
    assert seen.code == 1


def test_the_whole_list_is_longer(diagnose, demo):
    short = diagnose("check", "quayside-office", "--casebook", demo).out
    whole = diagnose("check", "quayside-office", "--all", "--casebook", demo).out
    assert len(whole) > 1.5 * len(short)
    assert "entry " in whole
    assert "--all lists them" in short
    assert "--all lists them" not in whole


def test_json_holds_what_the_screen_shows(diagnose, demo):
    seen = diagnose("check", "larch-house", "--json", "--casebook", demo)
    found = json.loads(seen.out)
    assert seen.code == 1
    assert found["format"] == 1
    assert found["clean"] is False
    assert found["deviations"][0]["result"]["outcome"] == "deviates"
    seam = next(place for place in found["places"] if place["place"] == "seam:S2")
    assert "seam-peaking" in [callback["symptom"] for callback in seam["callbacks"][:2]]
    assert found["put_right"][0]["minutes"] > 0
    assert found["record_now"][0]["hurts"] > 0


def test_a_record_without_a_slip_is_clean(diagnose, tmp_path):
    sheet = tmp_path / "small-hall.yaml"
    sheet.write_text(SOUND, encoding="utf-8")
    casebook = tmp_path / "casebook.db"
    assert diagnose("job", "sheet", sheet, "--casebook", casebook).code == 0
    seen = diagnose("check", "small-hall", "--casebook", casebook)
    assert seen.code == 0, seen.err
    assert "Nothing that is recorded deviates." in seen.out
    assert "Worth recording now" in seen.out
    assert "Put right now" not in seen.out


def test_what_is_not_there_is_named(diagnose, demo):
    seen = diagnose("check", "larch-hous", "--casebook", demo)
    assert (seen.code, seen.out) == (3, "")
    assert "larch-house" in seen.err
    seen = diagnose("check", "larch-house", "--place", "seam:S7", "--casebook", demo)
    assert (seen.code, seen.out) == (3, "")
    assert "seam" in seen.err
    seen = diagnose("check", "larch-house", "--casebook", demo.parent / "none.db")
    assert (seen.code, seen.out) == (3, "")


def test_the_help_tells_the_exit_codes(diagnose):
    out = " ".join(diagnose("check", "--help").out.split())
    assert "Exit code: 0 nothing that is recorded deviates, 1 something deviates" in out


@pytest.mark.parametrize("width", [40, 60, 120])
def test_no_line_is_wider_than_the_screen(demo, width):
    with Casebook.open(demo) as book:
        record = job_of(book, "quayside-office")
    rules = the_rules()
    stream = io.StringIO()
    screen = Screen(stream)
    screen.width = width
    show(screen, check_blocks(leave_site(rules, record), rules, whole=True))
    lines = stream.getvalue().splitlines()
    assert max(map(len, lines)) <= width
    assert any(line.startswith("[#") for line in lines)


def test_on_a_terminal_of_sixty_columns(demo):
    if shutil.which("env") is None:
        pytest.skip("no terminal to start")
    child = pexpect.spawn(
        sys.executable,
        ["-m", "diagnose", "check", "larch-house", "--casebook", str(demo)],
        dimensions=(40, 60),
        encoding="utf-8",
        timeout=60,
        env={"PATH": "/usr/bin:/bin", "TERM": "xterm", "NO_COLOR": "1", "LANG": "C.UTF-8"},
    )
    text = child.read()
    child.close()
    assert child.exitstatus == 1
    assert "\x1b" not in text
    assert max(len(line) for line in text.splitlines()) <= 60


def test_a_check_is_written_to_a_file(diagnose, demo, tmp_path):
    page = tmp_path / "check.html"
    seen = diagnose("check", "millbrook-school", "--casebook", demo, "--to", page)
    assert seen.code == 1
    assert "Callbacks to expect" in page.read_text()


def test_on_a_terminal_the_check_tells_how_far_it_has_come(demo, tmp_path):
    command = ["-m", "diagnose", "check", "larch-house", "--casebook", str(demo)]
    talk = pexpect.spawn(sys.executable, command, encoding="utf-8", timeout=60)
    talk.expect(r"Looking at \S+ \(1 of \d+\)")
    talk.expect("Callbacks to expect")
    talk.expect(pexpect.EOF)
