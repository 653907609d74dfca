"""Judge a climate log: hours inside a band, coverage, excursions, steps.

A time without a sample is a gap and never counts as inside the band.  All
times are aware; differences are taken in elapsed time, so that the night on
which the clocks change has 23 or 25 hours.

A sample stands for the time until the next one, but for no longer than
`longest_hold`; so a logger that stops leaves a gap.
"""

from __future__ import annotations

import itertools
from bisect import bisect_left
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta

from diagnose.physics.guard import OutOfRangeError

LONGEST_HOLD = timedelta(minutes=90)


@dataclass(frozen=True, slots=True)
class Sample:
    """One value of a log; `at` is aware."""

    at: datetime
    value: float


@dataclass(frozen=True, slots=True)
class Series:
    """A log made ready for many questions: times in UTC, rising, with their values."""

    times: tuple[datetime, ...]
    values: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Band:
    """Inclusive limits; None is open."""

    low: float | None = None
    high: float | None = None

    def holds(self, value: float) -> bool:
        """Say whether `value` lies inside the band, limits included."""
        return (self.low is None or value >= self.low) and (self.high is None or value <= self.high)


@dataclass(frozen=True, slots=True)
class Verdict:
    """What a log says about a window; hours are elapsed hours."""

    window_h: float
    covered_h: float
    inside_h: float
    longest_outside_h: float
    lowest: float | None
    highest: float | None
    first_outside_at: datetime | None

    @property
    def coverage(self) -> float:
        """Share of the window that samples cover, 0 to 1."""
        return self.covered_h / self.window_h if self.window_h else 0.0

    @property
    def outside_h(self) -> float:
        """Covered hours outside the band."""
        return max(0.0, self.covered_h - self.inside_h)


def elapsed_h(start: datetime, end: datetime) -> float:
    """Return elapsed hours between two aware times, across any change of clocks.

    Examples
    --------
    >>> from zoneinfo import ZoneInfo
    >>> london = ZoneInfo("Europe/London")
    >>> elapsed_h(datetime(2026, 3, 28, 12, tzinfo=london), datetime(2026, 3, 29, 12, tzinfo=london))
    23.0
    """
    return (_utc(end) - _utc(start)).total_seconds() / 3600


def series(samples: Iterable[Sample]) -> Series:
    """Return samples as a `Series`: in order of time, of double stamps the later in the sequence.

    A log of a year takes some hundredths of a second to put in order; whoever asks
    it more than once does that once.

    Examples
    --------
    >>> t = datetime(2026, 3, 1, 8, tzinfo=UTC)
    >>> series([Sample(t + timedelta(hours=1), 21), Sample(t, 20), Sample(t, 19)]).values
    (19, 21)
    """
    rows = [(_utc(sample.at), sample.value) for sample in samples]
    if any(later[0] <= earlier[0] for earlier, later in itertools.pairwise(rows)):
        rows = sorted(dict(rows).items())
    return Series(tuple(at for at, _ in rows), tuple(value for _, value in rows))


def judge(
    samples: Iterable[Sample] | Series,
    start: datetime,
    end: datetime,
    band: Band,
    longest_hold: timedelta = LONGEST_HOLD,
) -> Verdict:
    """Return how long a log was inside `band` between `start` and `end`.

    Duplicate stamps: the later sample in the sequence wins.

    Examples
    --------
    >>> t = datetime(2026, 3, 1, 8, tzinfo=UTC)
    >>> log = [Sample(t + timedelta(hours=h), 20 if h != 2 else 16) for h in (0, 1, 2, 3)]
    >>> verdict = judge(log, t, t + timedelta(hours=6), Band(18, 35))
    >>> verdict.inside_h, verdict.covered_h, verdict.longest_outside_h
    (3.5, 4.5, 1.0)
    """
    first, last = _utc(start), _utc(end)
    if last < first:
        raise OutOfRangeError("the window ends before it starts")
    covered = inside = run = longest = 0.0
    values: list[float] = []
    outside_at: datetime | None = None
    run_end: datetime | None = None
    log = samples if isinstance(samples, Series) else series(samples)
    for begin, stop, value in _stretches(log, first, last, longest_hold):
        hours = (stop - begin).total_seconds() / 3600
        covered += hours
        values.append(value)
        if band.holds(value):
            inside += hours
            run = 0.0
            continue
        run = run + hours if run_end == begin else hours
        run_end = stop
        longest = max(longest, run)
        outside_at = outside_at or begin
    return Verdict(
        (last - first).total_seconds() / 3600,
        covered,
        inside,
        longest,
        min(values, default=None),
        max(values, default=None),
        outside_at,
    )


def largest_step_per_day(samples: Iterable[Sample]) -> tuple[date, float] | None:
    """Return the day (UTC) whose mean differs most from the day before, and by how much.

    Days that are not neighbours are not compared; None when no two are.

    Examples
    --------
    >>> t = datetime(2026, 3, 1, 12, tzinfo=UTC)
    >>> largest_step_per_day([Sample(t + timedelta(days=n), v) for n, v in enumerate((20, 25, 28))])
    (datetime.date(2026, 3, 2), 5.0)
    """
    by_day: dict[date, list[float]] = {}
    for sample in samples:
        by_day.setdefault(_utc(sample.at).date(), []).append(sample.value)
    means = {day: sum(found) / len(found) for day, found in by_day.items()}
    steps = [
        (abs(mean - means[day - timedelta(days=1)]), day)
        for day, mean in means.items()
        if day - timedelta(days=1) in means
    ]
    if not steps:
        return None
    step, day = max(steps, key=lambda pair: (pair[0], -pair[1].toordinal()))
    return day, step


def _stretches(
    log: Series, first: datetime, last: datetime, hold: timedelta
) -> Iterator[tuple[datetime, datetime, float]]:
    times = log.times
    for index in range(bisect_left(times, first - hold), bisect_left(times, last)):
        until = times[index] + hold
        if index + 1 < len(times):
            until = min(until, times[index + 1])
        begin, stop = max(times[index], first), min(until, last)
        if stop > begin:
            yield begin, stop, log.values[index]


def _utc(moment: datetime) -> datetime:
    if moment.tzinfo is None:
        raise OutOfRangeError(f"{moment.isoformat()} has no offset; a time needs one")
    return moment if moment.tzinfo is UTC else moment.astimezone(UTC)
