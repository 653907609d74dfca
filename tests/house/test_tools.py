"""The style and type checks that every change must pass."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize(
    "command",
    [
        ["ruff", "check", "diagnose", "tests"],
        ["ruff", "format", "--check", "diagnose", "tests"],
        ["mypy"],
    ],
    ids=["ruff check", "ruff format", "mypy"],
)
def test_tool_is_content(command: list[str]) -> None:
    done = subprocess.run(
        [sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
