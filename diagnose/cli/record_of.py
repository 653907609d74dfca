"""A job as the casebook holds it, each value with the entry it came from."""

from __future__ import annotations

from diagnose.model import Provenance
from diagnose.record.fold import fold
from diagnose.record.model import Job
from diagnose.record.provenance import provenance_of
from diagnose.store.jobs import values_of
from diagnose.store.journal import Casebook
from diagnose.store.provenance import Said


def job_of(book: Casebook, job_id: str) -> Job:
    """Return the job with provenance judged by the rule of the record.

    Raises
    ------
    NotFoundError
        There is no such job; it names those of like names.
    """
    values, _ = values_of(book, job_id)

    def judge(said: Said) -> Provenance:
        found = provenance_of(said.path, said.entered_at, values, statement=said.statement)
        if found is Provenance.LATE and said.after_complaint:
            return Provenance.AFTER_COMPLAINT
        return found

    _, origins = values_of(book, job_id, judge)
    return fold(job_id, values, origins)
