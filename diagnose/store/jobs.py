"""Jobs of a casebook: list them, read their values, add values and corrections."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any

from diagnose.errors import NotFoundError, StoreError
from diagnose.model import EntryRef
from diagnose.record.provenance import Said, first_complaint, judged
from diagnose.store import people, sql
from diagnose.store.entry import (
    COMPLAINT,
    CORRECTION,
    JOB_VALUE,
    JOB_VALUES,
    Entry,
    utc_text,
)
from diagnose.store.fold import Folded, Step, fold_values, happened_at, text_in
from diagnose.store.journal import Casebook

PERSONAL_PATHS = frozenset({"contract.client", "completion.handed_to"})
"""Values that name a person: the journal holds a mark for them, not the text."""

LIST_HINT = "; `diagnose job list` lists those there are"


@dataclass(frozen=True, slots=True)
class JobLine:
    """One job in a list."""

    id: str
    title: str | None
    method: str | None
    product: str | None
    finished_at: str | None


def jobs(casebook: Casebook) -> tuple[JobLine, ...]:
    """Return every job, by id."""
    return tuple(JobLine(*row) for row in casebook.engine.rows(sql.GET_JOB_HEADS))


def values_of(casebook: Casebook, job_id: str) -> tuple[dict[str, str], dict[str, EntryRef]]:
    """Return a job's present values by path, and the entry that set each of them.

    How far a value is trusted follows from the rule of `record.provenance`.

    Raises
    ------
    NotFoundError
        When no entry names the job; it lists jobs of like names.
    """
    folded, entries = _folded(casebook, job_id)
    complaints = tuple(entry for entry in entries if entry.kind == COMPLAINT)
    complained = _complained_at(complaints, folded.values)
    first = min((entry.order for entry in complaints), default=None)

    def after_complaint(entry: Entry) -> bool:
        return (first is not None and entry.order > first) or (
            complained is not None and entry.entered_at > complained
        )

    said = [
        Said(
            path,
            entry.entered_at,
            entry.body.get("statement") is True,
            after_complaint(entry),
        )
        for path, entry in folded.setters.items()
    ]
    found = judged(said, folded.values, complained)
    origins = {
        path: EntryRef(
            entry.device,
            entry.seq,
            entry.hash,
            entry.entered_at,
            text_in(entry, "said_by"),
            found[path],
        )
        for path, entry in folded.setters.items()
    }
    return _recalled(casebook, folded.values), origins


def _complained_at(complaints: Iterable[Entry], values: Mapping[str, str]) -> datetime | None:
    """Return when the first complaint was made, by the cases and by the record."""
    told = [happened_at(entry) or entry.entered_at for entry in complaints]
    written = first_complaint(values)
    return min([*told, *([written] if written else [])], default=None)


def history_of(casebook: Casebook, job_id: str, path: str) -> tuple[Step, ...]:
    """Return every value that a path had, oldest first, with the entries that set it."""
    folded, _ = _folded(casebook, job_id)
    steps = folded.history.get(path)
    if steps is None:
        near = difflib.get_close_matches(path, folded.history, n=3)
        raise NotFoundError(f"nothing was ever recorded at {path} of the job {job_id}", near)
    return tuple(
        replace(step, value=people.recall(casebook, step.value)) if step.value else step
        for step in steps
    )


def set_value(
    casebook: Casebook,
    job_id: str,
    path: str,
    value: str | None,
    *,
    said_by: str,
    at: datetime,
    happened: datetime | None = None,
    statement: bool = False,
    reason: str = "",
) -> Entry:
    """Record one value; None takes the value out."""
    common = _common(job_id, said_by, happened, statement, reason)
    body = {"path": path, "value": _kept(casebook, path, value), **common}
    return casebook.append(JOB_VALUE, body, at=at)


def import_changes(
    casebook: Casebook,
    job_id: str,
    changes: Mapping[str, str | None],
    *,
    said_by: str,
    at: datetime,
    file_name: str = "",
    file_sha256: str = "",
    happened: datetime | None = None,
    statement: bool = False,
    reason: str = "",
) -> Entry | None:
    """Record many values as one entry; those that are so already are left out.

    Returns None when nothing changes.
    """
    entries = casebook.entries(job=job_id)
    now = _recalled(casebook, fold_values(entries).values)
    fresh = {path: value for path, value in changes.items() if now.get(path) != value}
    if not fresh and entries:
        return None
    body: dict[str, Any] = {
        "values": {path: _kept(casebook, path, value) for path, value in fresh.items()},
        **_common(job_id, said_by, happened, statement, reason),
    }
    if file_name or file_sha256:
        body["file"] = {"name": file_name, "sha256": file_sha256}
    return casebook.append(JOB_VALUES, body, at=at)


def correct(
    casebook: Casebook,
    job_id: str,
    path: str,
    value: str | None,
    *,
    said_by: str,
    at: datetime,
    reason: str,
    happened: datetime | None = None,
    statement: bool = False,
) -> Entry:
    """Correct a value by a new entry that names the old one, which stays readable.

    Raises
    ------
    NotFoundError
        When the path has no value to correct.
    StoreError
        When no reason is given.
    """
    if not reason.strip():
        raise StoreError("a correction needs its reason")
    folded, _ = _folded(casebook, job_id)
    old = folded.setters.get(path)
    if old is None:
        near = difflib.get_close_matches(path, folded.setters, n=3)
        raise NotFoundError(f"the job {job_id} has no value at {path} to correct", near)
    body = {
        "path": path,
        "value": _kept(casebook, path, value),
        "corrects": [old.device, old.seq, old.hash],
        **_common(job_id, said_by, happened, statement, reason),
    }
    return casebook.append(CORRECTION, body, at=at)


def _kept(casebook: Casebook, path: str, value: str | None) -> str | None:
    """Return what goes into the journal for a value: a mark where it names a person."""
    if value is None or path not in PERSONAL_PATHS or value == people.FORGOTTEN:
        return value
    if people.is_kept(casebook, value):
        return value
    return people.remember(casebook, value)


def _recalled(casebook: Casebook, values: Mapping[str, str]) -> dict[str, str]:
    return {
        path: people.recall(casebook, value) if path in PERSONAL_PATHS else value
        for path, value in values.items()
    }


def _common(
    job_id: str, said_by: str, happened: datetime | None, statement: bool, reason: str
) -> dict[str, Any]:
    if not job_id or len(job_id) > 200 or not job_id.isprintable():
        raise StoreError("a job needs an id of 1 to 200 printable characters")
    body: dict[str, Any] = {
        "job": job_id,
        "said_by": said_by,
        "statement": statement,
        "reason": reason,
    }
    if happened is not None:
        body["happened_at"] = utc_text(happened)
    return body


def _folded(casebook: Casebook, job_id: str) -> tuple[Folded, tuple[Entry, ...]]:
    entries = casebook.entries(job=job_id)
    if not entries:
        known = [line.id for line in jobs(casebook)]
        near = difflib.get_close_matches(job_id, known, n=3)
        raise NotFoundError(f"the casebook has no job {job_id}{'' if near else LIST_HINT}", near)
    return fold_values(entries), entries
