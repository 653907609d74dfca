"""The climate of an area before, while and after it was laid, from its log.

A log has to cover the window: what it does not cover is a gap and never in
order.  Single readings can show a deviation, never that the window was kept.

References
----------
.. [1] CRI 105 (2015, 2019) 7.2: 48 h before, during and 72 h after.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Mapping
from datetime import UTC, datetime, timedelta

from diagnose.checks.calculations.climate_logs import READY
from diagnose.checks.found import Found, against, asked, beyond, deviates, in_order, silent
from diagnose.checks.limits import Chosen
from diagnose.checks.look import Look, stamp
from diagnose.checks.parts import readings_in, spreads_in
from diagnose.checks.words import moment, num
from diagnose.physics.climate import (
    Band,
    Verdict,
    judge,
)
from diagnose.record.model import ClimateDay, ClimateLog

COVERED_AT_LEAST = 0.9
"""Share of the window that a log has to cover; common practice, no source."""

READING_KINDS: Mapping[str, str] = {
    "air_c": "air-temperature",
    "humidity_percent": "air-humidity",
    "floor_c": "floor-temperature",
}
DAY_FIELDS: Mapping[str, tuple[str, str]] = {
    "air_c": ("air_low_c", "air_high_c"),
    "humidity_percent": ("humidity_low_percent", "humidity_high_percent"),
}

Window = tuple[datetime, datetime]


def band_kept(look: Look) -> Found | None:
    """One quantity inside the limit for one window: before, during, after or later."""
    quantity, which = look.option("quantity", "air_c"), look.option("window", "during")
    limit = look.limit(look.option("side"))
    window = _window(look, which)
    if window is None or limit is None:
        return None
    if stamp(window[1]) <= stamp(window[0]):
        if which == "later":
            look.lack(f"climate log of {look.part.words} after the work")
            return None
        return silent("the work ends before it starts: the times do not fit")
    log = _log(look)
    if log is None or not (log.points or log.days):
        return _from_readings(look, quantity, window, limit)
    samples = READY.of(log, quantity)
    if not samples.times:
        return _from_days(look, log, quantity, window, limit)
    side = look.option("side")
    let_pass = float(look.option("let_pass", "0"))
    low = None if side == "high" or limit.low is None else limit.low - let_pass
    high = None if side == "low" or limit.high is None else limit.high + let_pass
    band = Band(low, high)
    return _from_log(look, judge(samples, *window, band), window, limit)


def largest_step(look: Look) -> Found | None:
    """Largest change of the daily mean from one day to the next."""
    log = _log(look)
    limit = look.limit("high")
    if log is None:
        look.lack(f"climate log of {look.part.words}")
    if log is None or limit is None:
        return None
    found = READY.largest_step(log, look.option("quantity", "air_c"))
    if found is None:
        return silent("the log has no two days that follow each other")
    day, step = found
    line = f"daily mean of {moment(day)} against the day before: {num(step, limit.unit, 1)}"
    return against(step, limit, "largest change of a day", line, side="high", places=1)


def span_after(look: Look) -> Found | None:
    """Difference of the highest and lowest value after the work was finished."""
    quantity = look.option("quantity", "humidity_percent")
    finished = _window(look, "later")
    log = _log(look)
    limit = look.limit("high")
    if log is None:
        look.lack(f"climate log of {look.part.words}")
    if log is None or finished is None or limit is None:
        return None
    ready = READY.of(log, quantity)
    since = finished[0] if finished[0].tzinfo else finished[0].replace(tzinfo=UTC)
    values = list(ready.values[bisect_left(ready.times, since) :])
    values += _day_values(log, quantity, finished) if not values else []
    if len(values) < 2:
        return silent("the log holds nothing of the time after the work")
    low, high = min(values), max(values)
    line = (
        f"highest {num(high, '', 1)} - lowest {num(low, '', 1)} = {num(high - low, limit.unit, 1)}"
    )
    return against(high - low, limit, "span", line, side="high", places=1)


def _log(look: Look) -> ClimateLog | None:
    area = look.area
    name = area.climate if area else None
    log = look.job.climate.get(name or "")
    if log is None and len(look.job.climate) == 1 and name is None:
        log = next(iter(look.job.climate.values()))
    if log is not None:
        look.note(f"climate.{log.id}", f"climate log {log.id}", _extent(log))
    return log


def _extent(log: ClimateLog) -> str:
    if log.points:
        first, last = log.points[0].at, log.points[-1].at
        return f"{len(log.points)} points, {moment(first)} to {moment(last)}"
    if log.days:
        return f"{len(log.days)} days, {moment(log.days[0].day)} to {moment(log.days[-1].day)}"
    return "empty"


def _window(look: Look, which: str) -> Window | None:
    start, end = _start(look), _end(look)
    if which == "before":
        hours = _hours(look, "climate-hours-before")
        return (start - hours, start) if start and hours is not None else None
    if which == "during":
        return (start, end) if start and end else None
    if which == "later":
        return (end, _last(look, end)) if end else None
    hours = _hours(look, "climate-hours-after")
    return (end, end + hours) if end and hours is not None else None


def _last(look: Look, end: datetime) -> datetime:
    """Return the last time that the log covers, `end` where it covers nothing later."""
    log = _log(look)
    times = [point.at for point in log.points if point.at.tzinfo] if log else []
    if log and log.days and not times:
        last = log.days[-1].day
        times = [datetime(last.year, last.month, last.day, 23, 59, tzinfo=end.tzinfo)]
    return max([end, *times], key=stamp)


def _hours(look: Look, limit: str) -> timedelta | None:
    chosen = look.limit("low", of=limit)
    if chosen is None or chosen.low is None or not 0 <= chosen.low <= 10_000:
        return None
    return timedelta(hours=chosen.low)


def _start(look: Look) -> datetime | None:
    spreads = spreads_in(look.job, look.part.id)
    times = [
        at for each in spreads if (at := look.time(f"spreads.{each.id}.started_at", needed=False))
    ]
    return min(times, default=None, key=stamp) or look.time("dates.started_at")


def _end(look: Look) -> datetime | None:
    spreads = spreads_in(look.job, look.part.id)
    times = [
        at
        for each in spreads
        for field in ("rolled_at", "laid_end_at", "laid_at")
        if (at := look.time(f"spreads.{each.id}.{field}", needed=False))
    ]
    return max(times, default=None, key=stamp) or look.time("dates.finished_at")


def _from_log(look: Look, verdict: Verdict, window: Window, limit: Chosen) -> Found:
    side, slack = look.option("side"), float(look.option("slack_h", "1"))
    low, high = verdict.lowest, verdict.highest
    if low is None or high is None:
        look.lack(
            f"climate log of {look.part.words} for {moment(window[0])} to {moment(window[1])}"
        )
        return silent(f"the log holds nothing from {moment(window[0])} to {moment(window[1])}")
    lines = (
        f"window {moment(window[0])} to {moment(window[1])} = {num(verdict.window_h, 'h', 1)}",
        f"log covers {num(verdict.covered_h, 'h', 1)}, of that {num(verdict.inside_h, 'h', 1)}"
        f" within {limit.text(side)}{_tolerance(look, limit)}",
        f"lowest {num(low, limit.unit, 1)}, highest {num(high, limit.unit, 1)}",
    )
    span = f"{num(low, '', 1)} to {num(high, limit.unit, 1)}"
    if verdict.outside_h > slack:
        words = f"{span}, {num(verdict.outside_h, 'h', 1)} of it outside {limit.text(side)}"
        excess = max(beyond(low, limit, side), beyond(high, limit, side))
        return deviates(words, *lines, excess=excess)
    if verdict.coverage < COVERED_AT_LEAST:
        look.lack(f"climate log of {look.part.words} for the whole window")
        words = f"the log covers {num(verdict.coverage * 100, '%', 0)} of the window; there {span}"
        return silent(words, *lines)
    return in_order(f"{span} over {num(verdict.window_h, 'h', 0)}; {asked(limit, side)}", *lines)


def _from_readings(look: Look, quantity: str, window: Window, limit: Chosen) -> Found | None:
    side, values = look.option("side"), []
    for reading in readings_in(look.job, look.part.id, READING_KINDS[quantity]):
        at = look.time(f"readings.{reading.id}.taken_at", needed=False)
        if at is not None and _inside(at, window):
            value = look.number(f"readings.{reading.id}.value", needed=False)
            values += [value] if value is not None else []
    look.lack(f"climate log of {look.part.words}")
    if not values:
        return None
    worst = max(values, key=lambda value: beyond(value, limit, side))
    line = "single readings: " + ", ".join(num(value, limit.unit) for value in values)
    if limit.holds(worst, side):
        return silent(f"single readings only, {num(worst, limit.unit)}; no log of the window", line)
    return against(worst, limit, "single reading", line, side=side)


def _tolerance(look: Look, limit: Chosen) -> str:
    let_pass = float(look.option("let_pass", "0"))
    return f" ({num(let_pass, limit.unit)} let pass for the logger)" if let_pass else ""


def _inside(at: datetime, window: Window) -> bool:
    return stamp(window[0]) <= stamp(at) <= stamp(window[1])


def _from_days(
    look: Look, log: ClimateLog, quantity: str, window: Window, limit: Chosen
) -> Found | None:
    side = look.option("side")
    values = _day_values(log, quantity, window)
    if not values:
        look.lack(
            f"climate log of {look.part.words} for {moment(window[0])} to {moment(window[1])}"
        )
        return None
    worst = max(values, key=lambda value: beyond(value, limit, side))
    line = f"daily lowest {num(min(values), '', 1)} and highest {num(max(values), limit.unit, 1)}"
    return against(worst, limit, "daily extreme", line, side=side, places=1)


def _day_values(log: ClimateLog, quantity: str, window: Window) -> list[float]:
    first, last = window[0].date(), window[1].date()
    inside: list[ClimateDay] = [each for each in log.days if first <= each.day <= last]
    names = DAY_FIELDS.get(quantity, ())
    values = [getattr(each, name) for each in inside for name in names]
    return [value for value in values if value is not None and value == value]


CALCULATIONS: Mapping[str, Callable[[Look], Found | None]] = {
    "band-kept": band_kept,
    "largest-step": largest_step,
    "span-after": span_after,
}
