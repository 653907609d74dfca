"""A casebook that cannot be written can be read all the same."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from diagnose.errors import StoreError
from diagnose.store import sqlite
from diagnose.store.journal import Casebook

NOW = datetime(2026, 3, 2, 9, 0, tzinfo=UTC)


@pytest.fixture
def demo(tmp_path: Path) -> Path:
    """Make the demo's casebook in a folder of its own."""
    command = [sys.executable, "-m", "diagnose", "demo", str(tmp_path / "made")]
    env = {**os.environ, "XDG_DATA_HOME": str(tmp_path / "data")}
    subprocess.run(command, env=env, capture_output=True, check=True)
    return tmp_path / "made" / "casebook.db"


def refuse(monkeypatch: pytest.MonkeyPatch, *paths: Path) -> None:
    """Let the system say of some paths that they cannot be written."""
    real: Callable[..., bool] = os.access

    def access(path: Any, mode: int, **more: Any) -> bool:
        return not (mode & os.W_OK and Path(path) in paths) and real(path, mode, **more)

    monkeypatch.setattr(sqlite.os, "access", access)


def test_the_way_in_follows_what_may_be_written(
    demo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert sqlite.way_in(demo) == "mode=rw"
    refuse(monkeypatch, demo)
    assert sqlite.way_in(demo) == "mode=ro"
    refuse(monkeypatch, demo, demo.parent)
    assert sqlite.way_in(demo) == "mode=ro&immutable=1"
    log = demo.with_name(f"{demo.name}-wal")
    log.write_bytes(b"")
    assert sqlite.way_in(demo) == "mode=ro&immutable=1"
    log.write_bytes(b"entries that are not in the file yet")
    assert sqlite.way_in(demo) == "mode=ro"


@pytest.mark.parametrize("folder_too", [False, True])
def test_it_is_read_and_not_written(
    demo: Path, folder_too: bool, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    before = demo.read_bytes()
    refuse(monkeypatch, demo, *([demo.parent] if folder_too else []))
    with Casebook.open(demo) as book:
        assert book.engine.rows("select count(*) from entries")[0][0] > 0
        assert book.engine.sound() == ()
        with pytest.raises(StoreError, match=r"is read-only: it can be read, but nothing"):
            book.append("note", {"text": "invented"}, at=NOW)
        book.backup(tmp_path / "copy.db")
    assert demo.read_bytes() == before


def test_an_older_form_is_not_brought_up_to_date(
    demo: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    refuse(monkeypatch, demo)
    monkeypatch.setattr(sqlite.forms, "SCHEMA_VERSION", sqlite.forms.SCHEMA_VERSION + 1)
    with pytest.raises(StoreError, match="older form and read-only"):
        Casebook.open(demo)


@pytest.fixture
def locked(demo: Path) -> Iterator[Path]:
    """Take the right to write from the file and from its folder."""
    demo.chmod(0o444)
    demo.parent.chmod(0o555)
    yield demo
    demo.parent.chmod(0o755)


def on_locked(locked: Path, *args: str) -> subprocess.CompletedProcess[str]:
    """Run a command on a casebook that this user cannot write, be it root."""
    command = [sys.executable, "-m", "diagnose", *args, "--casebook", str(locked)]
    if os.geteuid() == 0:
        drop = shutil.which("setpriv")
        if drop is None:
            pytest.skip("root writes everywhere, and nothing here takes that right away")
        # Root owns the file and may read it; only its right to pass over modes is taken.
        command = [drop, "--bounding-set", "-dac_override", *command]
    env = {**os.environ, "XDG_DATA_HOME": str(locked.parent.parent / "data")}
    return subprocess.run(command, env=env, capture_output=True, text=True, check=False)


@pytest.mark.parametrize(
    ("args", "code"),
    [
        (("job", "list"), 0),
        (("job", "show", "quayside-office"), 0),
        (("check", "quayside-office"), 1),
        (("case", "list"), 0),
        (("casebook", "verify"), 0),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, tuple) else "",
)
def test_reading_commands_work_on_it(locked: Path, args: tuple[str, ...], code: int) -> None:
    done = on_locked(locked, *args)
    assert (done.returncode, done.stderr) == (code, "")
    assert done.stdout.strip()


def test_a_writing_command_says_that_it_is_read_only(locked: Path) -> None:
    done = on_locked(locked, "casebook", "rebuild")
    assert done.returncode == 5
    assert done.stderr.startswith(f"error: the casebook {locked} is read-only: it can be read")
