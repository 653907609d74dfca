"""Say when a value was entered: on the day, late, after the complaint, or stated.

The rule, in this order:

1. A value that was given as a statement stays a statement.
2. Entered within 24 h of its own event, or before the work was finished: on
   the day.  An entry made before its event was written counts likewise.
3. Entered at or after the first complaint: after the complaint.
4. Otherwise late.

The event of a time is that time.  Other values have the event of their part:
a spread was laid, a seam closed, a reading taken, and so on as in
`EVENT_OF_PART`; a part without such a time has the day the work was finished,
and so has a part of the laying that is dated later than that day.
Where not even that is recorded the work counts as under way.

Once somebody has complained, only dates that were on record by then tell when
things happened: nobody can make a late entry early by moving a date.  What was
entered after the complaint is then on the day only within 24 h of such a date.

All of it is a rule of this project: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

from diagnose.model import Provenance
from diagnose.record.codec import decode
from diagnose.record.fields import FieldRule, field_of

ON_THE_DAY_WITHIN = timedelta(hours=24)

FIRST_YEAR, LAST_YEAR = 1900, 2200
"""Times outside these years count as not recorded."""

FINISHED = "dates.finished_at"

EVENT_OF_PART: Mapping[str, tuple[str, ...]] = {
    "spreads": ("laid_at", "ended_at", "started_at"),
    "seams": ("closed_at",),
    "readings": ("taken_at",),
    "conditioning": ("to_at", "from_at"),
    "later": ("at",),
    "complaints": ("made_at",),
    "photos": ("taken_at",),
}
"""Times of a part that tell when it happened, the first that is recorded."""

LAYING = frozenset({"spreads", "seams", "conditioning"})
"""Parts whose events lie before the work was finished."""

EVENT_OF_GROUP: Mapping[str, str] = {"completion": "dates.handed_over_at"}


@dataclass(frozen=True, slots=True)
class Said:
    """What is known of how the present value at a path came in."""

    path: str
    entered_at: datetime
    statement: bool = False
    """True for what somebody remembers or claims, as against what was noted."""
    after_complaint: bool = False
    """True when a complaint about the job had been made or entered before."""


def judged(
    said: Iterable[Said], values: Mapping[str, str], complained: datetime | None
) -> dict[str, Provenance]:
    """Return the provenance of every value of a job, by path.

    `values` are all present values of the job; `complained` is when the first
    complaint was made, as far as its casebook and its record know.
    """
    everything = tuple(said)
    late = {
        each.path for each in everything if complained is not None and each.entered_at >= complained
    }
    known = {
        path: value
        for path, value in values.items()
        if path not in late or path.startswith("complaints.")
    }
    finished, complaint = _time(FINISHED, known), first_complaint(known)
    found: dict[str, Provenance] = {}
    for each in everything:
        event = event_of(each.path, known)
        if each.statement:
            verdict = Provenance.STATEMENT
        else:
            verdict = _by_time(each.entered_at, event, finished, complaint)
        if each.after_complaint and verdict in (Provenance.LATE, Provenance.ON_THE_DAY):
            in_time = event is not None and each.entered_at <= event + ON_THE_DAY_WITHIN
            verdict = verdict if in_time else Provenance.AFTER_COMPLAINT
        found[each.path] = verdict
    return found


def provenance_of(
    path: str,
    entered_at: datetime,
    values: Mapping[str, str],
    *,
    statement: bool = False,
) -> Provenance:
    """Return the provenance of the value at `path`.

    Parameters
    ----------
    path : str
        Such as `spreads.SP1.laid_at`.
    entered_at : datetime
        When the entry was made, with offset.
    values : mapping
        All values of the job by path, as `fold` takes them; what cannot be
        read counts as not recorded.
    statement : bool
        Given from memory or hearsay, marked so by the person who entered it.

    Examples
    --------
    >>> day = {"spreads.SP1.laid_at": "2026-03-02T09:40:00+00:00",
    ...        "dates.finished_at": "2026-03-03T15:40:00+00:00"}
    >>> later = datetime.fromisoformat("2026-03-20T12:00:00+00:00")
    >>> provenance_of("spreads.SP1.tack", later, day).value
    'late'
    """
    if statement:
        return Provenance.STATEMENT
    return _by_time(
        entered_at, event_of(path, values), _time(FINISHED, values), first_complaint(values)
    )


def _by_time(
    entered_at: datetime,
    event: datetime | None,
    finished: datetime | None,
    complaint: datetime | None,
) -> Provenance:
    """Apply points 2 to 4 of the rule."""
    if event is not None and entered_at <= event + ON_THE_DAY_WITHIN:
        return Provenance.ON_THE_DAY
    if finished is not None and entered_at <= finished:
        return Provenance.ON_THE_DAY
    if complaint is not None and entered_at >= complaint:
        return Provenance.AFTER_COMPLAINT
    if event is None and finished is None:
        return Provenance.ON_THE_DAY
    return Provenance.LATE


def event_of(path: str, values: Mapping[str, str]) -> datetime | None:
    """Return when what the value tells of happened, or None.

    What belongs to the laying happened no later than the day the work was
    finished, whatever time is written beside it.
    """
    collection, _, rest = path.partition(".")
    finished = _time(FINISHED, values)
    event = _event_on_record(path, collection, rest.partition(".")[0], values)
    if event is None:
        return _time(EVENT_OF_GROUP.get(collection, FINISHED), values) or finished
    if collection in LAYING and finished is not None:
        return min(event, finished)
    return event


def _event_on_record(
    path: str, collection: str, part: str, values: Mapping[str, str]
) -> datetime | None:
    """Return the value's own time, or else that of its part."""
    rule = field_of(path)
    own = _time(path, values) if rule is not None and rule.kind == "time" else None
    if own is not None:
        return own
    times = (
        _time(f"{collection}.{part}.{name}", values) for name in EVENT_OF_PART.get(collection, ())
    )
    return next((time for time in times if time is not None), None)


def first_complaint(values: Mapping[str, str]) -> datetime | None:
    """Return when the first complaint was made, or None."""
    made = (
        _time(path, values)
        for path in values
        if path.startswith("complaints.") and path.endswith(".made_at")
    )
    return min((time for time in made if time is not None), default=None)


def _time(path: str, values: Mapping[str, str]) -> datetime | None:
    rule: FieldRule | None = field_of(path)
    text = values.get(path)
    if rule is None or text is None or rule.kind != "time":
        return None
    try:
        moment = decode(rule, text)
    except ValueError:
        return None
    usable = isinstance(moment, datetime) and FIRST_YEAR <= moment.year <= LAST_YEAR
    return moment if usable and isinstance(moment, datetime) else None
