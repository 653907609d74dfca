"""Practice in the casebook: carried, merged, forgotten, read in, and written by two at once."""

from __future__ import annotations

import json
import os
import subprocess
import sys

import pytest

from diagnose.cli.practice_files import read_open_round, read_progress
from diagnose.cli.where import data_home

QUIZ = ("practice", "quiz", "--kind", "which-caution")


@pytest.fixture(autouse=True)
def _no_practice_of_one_s_own(monkeypatch):
    for name in ("DIAGNOSE_PRACTICE", "DIAGNOSE_PUPIL"):
        monkeypatch.delenv(name, raising=False)


def answered(diagnose, pupil, seed, *more):
    """Answer one short question, right or wrong."""
    seen = diagnose(*QUIZ, "-n", 1, "--seed", seed, "--answer", "1 sure 2", "--pupil", pupil, *more)
    assert seen.code == 0, seen.err


def items(book, pupil=None):
    return [line.item for line in read_progress(book, pupil).items]


def test_practice_needs_no_setting_up(diagnose):
    """As the first thing on a new machine: nothing is there, nothing has to be made."""
    assert not data_home().exists()
    assert "Nothing yet" in diagnose("practice", "progress").out
    assert diagnose("practice", "sheet", "class").code == 0
    assert not data_home().exists()
    answered(diagnose, "wren", 1)
    assert "1 short question" in diagnose("practice", "progress", "--pupil", "wren").out
    assert "sound: 2 entries" in diagnose("casebook", "verify").out
    assert read_progress(None) == read_progress(data_home() / "casebook.db")


def test_practice_stands_beside_the_jobs(diagnose, demo, monkeypatch):
    monkeypatch.setenv("DIAGNOSE_CASEBOOK", str(demo))
    jobs, cases = diagnose("job", "list").out, diagnose("case", "list").out
    answered(diagnose, "wren", 1)
    assert diagnose("job", "list").out == jobs
    assert diagnose("case", "list").out == cases
    assert items(demo, "wren")
    assert diagnose("casebook", "verify").code == 0


def test_a_book_of_its_own_is_named_by_option_or_variable(diagnose, tmp_path, monkeypatch):
    monkeypatch.setenv("DIAGNOSE_CASEBOOK", str(tmp_path / "jobs.db"))
    monkeypatch.setenv("DIAGNOSE_PRACTICE", str(tmp_path / "practice.db"))
    answered(diagnose, "wren", 1)
    answered(diagnose, "wren", 2, "--casebook", tmp_path / "class.db")
    assert [len(items(tmp_path / name)) for name in ("jobs.db", "practice.db", "class.db")] == [
        0,
        1,
        1,
    ]


def test_two_devices_merge_by_a_bundle_each_way(diagnose, tmp_path):
    one, two = tmp_path / "one.db", tmp_path / "two.db"
    for book, seed in ((one, 1), (two, 2)):
        answered(diagnose, "wren", seed, "--casebook", book)
        answered(diagnose, "robin", seed, "--casebook", book)
        assert diagnose("casebook", "bundle", f"{book}.zip", "--casebook", book).code == 0
    for book, other in ((one, two), (two, one)):
        assert diagnose("casebook", "merge", f"{other}.zip", "--casebook", book).code == 0
        assert "0 new entries" in (
            diagnose("casebook", "merge", f"{other}.zip", "--casebook", book).out
        )
        assert diagnose("casebook", "verify", "--casebook", book).code == 0
    assert read_progress(one) == read_progress(two)
    assert read_progress(one).pupils == ("robin", "wren")
    assert [len(items(one, name)) for name in ("robin", "wren")] == [2, 2]
    told = json.loads(
        diagnose("practice", "progress", "--json", "--pupil", "wren", "--casebook", two).out
    )
    assert told["questions"] == 2


def test_a_round_goes_on_at_the_other_device(diagnose, tmp_path):
    one, two = tmp_path / "one.db", tmp_path / "two.db"
    play = ("practice", "play", "--no-input", "--json", "--pupil", "wren")
    first = diagnose(*play, "--seed", 11, "--ask", "how-it-changes", "--casebook", one)
    assert first.code == 0, first.err
    assert diagnose("casebook", "merge", one, "--casebook", two).code == 0
    then = diagnose(*play, "--casebook", two)
    assert "going on with one-cause-11" in then.err
    assert json.loads(then.out)["asked"] == json.loads(first.out)["asked"]
    end = ("--cause", "sealer-omitted", "--sure", 40)
    assert diagnose(*play, *end, "--casebook", two).code == 0
    assert diagnose("casebook", "merge", two, "--casebook", one).code == 0
    assert read_open_round(one, "wren") == ""
    (round_,) = read_progress(one).cases
    marked = diagnose("practice", "mark", round_.case, "--pupil", "wren", "--casebook", one)
    assert "points of 100" in marked.out


def test_a_learner_is_forgotten_by_either_command(diagnose, tmp_path):
    book = tmp_path / "class.db"
    for number, name in enumerate(("Wren Ashby", "robin", "Jay Tern")):
        answered(diagnose, name, number, "--casebook", book)
    rows = json.loads(diagnose("casebook", "people", "--json", "--casebook", book).out)
    assert {row["text"]: row["practice"] for row in rows} == {
        "Wren Ashby": True,
        "robin": True,
        "Jay Tern": True,
    }
    forget = ("practice", "progress", "--casebook", book, "--forget")
    refused = diagnose(*forget, "Wren Ashby")
    assert (refused.code, "--yes" in refused.err) == (2, True)
    missing = diagnose(*forget, "wren ashby", "--yes")
    assert (missing.code, "Wren Ashby" in missing.err) == (3, True)
    assert diagnose(*forget, "Wren Ashby", "--yes").code == 0
    gone = diagnose("casebook", "forget", "Jay Tern", "--yes", "--casebook", book)
    assert "still verifies" in gone.out
    assert len(items(book)) == 3
    *anonymous, last = sorted(read_progress(book).pupils)
    assert (len(anonymous), last) == (2, "robin")
    held = b"".join(path.read_bytes() for path in tmp_path.iterdir() if path.is_file())
    assert b"robin" in held
    for name in (b"Wren Ashby", b"Jay Tern"):
        assert name not in held
    sheet = diagnose("practice", "sheet", "class", "--casebook", book).out
    assert "removed on request" in sheet
    assert "Ashby" not in sheet


OLD = {
    "v": 1,
    "reviews": [
        {"at": "2026-03-01T08:00:00.000Z", "pupil": "wren", "subject": "cause:x", "rating": 3},
        {"at": "2026-03-01T08:00:00.000Z", "pupil": "Zoe\u0308", "subject": "cause:x", "rating": 1},
    ],
    "items": [
        {
            "at": "2026-03-01T08:00:00.000Z",
            "pupil": "wren",
            "item": "e\u0301",
            "kind": "which-cause",
            "subject": "cause:x",
            "right": True,
            "confidence": 3,
        }
    ],
    "cases": [
        {
            "at": "2026-03-01T09:00:00.000Z",
            "pupil": "wren",
            "case": "one-cause-11",
            "difficulty": "one-cause",
            "truth": ["sealer-omitted"],
            "named": ["strip-missed"],
            "percent": 70,
            "right": False,
            "points": 31,
            "round": "{}",
        }
    ],
    "open_rounds": [
        {"at": "2026-03-01T10:00:00.000Z", "pupil": "wren", "round": '{"order":1}'},
        {"at": "2026-03-01T10:00:00.000Z", "pupil": "robin", "round": ""},
    ],
}


def test_a_file_of_an_earlier_version_is_read_in_once(diagnose, tmp_path):
    file, book = tmp_path / "practice.json", tmp_path / "book.db"
    file.write_text(json.dumps(OLD), "utf-8")
    read_in = ("practice", "progress", "--merge", file, "--casebook", book)
    assert "5 new lines" in diagnose(*read_in).err
    found = read_progress(book)
    assert found.pupils == ("Zo\u00eb", "wren")
    assert [len(part) for part in (found.reviews, found.items, found.cases)] == [2, 1, 1]
    assert found.cases[0].points == 31
    assert read_open_round(book, "wren") == '{"order":1}'
    before = book.stat().st_size, diagnose("casebook", "heads", "--casebook", book).out
    assert "0 new lines" in diagnose(*read_in).err
    assert (book.stat().st_size, diagnose("casebook", "heads", "--casebook", book).out) == before
    assert file.read_text("utf-8") == json.dumps(OLD)


def test_an_old_open_round_does_not_come_back(diagnose, tmp_path):
    file, book = tmp_path / "practice.json", tmp_path / "book.db"
    file.write_text(json.dumps({"v": 1, "open_rounds": OLD["open_rounds"]}), "utf-8")
    play = ("practice", "play", "--seed", 11, "--pupil", "wren", "--casebook", book)
    assert diagnose(*play, "--cause", "sealer-omitted", "--sure", 40, "--json").code == 0
    seen = diagnose("practice", "progress", "--merge", file, "--casebook", book)
    assert "0 new lines" in seen.err
    assert read_open_round(book, "wren") == ""


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b'{"v":1,"reviews":[{}]}', "reviews: line 1"),
        (b"SQLite format 3\x00\xff", "casebook merge"),
        (b'{"v":1,"open_rounds":[{"at":"2026-03-01T10:00:00Z","pupil":" ","round":"{}"}]}', "name"),
        (json.dumps({"v": 1, "reviews": [{**OLD["reviews"][0], "subject": "\ud800"}]}), "half"),
    ],
)
def test_a_damaged_old_file_is_refused_whole(diagnose, tmp_path, data, words):
    file, book = tmp_path / "old.json", tmp_path / "book.db"
    file.write_bytes(data if isinstance(data, bytes) else data.encode())
    seen = diagnose("practice", "progress", "--merge", file, "--casebook", book)
    assert (seen.code != 0, words in seen.err, "Traceback" in seen.err) == (True, True, False), (
        seen.err
    )
    assert not book.exists()


def test_the_old_place_is_pointed_to_and_no_casebook_is_made_of_it(diagnose, monkeypatch):
    data_home().mkdir(parents=True)
    old = data_home() / "practice.json"
    old.write_text(json.dumps(OLD), "utf-8")
    told = diagnose("practice", "progress").out
    assert f"--merge{old}" in "".join(told.split())
    monkeypatch.setenv("DIAGNOSE_PRACTICE", str(old))
    refused = diagnose("practice", "progress")
    assert (refused.code, "reads it into a casebook" in refused.err) == (1, True)
    assert json.loads(old.read_text("utf-8")) == OLD


WRITER = """
import sys
from diagnose.cli.app import run
for number in range(int(sys.argv[2])):
    sys.argv[1:] = sys.argv[1:3] + [
        "practice", "quiz", "--kind", "which-caution", "-n", "1",
        "--seed", str(number), "--answer", "1 sure 2", "--pupil", sys.argv[1], "--json",
    ]
    name, count, *words = sys.argv[1:]
    sys.argv = ["diagnose", *words]
    try:
        run()
    except SystemExit as leaving:
        if leaving.code:
            raise
    sys.argv = ["-c", name, count]
"""


def test_two_processes_at_once_are_both_kept(tmp_path):
    """Both begin with no casebook at all; one learner of the two is the same person."""
    book, count = tmp_path / "book.db", 12
    environment = {**os.environ, "DIAGNOSE_PRACTICE": str(book)}
    writers = [
        subprocess.Popen(
            [sys.executable, "-c", WRITER, name, str(count)],
            env=environment,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
        )
        for name in ("wren", "wren", "robin")
    ]
    told = [writer.communicate(timeout=300)[1] for writer in writers]
    assert [writer.returncode for writer in writers] == [0, 0, 0], told
    assert [len(items(book, name)) for name in ("wren", "robin")] == [2 * count, count]
    from diagnose.store.journal import Casebook
    from diagnose.store.practice_log import marks

    with Casebook.open(book) as casebook:
        assert casebook.count() == 3 * count * 2
        assert len(marks(casebook)) == 2
        assert len({entry.device for entry in casebook.entries()}) == 1
        assert casebook.verify().sound
