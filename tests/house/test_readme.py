"""What the README says is true: its commands run, its sample output comes out."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text("utf-8")
BLOCKS = re.findall(r"(?:^ {4}.*\n)+", README, flags=re.MULTILINE)
LINES = [line[4:] for block in BLOCKS for line in block.splitlines()]
TYPED = [line for line in LINES if line.startswith("diagnose ")]
IN_TABLE = [
    command
    for row in README.splitlines()
    if row.startswith("| ") and "diagnose" in row
    for command in re.findall(r"`(diagnose [^`]+)`", row)
]
IN_TEXT = re.findall(r"`(diagnose [a-z][^`]*)`", README)


def test_the_test_command_is_the_one_that_the_automatic_run_calls():
    (command,) = [line for line in LINES if line.endswith("-m pytest")]
    assert command in (ROOT / ".ci" / "run").read_text("utf-8").splitlines()


def test_the_first_command_installs_and_runs_the_demo():
    (command,) = [line for line in LINES if " demo " in line]
    assert re.fullmatch(
        r"python3 -m venv \.venv && \.venv/bin/pip install -q \. && \.venv/bin/diagnose demo \S+",
        command,
    )


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder in which the README's first command has been run."""
    folder = tmp_path_factory.mktemp("readme")
    assert run(folder, "diagnose demo carpet-demo").returncode == 0
    return folder


def run(folder: Path, command: str) -> subprocess.CompletedProcess[str]:
    words = shlex.split(command)
    assert words[0] == "diagnose"
    environment = {
        **os.environ,
        "DIAGNOSE_CASEBOOK": str(folder / "carpet-demo" / "casebook.db"),
        "XDG_DATA_HOME": str(folder),
        "XDG_CACHE_HOME": str(folder),
        "COLUMNS": "100",
    }
    return subprocess.run(
        [sys.executable, "-m", "diagnose", *words[1:]],
        cwd=folder,
        env=environment,
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        check=False,
    )


def test_the_sample_output_comes_out(shop: Path) -> None:
    (command,) = [line for line in TYPED if "--no-input" in line]
    shown = run(shop, command).stdout.splitlines()
    samples = [
        line for line in LINES if line and not line.startswith(("diagnose ", "python3 ", "export "))
    ]
    assert len(samples) >= 3
    for sample in samples:
        assert any(line.startswith(sample) for line in shown), sample


@pytest.mark.parametrize("command", [*TYPED, *IN_TABLE])
def test_every_command_shown_runs(shop: Path, command: str) -> None:
    if "elm-court.yaml" in command and "sheet" in command:
        (shop / "elm-court.yaml").write_text("id: elm-court\nmethod: adhered\n")
    if "CASE" in command:
        listed = run(shop, "diagnose case list --json").stdout
        command = command.replace("CASE", re.findall(r"case-[0-9a-f]+", listed)[0])
    if "job new" in command:
        (shop / "elm-court.yaml").unlink(missing_ok=True)
    done = run(shop, command)
    if command == "diagnose practice play":
        assert "nobody at the keyboard" in done.stderr
        return
    wanted = (0, 1) if command.startswith("diagnose check") else (0,)
    assert done.returncode in wanted, done.stderr
    assert "Traceback" not in done.stderr


@pytest.mark.parametrize("command", IN_TEXT)
def test_every_command_named_has_a_help_page(shop: Path, command: str) -> None:
    words = [word for word in shlex.split(command)[1:] if re.fullmatch(r"[a-z]+", word)][:1]
    assert run(shop, f"diagnose {' '.join(words)} --help").returncode == 0
