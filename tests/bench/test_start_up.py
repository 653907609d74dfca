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
        "first question": (
            [*run, "walk", "larch-house", "-s", "seam-peaking", "--at", "seam:S2", "--json", *book],
            18,
        ),
    }
    told = []
    for name, (command, goal) in goals.items():
        ratio = seconds(command, environment) / bare
        told.append(f"{name}: {ratio:.1f} times a bare start (goal {goal})")
        print(told[-1])
    missed = [
        line
        for line in told
        if float(line.split(": ")[1].split()[0]) > float(line.split("goal ")[1][:-1])
    ]
    assert not missed, "\n".join(missed)
