"""The climate log of an invented job: one line an hour, with what it is to show.

A dip or a rise stands in the part of the log that the check reads: before the
work, while it went on, the three days after it, or later.  What was not logged
is a gap in that column.
"""

from __future__ import annotations

import math
from collections.abc import Collection
from datetime import date, datetime, timedelta
from random import Random

from diagnose.practice.job.times import Work
from diagnose.record.climate import read_climate
from diagnose.record.model import ClimateLog
from diagnose.record.sheet_times import zone_of

BEFORE_H, AFTER_H, LATER_H = 96, 76, 96
"""Hours logged before the work, after it, and beyond that."""
JUMP_H = 73
"""Hours at the end that a jump of the daily mean is read from."""
HEAD = "Time,Air temperature (°C),Relative humidity (%)"

Row = list[float | None]


def log_text(work: Work, shows: Collection[str], rng: Random, *, goes_on: bool = True) -> str:
    """Return the file of the logger as text, one row an hour.

    Without `goes_on` it ends with the work, as on the day the job is left.

    `shows` holds words such as `before.air_c.low`, `after.humidity_percent.gap`,
    `later.air_c.cold`, `later.air_c.jump`, `later.humidity_percent.span`.
    """
    first = (work.start - timedelta(hours=BEFORE_H)).replace(minute=0)
    last = work.end + timedelta(hours=AFTER_H + LATER_H) if goes_on else work.finished
    hours = math.ceil((last - first) / timedelta(hours=1))
    times = [first + timedelta(hours=hour) for hour in range(hours)]
    warm, damp = 19.8 + rng.random(), 49 + 3 * rng.random()
    place = zone_of(work.zone)
    rows: list[Row] = []
    days: dict[date, tuple[float, float]] = {}
    for at in times:
        local = at.astimezone(place)
        weather = days.setdefault(local.date(), (rng.random() - 0.5, 4 * rng.random() - 2))
        turn = math.sin((local.hour - 9) / 24 * 2 * math.pi)
        air = warm + 0.7 * weather[0] + 0.8 * turn + 0.3 * rng.random()
        humidity = damp + weather[1] - 2.5 * turn + 1.5 * rng.random()
        rows.append([round(air, 1), round(humidity, 1)])
    for word in sorted(shows, key=lambda each: (not each.endswith(".gap"), each)):
        keep = JUMP_H if word == "later.air_c.gap" and "later.air_c.jump" in shows else 1
        _show(word, times, rows, work, rng, keep)
    lines = [HEAD]
    for at, row in zip(times, rows, strict=True):
        cells = ("" if value is None else f"{value:.1f}" for value in row)
        lines.append(f"{at.astimezone(place).isoformat(timespec='minutes')},{','.join(cells)}")
    return "\n".join(lines) + "\n"


def log_of(text: str, file: str, zone: str, log_id: str) -> ClimateLog:
    """Return the log as the reader of climate files reads it."""
    return read_climate(text.encode("utf-8"), file, zone=zone, log_id=log_id)


def _show(
    word: str, times: list[datetime], rows: list[Row], work: Work, rng: Random, keep: int
) -> None:
    """Turn the rows so that the log shows one thing; a later gap keeps the last hours."""
    which, quantity, what = word.split(".")
    column = 0 if quantity == "air_c" else 1
    inside = [n for n, at in enumerate(times) if _in(which, at, work)]
    if what == "gap":
        for number in inside[: -keep if which == "later" else None]:
            rows[number][column] = None
        return
    if what == "jump":
        day = times[inside[-1]].date() - timedelta(days=1)
        for number, at in enumerate(times):
            if at.date() >= day:
                rows[number][column] = round(27.5 + rng.random(), 1)
        return
    level = {
        "low": 14.2,
        "cold": 7.5,
        "high": 71.5 if column else 30.0,
        "span": 14.0,
    }[what]
    length = 5 if what == "cold" else 8
    if which == "during":
        inside = [n for n in inside if times[n] <= work.end - timedelta(minutes=45)] or inside
        length = min(length, max(4, len(inside) - 2))
    begin = int(rng.random() * max(1, len(inside) - length))
    for number in inside[begin : begin + length]:
        rows[number][column] = round(level + rng.random(), 1)


def _in(which: str, at: datetime, work: Work) -> bool:
    after = work.end + timedelta(hours=72)
    if which == "before":
        return work.start - timedelta(hours=48) <= at < work.start
    if which == "during":
        return work.start <= at <= work.end + timedelta(minutes=59)
    if which == "after":
        return work.end < at <= after
    return at > after
