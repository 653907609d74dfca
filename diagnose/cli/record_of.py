"""A job as the casebook holds it, each value with the entry it came from."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from diagnose.model import Provenance
from diagnose.record.fold import fold
from diagnose.record.model import Job
from diagnose.record.provenance import (
    ON_THE_DAY_WITHIN,
    event_of,
    first_complaint,
    provenance_of,
)
from diagnose.store.entry import COMPLAINT
from diagnose.store.jobs import values_of
from diagnose.store.journal import Casebook
from diagnose.store.provenance import Said


def job_of(book: Casebook, job_id: str) -> Job:
    """Return the job with provenance judged by the rule of the record.

    Once somebody has complained, only dates that were on record by then say
    when things happened: nobody can make a late entry early by moving a date.

    Raises
    ------
    NotFoundError
        There is no such job; it names those of like names.
    """
    values, first = values_of(book, job_id)
    complained = complained_at(book, job_id, values)
    known = {
        path: value
        for path, value in values.items()
        if path.startswith("complaints.")
        or complained is None
        or first[path].entered_at < complained
    }

    def judge(said: Said) -> Provenance:
        found = provenance_of(said.path, said.entered_at, known, statement=said.statement)
        if said.after_complaint and found in (Provenance.LATE, Provenance.ON_THE_DAY):
            event = event_of(said.path, known)
            if event is None or said.entered_at > event + ON_THE_DAY_WITHIN:
                return Provenance.AFTER_COMPLAINT
        return found

    _, origins = values_of(book, job_id, judge)
    return fold(job_id, values, origins)


def complained_at(book: Casebook, job_id: str, values: Mapping[str, str]) -> datetime | None:
    """Return when the first complaint about the job was made or entered, or None."""
    entered = [entry.entered_at for entry in book.entries(job=job_id, kind=COMPLAINT)]
    told = first_complaint(values)
    return min([*entered, *([told] if told else [])], default=None)
