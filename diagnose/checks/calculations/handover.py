"""After the last drop: traffic, heating, and what happened to the floor later.

Nothing is expected of the record after handover: where no such event is
recorded, the question does not arise.

References
----------
.. [1] CRI 105 12.7: only fitters for 24 to 48 h; no sheet plastic; never below 10 °C.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime

from diagnose.checks.calculations.area_size import area_size_m2
from diagnose.checks.found import Found, against, deviates, in_order, not_for_this, silent
from diagnose.checks.look import Look, hours_between, stamp
from diagnose.checks.words import moment, num
from diagnose.record.model import Later

WARM_MONTHS = (6, 7, 8, 9)
DRY_WORDS = ("dry", "vacuum", "powder", "spot")
"""A cleaning whose method names one of these is not a wet one."""


def traffic_after(look: Look) -> Found | None:
    """Hours from the last rolling of the job to the first traffic or furniture."""
    finished = finished_at(look)
    used = look.time(look.path(look.option("field")))
    limit = look.limit("low")
    if finished is None or used is None or limit is None:
        return None
    hours = hours_between(finished, used)
    if hours is None:
        return silent("a time has no offset, so nothing can be counted")
    line = f"last rolled or laid {moment(finished)}, used {moment(used)}: {num(hours, 'h', 1)}"
    if hours < 0:
        return deviates("used before the last drop was finished", line, excess=1.0)
    return against(hours, limit, f"{look.option('what')} after", line, side="low", places=1)


def heating_kept(look: Look) -> Found | None:
    """Heating left on in the cold part of the year."""
    kept = look.flag("completion.heating_on")
    finished = finished_at(look)
    if kept is None:
        return None
    if kept:
        return in_order("heating left on at handover", "heating on: yes")
    if finished is not None and finished.month in WARM_MONTHS:
        return not_for_this(f"finished {moment(finished)}, when no heating runs")
    return deviates("heating was off when the floor was handed over", "heating on: no")


def no_event(look: Look) -> Found | None:
    """No later event of one kind, within `days` after the work where that is set."""
    events = _later(look, look.option("kind"))
    if not events:
        return not_for_this(f"no {look.option('kind')} is recorded")
    days = look.option("days")
    finished = finished_at(look) if days else None
    early = []
    for event in events:
        at = look.time(f"later.{event.id}.at", needed=bool(days))
        hours = hours_between(finished, at) if finished and at else None
        if not days or (hours is not None and hours <= float(days) * 24):
            early.append((event, at, hours))
    if not early:
        if days and look.missing:
            return None
        return in_order(
            f"{look.option('kind')} only later than {days} days", f"{len(events)} events"
        )
    event, at, hours = early[0]
    after = f", {num(hours / 24, 'days', 1)} after the work" if hours is not None else ""
    when = moment(at) if at else "at a time not recorded"
    note = look.word(f"later.{event.id}.note", needed=False)
    line = f"{event.id}: {event.kind} {when}{after}{f'; {note}' if note else ''}"
    return deviates(f"{look.option('bad')} {when}{after}", line, excess=1.0)


def wet_cleaned_late(look: Look) -> Found | None:
    """Days from the end of the work to the first wet cleaning."""
    finished = finished_at(look)
    wet = [event for event in _later(look, "cleaning") if not _is_dry(event)]
    if not wet:
        return not_for_this("no wet cleaning is recorded")
    limit = look.limit("low")
    times = [at for event in wet if (at := look.time(f"later.{event.id}.at"))]
    for event in wet:
        look.word(f"later.{event.id}.method", needed=False)
    if finished is None or not times or limit is None:
        return None
    first = min(times, key=stamp)
    hours = hours_between(finished, first)
    if hours is None:
        return silent("a time has no offset, so nothing can be counted")
    line = f"finished {moment(finished)}, wet cleaned {moment(first)}: {num(hours / 24, 'days', 1)}"
    if hours < 0:
        return silent("cleaned before the work was finished: the times do not fit", line)
    return against(hours / 24, limit, "wet cleaned after", line, side="low", places=1)


def water_per_m2(look: Look) -> Found | None:
    """Most water of any cleaning for each square metre of the area."""
    events = _later(look, "cleaning")
    if not events:
        return not_for_this("no cleaning is recorded")
    litres = [v for e in events if (v := look.number(f"later.{e.id}.litres")) is not None]
    size = area_size_m2(look)
    limit = look.limit("high")
    if not litres or size is None or limit is None:
        return None
    most = max(litres)
    line = f"{num(most, 'L')} / {num(size, 'm²')} = {num(most / size, limit.unit)}"
    return against(most / size, limit, "water used", line, side="high")


def worst_later(look: Look) -> Found | None:
    """The worst number of one field over later events of one kind."""
    kind, field, side = look.option("kind"), look.option("field"), look.option("side")
    events = _later(look, kind)
    if not events:
        return not_for_this(f"no {kind} is recorded")
    values = [v for e in events if (v := look.number(f"later.{e.id}.{field}")) is not None]
    limit = look.limit(side)
    if not values or limit is None:
        return None
    worst = max(values) if side == "high" else min(values)
    line = "recorded: " + ", ".join(num(value, limit.unit) for value in values)
    return against(worst, limit, look.option("what"), line, side=side)


def rinsed(look: Look) -> Found | None:
    """Every wet cleaning was rinsed."""
    wet = [event for event in _later(look, "cleaning") if not _is_dry(event)]
    if not wet:
        return not_for_this("no wet cleaning is recorded")
    said = {event.id: look.flag(f"later.{event.id}.rinsed") for event in wet}
    lines = [f"{name}: {'not recorded' if v is None else v}" for name, v in said.items()]
    lines = [line.replace("True", "rinsed").replace("False", "not rinsed") for line in lines]
    if False in said.values():
        return deviates("a wet cleaning was not rinsed", *lines, excess=1.0)
    return None if None in said.values() else in_order("every wet cleaning was rinsed", *lines)


def finished_at(look: Look) -> datetime | None:
    """Return the last laying or rolling of the job, else the recorded end of the work."""
    times = [
        at
        for each in look.job.spreads.values()
        for field in ("rerolled_at", "rolled_at", "laid_end_at", "laid_at")
        if (at := look.time(f"spreads.{each.id}.{field}", needed=False))
    ]
    return max(times, default=None, key=stamp) or look.time("dates.finished_at")


def _later(look: Look, kind: str) -> list[Later]:
    area = look.part.id if look.part.kind == "area" else None
    found = [
        each
        for each in look.job.later.values()
        if each.kind == kind and (area is None or each.area in (None, area))
    ]
    for each in found:
        look.also("later", each.id)
        look.word(f"later.{each.id}.kind")
    return found


def _is_dry(event: Later) -> bool:
    return any(word in (event.method or "").lower() for word in DRY_WORDS)


CALCULATIONS: Mapping[str, Callable[[Look], Found | None]] = {
    "traffic-after": traffic_after,
    "heating-kept": heating_kept,
    "no-event": no_event,
    "wet-cleaned-late": wet_cleaned_late,
    "water-per-m2": water_per_m2,
    "worst-later": worst_later,
    "rinsed": rinsed,
}
