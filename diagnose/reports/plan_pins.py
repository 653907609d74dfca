"""What is pinned to a floor plan: a label and the place it means."""

from __future__ import annotations

from diagnose.model import Place
from diagnose.record.model import Job

Pin = tuple[str, Place]
"""Label and place of something to pin to the plan, such as a complaint."""


def complaint_pins(job: Job) -> tuple[Pin, ...]:
    """Return a pin for every complaint of the job that names its place."""
    pins = []
    for complaint in job.complaints.values():
        kind, _, place = (complaint.at or "").partition(":")
        if kind:
            pins.append((f"complaint {complaint.id}", Place(kind, place)))
    return tuple(pins)
