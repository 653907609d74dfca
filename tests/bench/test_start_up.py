"""How long commands take, as multiples of a bare interpreter in the same run.

Run with: pytest -m bench -n 0 tests/bench/test_start_up.py -s
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import time
from pathlib import Path

import pexpect
import pytest

ROUNDS = 11


def seconds(command: list[str], environment: dict[str, str]) -> float:
    """Median wall time of a command, all output thrown away."""
    times = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        done = subprocess.run(command, env=environment, capture_output=True, check=False)
        times.append(time.perf_counter() - start)
        assert done.returncode == 0, done.stderr.decode()
    return statistics.median(times)


@pytest.mark.bench
def test_start_up_against_a_bare_interpreter(tmp_path: Path) -> None:
    environment = {**os.environ, "XDG_DATA_HOME": str(tmp_path), "XDG_CACHE_HOME": str(tmp_path)}
    run = [sys.executable, "-m", "diagnose"]
    subprocess.run([*run, "demo", str(tmp_path / "demo")], env=environment, check=True)
    book = ["--casebook", str(tmp_path / "demo" / "casebook.db")]
    bare = seconds([sys.executable, "-c", "pass"], environment)
    goals = {
        "--help": ([*run, "--help"], 7),
        "job list": ([*run, "job", "list", "--json", *book], 10),
        "job log": ([*run, "job", "log", "larch-house", "seams.S2.face_checked=yes", *book], 10),
    }
    told = []
    for name, (command, goal) in goals.items():
        ratio = seconds(command, environment) / bare
        told.append(f"{name}: {ratio:.1f} times a bare start (goal {goal})")
        print(told[-1])
    walk = [*run, "walk", "larch-house", "-s", "seam-peaking", "--at", "seam:S2", *book]
    ratio = seconds_to(walk, "First look", environment) / bare
    told.append(f"first question: {ratio:.1f} times a bare start (goal 18)")
    print(told[-1])
    ratio = seconds_to(walk, "Why it is asked", environment, typed="1") / bare
    print(f"first question of the engine, the first look answered: {ratio:.1f} times")
    missed = [line for line in told if float(line.split(": ")[1].split()[0]) > goal_of(line)]
    assert not missed, "\n".join(missed)


def goal_of(line: str) -> float:
    """The goal that a line names."""
    return float(line.split("goal ")[1].rstrip(")"))


def seconds_to(
    command: list[str], words: str, environment: dict[str, str], typed: str = ""
) -> float:
    """Median time from the start of a command in a terminal to some words on its screen."""
    times = []
    for _ in range(ROUNDS):
        start = time.perf_counter()
        talk = pexpect.spawn(command[0], command[1:], env=environment, encoding="utf-8", timeout=60)
        if typed:
            talk.expect("> ")
            talk.sendline(typed)
        talk.expect(words)
        times.append(time.perf_counter() - start)
        talk.close(force=True)
    return statistics.median(times)
