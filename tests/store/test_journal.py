"""Adding, reading, checking and copying; and what a person reads when it fails."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
import tempfile
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from diagnose.errors import NotFoundError, StoreError
from diagnose.store import sql, sqlite
from diagnose.store.chain import parse_head
from diagnose.store.journal import Casebook
from diagnose.store.merge import texts_of


def fill(casebook: Casebook, now: datetime, count: int = 6) -> None:
    for number in range(count):
        casebook.append(
            "job-value",
            {"job": "larch", "path": f"seams.S{number}.kind", "value": "side"},
            at=now + timedelta(minutes=number),
        )


def meddle(path: Path, *statements: str) -> None:
    """Change a casebook behind its back, as somebody with the file could."""
    with sqlite3.connect(path) as db:
        for act in ("update", "delete"):
            db.execute(f"drop trigger entries_no_{act}")
        for statement in statements:
            db.execute(statement)
    db.close()


def flaws(path: Path) -> list[str]:
    with Casebook.open(path) as casebook:
        report = casebook.verify()
    assert report.sound == all(flaw.warning for flaw in report.flaws)
    device = report.heads[0].device if report.heads else ""
    return [f"{flaw.kind} {flaw.seq}" for flaw in report.flaws if flaw.device == device]


def test_entries_come_back_as_they_were_added(casebook: Casebook, now: datetime) -> None:
    first = casebook.append("job-value", {"job": "larch", "path": "title", "value": "L"}, at=now)
    second = casebook.append("odd-kind", {"case": "case-1", "free": [1, None, True]}, at=now)
    assert casebook.entries() == (first, second)
    assert casebook.entries(job="larch") == (first,)
    assert casebook.entries(case="case-1", kind="odd-kind") == (second,)
    assert casebook.entries(kind="nothing") == ()
    assert (second.seq, second.prev, second.lc > first.lc) == (2, first.hash, True)
    assert casebook.entries()[0].hash == first.hash
    assert casebook.entry_at(first.device, 1) == first
    assert casebook.own_head() == casebook.heads()[0]
    assert casebook.verify().sound


def test_many_entries_are_added_all_or_none(casebook: Casebook, now: datetime) -> None:
    with pytest.raises(StoreError):
        casebook.append_many([("x", {"a": "1"}), ("Bad Kind", {})], at=now)
    assert casebook.entries() == ()
    assert len(casebook.append_many([("x", {}), ("y", {})], at=now)) == 2
    assert casebook.append_many([], at=now) == ()


def test_the_order_does_not_follow_a_clock_set_back(casebook: Casebook, now: datetime) -> None:
    casebook.append("x", {"n": 1}, at=now)
    casebook.append("x", {"n": 2}, at=now - timedelta(days=40))
    assert [entry.body["n"] for entry in casebook.entries()] == [1, 2]
    report = casebook.verify()
    assert report.sound
    assert "set back" in report.sentences[0]


def test_nothing_in_the_journal_can_be_changed(
    file_casebook: Casebook, path: Path, now: datetime
) -> None:
    fill(file_casebook, now, 1)
    db = sqlite3.connect(path)
    for statement in ("update entries set kind = 'x'", "delete from entries"):
        with pytest.raises(sqlite3.IntegrityError, match="append-only"):
            db.execute(statement)
    db.close()


@pytest.mark.parametrize(
    ("statements", "found"),
    [
        (["update entries set text = replace(text, 'side', 'cross') where seq = 3"], ["edited 3"]),
        (["delete from entries where seq = 3"], ["gap 3"]),
        (["delete from entries where seq > 4"], ["truncated 5"]),
        (["update entries set job = 'other' where seq = 2"], ["edited 2"]),
        (["update entries set wall = wall + 1 where seq = 2"], ["edited 2"]),
        (["update entries set seq = 99 where seq = 6"], ["edited 99", "gap 6"]),
        (
            [
                "update entries set seq = 97 where seq = 2",
                "update entries set seq = 2 where seq = 3",
                "update entries set seq = 3 where seq = 97",
            ],
            ["edited 2", "edited 3"],
        ),
        (["update heads set hash = '00' || substr(hash, 3)"], ["contradicted 6"]),
    ],
)
def test_meddling_with_the_file_is_named(
    file_casebook: Casebook, path: Path, now: datetime, statements: list[str], found: list[str]
) -> None:
    fill(file_casebook, now)
    file_casebook.close()
    assert flaws(path) == []
    meddle(path, *statements)
    assert set(found) <= set(flaws(path))


def test_a_tail_cut_with_care_is_seen_by_a_printed_head(
    file_casebook: Casebook, path: Path, now: datetime
) -> None:
    fill(file_casebook, now)
    printed = str(file_casebook.own_head())
    fourth = file_casebook.entries()[3]
    file_casebook.close()
    meddle(
        path,
        "delete from entries where seq > 4",
        f"update heads set seq = 4, hash = '{fourth.hash}'",
    )
    with Casebook.open(path) as opened:
        assert opened.verify().sound
        report = opened.verify([parse_head(printed)])
    assert not report.sound
    assert "cut short: entries 5 to 6 missing" in report.sentences[0]


def test_a_backup_holds_what_a_copied_file_lacks(
    file_casebook: Casebook, path: Path, tmp_path: Path, now: datetime
) -> None:
    fill(file_casebook, now, 50)
    report = file_casebook.backup(tmp_path / "backup.db")
    assert report.sound
    assert report.entries == 50
    with Casebook.open(tmp_path / "backup.db") as copy:
        assert copy.entries() == file_casebook.entries()
    shutil.copy(path, tmp_path / "plain-copy.db")
    with sqlite3.connect(tmp_path / "plain-copy.db") as db:
        tables = db.execute("select count(*) from sqlite_schema where name='entries'").fetchone()
        held = db.execute("select count(*) from entries").fetchone()[0] if tables[0] else 0
    db.close()
    assert held < 50
    with pytest.raises(StoreError, match="there already"):
        file_casebook.backup(tmp_path / "backup.db")


def test_rebuild_makes_the_same_tables(casebook: Casebook, now: datetime) -> None:
    fill(casebook, now)
    casebook.append("job-value", {"job": "larch", "path": "rolls.R1.batch", "value": "b 7"}, at=now)
    casebook.append("complaint", {"case": "case-1", "job": "larch", "symptoms": ["gap"]}, at=now)

    def tables() -> dict[str, list[object]]:
        return {
            name: sorted(map(str, casebook.engine.rows(f"select {columns} from {name}")))
            for name, columns in sql.PROJECTIONS.items()
        }

    before = tables()
    assert all(before[name] for name in ("heads", "job_heads", "marks", "case_heads"))
    with casebook.engine.writing():
        for name in sql.PROJECTIONS:
            casebook.engine.run(f"delete from {name}")
    assert casebook.rebuild() == 8
    assert tables() == before


def test_a_restored_copy_starts_a_new_chain(tmp_path: Path, path: Path, now: datetime) -> None:
    token = tmp_path / "settings" / "token"
    with Casebook.open(path, create=True, token=token) as casebook:
        fill(casebook, now, 3)
        casebook.backup(tmp_path / "backup.db")
        fill(casebook, now, 2)
        old = casebook.own_head()
    for name in tmp_path.glob("casebook.db*"):
        name.unlink()
    (tmp_path / "backup.db").rename(path)
    with Casebook.open(path, token=token) as restored:
        third = restored.own_head()
        added = restored.append("x", {}, at=now)
        assert old is not None
        assert third is not None
        assert added.device != old.device
        first = restored.entries(kind="chain-started")[0]
        assert first.body == {
            "old": [third.device, 3, third.hash],
            "reason": "restored-backup",
        }
        assert (first.device, first.seq, added.seq) == (added.device, 1, 2)
        assert first.seen[old.device] == (3, third.hash)
        assert restored.append("x", {}, at=now).device == added.device
        assert restored.verify().sound
        assert not restored.verify([old]).sound


def test_a_copy_on_another_machine_starts_a_new_chain(
    tmp_path: Path, path: Path, now: datetime
) -> None:
    with Casebook.open(path, create=True, token=tmp_path / "here") as casebook:
        mine = casebook.append("x", {}, at=now)
        assert casebook.append("x", {}, at=now).device == mine.device
    with Casebook.open(path, token=tmp_path / "there") as copy:
        assert copy.append("x", {}, at=now).device != mine.device
        assert copy.entries(kind="chain-started")[0].body["reason"] == "copied"


def test_a_token_that_is_behind_or_spoilt_loses_nothing(
    tmp_path: Path, path: Path, now: datetime
) -> None:
    token = tmp_path / "token"
    with Casebook.open(path, create=True, token=token) as casebook:
        first = casebook.append("x", {}, at=now)
        behind = token.read_bytes()
        casebook.append("x", {}, at=now)
        token.write_bytes(behind)
        assert casebook.append("x", {}, at=now).device == first.device
        token.write_bytes(b"\xff{")
        assert casebook.append("x", {}, at=now).device != first.device
        assert casebook.verify().sound
        assert len(casebook.entries()) == 5


def test_a_rebuild_does_not_wipe_out_the_trace_of_a_cut(
    file_casebook: Casebook, path: Path, now: datetime
) -> None:
    fill(file_casebook, now)
    file_casebook.close()
    meddle(path, "delete from entries where seq > 4")
    with Casebook.open(path) as opened:
        with pytest.raises(StoreError, match=r"entry 6 of .* is missing .* before"):
            opened.rebuild()
        assert [flaw.kind for flaw in opened.verify().flaws] == ["truncated"]


def test_a_casebook_with_flaws_can_still_be_backed_up(
    file_casebook: Casebook, path: Path, tmp_path: Path, now: datetime
) -> None:
    fill(file_casebook, now)
    file_casebook.close()
    meddle(path, "delete from entries where seq = 3")
    with Casebook.open(path) as opened:
        report = opened.backup(tmp_path / "backup.db")
        assert report.sentences == opened.verify().sentences
        assert not report.sound


def test_a_network_drive_is_refused(
    path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    table = tmp_path / "mounts"
    table.write_text(
        f"a / ext4 rw 0 0\nb {tmp_path} ext4 rw 0 0\nserver:/x /net\\040drive nfs4 rw 0 0\n"
    )
    assert sqlite.mount_kind(tmp_path / "deep", table) == "ext4"
    assert sqlite.mount_kind(Path("/net drive/shared"), table) == "nfs4"
    assert sqlite.mount_kind(Path("/net drives"), table) == "ext4"
    assert sqlite.mount_kind(tmp_path, tmp_path / "none") == ""
    monkeypatch.setattr(sqlite, "mount_kind", lambda folder: "nfs4")
    with pytest.raises(StoreError, match="network drive"):
        Casebook.open(path, create=True)
    assert not path.exists()


def test_several_may_make_the_casebook_at_once(path: Path, tmp_path: Path) -> None:
    script = (
        "import sys\n"
        "from datetime import UTC, datetime\n"
        "from pathlib import Path\n"
        "from diagnose.store.journal import Casebook\n"
        "with Casebook.open(Path(sys.argv[1]), create=True) as casebook:\n"
        "    casebook.append('note', {}, at=datetime.now(UTC))\n"
    )
    processes = [subprocess.Popen([sys.executable, "-c", script, str(path)]) for _ in range(5)]
    assert [process.wait(timeout=60) for process in processes] == [0] * 5
    with Casebook.open(path) as casebook:
        assert [entry.seq for entry in casebook.entries()] == [1, 2, 3, 4, 5]


def test_what_is_no_casebook_is_refused(tmp_path: Path, path: Path) -> None:
    with pytest.raises(NotFoundError, match="there is no casebook at"):
        Casebook.open(path)
    with pytest.raises(StoreError, match=r"folder .* is not there"):
        Casebook.open(tmp_path / "no" / "c.db", create=True)
    with pytest.raises(StoreError, match="is a folder"):
        Casebook.open(tmp_path)
    path.write_bytes(b"")
    with pytest.raises(StoreError, match="empty file"):
        Casebook.open(path)
    path.write_text("an install record " * 500)
    with pytest.raises(StoreError, match="is not a casebook"):
        Casebook.open(path, create=True)
    assert path.read_text().startswith("an install record")
    other = tmp_path / "other.db"
    with sqlite3.connect(other) as db:
        db.execute("create table mine (x)")
    db.close()
    with pytest.raises(StoreError, match="a database, but not a casebook"):
        Casebook.open(other, create=True)


def test_a_newer_form_is_refused_with_the_way_out(file_casebook: Casebook, path: Path) -> None:
    file_casebook.close()
    with sqlite3.connect(path) as db:
        db.execute("pragma user_version=99")
    db.close()
    with pytest.raises(StoreError, match=r"newer version .* update the program"):
        Casebook.open(path)


def test_a_busy_casebook_says_so(file_casebook: Casebook, path: Path, now: datetime) -> None:
    with (
        file_casebook.engine.writing(),
        Casebook.open(path, wait=0.05) as second,
        pytest.raises(StoreError, match="being written by another program"),
    ):
        second.append("x", {}, at=now)
    with Casebook.open(path) as second:
        second.append("x", {}, at=now)


def test_a_damaged_file_says_so(file_casebook: Casebook, path: Path, now: datetime) -> None:
    file_casebook.append_many([("note", {"n": n}) for n in range(2_000)], at=now)
    roots = file_casebook.engine.rows("select rootpage from sqlite_schema where rootpage > 1")
    file_casebook.close()
    raw = bytearray(path.read_bytes())
    for (page,) in roots:
        raw[(page - 1) * 4096 : (page - 1) * 4096 + 64] = b"\xff" * 64
    path.write_bytes(raw)
    with Casebook.open(path) as opened:
        with pytest.raises(StoreError, match="damaged"):
            opened.entries()
        assert not opened.verify().sound


def test_a_full_disk_says_so_and_loses_nothing(
    file_casebook: Casebook, path: Path, now: datetime
) -> None:
    fill(file_casebook, now, 3)
    pages = file_casebook.engine.rows("pragma page_count")[0][0]
    file_casebook.engine.run(f"pragma max_page_count={pages}")
    with pytest.raises(StoreError, match="the disk is full: nothing was added"):
        file_casebook.append("x", {"long": "word " * 100_000}, at=now)
    assert file_casebook.verify().sound
    file_casebook.engine.run("pragma max_page_count=1000000")
    file_casebook.append("x", {}, at=now)
    assert file_casebook.verify().sound


AS_SOMEBODY_ELSE = """
import os, sqlite3, sys
from datetime import UTC, datetime
from pathlib import Path
from diagnose.errors import StoreError
from diagnose.store import sqlite
from diagnose.store.journal import Casebook
from diagnose.store.merge import texts_of
if os.getuid() == 0:
    os.setgid(65534)
    os.setuid(65534)
try:
    with Casebook.open(Path(sys.argv[1])) as casebook:
        casebook.append("x", {}, at=datetime.now(UTC))
except StoreError as error:
    print(error)
"""


@pytest.mark.skipif(os.name == "nt", reason="folder rights as on Unix")
def test_a_read_only_folder_says_so(now: datetime) -> None:
    # The superuser may write anywhere, so the trial runs as somebody else, who cannot
    # look into pytest's own folders.
    with tempfile.TemporaryDirectory() as name:
        path = Path(name) / "casebook.db"
        with Casebook.open(path, create=True) as casebook:
            fill(casebook, now, 1)
        path.chmod(0o444)
        path.parent.chmod(0o555)
        command = [sys.executable, "-c", AS_SOMEBODY_ELSE, str(path)]
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        path.parent.chmod(0o755)
        assert "read-only" in done.stdout, done.stdout + done.stderr
        with Casebook.open(path) as again:
            assert again.verify().sound


def test_text_that_is_no_text_any_more_is_named_by_its_entry(
    file_casebook: Casebook, path: Path, now: datetime
) -> None:
    fill(file_casebook, now)
    file_casebook.close()
    meddle(
        path,
        "update entries set text = cast(replace(cast(text as blob), x'73696465', x'ff696465') "
        "as text) where seq = 3",
    )
    assert flaws(path) == ["edited 3"]


def test_entries_that_stand_still_are_no_endless_list(
    file_casebook: Casebook, path: Path, now: datetime
) -> None:
    fill(file_casebook, now)
    file_casebook.close()
    # What takes the place of a byte that cannot be read sorts before that byte.
    meddle(path, "update entries set device = cast(x'7af5' as text) where seq = 6")
    with Casebook.open(path) as casebook, pytest.raises(StoreError, match="stand in order"):
        list(texts_of(casebook))


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('"kind":"job-value"', '"kind":["job-value"]'),
        ('"at":"2026', '"at":[],"x":"2026'),
        ('"lc":[', '"lc":[1e999,'),
        ('"seq":3', '"seq":1e999'),
    ],
)
def test_a_field_of_the_wrong_kind_is_an_edit_and_no_failure(
    file_casebook: Casebook, path: Path, now: datetime, old: str, new: str
) -> None:
    fill(file_casebook, now)
    file_casebook.close()
    meddle(path, f"update entries set text = replace(text, '{old}', '{new}') where seq = 3")
    assert flaws(path)[0] == "edited 3"
    with Casebook.open(path) as casebook:
        for reading in (casebook.entries, casebook.rebuild):
            with pytest.raises(StoreError, match="cannot be read"):
                reading()


def test_damaged_names_of_tables_say_so(path: Path) -> None:
    Casebook.open(path, create=True).close()
    path.write_bytes(path.read_bytes().replace(b"CREATE TABLE heads", b"CREATE TABLE h\xffads"))
    with pytest.raises(StoreError, match="is damaged"):
        Casebook.open(path)
