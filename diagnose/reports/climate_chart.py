"""Draw a climate log against its band, with the laying time marked.

Two panels, one below the other: air temperature and relative humidity.  The
band is the limit in force; bars behind the lines are the times in which carpet
was laid into adhesive.  Where samples are missing the line is broken.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta, tzinfo

from diagnose.model import LimitUsed
from diagnose.record.model import ClimateLog
from diagnose.reports.blocks import PictureBlock
from diagnose.reports.svg import (
    FONT,
    WIDTH,
    Shape,
    label,
    number,
    picture,
    polyline,
    safe_name,
    shape,
    shorten,
)

LEFT, RIGHT = 34.0, WIDTH - 12.0
HIGH = 96.0
BUCKETS = 150
"""Samples are drawn as the lowest and highest of so many stretches of time."""
Period = tuple[datetime, datetime]
Sample = tuple[datetime, float]


@dataclass(frozen=True, slots=True)
class Band:
    """The limit that a quantity is held against; None where a side is open."""

    low: float | None
    high: float | None
    used: LimitUsed


@dataclass(frozen=True, slots=True)
class _Panel:
    name: str
    unit: str
    samples: Sequence[Sample]
    band: Band | None
    low: float
    high: float
    start: datetime
    end: datetime
    top: float

    def x(self, at: datetime) -> float:
        share = (at - self.start) / (self.end - self.start)
        return LEFT + (RIGHT - LEFT) * min(1.0, max(0.0, share))

    def y(self, value: float) -> float:
        share = (value - self.low) / (self.high - self.low)
        return self.top + HIGH * (1 - min(1.0, max(0.0, share)))


def climate_picture(
    log: ClimateLog,
    zone: tzinfo,
    laying: Sequence[Period],
    air: Band | None = None,
    humidity: Band | None = None,
) -> PictureBlock | None:
    """Return the chart of a log, or None where it holds fewer than two samples."""
    series = (
        ("Air temperature", "°C", _known((p.at, p.air_c) for p in log.points), air),
        (
            "Relative humidity",
            "%",
            _known((p.at, p.humidity_percent) for p in log.points),
            humidity,
        ),
    )
    drawn = [row for row in series if len(row[2]) >= 2]
    times = [at for _, _, samples, _ in drawn for at, _ in samples]
    if not times or min(times) == max(times):
        return None
    start, end = min(times), max(times)
    shapes: list[Shape] = []
    words = [_period_words(start, end, zone), *_laying_words(laying, zone)]
    y = 10.0
    for name, unit, samples, band in drawn:
        low, high = _range(samples, band)
        panel = _Panel(name, unit, samples, band, low, high, start, end, y + 28)
        shapes += _drawn(panel, laying, log.interval_min)
        words.append(_panel_words(panel))
        y = panel.top + HIGH + 14
    shapes += _days(drawn_to=y, start=start, end=end, zone=zone)
    title = f"Climate log {log.id} against its band"
    if laying:
        shapes += _laying_key(y + 22)
        y += 22
    svg = picture(f"climate-{safe_name(log.id)}", title, " ".join(words), y + 20, shapes)
    return PictureBlock(title, " ".join(words), svg)


def _known(samples: Iterable[tuple[datetime, float | None]]) -> list[Sample]:
    return [(at, value) for at, value in samples if value is not None]


def _range(samples: Sequence[Sample], band: Band | None) -> tuple[float, float]:
    values = [value for _, value in samples]
    sides = (band.low, band.high) if band else ()
    near = [side for side in sides if side is not None]
    low, high = min(values + near), max(values + near)
    step = 5.0 if high - low > 8 else 2.0
    return math.floor((low - 0.5) / step) * step, math.ceil((high + 0.5) / step) * step


def _drawn(panel: _Panel, laying: Sequence[Period], interval: float | None) -> Iterable[Shape]:
    limit = panel.band.used.text if panel.band else panel.unit
    heading = shorten(f"{panel.name}: {limit}", WIDTH - 24)
    yield label(12, panel.top - 12, heading, bold=True)
    wide = RIGHT - LEFT
    yield shape("rect", "panel", x=LEFT, y=panel.top, width=wide, height=HIGH)
    yield from _band(panel)
    for begin, finish in laying:
        if finish >= panel.start and begin <= panel.end:
            x = panel.x(begin)
            long = max(2.0, panel.x(finish) - x)
            yield shape("rect", "against", x=x, y=panel.top, width=long, height=HIGH, opacity="0.4")
    for line in _lines(panel, interval):
        points = [(panel.x(at), panel.y(value)) for at, value in line]
        yield polyline(points, "for-line", stroke_width=1.8, stroke_linejoin="round")
    yield from _figures(panel)


def _figures(panel: _Panel) -> Iterable[Shape]:
    """The sides of the band first, then the ends of the axis where there is room."""
    sides = (panel.band.low, panel.band.high) if panel.band else ()
    apart = (panel.high - panel.low) * (FONT + 2) / HIGH
    shown: list[float] = []
    for value in (*sides, panel.low, panel.high):
        if value is not None and all(abs(value - other) >= apart for other in shown):
            shown.append(value)
            role = "ink" if value in sides else "quiet"
            yield label(LEFT - 4, panel.y(value) + 4, f"{value:g}", role=role, anchor="end")


def _band(panel: _Panel) -> Iterable[Shape]:
    if panel.band is None:
        return
    low, high = panel.band.low, panel.band.high
    top = panel.y(panel.high if high is None else high)
    foot = panel.y(panel.low if low is None else low)
    yield shape("rect", "band", x=LEFT, y=top, width=RIGHT - LEFT, height=foot - top)
    for side in (low, high):
        if side is not None:
            ends = [(LEFT, panel.y(side)), (RIGHT, panel.y(side))]
            yield polyline(ends, "line", stroke_width=1, stroke_dasharray="4 3")


def _lines(panel: _Panel, interval: float | None) -> Iterable[list[Sample]]:
    """Yield unbroken stretches; more samples than can be seen are thinned, extremes kept."""
    longest = timedelta(minutes=3 * (interval or 60))
    stretch: list[Sample] = []
    for sample in panel.samples:
        if stretch and sample[0] - stretch[-1][0] > longest:
            yield _thinned(stretch, panel)
            stretch = []
        stretch.append(sample)
    yield _thinned(stretch, panel)


def _thinned(samples: list[Sample], panel: _Panel) -> list[Sample]:
    if len(samples) <= 2 * BUCKETS:
        return samples
    step = (panel.end - panel.start) / BUCKETS
    kept: list[Sample] = []
    for _, bucket in itertools.groupby(
        samples, key=lambda sample: (sample[0] - panel.start) // step
    ):
        held = list(bucket)
        ends = {min(held, key=lambda s: s[1]), max(held, key=lambda s: s[1])}
        kept += sorted(ends)
    return kept


def _days(drawn_to: float, start: datetime, end: datetime, zone: tzinfo) -> Iterable[Shape]:
    first, last = start.astimezone(zone), end.astimezone(zone)
    for at, x, anchor in ((first, LEFT, "start"), (last, RIGHT, "end")):
        yield label(x, drawn_to + 1, at.strftime("%d %b %H:%M"), role="quiet", anchor=anchor)


def _laying_key(y: float) -> Iterable[Shape]:
    yield shape("rect", "against", x=LEFT, y=y - 11, width=16, height=12, opacity="0.4")
    yield label(LEFT + 22, y, "carpet laid into adhesive", role="quiet")


def _period_words(start: datetime, end: datetime, zone: tzinfo) -> str:
    first, last = (at.astimezone(zone).strftime("%Y-%m-%d %H:%M") for at in (start, end))
    return f"From {first} to {last}."


def _laying_words(laying: Sequence[Period], zone: tzinfo) -> Iterable[str]:
    for begin, finish in laying:
        day = begin.astimezone(zone).strftime("%Y-%m-%d %H:%M")
        yield f"Laid into adhesive {day} to {finish.astimezone(zone).strftime('%H:%M')}."


def _panel_words(panel: _Panel) -> str:
    values = [value for _, value in panel.samples]
    text = f"{panel.name} {number(min(values))} to {number(max(values))} {panel.unit}"
    if panel.band is None:
        return f"{text}; no band is known."
    low, high = panel.band.low, panel.band.high
    out = sum((low is not None and v < low) or (high is not None and v > high) for v in values)
    state = "all within it" if not out else f"{out} of {len(values)} samples outside it"
    return f"{text}; allowed {panel.band.used.text}: {state}."
