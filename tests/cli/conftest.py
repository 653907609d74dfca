"""Run the command line in this process, as a person would see it."""

from __future__ import annotations

import os
import subprocess
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import pytest

from diagnose.store.journal import Casebook


@dataclass
class Seen:
    """What a command left behind."""

    code: int
    out: str
    err: str


@pytest.fixture
def diagnose(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Callable[..., Seen]:
    """Call `diagnose` with arguments; return exit code and both streams."""

    def call(*arguments: object) -> Seen:
        from diagnose.cli.app import run

        monkeypatch.setattr(sys, "argv", ["diagnose", *map(str, arguments)])
        capsys.readouterr()
        try:
            run()
            code = 0
        except SystemExit as leaving:
            code = leaving.code if isinstance(leaving.code, int) else int(bool(leaving.code))
        seen = capsys.readouterr()
        return Seen(code, seen.out, seen.err)

    return call


@pytest.fixture(scope="session")
def made_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Make the demo's casebook once for all tests."""
    folder = tmp_path_factory.mktemp("demo") / "made"
    done = subprocess.run(
        [sys.executable, "-m", "diagnose", "demo", str(folder)],
        env={**os.environ, "XDG_DATA_HOME": str(folder.parent)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    return folder / "casebook.db"


@pytest.fixture
def demo(made_once: Path, tmp_path: Path) -> Path:
    """Return a copy of the demo's casebook."""
    with Casebook.open(made_once) as book:
        book.backup(tmp_path / "casebook.db")
    return tmp_path / "casebook.db"
