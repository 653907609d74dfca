"""How far a value is trusted, by when it was entered (pure).

The day a value tells of is taken, in this order, from its own entry, from the
latest time of its part of the record (`spreads.SP1.laid_at` for everything of
`spreads.SP1`), and from the end of the job.  A value entered by the end of
that day, on the clock of the site, counts as made on the day, even after a
complaint: a reading taken at the inspection is no story told later.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo
from zoneinfo import ZoneInfo

from diagnose.model import Provenance
from diagnose.record.provenance import FIRST_YEAR, LAST_YEAR

WHOLE_JOB = ("dates.finished_at", "dates.handed_over_at", "dates.started_at")


@dataclass(frozen=True, slots=True)
class Said:
    """What is known of how a value came in."""

    path: str
    value: str
    entered_at: datetime
    happened_at: datetime | None
    """As the entry itself says."""
    statement: bool
    """True for what somebody remembers or claims, as against what was noted."""
    after_complaint: bool
    """True when a complaint about the job had been made before."""


ProvenanceOf = Callable[[Said], Provenance]


def by_time(values: Mapping[str, str]) -> ProvenanceOf:
    """Return the judge for one job, given all its values."""
    zone = zone_of(values)
    latest: dict[str, datetime] = {}
    for path, value in values.items():
        at = time_of(value, zone) if _tells_time(path) else None
        part = part_of(path)
        if at is not None and (part not in latest or at > latest[part]):
            latest[part] = at
    whole = next((at for at in (time_of(values.get(p, ""), zone) for p in WHOLE_JOB) if at), None)

    def judge(said: Said) -> Provenance:
        if said.statement:
            return Provenance.STATEMENT
        told = said.happened_at or latest.get(part_of(said.path)) or whole
        if told is not None and _day(said.entered_at, zone) <= _day(told, zone):
            return Provenance.ON_THE_DAY
        return Provenance.AFTER_COMPLAINT if said.after_complaint else Provenance.LATE

    return judge


def part_of(path: str) -> str:
    """Return the part of the record that a path belongs to.

    Examples
    --------
    >>> part_of("spreads.SP1.laid_at"), part_of("dates.started_at"), part_of("title")
    ('spreads.SP1', 'dates', '')
    """
    steps = path.split(".")
    return ".".join(steps[: min(2, len(steps) - 1)])


def zone_of(values: Mapping[str, str]) -> tzinfo:
    """Return the time zone of the site; UTC where none is known."""
    try:
        return ZoneInfo(values["zone"])
    except (KeyError, ValueError, OSError):
        return UTC


def time_of(text: str, zone: tzinfo) -> datetime | None:
    """Read a time of the record; one without an offset is on the clock of the site."""
    try:
        at = datetime.fromisoformat(text.strip().replace("Z", "+00:00"))
    except ValueError:
        return None
    if not FIRST_YEAR <= at.year <= LAST_YEAR:
        return None
    return at if at.tzinfo else at.replace(tzinfo=zone)


def _tells_time(path: str) -> bool:
    last = path.rsplit(".", 1)[-1]
    return last == "at" or last.endswith("_at")


def _day(at: datetime, zone: tzinfo) -> tuple[int, int, int]:
    local = at.astimezone(zone)
    return (local.year, local.month, local.day)
