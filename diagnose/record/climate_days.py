"""Thin a climate log, find its gaps and sum up its days."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, date, datetime, timedelta, timezone, tzinfo
from itertools import pairwise
from statistics import fmean

from diagnose.record.model import ClimateDay, ClimatePoint

THINNED_TO = timedelta(minutes=15)
GAP_FACTOR = 1.5
"""A step of more than this many intervals is a gap."""


@dataclass(slots=True)
class Sample:
    """What was read at one instant: `air` and `floor` in °C, `humidity` in %."""

    at: datetime
    values: dict[str, float] = field(default_factory=dict)


def thinned(samples: list[Sample], place: tzinfo) -> tuple[ClimatePoint, ...]:
    """Return points at most every 15 min; what lies between is in the summaries."""
    kept: list[ClimatePoint] = []
    last: datetime | None = None
    for sample in samples:
        if last is None or sample.at - last >= THINNED_TO:
            last = sample.at
            kept.append(
                ClimatePoint(
                    at=_there(sample.at, place),
                    air_c=sample.values.get("air"),
                    humidity_percent=sample.values.get("humidity"),
                    floor_c=sample.values.get("floor"),
                )
            )
    return tuple(kept)


def gaps_between(
    samples: list[Sample], place: tzinfo, interval: float | None
) -> tuple[tuple[datetime, datetime], ...]:
    """Return from when to when the log is silent: a step longer than 1.5 intervals."""
    if interval is None:
        return ()
    longest = timedelta(minutes=interval * GAP_FACTOR)
    return tuple(
        (_there(one.at, place), _there(two.at, place))
        for one, two in pairwise(samples)
        if two.at - one.at > longest
    )


def day_summaries(
    samples: list[Sample], place: tzinfo, interval: float | None
) -> tuple[ClimateDay, ...]:
    """Return one summary for each day of the place that has a sample.

    Means are of the samples.  The hours covered are samples times interval,
    at most the length of that day.
    """
    by_day: dict[date, list[Sample]] = {}
    for sample in samples:
        by_day.setdefault(sample.at.astimezone(place).date(), []).append(sample)
    return tuple(_day(day, held, place, interval or 0.0) for day, held in by_day.items())


def _day(day: date, held: list[Sample], place: tzinfo, interval: float) -> ClimateDay:
    air = [sample.values["air"] for sample in held if "air" in sample.values]
    humidity = [sample.values["humidity"] for sample in held if "humidity" in sample.values]
    covered = min(len(held) * interval / 60, _hours_of(day, place))
    return ClimateDay(
        day=day,
        samples=len(held),
        hours_covered=round(covered, 2),
        air_low_c=min(air, default=None),
        air_mean_c=round(fmean(air), 2) if air else None,
        air_high_c=max(air, default=None),
        humidity_low_percent=min(humidity, default=None),
        humidity_mean_percent=round(fmean(humidity), 2) if humidity else None,
        humidity_high_percent=max(humidity, default=None),
    )


def _hours_of(day: date, place: tzinfo) -> float:
    """Length of a day: 23 or 25 h when the clock changes."""
    start = datetime(day.year, day.month, day.day, tzinfo=place).astimezone(UTC)
    after = day + timedelta(days=1)
    end = datetime(after.year, after.month, after.day, tzinfo=place).astimezone(UTC)
    return (end - start).total_seconds() / 3600


def _there(moment: datetime, place: tzinfo) -> datetime:
    """Return an instant with the offset of the place, fixed.

    Two times of one zone compare by the clock, which is wrong where it goes back.
    """
    local = moment.astimezone(place)
    return local.replace(tzinfo=timezone(local.utcoffset() or timedelta()), fold=0)
