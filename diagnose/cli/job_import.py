"""Bring a sheet or a climate log into the casebook, as differences only."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

from diagnose.errors import InputError, NotFoundError, Problem
from diagnose.model import EntryRef
from diagnose.record.difference import Change, differences
from diagnose.record.sheet import Sheet, read_sheet
from diagnose.store.jobs import import_changes, values_of
from diagnose.store.journal import Casebook

if TYPE_CHECKING:
    from diagnose.record.model import ClimateLog, Job

FAR_OUTSIDE = timedelta(days=60)
"""A log this far from every time of the job may be another job's; a judgement."""


@dataclass(frozen=True, slots=True)
class ClimateImport:
    """What bringing a climate log in did."""

    log: ClimateLog
    before: ClimateLog | None
    """The log of the area that this one replaces."""
    days_outside: int
    """Days of the log that lie far outside the job."""
    job_days: str
    """First and last day of the job as recorded, in words; empty for none."""


def import_sheet(
    book: Casebook, path: Path, data: bytes, *, said_by: str, at: datetime, reason: str = ""
) -> tuple[Sheet, tuple[Change, ...]]:
    """Read a sheet and keep what differs from the casebook as one entry.

    What the sheet leaves out is taken out only if a sheet had brought it in:
    values that were logged singly, climate logs and complaints stay.
    """
    sheet = read_sheet(data, str(path))
    changes = sheet_changes(book, sheet)
    import_changes(
        book,
        sheet.job_id,
        {change.path: change.new for change in changes},
        said_by=said_by,
        at=at,
        file_name=path.name,
        file_sha256=sha256(data).hexdigest(),
        reason=reason,
    )
    return sheet, changes


def sheet_changes(book: Casebook, sheet: Sheet) -> tuple[Change, ...]:
    """Return what bringing a sheet in would change."""
    try:
        present, origins = values_of(book, sheet.job_id)
    except NotFoundError:
        present, origins = {}, {}
    return tuple(
        change
        for change in differences(present, sheet)
        if change.new is not None or _from_a_sheet(book, origins.get(change.path))
    )


def _from_a_sheet(book: Casebook, origin: EntryRef | None) -> bool:
    entry = book.entry_at(origin.device, origin.seq) if origin else None
    file = entry.body.get("file") if entry else None
    return isinstance(file, Mapping) and str(file.get("name", "")).endswith((".yaml", ".yml"))


def import_climate(
    book: Casebook,
    job_id: str,
    path: Path,
    data: bytes,
    *,
    area: str,
    dates: str | None,
    said_by: str,
    at: datetime,
) -> ClimateImport:
    """Read a logger's file for an area and keep it as the log of the area."""
    from diagnose.record.climate import read_climate
    from diagnose.record.fold import flatten, fold
    from diagnose.record.model import Job

    values = values_of(book, job_id)[0]
    areas = {p.split(".")[1] for p in values if p.startswith("areas.")}
    if area not in areas:
        raise NotFoundError(f"the job {job_id} has no area {area}", sorted(areas)[:5])
    zone = values.get("zone")
    if not zone:
        hint = "write zone: Europe/London (or the like) in the sheet first"
        raise InputError([Problem(None, f"the job {job_id} names no time zone", hint)])
    log_id = values.get(f"areas.{area}.climate") or f"log-{area}"
    log = read_climate(data, str(path), zone=zone, dates=dates, log_id=log_id)
    wanted = {
        p: text
        for p, text in flatten(Job(id=job_id, climate={log.id: log})).items()
        if p.startswith("climate.")
    }
    wanted[f"areas.{area}.climate"] = log.id
    import_changes(
        book,
        job_id,
        wanted,
        said_by=said_by,
        at=at,
        file_name=path.name,
        file_sha256=sha256(data).hexdigest(),
    )
    job = fold(job_id, values)
    first, last = _days_of(job)
    outside = [
        day
        for day in log.days
        if first and last and not first - FAR_OUTSIDE <= day.day <= last + FAR_OUTSIDE
    ]
    before = job.climate.get(log.id)
    return ClimateImport(log, before, len(outside), f"{first} to {last}" if first else "")


def _days_of(job: Job) -> tuple[date | None, date | None]:
    """Return the first and last day on which something happened in the job."""
    from diagnose.record.contradictions import moments_of

    days = [
        moment.date()
        for path, moment in moments_of(job).items()
        if isinstance(moment, datetime) and not path.startswith(("lots.", "contract."))
    ]
    return min(days, default=None), max(days, default=None)
