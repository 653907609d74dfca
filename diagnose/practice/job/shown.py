"""The record of an invented job, page by page, as an inspector would leaf through it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from diagnose.checks.look import origin
from diagnose.checks.words import shown
from diagnose.model import Provenance
from diagnose.record.codec import decode
from diagnose.record.fields import field_of
from diagnose.record.fold import flatten
from diagnose.record.labels import PART_WORDS
from diagnose.record.model import ClimateLog, Job

ENTERED = {
    Provenance.LATE: "entered late",
    Provenance.AFTER_COMPLAINT: "entered after the complaint",
    Provenance.STATEMENT: "only said",
}
COMPLAINTS, DRAWN = "complaints", ("line", "lines", "point")
BARS = "▁▂▃▄▅▆▇█"
COLD_C, WARM_C, DRY_PERCENT, DAMP_PERCENT = 5.0, 30.0, 20.0, 90.0
"""Ends of the scale of the bars."""


@dataclass(frozen=True, slots=True)
class Page:
    """One part of the record, with what stands on it."""

    name: str
    """What it is called by: `SP1`, or `job` for what belongs to no part."""
    title: str
    rows: tuple[tuple[str, str], ...]
    """What was written down, in trade words, and the value with its unit."""


def pages(job: Job) -> tuple[Page, ...]:
    """Return the record page by page; the plan and the climate log are shown apart."""
    found: dict[tuple[str, str], list[tuple[str, str]]] = {}
    for path, text in flatten(replace(job, climate={}, complaints={})).items():
        rule = field_of(path)
        if rule is None or rule.kind in DRAWN:
            continue
        steps = path.split(".")
        part = steps[1] if len(steps) > 2 and steps[0] in PARTS else ""
        entry = origin(job, path)
        when = ENTERED.get(entry.provenance, "") if entry else ""
        said = shown(decode(rule, text), rule.name)
        row = (_label(steps, rule.label), f"{said} ({when})" if when else said)
        found.setdefault((steps[0] if part else "job", part), []).append(row)
    return tuple(
        Page(part or "job", _title(kind, part), tuple(rows)) for (kind, part), rows in found.items()
    )


PARTS = (
    "areas",
    "rolls",
    "lots",
    "conditioning",
    "drops",
    "spreads",
    "seams",
    "edges",
    "readings",
    "later",
)
"""Collections whose parts have a page of their own."""


def _label(steps: list[str], label: str) -> str:
    """Return the label of a field, with its group or inner part where it needs one."""
    if steps[0] == "people":
        return steps[1]
    if steps[0] in ("site", "product", "contract"):
        return f"{steps[0]}, {label}"
    inner = " ".join(steps[2:-1]) if steps[0] in ("drops", "areas") else ""
    return f"{inner}, {label}" if inner else label


def _title(kind: str, part: str) -> str:
    return f"{PART_WORDS.get(kind, kind)} {part}" if part else "job"


def climate_rows(log: ClimateLog) -> tuple[str, ...]:
    """Return one line for each day of a log: lowest to highest, with bars by the hour.

    Six bars stand for four hours each; a dot is a time without a reading.
    """
    rows = []
    for day in log.days:
        points = [point for point in log.points if point.at.date() == day.day]
        air = _bars(((p.at.hour, p.air_c) for p in points), COLD_C, WARM_C)
        damp = _bars(((p.at.hour, p.humidity_percent) for p in points), DRY_PERCENT, DAMP_PERCENT)
        spans = (
            _span(day.air_low_c, day.air_high_c, "°C"),
            _span(day.humidity_low_percent, day.humidity_high_percent, "%"),
        )
        rows.append(f"{day.day:%a %d %b}  {air}  {spans[0]:<17}{damp}  {spans[1]}".rstrip())
    return tuple(rows)


def _span(low: float | None, high: float | None, unit: str) -> str:
    if low is None or high is None:
        return "not logged"
    same = f"{low:.1f}" == f"{high:.1f}"
    return f"{low:.1f} {unit}" if same else f"{low:.1f} to {high:.1f} {unit}"


def _bars(samples: Iterable[tuple[int, float | None]], low: float, high: float) -> str:
    held: list[list[float]] = [[] for _ in range(6)]
    for hour, value in samples:
        if value is not None:
            held[hour // 4].append(value)
    return "".join(_bar(sum(each) / len(each), low, high) if each else "·" for each in held)


def _bar(value: float, low: float, high: float) -> str:
    share = min(1.0, max(0.0, (value - low) / (high - low)))
    return BARS[round(share * (len(BARS) - 1))]
