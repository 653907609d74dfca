"""Tables that follow from the entries are compared with what the entries give."""

from __future__ import annotations

import shutil
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from diagnose.errors import StoreError
from diagnose.store import full_text, sql
from diagnose.store.cases import close_case, open_case
from diagnose.store.derived import NAMES
from diagnose.store.jobs import import_changes, set_value
from diagnose.store.journal import Casebook
from diagnose.store.merge import copy_into

NOW = datetime(2026, 3, 2, 8, tzinfo=UTC)


@pytest.fixture
def filled(casebook: Casebook, tmp_path: Path) -> Casebook:
    """A casebook with something in every derived table."""
    for number in range(4):
        values = {"title": f"Larch {number}", "rolls.R1.batch": f"b {number}"}
        import_changes(casebook, f"job-{number}", values, said_by="AB", at=NOW)
    case = open_case(casebook, job="job-1", symptoms=["gap", "fraying"], said_by="EF", at=NOW)
    close_case(casebook, case, ["x"], how="lifted", said_by="EF", at=NOW)
    open_case(casebook, symptoms=["gap"], words="no record", said_by="EF", at=NOW)
    casebook.append("note", {"text": "of no job"}, at=NOW)
    with Casebook.open(tmp_path / "other.db", create=True) as other:
        copy_into(casebook, other)
        set_value(other, "job-2", "method", "adhered", said_by="CD", at=NOW + timedelta(hours=1))
        copy_into(other, casebook)
    casebook.append("note", {"text": "seen"}, at=NOW)
    assert casebook.differences() == ()
    return casebook


def change(casebook: Casebook, statement: str) -> None:
    with casebook.engine.writing():
        casebook.engine.run(statement)


@pytest.mark.parametrize(
    ("table", "statement"),
    [
        ("heads", "delete from heads where seq = 1"),
        ("cited", "update cited set seq = seq + 1"),
        ("cited", "delete from cited"),
        ("job_heads", "update job_heads set title = 'Birch' where job = 'job-2'"),
        ("job_heads", "update job_heads set method = null where job = 'job-2'"),
        ("job_heads", "delete from job_heads where job = 'job-3'"),
        ("job_heads", "insert into job_heads (job) values ('never-entered')"),
        ("marks", "update marks set mark = 'B 9' where job = 'job-0'"),
        ("marks", "delete from marks where job = 'job-0'"),
        ("marks", "update marks set job = 'job-1', path = 'rolls.R2.batch' where job = 'job-0'"),
        ("case_heads", "update case_heads set status = 'open'"),
        ("case_heads", "update case_heads set symptoms = 'gap'"),
        ("case_heads", "delete from case_heads where job is null"),
        ("entry_words", "update entry_words set words = ' birch ' where seq = 1"),
        ("entry_words", "delete from entry_words where seq = 2"),
    ],
)
def test_a_row_changed_by_hand_is_named_and_mended(
    filled: Casebook, table: str, statement: str
) -> None:
    change(filled, statement)
    found = [each for each in filled.differences() if each.table != full_text.TABLE]
    assert [each.table for each in found] == [table]
    assert NAMES[table] in found[0].sentence
    assert (
        "`diagnose casebook rebuild` fills it afresh, and no entry is touched" in found[0].sentence
    )
    assert filled.verify().sound
    filled.rebuild()
    assert filled.differences() == ()


def test_rows_are_counted(filled: Casebook) -> None:
    change(filled, "delete from job_heads where job <> 'job-0'")
    (found,) = filled.differences()
    assert (found.rows, found.expected) == (1, 4)
    assert "1 row, and the entries give 4" in found.sentence
    change(filled, "delete from job_heads")
    assert "no rows, and the entries give 4" in filled.differences()[0].sentence


def test_several_tables_are_named_together(filled: Casebook) -> None:
    change(filled, "delete from marks")
    change(filled, "delete from case_heads")
    assert [each.table for each in filled.differences()] == ["marks", "case_heads"]


def test_a_head_that_names_a_missing_entry_is_not_mended(filled: Casebook) -> None:
    own = filled.own_head()
    assert own is not None
    change(filled, f"update heads set seq = seq + 5 where device = '{own.device}'")
    (found,) = filled.differences()
    assert "cannot be filled afresh" in found.sentence
    with pytest.raises(StoreError, match="missing or was changed"):
        filled.rebuild()


def test_many_pages_are_compared(casebook: Casebook, monkeypatch: pytest.MonkeyPatch) -> None:
    from diagnose.store import derived

    monkeypatch.setattr(derived, "PAGE", 7)
    for job in range(3):
        for number in range(20):
            set_value(casebook, f"j{job}", f"rolls.R{number}.batch", "b", said_by="A", at=NOW)
        case = open_case(casebook, job=f"j{job}", symptoms=["gap"], said_by="A", at=NOW)
        for number in range(20):
            casebook.append("walk-step", {"case": case, "n": number}, at=NOW)
            casebook.append("note", {"n": number}, at=NOW)
    assert casebook.differences() == ()
    change(casebook, "delete from marks where path = 'rolls.R19.batch' and job = 'j2'")
    assert [each.table for each in casebook.differences()] == ["marks"]


def test_an_index_that_does_not_fit_its_words_is_named(tmp_path: Path) -> None:
    with Casebook.open(tmp_path / "casebook.db", create=True) as casebook:
        casebook.append("note", {"text": "seam gap"}, at=NOW)
        assert casebook.differences() == ()
        change(casebook, "delete from entry_search_idx")
        change(casebook, "delete from entry_search_data where id > 10")
        assert [each.table for each in casebook.differences()] == [full_text.TABLE]
        casebook.rebuild()
        assert casebook.differences() == ()


def test_a_file_that_cannot_be_written_is_compared_too(tmp_path: Path) -> None:
    path = tmp_path / "casebook.db"
    with Casebook.open(path, create=True) as casebook:
        casebook.append("note", {"text": "seam gap", "job": "larch"}, at=NOW)
        change(casebook, "delete from job_heads")
    folder = tmp_path / "locked"
    folder.mkdir()
    shutil.copy(path, folder / "casebook.db")
    with pytest.MonkeyPatch.context() as patch:
        from diagnose.store import sqlite

        patch.setattr(sqlite, "way_in", lambda path: "mode=ro&immutable=1")
        with Casebook.open(folder / "casebook.db") as casebook:
            assert [each.table for each in casebook.differences()] == ["job_heads"]


def test_every_derived_table_has_a_plain_name() -> None:
    assert set(NAMES) == {*sql.PROJECTIONS, full_text.TABLE}
    assert set(sql.KEY_COLUMNS) == set(sql.PROJECTIONS)
