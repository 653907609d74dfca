"""Taking back what should never have been entered: nothing is lost, and it says why."""

import json
import re
import sys

import pexpect
import pytest

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
  S1: {area: hall, drops: [L1, L2], edges_sealed: 1}
"""
VALUE = "seams.S1.edges_sealed"


@pytest.fixture
def book(diagnose, tmp_path):
    """Return a casebook with one job in it."""
    made, sheet = tmp_path / "own.db", tmp_path / "elm.yaml"
    sheet.write_text(SHEET)
    assert diagnose("job", "sheet", sheet, "--who", "AB", "--casebook", made).code == 0
    return made


@pytest.fixture
def withdraw(diagnose, book):
    """Call `job withdraw elm-court` with more arguments."""
    return lambda *more: diagnose("job", "withdraw", "elm-court", *more, "--casebook", book)


def flat(text):
    return " ".join(text.split())


def values(diagnose, book):
    return json.loads(diagnose("job", "show", "elm-court", "--json", "--casebook", book).out)


def test_a_value_taken_back_gives_way_to_the_one_before(diagnose, book, withdraw):
    diagnose("job", "log", "elm-court", f"{VALUE}=2", "--casebook", book)
    seen = withdraw(VALUE, "--reason", "wrong seam", "--who", "CD")
    assert (seen.code, seen.err) == (0, "")
    assert f"{VALUE}: 2 -> 1" in seen.out
    assert "stays readable" in flat(seen.out)
    assert values(diagnose, book)[VALUE] == "1"
    history = flat(diagnose("job", "history", "elm-court", VALUE, "--casebook", book).out)
    assert re.search(r" 2 .*withdrawn \d{4}-\d\d-\d\d by CD: wrong seam", history)
    assert history.count("withdrawn") == 1
    again = withdraw(VALUE, "--reason", "that one too")
    assert f"{VALUE}: 1 -> taken out" in again.out
    assert VALUE not in values(diagnose, book)
    assert values(diagnose, book)["title"] == "Elm Court (invented)"
    none = withdraw(VALUE, "--reason", "more")
    assert (none.code, none.out) == (3, "")
    assert "has no value at seams.S1.edges_sealed to withdraw" in flat(none.err)
    assert diagnose("casebook", "verify", "--casebook", book).code == 0


def test_a_whole_entry_is_taken_back_by_its_name(diagnose, book, withdraw):
    logged = diagnose("job", "log", "elm-court", f"{VALUE}=2", "title=Oak", "--casebook", book)
    name = re.search(r"[0-9a-f]{8}/\d+", logged.out)[0]
    history = diagnose("job", "history", "elm-court", "title", "--casebook", book).out
    assert name in flat(history)
    seen = withdraw("--entry", name, "--reason", "other job")
    assert f"{VALUE}: 2 -> 1" in seen.out
    assert "title: Oak -> Elm Court (invented)" in seen.out
    again = withdraw("--entry", name, "--reason", "other job")
    assert again.code == 5
    assert "was withdrawn already" in flat(again.err)


def test_what_was_replaced_already_changes_nothing_now(diagnose, book, withdraw):
    logged = diagnose("job", "log", "elm-court", f"{VALUE}=2", "--casebook", book)
    name = re.search(r"[0-9a-f]{8}/\d+", logged.out)[0]
    diagnose("job", "log", "elm-court", f"{VALUE}=0", "--casebook", book)
    assert "no present value changes" in flat(withdraw("--entry", name, "--reason", "slip").out)
    assert values(diagnose, book)[VALUE] == "0"


@pytest.mark.parametrize(
    ("given", "code", "told"),
    [
        ((), 1, "say what is to be withdrawn"),
        ((VALUE, "--entry", "a/1"), 1, "say what is to be withdrawn"),
        ((VALUE,), 1, "needs its reason"),
        ((VALUE, "--reason", "  "), 1, "needs its reason"),
        (("--entry", "7", "--reason", "x"), 1, "names no entry"),
        (("--entry", "ffffffff-0/7", "--reason", "x"), 3, "has no entry ffffffff-0/7"),
        (("seams.S1.edges_seald", "--reason", "x"), 3, VALUE),
    ],
)
def test_what_cannot_be_withdrawn_is_said_plainly(diagnose, book, withdraw, given, code, told):
    before = diagnose("casebook", "heads", "--casebook", book).out
    seen = withdraw(*given)
    assert (seen.code, seen.out) == (code, "")
    assert told in flat(seen.err)
    assert diagnose("casebook", "heads", "--casebook", book).out == before


def test_an_entry_of_another_job_is_not_taken_back_here(diagnose, book, withdraw, tmp_path):
    other = tmp_path / "oak.yaml"
    other.write_text(SHEET.replace("elm-court", "oak-court"))
    diagnose("job", "sheet", other, "--casebook", book)
    history = diagnose("job", "history", "oak-court", "title", "--casebook", book).out
    name = re.search(r"[0-9a-f]{8}/\d+", flat(history))[0]
    assert withdraw("--entry", name, "--reason", "x").code == 3


def test_the_reason_is_asked_for_on_a_terminal(book):
    command = ["-m", "diagnose", "job", "withdraw", "elm-court", VALUE, "--casebook", str(book)]
    child = pexpect.spawn(sys.executable, command, encoding="utf-8", timeout=60)
    child.expect("Why is it withdrawn")
    child.sendline("wrong seam")
    child.expect("taken out")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0
