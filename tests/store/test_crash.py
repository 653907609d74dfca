"""Killed while writing, written by several at once, damaged logs: nothing acknowledged is lost."""

from __future__ import annotations

import random
import shutil
import subprocess
import sys
import time
from datetime import datetime
from pathlib import Path

import pytest

from diagnose.store.journal import Casebook

LOGS = 150
"""Logs cut, and logs with one flipped bit."""
MANY = pytest.mark.bench
"""Marks the long form of a test, which is run apart (see tests/bench/README.md)."""

WRITER = """
import sys
from datetime import UTC, datetime
from pathlib import Path
from diagnose.store.journal import Casebook
path, name, count = Path(sys.argv[1]), sys.argv[2], int(sys.argv[3])
with Casebook.open(path) as casebook:
    for number in range(count):
        entry = casebook.append("note", {"by": name, "n": number}, at=datetime.now(UTC))
        print(entry.device, entry.seq, entry.hash, flush=True)
"""


def writer(path: Path, name: str, count: int) -> subprocess.Popen[str]:
    command = [sys.executable, "-c", WRITER, str(path), name, str(count)]
    return subprocess.Popen(command, stdout=subprocess.PIPE, text=True)


@pytest.mark.parametrize("kills", [20, pytest.param(150, marks=MANY)])
def test_a_killed_writer_loses_nothing_it_acknowledged(
    file_casebook: Casebook, path: Path, kills: int
) -> None:
    chance = random.Random(19)
    acknowledged: list[str] = []
    for number in range(kills):
        process = writer(path, f"w{number}", 1_000_000)
        assert process.stdout is not None
        acknowledged.append(process.stdout.readline())
        time.sleep(chance.uniform(0.0, 0.12))
        process.kill()
        acknowledged += [line for line in process.stdout if line.endswith("\n")]
        process.wait()
    stored = {f"{entry.device} {entry.seq} {entry.hash}\n" for entry in file_casebook.entries()}
    assert len(acknowledged) > kills
    assert set(acknowledged) <= stored
    report = file_casebook.verify()
    assert report.flaws == ()
    assert report.damage == ()


def test_three_writers_at_once_make_no_gap_and_no_fork(file_casebook: Casebook, path: Path) -> None:
    processes = [writer(path, f"w{number}", 60) for number in range(3)]
    lines = [
        line for process in processes for line in process.communicate(timeout=120)[0].split("\n")
    ]
    assert [process.returncode for process in processes] == [0, 0, 0]
    entries = file_casebook.entries()
    assert [entry.seq for entry in entries] == list(range(1, 181))
    assert len({entry.device for entry in entries}) == 1
    assert len([line for line in lines if line]) == 180
    for number in range(3):
        mine = [entry.body["n"] for entry in entries if entry.body["by"] == f"w{number}"]
        assert mine == list(range(60))
    assert file_casebook.verify().sound


@pytest.mark.parametrize("how", ["cut", "flip"])
def test_a_damaged_log_leaves_a_whole_beginning(
    file_casebook: Casebook, path: Path, tmp_path: Path, now: datetime, how: str
) -> None:
    for number in range(40):
        file_casebook.append("note", {"n": number}, at=now)
    hashes = [entry.hash for entry in file_casebook.entries()]
    log = path.with_name(path.name + "-wal").read_bytes()
    assert len(log) > 40 * 4096
    chance = random.Random(7)
    lengths = set()
    for trial in range(LOGS):
        copy = tmp_path / f"{how}-{trial}.db"
        shutil.copy(path, copy)
        damaged = bytearray(log)
        place = chance.randrange(len(log) // 4, len(log))
        if how == "cut":
            del damaged[place:]
        else:
            damaged[place] ^= 1 << chance.randrange(8)
        copy.with_name(copy.name + "-wal").write_bytes(damaged)
        with Casebook.open(copy) as opened:
            kept = [entry.hash for entry in opened.entries()]
            assert kept == hashes[: len(kept)]
            assert opened.verify().sound
            lengths.add(len(kept))
    assert len(lengths) > 1
