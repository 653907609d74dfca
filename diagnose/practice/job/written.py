"""An invented job as files: its sheet, the logger's file, the complaint.

A sheet cannot say when a value was entered, so the job is written in steps:
what was there on the day, then with what happened later, the late entries, the
complaint and what was entered because of it.  Each step holds the one before it.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from diagnose.checks.look import origin
from diagnose.practice.job.sampled import SampledJob
from diagnose.record.fold import flatten
from diagnose.record.sheet_write import write_sheet

NOTE = "# Invented for practice: no such floor, person or firm exists.\n"
NONE = "none-of-these"


@dataclass(frozen=True, slots=True)
class Step:
    """The sheet as it stood at one time."""

    at: datetime
    sheet: str


def sheet_text(sampled: SampledJob) -> str:
    """Return the whole record as a sheet; the climate log is a file of its own."""
    return NOTE + write_sheet(sampled.job.id, flatten(sampled.job))


def log_name(sampled: SampledJob) -> str:
    """Return the name of the logger's file: `climate-day-room.csv`."""
    return f"climate-{next(iter(sampled.job.areas))}.csv"


def steps(sampled: SampledJob) -> tuple[Step, ...]:
    """Return the sheet as it grew, oldest first; the last is the whole sheet."""
    job, values = sampled.job, flatten(sampled.job)
    entries = {path: origin(job, path) for path in values}
    done = job.dates.finished_at or datetime(2026, 1, 1, tzinfo=UTC)
    entered = {path: entry.entered_at if entry else done for path, entry in entries.items()}
    found = []
    for at in sorted({done, *entered.values()}):
        there = {path: text for path, text in values.items() if entered[path] <= at}
        found.append(Step(at, NOTE + write_sheet(job.id, there)))
    return tuple(found)


def worked_text(
    sampled: SampledJob, words: str, answers: Mapping[str, tuple[str, ...]], truth: Iterable[str]
) -> str:
    """Return the complaint with what the floor answers and what was wrong: the key."""
    complaint = next(iter(sampled.job.complaints.values()))
    made = complaint.made_at or sampled.job.dates.finished_at or datetime(2026, 1, 1, tzinfo=UTC)
    lines = [
        "invented: yes",
        f"job: {sampled.job.id}",
        f"symptoms: [{', '.join(complaint.symptoms)}]",
        f'at: "{sampled.place}"',
        f'made_at: "{made.isoformat()}"',
        f"words: {json.dumps(words, ensure_ascii=False)}",
        f'inspected_at: "{(made + timedelta(days=3)).isoformat()}"',
        "answers:",
        *(f"  {name}: [{', '.join(said or (NONE,))}]" for name, said in answers.items()),
        f"truth: [{', '.join(truth)}]",
    ]
    return NOTE + "\n".join(lines) + "\n"
