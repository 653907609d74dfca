"""Withdraw what was entered by mistake: it stays readable, struck, with the reason.

A correction says that a value was wrong and gives the right one.  A withdrawal
says that the entry should never have been made, as when a sheet went into the
wrong job; what was so before it counts again.
"""

from __future__ import annotations

import difflib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from diagnose.errors import NotFoundError, StoreError
from diagnose.store.entry import VALUE_KINDS, WITHDRAWAL, Entry
from diagnose.store.fold import fold_values
from diagnose.store.jobs import values_of
from diagnose.store.journal import Casebook


@dataclass(frozen=True, slots=True)
class Withdrawn:
    """What a withdrawal did to the values of a job."""

    entry: Entry
    """The withdrawal itself."""
    of: Entry
    """The entry that was withdrawn, or of which one path was."""
    changes: Mapping[str, tuple[str | None, str | None]]
    """By path, the value before and the one that counts now; None for no value."""


def withdraw(
    casebook: Casebook,
    device: str,
    seq: int,
    *,
    said_by: str,
    at: datetime,
    reason: str,
    path: str | None = None,
) -> Entry:
    """Withdraw an entry, or one path of it; the entry stays, struck through.

    Raises
    ------
    NotFoundError
        When there is no such entry.
    StoreError
        When no reason is given.
    """
    if not reason.strip():
        raise StoreError("a withdrawal needs its reason")
    old = casebook.entry_at(device, seq)
    if old is None:
        raise NotFoundError(f"there is no entry {seq} of {device}")
    body: dict[str, Any] = {
        "withdraws": [old.device, old.seq, old.hash],
        "said_by": said_by,
        "reason": reason,
    }
    body.update({name: old.body[name] for name in ("job", "case") if name in old.body})
    if path is not None:
        body["path"] = path
    return casebook.append(WITHDRAWAL, body, at=at)


def withdraw_value(
    casebook: Casebook, job_id: str, path: str, *, said_by: str, at: datetime, reason: str
) -> Withdrawn:
    """Withdraw the present value at a path of a job.

    Raises
    ------
    NotFoundError
        When the job has no value there; it lists paths of like names.
    StoreError
        When no reason is given.
    """
    before, origins = values_of(casebook, job_id)
    if path not in origins:
        near = difflib.get_close_matches(path, before, n=3)
        raise NotFoundError(f"the job {job_id} has no value at {path} to withdraw", near)
    old = casebook.entry_at(origins[path].device, origins[path].seq)
    assert old is not None
    entry = withdraw(
        casebook, old.device, old.seq, said_by=said_by, at=at, reason=reason, path=path
    )
    return Withdrawn(entry, old, _changes(before, values_of(casebook, job_id)[0]))


def withdraw_entry(
    casebook: Casebook,
    job_id: str,
    device: str,
    seq: int,
    *,
    said_by: str,
    at: datetime,
    reason: str,
) -> Withdrawn:
    """Withdraw everything that one entry set in a job; `device` may be cut short.

    Raises
    ------
    NotFoundError
        When the job has no such entry that sets values.
    StoreError
        When no reason is given, when more than one device begins so, or when
        nothing of the entry still stands.
    """
    before, _ = values_of(casebook, job_id)
    entries = casebook.entries(job=job_id)
    found = [
        each
        for each in entries
        if each.seq == seq and each.device.startswith(device) and each.kind in VALUE_KINDS
    ]
    if not found:
        raise NotFoundError(f"the job {job_id} has no entry {device}/{seq} that sets values")
    if len(found) > 1:
        raise StoreError(
            f"more than one device begins with {device}; write more of it: "
            + ", ".join(f"{each.device}/{seq}" for each in found)
        )
    old = found[0]
    steps = [
        step
        for own in fold_values(entries).history.values()
        for step in own
        if (step.entry.device, step.entry.seq) == (old.device, old.seq)
    ]
    if steps and all(step.struck for step in steps):
        raise StoreError(f"the entry {device}/{seq} was withdrawn already")
    entry = withdraw(casebook, old.device, old.seq, said_by=said_by, at=at, reason=reason)
    return Withdrawn(entry, old, _changes(before, values_of(casebook, job_id)[0]))


def _changes(
    before: Mapping[str, str], now: Mapping[str, str]
) -> dict[str, tuple[str | None, str | None]]:
    return {
        path: (before.get(path), now.get(path))
        for path in sorted({*before, *now})
        if before.get(path) != now.get(path)
    }
