"""A walk in a real terminal: typed, taken back, interrupted, taken up again."""

import os
import re
import sys

import pexpect
import pytest

from diagnose.store.cases import list_cases, show_case
from diagnose.store.journal import Casebook
from diagnose.walk.steps import standing, step_of


def start(demo, tmp_path, *arguments, columns=100, **variables):
    environment = {
        **os.environ,
        "TERM": "xterm-256color",
        "XDG_DATA_HOME": str(tmp_path / "data"),
        "COLUMNS": str(columns),
        **variables,
    }
    command = ["-m", "diagnose", *arguments, "--casebook", str(demo)]
    return pexpect.spawn(
        sys.executable,
        command,
        env=environment,
        encoding="utf-8",
        timeout=60,
        dimensions=(40, columns),
    )


WALK = ("walk", "rowan-lounge", "-s", "seam-peaking", "--at", "seam:S1")


def start_asking(demo, tmp_path, *arguments, **more):
    """Start a walk and say that what is complained of is there."""
    talk = start(demo, tmp_path, *arguments, **more)
    talk.expect("First look: is it there")
    talk.expect("> ")
    talk.sendline("1")
    talk.expect("So far")
    return talk


def answered(held):
    return [step for step in held if str(step.kind) in ("answered", "cannot-tell")]


def newest(demo):
    with Casebook.open(demo) as book:
        case = show_case(book, list_cases(book)[-1].id)
    return case, standing(step for e in case.steps if (step := step_of(e.body)))


def plain(text):
    return re.sub(r"\x1b\[[0-9;]*m", "", text)


def test_typed_to_a_finding(demo, tmp_path):
    talk = start_asking(demo, tmp_path, *WALK)
    talk.expect("Why it is asked")
    talk.expect("> ")
    talk.sendline("why")
    talk.expect("With the answer:")
    talk.sendline("99")
    talk.expect("is no answer here")
    talk.sendline("c")
    talk.expect("So far")
    talk.expect("> ")
    talk.sendline("stop")
    talk.expect("What it most likely is")
    talk.expect("Kept as case")
    talk.expect(pexpect.EOF)
    talk.close()
    assert talk.exitstatus == 0
    case, held = newest(demo)
    assert [str(step.kind) for step in answered(held)] == ["cannot-tell"]
    assert len(case.findings) == 1


def test_back_takes_the_last_answer_back(demo, tmp_path):
    talk = start_asking(demo, tmp_path, *WALK)
    talk.expect("> ")
    talk.sendline("0")
    talk.expect("So far")
    talk.expect("> ")
    talk.sendline("back")
    talk.expect("Taken back")
    talk.expect("> ")
    talk.sendline("pause")
    talk.expect("Paused")
    talk.expect(pexpect.EOF)
    case, held = newest(demo)
    assert answered(held) == []
    assert len(case.steps) == 3


@pytest.mark.parametrize("leave", ["interrupt", "end of input", "killed"])
def test_leaving_in_the_middle_loses_nothing(demo, tmp_path, leave):
    talk = start_asking(demo, tmp_path, *WALK)
    talk.expect("> ")
    talk.sendline("1")
    talk.expect("So far")
    talk.expect("> ")
    if leave == "killed":
        talk.kill(9)
        talk.close()
    else:
        talk.sendintr() if leave == "interrupt" else talk.sendeof()
        talk.expect("Paused. Every answer is kept")
        talk.expect(pexpect.EOF)
        talk.close()
        assert talk.exitstatus == 0
    case, held = newest(demo)
    assert len(answered(held)) == 1
    with Casebook.open(demo) as book:
        assert book.verify().sound
    again = start(demo, tmp_path, "walk", "--resume", case.id)
    again.expect("Why it is asked")
    again.expect("> ")
    again.sendline("stop")
    again.expect(re.escape(held[-1].subject.split("-")[0]) + "|What was asked")
    again.expect("Kept as case")
    again.expect(pexpect.EOF)


def test_the_caution_and_consent_come_before_the_act(demo, tmp_path):
    talk = start_asking(demo, tmp_path, *WALK)
    talk.expect("> ")
    talk.sendline("ask sealer-on-the-cut-edges")
    talk.expect("To do first")
    talk.expect("CAUTION")
    talk.expect("Has the owner agreed")
    talk.sendline("why")
    talk.expect("yes or no")
    talk.sendline("no")
    talk.expect("left alone")
    talk.expect("> ")
    talk.sendline("pause")
    talk.expect(pexpect.EOF)
    assert answered(newest(demo)[1]) == []


@pytest.mark.parametrize("columns", [60, 120])
def test_no_line_is_wider_than_the_screen(demo, tmp_path, columns):
    talk = start_asking(demo, tmp_path, *WALK, columns=columns)
    talk.expect("> ")
    talk.sendline("list")
    talk.expect("> ")
    talk.sendline("stop")
    seen = talk.before
    talk.expect(pexpect.EOF)
    lines = plain(seen + talk.before).replace("\r", "").split("\n")
    assert max(map(len, lines)) <= columns


def test_no_colour_when_asked_for_none(demo, tmp_path):
    talk = start_asking(demo, tmp_path, *WALK, NO_COLOR="1")
    talk.expect("> ")
    seen = talk.before
    talk.sendline("stop")
    talk.expect(pexpect.EOF)
    assert "\x1b[" not in seen + talk.before
    assert "CAUTION" in talk.before


def test_where_the_record_settles_it_the_floor_is_looked_at_all_the_same(demo, tmp_path):
    talk = start_asking(
        demo, tmp_path, "walk", "larch-house", "-s", "seam-peaking", "--at", "seam:S2"
    )
    talk.expect("The record alone says so")
    talk.expect("> ")
    talk.sendline("c")
    talk.expect("Kept as case")
    talk.expect(pexpect.EOF)
    assert len(answered(newest(demo)[1])) == 1


def test_a_complaint_that_is_not_there_is_said_to_be_so(demo, tmp_path):
    talk = start(demo, tmp_path, *WALK)
    talk.expect("First look: is it there")
    talk.expect("> ")
    talk.sendline("nonsense")
    talk.expect("1, 2 or c")
    talk.sendline("2")
    talk.expect("So far")
    talk.expect("> |What it most likely is")
    if talk.after == "> ":
        talk.sendline("stop")
    talk.expect("but not there when looked for")
    talk.expect(pexpect.EOF)


def test_a_note_is_kept_even_without_an_answer(demo, tmp_path):
    talk = start_asking(demo, tmp_path, *WALK)
    talk.expect("> ")
    talk.sendline("note a dog lives here")
    talk.expect("Kept with the next answer")
    talk.expect("> ")
    talk.sendline("stop")
    talk.expect("a dog lives here")
    talk.expect(pexpect.EOF)


def test_a_note_at_the_first_look_goes_with_the_answer(demo, tmp_path):
    talk = start(demo, tmp_path, *WALK)
    talk.expect("First look: is it there")
    talk.expect("> ")
    talk.sendline("note told by the caretaker")
    talk.expect("Kept with the next answer")
    talk.sendline("yes")
    talk.expect("So far")
    talk.expect("> ")
    talk.sendline("pause")
    talk.expect(pexpect.EOF)
    (step,) = newest(demo)[1]
    assert (str(step.kind), step.note) == ("seen-as-told", "told by the caretaker")


def at_consent(demo, tmp_path):
    """Start a walk and go as far as the owner's consent to open the join."""
    talk = start_asking(demo, tmp_path, *WALK)
    talk.expect("> ")
    talk.sendline("ask sealer-on-the-cut-edges")
    talk.expect("For the question: Open a short length")
    talk.expect("Has the owner agreed")
    return talk


def test_at_the_consent_the_walk_can_be_stopped(demo, tmp_path):
    talk = at_consent(demo, tmp_path)
    talk.sendline("stop")
    talk.expect("Kept as case")
    talk.expect(pexpect.EOF)
    assert answered(newest(demo)[1]) == []


def test_consent_given_after_a_refusal_holds(demo, tmp_path):
    talk = at_consent(demo, tmp_path)
    talk.sendline("why")
    talk.expect("With the answer:")
    talk.sendline("no")
    talk.expect("left alone")
    talk.expect("> ")
    talk.sendline("ask sealer-on-the-cut-edges")
    talk.expect("As told above. ")
    talk.expect("Has the owner agreed")
    talk.sendline("yes")
    talk.expect(r"1\. Open a short length")
    talk.expect("> ")
    talk.sendline("4")
    talk.expect("So far")
    talk.expect("> ")
    talk.sendline("pause")
    talk.expect(pexpect.EOF)
    assert [step.subject for step in answered(newest(demo)[1])] == ["sealer-on-the-cut-edges"]


def test_a_pause_names_the_limits_to_give_again(demo, tmp_path):
    talk = start_asking(demo, tmp_path, *WALK, "--minutes", "20", "--no-damage")
    talk.expect("> ")
    talk.sendline("absent nonesuch")
    talk.expect("no symptom on this floor is called nonesuch")
    talk.expect("> ")
    talk.sendline("pause")
    talk.expect(r"--resume case-\w+\s+--minutes\s+20\s+--no-damage")
    talk.expect(pexpect.EOF)
