"""Meddling with the file that `verify` must name, and traces of it that must not be lost."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

from diagnose.store import project, sql
from diagnose.store.entry import FIRST_PREV, Entry, canonical
from diagnose.store.jobs import set_value
from diagnose.store.journal import Casebook
from diagnose.store.merge import merge
from diagnose.store.parse import parse


def _two() -> tuple[str, str]:
    """Two first entries of one device: the one that stands, and the other."""
    made = [
        Entry(
            device="phone",
            seq=1,
            prev=FIRST_PREV,
            at="2026-03-02T09:00:00.000Z",
            lc=(1_772_442_000_000, 0),
            kind="job-value",
            body={"job": "larch", "path": "title", "value": value, "said_by": "AB"},
        )
        for value in ("left", "right")
    ]
    small, large = sorted((canonical(each).decode() for each in made), key=lambda t: parse(t).hash)
    return small, large


def test_an_entry_altered_in_quarantine_is_named(file_casebook: Casebook) -> None:
    stands, aside = _two()
    merge(file_casebook, [stands, aside])
    kinds = [flaw.kind for flaw in file_casebook.verify().flaws]
    assert kinds == ["fork"]
    changed = aside.replace("left", "else").replace("right", "other")
    file_casebook.engine.run("drop trigger quarantine_no_update")
    file_casebook.engine.run("update quarantine set text = :text", {"text": changed})
    report = file_casebook.verify()
    assert [flaw.kind for flaw in report.flaws] == ["fork", "edited-aside"]
    assert "entry 1 of phone, kept in quarantine, was edited" in report.sentences[1]


def test_a_merge_that_fills_the_lists_anew_keeps_the_trace_of_a_cut_chain(
    file_casebook: Casebook, now: datetime
) -> None:
    own = [set_value(file_casebook, "larch", "title", t, said_by="AB", at=now) for t in "abc"]
    stands, aside = _two()
    merge(file_casebook, [aside])
    file_casebook.engine.run("drop trigger entries_no_delete")
    file_casebook.engine.run("delete from entries where seq = 3")
    cut = [flaw.sentence for flaw in file_casebook.verify().flaws]
    assert len(cut) == 1
    assert "was cut short: entry 3 missing" in cut[0]
    assert merge(file_casebook, [stands]).forks
    assert cut[0] in file_casebook.verify().sentences
    # The missing entry comes back: nothing of it is held against the casebook any longer.
    merge(file_casebook, [canonical(own[2]).decode()])
    assert [flaw.kind for flaw in file_casebook.verify().flaws] == ["fork"]
    assert file_casebook.differences() == ()


def test_an_entry_put_in_before_all_others_is_seen(file_casebook: Casebook, now: datetime) -> None:
    set_value(file_casebook, "larch", "title", "a", said_by="AB", at=now)
    put_in = Entry(
        device="",
        seq=0,
        prev=FIRST_PREV,
        at="2026-03-02T09:00:00.000Z",
        lc=(1_900_000_000_000, 0),
        kind="job-value",
        body={"job": "larch", "path": "title", "value": "b", "said_by": "AB"},
    )
    text = canonical(put_in).decode()
    file_casebook.engine.run_many(sql.ADD_ENTRY, [project.row_of(put_in, text)])
    report = file_casebook.verify()
    assert (report.entries, report.sound) == (2, False)
    assert "numbers begin with 1" in report.sentences[0]


def test_a_listed_case_without_an_id_is_seen(file_casebook: Casebook, path: Path) -> None:
    row = {"case_id": "", "job": "larch", "status": "open", "symptoms": "x", "place": None}
    file_casebook.engine.run(sql.SET_CASE_HEAD, {**row, "opened_at": "2026"})
    assert [each.table for each in file_casebook.differences()] == ["case_heads"]
