"""The walk without a keyboard: answers given as options or in a file."""

import json
import subprocess
import sys
from datetime import UTC, datetime

import pytest

from diagnose.store.cases import add_step
from diagnose.store.journal import Casebook

WALK = ("walk", "larch-house", "--symptom", "seam-peaking", "--at", "seam:S2", "--no-input")


def case_of(seen):
    return seen.out.rsplit("Kept as case ", 1)[1].split(".")[0]


def test_a_finding_as_json_holds_reasons_with_their_entries(diagnose, demo):
    seen = diagnose(*WALK, "--casebook", demo, "--json", "--answer", "when-first-seen=on-the-day")
    finding = json.loads(seen.out)
    assert finding["explanations"][0]["causes"] == ["edges-cut-over-full"]
    record = [reason for reason in finding["reasons"] if reason["kind"] == "record"]
    assert record[0]["inputs"][0]["entry"]["hash"]
    assert record[0]["working"]
    assert finding["edition"]
    assert finding["casebook_head"]


def test_what_is_stored_is_what_was_shown(diagnose, demo):
    shown = diagnose(*WALK, "--casebook", demo, "--markdown")
    case = case_of(diagnose(*WALK, "--casebook", demo))
    again = diagnose("case", "show", case, "--markdown", "--casebook", demo)
    strip = [line for line in shown.out.splitlines() if not line.startswith("Made ")]
    assert strip == [line for line in again.out.splitlines() if not line.startswith("Made ")]


def test_answers_from_a_file_and_from_options_come_to_the_same(diagnose, demo, tmp_path):
    file = tmp_path / "answers.yaml"
    file.write_text("when-first-seen: on-the-day\nwhat-was-tried: [nothing-tried]\n")
    one = diagnose(*WALK, "--casebook", demo, "--json", "--answers", file)
    two = diagnose(
        *WALK,
        "--casebook",
        demo,
        "--json",
        "-a",
        "what-was-tried=nothing-tried",
        "-a",
        "when-first-seen=on-the-day",
    )
    first, second = json.loads(one.out), json.loads(two.out)
    assert first["explanations"] == second["explanations"]


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("walk", "larch-hous", "-s", "seam-peaking", "--at", "job"), "larch-house"),
        (("walk", "larch-house", "-s", "seam-peking", "--at", "job"), "seam-peaking"),
        (("walk", "larch-house", "-s", "seam-peaking", "--at", "seam:S9"), "seam:S"),
        ((*WALK, "-a", "when-first-sen=on-the-day"), "when-first-seen"),
        ((*WALK, "-a", "when-first-seen=yesterday"), "on-the-day"),
        ((*WALK, "-a", "when-first-seen"), "question=answer"),
        ((*WALK, "--on", "12/4"), "write the year first"),
        ((*WALK, "--on", "2020-01-01"), "lies before the work on larch-house began"),
        ((*WALK, "--pile", "loop"), "record of the job says"),
        (("walk", "larch-house"), "--symptom seam-peaking"),
        (("walk", "--resume", "case-nothing"), "has no case"),
        (("walk", "-s", "seam-peaking", "--at", "roof"), "no kind of place"),
        (("walk", "-s", "seam-peaking", "--at", "seam", "--pile", "lop"), "cut-and-loop"),
        (("walk", "-s", "shading", "--at", "area", "--pile", "loop"), "other floors only"),
    ],
)
def test_a_slip_gets_one_plain_message_and_changes_nothing(diagnose, demo, arguments, words):
    before = demo.stat().st_size
    seen = diagnose(*arguments, "--casebook", demo)
    assert seen.code in (1, 3)
    assert words in seen.err
    assert "Traceback" not in seen.err
    assert seen.out == ""
    assert diagnose("case", "list", "--json", "--casebook", demo).out.count('"id"') == 1
    assert demo.stat().st_size >= before


def test_a_floor_without_a_record_is_walked_and_silence_says_nothing(diagnose, tmp_path):
    seen = diagnose(
        "walk",
        "-s",
        "fraying-edge",
        "--at",
        "seam",
        "--method",
        "adhered",
        "--pile",
        "loop",
        "--casebook",
        tmp_path / "own.db",
        "--json",
        "-a",
        "sealer-on-the-cut-edges=none",
        "-a",
        "pull-tufts-in-the-field=hold-well",
    )
    finding = json.loads(seen.out)
    assert finding["explanations"][0]["causes"] == ["sealer-omitted"]
    assert finding["gaps"] == []
    assert not [reason for reason in finding["reasons"] if reason["kind"] in ("record", "gap")]


def test_a_case_is_taken_up_where_it_was_left(diagnose, demo):
    case = case_of(diagnose(*WALK, "--casebook", demo, "-a", "when-first-seen=on-the-day"))
    seen = diagnose(
        "walk",
        "--resume",
        case,
        "--no-input",
        "--json",
        "--casebook",
        demo,
        "-a",
        "height-on-one-side-or-both=sharp-and-narrow",
    )
    asked = [answer["question"] for answer in json.loads(seen.out)["answers"]]
    assert asked == ["when-first-seen", "height-on-one-side-or-both"]


def test_a_case_is_closed_with_what_was_established(diagnose, demo):
    case = case_of(diagnose(*WALK, "--casebook", demo))
    wrong = diagnose(
        "case", "close", case, "--cause", "edges-too-full", "--how", "opened", "--casebook", demo
    )
    assert wrong.code == 3
    assert "edges-cut" in wrong.err
    done = diagnose(
        "case",
        "close",
        case,
        "--cause",
        "edges-cut-over-full",
        "--how",
        "opened and trimmed",
        "--casebook",
        demo,
    )
    assert done.code == 0
    shown = diagnose("case", "show", case, "--casebook", demo)
    assert "established edges-cut-over-full" in shown.out
    assert diagnose("walk", "--resume", case, "--casebook", demo).code == 3


def test_the_same_answers_with_the_same_rules_come_to_the_same(diagnose, demo):
    case = case_of(diagnose(*WALK, "--casebook", demo, "-a", "when-first-seen=on-the-day"))
    again = json.loads(diagnose("case", "again", case, "--json", "--casebook", demo).out)
    assert again["same_rules"]
    assert all(line["then"] == line["now"] for line in again["explanations"])
    shown = diagnose("case", "again", case, "--casebook", demo)
    assert "rules are those of that day" in shown.out


def test_one_walk_takes_several_places(diagnose, demo):
    seen = diagnose(
        "walk",
        "larch-house",
        "-s",
        "seam-peaking",
        "--at",
        "seam:S1",
        "--at",
        "seam:S2",
        "--no-input",
        "--json",
        "--casebook",
        demo,
    )
    finding = json.loads(seen.out)
    assert finding["place"] == "seam:S1,seam:S2"
    assert finding["explanations"][0]["causes"] == ["edges-cut-over-full"]
    resumed = diagnose("case", "show", finding["case"], "--casebook", demo)
    assert "seam S1 and seam S2" in resumed.out


def test_a_further_symptom_and_one_looked_for_count(diagnose, demo):
    first = diagnose(*WALK, "--casebook", demo, "--json", "--seen", "over-full-seam")
    kinds = {reason["kind"] for reason in json.loads(first.out)["reasons"]}
    assert "noticed" in kinds
    case = json.loads(first.out)["case"]
    back = diagnose(
        "walk",
        "--resume",
        case,
        "--no-input",
        "--json",
        "--casebook",
        demo,
        "--take-back",
        "over-full-seam",
        "--absent",
        "open-seam",
    )
    asked = [answer["question"] for answer in json.loads(back.out)["answers"]]
    assert asked == ["open-seam"]
    wrong = diagnose("walk", "--resume", case, "--take-back", "ridges", "--casebook", demo)
    assert "was not answered" in wrong.err


def test_steps_that_newer_rules_do_not_know_do_not_stop_a_case(diagnose, demo):
    case = case_of(diagnose(*WALK, "--casebook", demo))
    with Casebook.open(demo) as book:
        old = {"step": "answered", "subject": "asked-long-ago", "answers": ["yes"]}
        add_step(book, case, old, at=datetime.now(UTC))
    seen = diagnose("walk", "--resume", case, "--no-input", "--json", "--casebook", demo)
    assert json.loads(seen.out)["answers"] == []


def test_what_is_seen_and_does_not_fit_unsettles_the_finding(diagnose, demo):
    seen = diagnose(
        *WALK, "--casebook", demo, "--json", "-a", "height-on-one-side-or-both=no-height"
    )
    finding = json.loads(seen.out)
    assert finding["misfits"][0]["question"] == "height-on-one-side-or-both"
    assert not finding["settled"]
    assert finding["work"] == []
    shown = diagnose("case", "show", finding["case"], "--casebook", demo)
    assert "does not fit" in shown.out


def test_an_answer_that_the_record_gave_replaces_its_checks(diagnose, demo):
    seen = diagnose(*WALK, "--casebook", demo, "--json", "-a", "rolling-on-record=rolled-once")
    subjects = {reason["subject"] for reason in json.loads(seen.out)["reasons"]}
    assert not subjects & {"rolled-both-ways", "rolled-again", "edges-rolled-by-hand"}


@pytest.mark.parametrize("at", ["seam:S2,", ":", ","])
def test_a_place_without_letters_is_refused(diagnose, demo, at):
    seen = diagnose(
        "walk", "larch-house", "-s", "seam-peaking", "--at", at, "--no-input", "--casebook", demo
    )
    assert seen.code in (1, 3)
    assert seen.out == ""


def test_the_same_symptom_and_place_twice_count_once(diagnose, demo):
    once = json.loads(diagnose(*WALK, "--casebook", demo, "--json").out)
    twice = json.loads(
        diagnose(*WALK, "-s", "seam-peaking", "--at", "seam:S2", "--casebook", demo, "--json").out
    )
    assert once["explanations"] == twice["explanations"]
    assert twice["place"] == "seam:S2"


def test_an_open_case_at_the_place_is_named_and_the_list_tells_what_was_found(diagnose, demo):
    first = case_of(diagnose(*WALK, "--casebook", demo))
    second = diagnose(*WALK, "--casebook", demo, "--json")
    assert f"Case {first} is open for the same place" in second.err.replace("\n", " ")
    listed = diagnose("case", "list", "--casebook", demo).out
    assert "Edges cut" in listed
    wrong = diagnose("case", "list", "--job", "larch-hous", "--casebook", demo)
    assert wrong.code == 3
    assert "larch-house" in wrong.err
    diagnose("case", "close", first, "--how", "nothing found", "--casebook", demo)
    shown = diagnose("case", "show", first, "--casebook", demo)
    assert "without an established cause (nothing found)" in shown.out


def test_a_long_explanation_does_not_squeeze_the_other_columns(diagnose, demo):
    seen = diagnose(
        "walk",
        "beacon-clinic",
        "-s",
        "fraying-edge",
        "--at",
        "seam:S1",
        "--no-input",
        "-a",
        "sealer-on-the-cut-edges=none",
        "--casebook",
        demo,
    )
    (heading,) = [line for line in seen.out.splitlines() if line.startswith("explanation ")]
    assert "how likely" in heading
    assert "in a word" in heading


def test_answers_from_a_pipe_are_not_dropped_unsaid(demo):
    arguments = [argument for argument in WALK if argument != "--no-input"]
    command = [sys.executable, "-m", "diagnose", *arguments, "--casebook", str(demo)]
    seen = subprocess.run(command, input="1\n2\n", capture_output=True, text=True, check=True)
    assert "--answer question=answer" in seen.stderr
    nothing = subprocess.run(command, input="", capture_output=True, text=True, check=True)
    assert "standard input" not in nothing.stderr


def test_nothing_was_tried_cannot_go_with_what_was_tried(diagnose, demo):
    both = "what-was-tried=nothing-tried,cleaned-came-back"
    seen = diagnose(*WALK, "--casebook", demo, "--answer", both)
    assert seen.code == 3
    assert '"Nothing was tried" cannot go with another answer' in seen.err


def test_causes_that_are_sure_by_themselves_are_said_to_be(diagnose, demo):
    walk = ("walk", "millbrook-school", "-s", "fraying-edge", "-s", "edge-lift-at-seam")
    walk += ("--at", "seam:S1", "--no-input", "--json", "--casebook", demo)
    both = ("-a", "sealer-on-the-cut-edges=none", "-a", "ridges=standing-shiny")
    sure, open_ = (json.loads(diagnose(*walk, *given).out) for given in (both, ()))
    assert (sure["settled"], sure["named_sure"]) == (False, True)
    assert all(cause["probability"] >= 0.9 for cause in sure["causes"])
    assert not open_["named_sure"]
    assert any(cause["probability"] < 0.9 for cause in open_["causes"])
