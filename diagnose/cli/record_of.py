"""A job as the casebook holds it, each value with the entry it came from."""

from __future__ import annotations

from diagnose.record.fold import fold
from diagnose.record.model import Job
from diagnose.store.jobs import values_of
from diagnose.store.journal import Casebook


def job_of(book: Casebook, job_id: str) -> Job:
    """Return the job, each value with its entry and how far that is trusted.

    Raises
    ------
    NotFoundError
        There is no such job; it names those of like names.
    """
    values, origins = values_of(book, job_id)
    return fold(job_id, values, origins)
