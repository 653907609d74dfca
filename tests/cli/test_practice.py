"""The command `practice`: drawn, played, marked and kept, by script and by keyboard."""

from __future__ import annotations

import csv
import json
import os
import re
import sys
from dataclasses import asdict, fields

import pexpect
import pytest

from diagnose.cli.practice_files import read_open_round, read_progress

PLAY = ("practice", "play", "--seed", "11")
ESCAPE = "\x1b"


@pytest.fixture(autouse=True)
def _own_progress(monkeypatch, tmp_path):
    monkeypatch.setenv("DIAGNOSE_PRACTICE", str(tmp_path / "practice.db"))
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    monkeypatch.setenv("DIAGNOSE_PUPIL", "wren")


@pytest.fixture
def key(diagnose):
    """The key of the case that is played."""
    drawn = diagnose("practice", "draw", "--seed", 11, "--key", "--json")
    return json.loads(drawn.out)["cases"][0]


def kept(tmp_path, pupil="wren"):
    """What is kept of a learner, a round that is open among it."""
    book = tmp_path / "practice.db"
    progress = read_progress(book, pupil)
    rows = {name: [asdict(line) for line in lines] for name, lines in parts(progress).items()}
    open_round = read_open_round(book, pupil)
    return {**rows, "open": json.loads(open_round) if open_round else None}


def parts(progress):
    return {part.name: getattr(progress, part.name) for part in fields(progress)}


def test_the_same_seed_draws_the_same_case_and_hides_the_key(diagnose):
    first, second = (diagnose("practice", "draw", "--seed", 11) for _ in range(2))
    assert first == second
    assert first.code == 0
    assert "Invented for practice" in first.out
    shown = json.loads(diagnose("practice", "draw", "--seed", 11, "--json").out)["cases"][0]
    assert not {"causes", "answers", "taken_for"} & set(shown)


def test_the_key_tells_what_was_wrong(diagnose, key):
    text = diagnose("practice", "draw", "--seed", 11, "--key").out
    assert ": key" in text
    assert len(key["causes"]) == 1
    assert len(key["answers"]) > 50


def test_a_scripted_round_is_marked_and_kept(diagnose, key, tmp_path):
    question = next(iter(key["answers"]))
    seen = diagnose(*PLAY, "--ask", question, "--cause", key["causes"][0], "--sure", 80, "--json")
    assert seen.code == 0, seen.err
    data = json.loads(seen.out)
    assert data["mark"]["right"] is True
    assert data["mark"]["brier"] == pytest.approx(0.04)
    assert data["asked"][0]["answers"] == key["answers"][question]
    assert kept(tmp_path)["cases"][0]["pupil"] == "wren"
    assert kept(tmp_path)["reviews"][0]["subject"] == f"cause:{key['causes'][0]}"
    again = json.loads(diagnose("practice", "mark", "--json").out)
    assert again == data


def test_skipping_a_caution_costs_marks(diagnose, key, tmp_path):
    from diagnose.cli.where import the_rules

    rules = the_rules()
    risky = next(name for name in key["answers"] if rules.acts[rules.questions[name].act].cautions)
    (tmp_path / "moves").write_text(
        f"# a careless one\nask {risky} without-caution\ncause {key['causes'][0]}\nsure 60\n"
    )
    careless = json.loads(diagnose(*PLAY, "--answers", tmp_path / "moves", "--json").out)
    careful = json.loads(
        diagnose(*PLAY, "--ask", risky, "--cause", key["causes"][0], "--sure", 60, "--json").out
    )
    assert careless["mark"]["points"] < careful["mark"]["points"]
    assert any(r["topic"] == "caution" for r in careless["mark"]["feedback"])
    assert not any(r["topic"] == "caution" for r in careful["mark"]["feedback"])


def test_no_input_shows_the_round_and_the_next_call_goes_on(diagnose, key):
    question = next(iter(key["answers"]))
    first = diagnose(*PLAY, "--no-input", "--ask", question)
    assert first.code == 0
    assert "What the record says" in first.out
    then = diagnose("practice", "play", "--no-input", "--json")
    assert "going on with one-cause-11" in then.err
    assert [row["question"] for row in json.loads(then.out)["asked"]] == [question]


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        (("play", "--seed", "11"), 2, "--cause"),
        (("play", "--seed", "11", "--cause", "sealer-omitted"), 1, "--sure"),
        (("play", "--seed", "11", "--cause", "sealer-omited", "--sure", "50"), 3, "sealer-omitted"),
        (("play", "--seed", "11", "--ask", "how-it-chnges", "--no-input"), 3, "how-it-changes"),
        (("play", "--difficulty", "hard"), 1, "look-alike"),
        (("play", "--stage", "sealng"), 3, "sealing"),
        (("mark",), 3, "no finished round"),
        (("quiz", "--kind", "poem"), 1, "which-cause"),
        (("quiz", "--due"), 3, "nothing is due"),
        (("sheet", "poem"), 1, "cases-key"),
        (("sheet", "--format", "pdf"), 1, "markdown"),
        (("progress", "--forget", "nobody"), 3, "no learner"),
        (("progress", "--merge", "/no/such/file"), 3, "no file"),
    ],
)
def test_a_slip_is_answered_in_words(diagnose, arguments, code, words):
    seen = diagnose("practice", *arguments)
    assert (seen.code, words in seen.err) == (code, True), seen.err
    assert "Traceback" not in seen.err


def test_every_bad_line_of_a_script_is_named(diagnose, tmp_path):
    (tmp_path / "moves").write_text("ask a\njump\nsure 900\n")
    seen = diagnose(*PLAY, "--answers", tmp_path / "moves")
    assert seen.code == 1
    assert re.search(r"moves, line 2: 'jump'", seen.err)
    assert "moves, line 3: 'sure 900'" in seen.err


def test_a_quiz_by_script_is_marked_and_spaced(diagnose, tmp_path):
    drawn = json.loads(diagnose("practice", "quiz", "--seed", 3, "-n", 3, "--json").out)
    assert all("key" not in row for row in drawn["questions"])
    given = []
    for row in drawn["questions"]:
        whole = row["kind"] == "steps-in-order"
        numbers = range(1, len(row["options"]) + 1) if whole else [1]
        given += ["--answer", " ".join(map(str, numbers)) + " sure 2"]
    marked = json.loads(diagnose("practice", "quiz", "--seed", 3, "-n", 3, "--json", *given).out)
    right = sum(row["right"] for row in marked["questions"])
    assert marked["marks"] == 2 * right - 2 * (3 - right)
    for row in marked["questions"]:
        assert row["right"] is (row["answer"] == row["key"])
    reviews = kept(tmp_path)["reviews"]
    assert {r["subject"] for r in reviews} == {row["subject"] for row in marked["questions"]}
    due = json.loads(diagnose("practice", "progress", "--json").out)["due"]
    assert len(due) == len({r["subject"] for r in reviews})


def test_a_missed_cause_is_weak_and_comes_up_more_often(diagnose, key, tmp_path):
    from diagnose.cli.practice import weak_of

    other = next(c for c in ("strip-missed", "sealer-omitted") if c not in key["causes"])
    assert diagnose(*PLAY, "--cause", other, "--sure", 70, "--json").code == 0
    assert weak_of(tmp_path / "practice.db", "wren")[0] == key["causes"][0]
    assert weak_of(tmp_path / "practice.db", "robin") == ()
    fresh = json.loads(diagnose("practice", "play", "--no-input", "--json").out)
    assert fresh["case"]["order"]["weak"] == key["causes"]


def test_sheet_and_key_go_to_separate_files(diagnose, tmp_path):
    for what, suffix in (("questions", "md"), ("key", "md"), ("questions", "txt")):
        form = "text" if suffix == "txt" else "markdown"
        out = tmp_path / f"{what}.{suffix}"
        assert (
            diagnose(
                "practice", "sheet", what, "--seed", 4, "-n", 5, "--format", form, "-o", out
            ).code
            == 0
        )
    questions, answers = (tmp_path / f"{n}.md" for n in ("questions", "key"))
    assert "Sources:" in answers.read_text("utf-8")
    assert "Sources:" not in questions.read_text("utf-8")
    assert questions.read_text("utf-8").count("\n## Question") == 5


def test_the_class_sheet_comes_out_as_csv(diagnose, key, tmp_path):
    diagnose(*PLAY, "--cause", key["causes"][0], "--sure", 70, "--json")
    out = tmp_path / "class.csv"
    assert diagnose("practice", "sheet", "class", "--format", "csv", "-o", out).code == 0
    rows = list(csv.reader(out.read_text("utf-8-sig").splitlines()))
    assert rows[1][:3] == ["wren", "1", "1"]


def test_piped_output_is_plain(diagnose, key):
    seen = diagnose(*PLAY, "--cause", key["causes"][0], "--sure", 70)
    assert ESCAPE not in seen.out
    assert "points of 100" in seen.out
    assert max(map(len, seen.out.splitlines())) <= 100


def test_the_drill_by_script(diagnose):
    first = json.loads(diagnose("practice", "drill", "--seed", 2, "--json").out)
    assert {row["outcome"] for row in first["lines"]} == {""}
    wrong = first["left_wrong"]
    assert wrong
    moves = [word for name in wrong for word in ("--look", name, "--mend", name)]
    after = json.loads(diagnose("practice", "drill", "--seed", 2, "--json", *moves).out)
    assert (after["left_wrong"], after["put_right"]) == ([], wrong)
    assert after["points"] > first["points"] + 50
    told = diagnose("practice", "drill", "--seed", 2, "--no-input")
    assert "What is likely to come back" in told.out
    by_number = [str(1 + [row["check"] for row in first["lines"]].index(name)) for name in wrong]
    numbered = [word for each in by_number for word in ("--look", each, "--mend", each)]
    assert json.loads(diagnose("practice", "drill", "--seed", 2, "--json", *numbered).out) == after
    refused = diagnose("practice", "drill", "--seed", 2, "--mend", wrong[0])
    assert (refused.code, "first" in refused.err) == (1, True)


def test_the_drill_at_the_keyboard(tmp_path):
    child = start(tmp_path, "drill", "--seed", "2", columns=60)
    child.expect("> ")
    assert "The van leaves in" in plain(child.before)
    assert "first" in typed(child, "mend 1")
    assert " - " in typed(child, "1")
    assert "no line 99" in typed(child, "99")
    assert "NUMBER  " in typed(child, "help")
    child.sendline("go")
    child.expect(pexpect.EOF)
    assert "points of 100" in plain(child.before)
    child.close()
    assert child.exitstatus == 0


def start(tmp_path, *arguments, columns=100, **variables):
    environment = {
        **os.environ,
        "TERM": "xterm-256color",
        "XDG_DATA_HOME": str(tmp_path / "data"),
        "COLUMNS": str(columns),
        "DIAGNOSE_PUPIL": "wren",
        **variables,
    }
    return pexpect.spawn(
        sys.executable,
        ["-m", "diagnose", "practice", *arguments],
        env=environment,
        encoding="utf-8",
        timeout=120,
        dimensions=(40, columns),
    )


def plain(text):
    return re.sub(r"\x1b\[[0-9;]*m", "", text)


def typed(child, line, prompt="> "):
    child.sendline(line)
    child.expect(prompt)
    return plain(child.before)


@pytest.mark.parametrize("columns", [60, 120])
def test_a_round_is_played_at_the_keyboard(tmp_path, columns):
    child = start(tmp_path, "play", "--seed", "11", columns=columns)
    child.expect("> ")
    shown = plain(child.before)
    assert "Case one-cause-11" in shown
    assert "1 " in typed(child, "list")
    assert re.search(r"\d+ min", typed(child, "list 1"))
    assert "No open question" in typed(child, "find zzz")
    assert "has been shown" in typed(child, "9999")
    text = typed(child, "find since")
    number = re.search(r"^\s*(\d+) ", text, re.M)
    assert number
    said = typed(child, number[1])
    assert "min left" in said
    assert "Since then" in typed(child, "said")
    assert "not recorded" in typed(child, "checks")
    assert "Mass of the roller" in typed(child, "checks roller")
    assert "Mass of the roller" in typed(child, "checks bonding")
    assert "No check of this record" in typed(child, "checks zzz")
    assert "No question is called zzz" in typed(child, "zzz")
    assert "harm done 0 of 72" in said
    assert "which" in typed(child, "stop", "which > ") + "which"
    assert "No cause of the list" in typed(child, "zzz", "which > ")
    assert "may mean" in typed(child, "e", "which > ")
    assert "no number 99" in typed(child, "99", "which > ")
    typed(child, "1", "in a hundred > ")
    assert "0 to 100" in typed(child, "101", "in a hundred > ")
    typed(child, "55 %", "number > ")
    child.sendline("1")
    child.expect(pexpect.EOF)
    marked = plain(child.before)
    assert "points of 100" in marked
    assert "The cause" in marked
    assert all(len(line.rstrip("\r")) <= columns for line in (shown + marked).split("\n"))
    child.close()
    assert child.exitstatus == 0
    assert kept(tmp_path)["cases"][0]["percent"] == 55


@pytest.mark.parametrize("leave", ["sendeof", "sendintr"])
def test_leaving_in_the_middle_loses_nothing(tmp_path, leave):
    child = start(tmp_path, "play", "--seed", "11")
    child.expect("> ")
    typed(child, "ask how-it-changes")
    getattr(child, leave)()
    child.expect("Kept")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0
    again = start(tmp_path, "play")
    again.expect("> ")
    shown = plain(again.before)
    assert "going on with one-cause-11" in shown
    assert "What you have been told" in shown
    assert "Since then" in shown
    again.sendeof()
    again.expect(pexpect.EOF)
    again.close()


def test_a_caution_is_read_skipped_or_the_floor_left_alone(tmp_path):
    from diagnose.cli.where import the_rules

    rules = the_rules()
    child = start(tmp_path, "play", "--seed", "11")
    child.expect("> ")
    text = "".join(typed(child, f"list {n}") for n in range(1, 12))
    risky = []
    for question in rules.questions.values():
        offered = question.ask[:28] in " ".join(text.split())
        if offered and rules.acts[question.act].cautions:
            risky.append(question)
    assert risky
    choice = r"\(n\) > "
    before = typed(child, f"ask {risky[0].id}", choice)
    names = [rules.cautions[c].name for c in rules.acts[risky[0].act].cautions]
    assert names[0].lower() in " ".join(before.split())
    assert "Left alone" in typed(child, "n")
    typed(child, f"ask {risky[0].id}", choice)
    shown = typed(child, "r")
    assert "CAUTION" in shown
    assert " ".join(rules.cautions[rules.acts[risky[0].act].cautions[0]].text.split())[:40] in (
        " ".join(shown.split())
    )
    child.sendeof()
    child.expect(pexpect.EOF)
    child.close()
    assert kept(tmp_path)["open"]["moves"] == [[risky[0].id, True]]


def test_no_color_leaves_no_escape(tmp_path):
    child = start(tmp_path, "play", "--seed", "11", NO_COLOR="1")
    child.expect("> ")
    assert ESCAPE not in child.before
    child.sendeof()
    child.expect(pexpect.EOF)
    child.close()


def test_a_quiz_at_the_keyboard_keeps_every_answer(tmp_path):
    child = start(tmp_path, "quiz", "--seed", "3", "-n", "3", "--kind", "which-caution")
    child.expect("number > ")
    assert "one number from 1 to 4" in typed(child, "7", "number > ")
    typed(child, "1", "certain > ")
    told = typed(child, "2", "number > ")
    assert "Right:" in told or "No:" in told
    child.sendintr()
    child.expect("Kept 1 of 3")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0
    assert len(kept(tmp_path)["items"]) == 1


def test_a_number_means_what_is_on_the_screen(tmp_path):
    child = start(tmp_path, "play", "--seed", "11")
    child.expect("> ")
    assert "has been shown" in typed(child, "3")
    groups = typed(child, "list")
    third = re.search(r"^\s*3 .*\((\d+) questions?\)", groups, re.M)
    assert third
    opened = typed(child, "3")
    numbers = re.findall(r"^\s*(\d+) (?!min left)\S.*", opened, re.M)
    assert len(numbers) == int(third[1])
    assert "What you have been told" in typed(child, "said")
    asked = typed(child, numbers[0])
    question = re.search(rf"^\s*{numbers[0]} (.{{20}})", opened, re.M)
    assert question
    assert question[1] in asked or "(n)" in asked
    child.sendeof()
    child.expect(pexpect.EOF)
    child.close()


def test_every_prompt_says_what_can_be_typed_and_lets_go(tmp_path):
    from diagnose.cli.where import the_rules

    rules = the_rules()
    child = start(tmp_path, "play", "--seed", "11")
    child.expect("> ")
    choice = r"\(n\) > "
    offered = "".join(typed(child, f"list {n}") for n in range(1, 12))
    risky = next(
        q.id
        for q in rules.questions.values()
        if rules.acts[q.act].cautions and q.ask[:28] in " ".join(offered.split())
    )
    typed(child, f"ask {risky}", choice)
    for word in ("help", "why", "7"):
        assert "Type r to read" in typed(child, word, choice)
    assert "Left alone" in typed(child, "stop")
    typed(child, "stop", "which > ")
    assert "a part of a name" in typed(child, "help", "which > ")
    assert "Nothing was stated" in typed(child, "stop")
    typed(child, "stop", "which > ")
    typed(child, "1", "in a hundred > ")
    for word in ("why", "help", "certainly"):
        assert "0 to 100" in typed(child, word, "in a hundred > ")
    typed(child, "40", "number > ")
    assert "Type one number" in typed(child, "help", "number > ")
    assert "Type one number" in typed(child, "99", "number > ")
    child.sendline("pause")
    child.expect("goes on from here")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0
    assert kept(tmp_path)["open"]["stated"] is None


def test_the_quiz_says_what_can_be_typed_and_lets_go(tmp_path):
    child = start(tmp_path, "quiz", "--seed", "3", "-n", "2", "--kind", "which-caution")
    child.expect("number > ")
    assert "stop leaves" in typed(child, "help", "number > ")
    typed(child, "1", "certain > ")
    assert "1, 2 or 3" in typed(child, "why", "certain > ")
    child.sendline("stop")
    child.expect("Kept 0 of 2 answers")
    child.expect("--seed 3")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0


def test_the_drill_lets_go(tmp_path):
    child = start(tmp_path, "drill", "--seed", "2")
    child.expect("> ")
    child.sendline("stop")
    child.expect("drill --seed 2")
    child.expect(pexpect.EOF)
    child.close()
    assert child.exitstatus == 0


def test_one_is_singular_and_a_miss_is_not_known(diagnose, key):
    other = next(c for c in ("strip-missed", "sealer-omitted") if c not in key["causes"])
    diagnose(*PLAY, "--cause", other, "--sure", 70, "--json")
    quiz = ("practice", "quiz", "--seed", 3, "-n", 1, "--kind", "which-caution")
    assert diagnose(*quiz, "--answer", "1 sure 1").code == 0
    told = diagnose("practice", "progress").out
    assert "1 case, 0 right" in told
    assert "1 short question, " in told
    assert "missed last time" in told
    due = json.loads(diagnose("practice", "progress", "--json").out)["due"]
    missed = {f"cause:{cause}" for cause in key["causes"]}
    assert [row["known"] for row in due if row["subject"] in missed] == [None]


def test_drawn_jobs_are_written_as_sheet_log_and_casebook(diagnose, tmp_path):
    """Other commands read the folder: the same checks, at the same place, entered when drawn."""
    folder = tmp_path / "class"
    wanted = ("--seed", 3, "--count", 2, "--key", "--json", "--out", folder)
    drawn = diagnose("practice", "draw", *wanted)
    assert drawn.code == 0
    case = json.loads(drawn.out)["cases"][0]
    job = f"practice-{case['name']}"
    names = sorted(path.name for path in (folder / job).iterdir())
    assert names[1:] == ["complaint.txt", "job.yaml", "key.yaml"]
    assert names[0].startswith("climate-")
    assert "Invented" in (folder / job / "job.yaml").read_text("utf-8")
    book = ("--casebook", folder / "casebook.db")
    checked = diagnose("check", job, "--place", case["place"], "--json", *book)
    assert checked.code in (0, 1)
    shown = json.loads(diagnose("job", "show", job, "--json", *book).out)
    assert shown["invented"] == "yes"
    symptoms = [part for name in case["symptoms"] for part in ("--symptom", name)]
    walked = diagnose(
        "walk", job, *symptoms, "--at", case["place"], "--no-input", "--markdown", *book
    )
    assert walked.code == 0
    assert "nvented" in walked.out
    assert f"diagnose check {job}" in drawn.err
    again = diagnose("practice", "draw", "--seed", 3, "--out", folder)
    assert again.code != 0
    assert "not empty" in again.err


def test_the_casebook_of_drawn_jobs_says_what_the_cases_say(diagnose, tmp_path):
    from diagnose.checks.run import run_checks
    from diagnose.cli.record_of import job_of
    from diagnose.cli.where import open_casebook
    from diagnose.data import data_folder
    from diagnose.record.place import find_place
    from diagnose.rulebook.load import load_rules

    folder = tmp_path / "class"
    wanted = ("-d", "misleading-record", "--count", 4, "--json", "--out", folder)
    cases = json.loads(diagnose("practice", "draw", "--seed", 20, *wanted).out)["cases"]
    rules = load_rules(data_folder("rules"))
    with open_casebook(folder / "casebook.db") as book:
        for case in cases:
            job = job_of(book, f"practice-{case['name']}")
            said = {r.check: r for r in run_checks(rules, job, find_place(job, case["place"]))}
            for row in case["record"]:
                found = said[row["check"]]
                assert row["outcome"] == found.outcome, row
                if row["outcome"] != "not-recorded":
                    assert row["entered"] == found.provenance, row


def test_the_record_can_be_looked_at_in_a_round_and_in_a_drill(monkeypatch, capsys):
    """Pages, plan and climate log of the job, in plain words."""
    from diagnose.cli.practice_record import shown
    from diagnose.cli.screen import Screen
    from diagnose.data import data_folder
    from diagnose.practice.draw import Order, draw_case
    from diagnose.rulebook.load import load_rules

    case = draw_case(load_rules(data_folder("rules")), Order(1))
    screen = Screen(sys.stdout)
    assert shown(screen, case.sampled, "record", "")
    assert "spread: SP1" in capsys.readouterr().out
    assert shown(screen, case.sampled, "record", "sp1")
    assert "spreading began" in capsys.readouterr().out
    assert shown(screen, case.sampled, "record", "SP99")
    assert "no page SP99" in capsys.readouterr().out
    assert shown(screen, case.sampled, "plan", "")
    assert "! complaint" in capsys.readouterr().out
    assert shown(screen, case.sampled, "climate", "")
    assert "°C" in capsys.readouterr().out
    assert not shown(screen, case.sampled, "stop", "")


def test_the_plan_says_which_way_is_up(capsys):
    """A plan turned to fit the screen has the wall at the top that lies west on the sketch."""
    from diagnose.cli.practice_record import show_plan
    from diagnose.cli.screen import Screen
    from diagnose.data import data_folder
    from diagnose.practice.draw import Order, draw_case
    from diagnose.rulebook.load import load_rules

    rules = load_rules(data_folder("rules"))
    tops = {}
    for seed in range(60):
        case = draw_case(rules, Order(seed))
        if case.place.name not in ("E1", "E4"):
            continue
        show_plan(Screen(sys.stdout), case.sampled)
        first, *_, last = capsys.readouterr().out.splitlines()
        tops.setdefault((case.place.name, last.split()[0]), []).append("!" in first)
    assert {("E4", "North"), ("E4", "West")} <= {*tops}
    assert all(tops["E4", "West"] + tops.get(("E1", "North"), []))
    assert not any(tops.get(("E4", "North"), []) + tops.get(("E1", "West"), []))
