"""Checks and limits of the rules alone, and jobs from a few recorded values.

The checks are read without the causes and sources that they name, so that
these tests stand on the calculations and their limits only.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from diagnose.checks import Part, run_check
from diagnose.model import CheckResult
from diagnose.record.fields import field_of
from diagnose.record.fold import fold
from diagnose.record.model import Job
from diagnose.rulebook.fields import Log
from diagnose.rulebook.kinds import KIND_BY_PLACE
from diagnose.rulebook.load import load_rules
from diagnose.rulebook.model import Rules
from diagnose.yaml_text import read_yaml

ROOT = Path(__file__).parents[2]
Ask = Callable[..., CheckResult]
Make = Callable[[Mapping[str, str]], Job]


def read_folder(place: str) -> dict[str, Any]:
    """Read the files of one folder of rules; a fault in them fails the test."""
    log, found = Log(), {}
    kind = KIND_BY_PLACE[place]
    for path in sorted((ROOT / "rules" / place).glob("*.yaml")):
        if path.name.endswith(".cases.yaml"):
            continue
        top = read_yaml(path.read_bytes(), path.name)
        for node in top.get(kind.key).list():
            item = kind.for_stage(path.stem).read(node, log)
            assert item.id not in found, item.id
            found[item.id] = item
    assert not log.problems, [str(problem) for problem in log.problems]
    return found


@pytest.fixture(scope="session")
def rules(tmp_path_factory: pytest.TempPathFactory) -> Rules:
    """Rules that hold checks and limits only."""
    empty = load_rules(tmp_path_factory.mktemp("rules"))
    return replace(empty, checks=read_folder("checks"), limits=read_folder("limits"))


def job_of(values: Mapping[str, str]) -> Job:
    """Return a job from values by path.

    Times may be written 2026-03-02 09:25; a log as "from 2026-03-01 09:00;
    air_c: 20 x 48, 16 x 6", which is one sample an hour.
    """
    return fold("example", {path: _canonical(path, text) for path, text in values.items()})


def _canonical(path: str, text: str) -> str:
    if path.endswith(".points") and text.startswith("from "):
        return _log(text)
    rule = field_of(path)
    if rule is not None and rule.kind == "time" and re.fullmatch(r"[\d-]{10} \d\d:\d\d", text):
        return f"{text.replace(' ', 'T')}:00+00:00"
    return text


def _log(text: str) -> str:
    head, *channels = text.split(";")
    start = datetime.fromisoformat(head.removeprefix("from ")).replace(tzinfo=UTC)
    rows: dict[int, dict[str, object]] = {}
    for channel in channels:
        name, _, runs = channel.partition(":")
        values = [v for run in runs.split(",") for v in _run(run)]
        for hour, value in enumerate(values):
            at = (start + timedelta(hours=hour)).isoformat()
            rows.setdefault(hour, {"at": at})[name.strip()] = value
    return json.dumps(list(rows.values()))


def _run(text: str) -> list[float]:
    value, _, count = text.partition("x")
    return [float(value)] * int(count or 1)


@pytest.fixture(scope="session")
def make() -> Make:
    """Make a job from values by path."""
    return job_of


@pytest.fixture(scope="session")
def ask(rules: Rules) -> Ask:
    """Ask one check of one part of a job made from values by path."""

    def asked(check: str, part: str, values: Mapping[str, str]) -> CheckResult:
        kind, _, name = part.partition(":")
        return run_check(rules.checks[check], rules, job_of(values), Part(kind, name))

    return asked
