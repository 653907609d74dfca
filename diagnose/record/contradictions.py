"""Times of a record that cannot all be true, whatever the trade says of them.

Only order is judged: carpet is not laid before its spreading began, work is
not finished before it started, and nothing has happened that is still to come.
How long a step may take is a matter of the checks.  All of it is plain order
of events; no source is needed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta, tzinfo
from itertools import pairwise
from typing import TypeAlias

from diagnose.record.codec import decode
from diagnose.record.fields import field_of, label_of
from diagnose.record.fold import flatten
from diagnose.record.model import Job
from diagnose.record.sheet_numbers import NotReadableError
from diagnose.record.sheet_times import zone_of

Moment: TypeAlias = date | datetime
"""A day, or a time with its offset."""

ORDER: Mapping[str, tuple[tuple[str, ...], ...]] = {
    "dates": (("started_at", "finished_at", "handed_over_at"),),
    "areas.*.heating": (("off_from", "on_again_from"),),
    "lots.*": (("stored_from", "opened_on"),),
    "conditioning.*": (("from_at", "to_at"),),
    "spreads.*": (
        ("started_at", "ended_at", "laid_at", "laid_end_at"),
        ("laid_at", "rolled_at", "rerolled_at"),
    ),
    "seams.*": (("bead_at", "closed_at", "weights_until"), ("closed_at", "loaded_at")),
    "readings.*": (("placed_at", "taken_at"),),
    "complaints.*": (("first_seen_on", "made_at"),),
}
"""Times of one part, earliest first; equal times are allowed."""

NOT_BEFORE_THE_WORK = (
    "spreads.*.started_at",
    "spreads.*.laid_at",
    "seams.*.bead_at",
    "seams.*.closed_at",
    "completion.first_traffic_at",
    "completion.furniture_at",
    "later.*.at",
    "complaints.*.made_at",
    "complaints.*.first_seen_on",
)
NOT_AFTER_THE_WORK = ("spreads.*.started_at", "spreads.*.laid_at")

STARTED, FINISHED = "dates.started_at", "dates.finished_at"
USED_AT = ("spreads.*.started_at", "spreads.*.laid_at", "seams.*.bead_at", "seams.*.closed_at")
NEVER_PAST = "lots.*.expires_on"
PLANNED = (
    "areas.*.heating.on_again_from",
    "completion.first_traffic_at",
    "completion.furniture_at",
    "dates.handed_over_at",
    "seams.*.weights_until",
)
"""Times that may be written down ahead of the day."""

PLANNED_WITHIN = timedelta(days=90)
CLOCKS_APART = timedelta(minutes=5)
"""Clocks of two machines differ by as much; both bounds are judgements."""


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Two values of the record that cannot both be true."""

    path_a: str
    """The value that comes too early, or lies ahead of the present."""
    path_b: str
    """The value that it cannot come before; empty where that is the present."""
    text: str
    """One sentence in trade words, with both times."""


def contradictions(job: Job, now: datetime | None) -> tuple[Contradiction, ...]:
    """Return what cannot be so, in the order of the record.

    Parameters
    ----------
    job : Job
    now : datetime, optional
        The present, with offset; None leaves out what lies ahead of it, as
        for worked examples, whose days are invented.
    """
    times = moments_of(job)
    found = [
        *_within_parts(times),
        *_beside_the_work(times),
        *_lots(job, times),
        *(_ahead(job, times, now) if now else ()),
    ]
    place = {path: number for number, path in enumerate(times)}
    unique = {(each.path_a, each.path_b): each for each in found}
    return tuple(sorted(unique.values(), key=lambda each: place.get(each.path_a, len(place))))


def moments_of(job: Job) -> dict[str, Moment]:
    """Return every day and time of the record by path, climate logs left out."""
    found: dict[str, Moment] = {}
    for path, text in flatten(replace(job, climate={})).items():
        rule = field_of(path)
        if rule is not None and rule.kind in ("time", "date"):
            found[path] = decode(rule, text)
    return found


def pattern_of(path: str) -> str:
    """Return the pattern of a path, `spreads.*.laid_at`; empty for none."""
    rule = field_of(path)
    return rule.pattern if rule else ""


def _within_parts(times: Mapping[str, Moment]) -> Iterator[Contradiction]:
    groups: dict[str, str] = {}
    for path in times:
        groups.setdefault(path.rpartition(".")[0], path)
    for group, first in groups.items():
        chains = ORDER.get(pattern_of(first).rpartition(".")[0], ())
        for before, after in _pairs(chains, group, times):
            yield from _too_early(after, before, times)


def _pairs(
    chains: Sequence[Sequence[str]], group: str, times: Mapping[str, Moment]
) -> Iterator[tuple[str, str]]:
    """Return neighbours in each chain; what is not recorded is stepped over."""
    for chain in chains:
        known = [f"{group}.{name}" for name in chain if f"{group}.{name}" in times]
        yield from pairwise(known)


def _beside_the_work(times: Mapping[str, Moment]) -> Iterator[Contradiction]:
    started, finished = times.get(STARTED), times.get(FINISHED)
    turned = started is not None and finished is not None and _before(finished, started)
    for path in times:
        pattern = pattern_of(path)
        if STARTED in times and pattern in NOT_BEFORE_THE_WORK:
            yield from _too_early(path, STARTED, times)
        if FINISHED in times and not turned and pattern in NOT_AFTER_THE_WORK:
            yield from _too_early(FINISHED, path, times)


def _lots(job: Job, times: Mapping[str, Moment]) -> Iterator[Contradiction]:
    """A lot is opened before it is used."""
    uses = [(f"spreads.{each.id}", each.lot) for each in job.spreads.values()]
    for seam in job.seams.values():
        uses += [(f"seams.{seam.id}", seam.sealer_lot), (f"seams.{seam.id}", seam.tape_lot)]
    for part, lot in uses:
        opened = f"lots.{lot}.opened_on"
        used = [p for p in times if p.rpartition(".")[0] == part and pattern_of(p) in USED_AT]
        if lot and opened in times and used:
            yield from _too_early(min(used, key=lambda path: _day(times[path])), opened, times)


def _too_early(path: str, other: str, times: Mapping[str, Moment]) -> Iterator[Contradiction]:
    if _before(times[path], times[other]):
        text = (
            f"{_words(path)}: {_written(times[path])}, before "
            f"{_words(other)}: {_written(times[other])}"
        )
        yield Contradiction(path, other, text)


def _ahead(job: Job, times: Mapping[str, Moment], now: datetime) -> Iterator[Contradiction]:
    here = now.astimezone(_zone(job))
    logged = {
        f"climate.{log.id}.points": log.points[-1].at for log in job.climate.values() if log.points
    }
    for path, moment in {**times, **logged}.items():
        pattern = pattern_of(path)
        if pattern == NEVER_PAST:
            continue
        latest = here + (PLANNED_WITHIN if pattern in PLANNED else CLOCKS_APART)
        if _before(latest, moment):
            what = f"last point of the climate log {path.split('.')[1]}" if path in logged else ""
            text = (
                f"{what or _words(path)}: {_written(moment)}, "
                f"which is still to come (it is {_written(here)} now)"
            )
            yield Contradiction(path, "", text)


def _words(path: str) -> str:
    """Return trade words for a time, with its part where it belongs to one."""
    rule = field_of(path)
    return rule.label if rule and "*" not in rule.pattern else label_of(path)


def _zone(job: Job) -> tzinfo:
    try:
        return zone_of(job.zone) if job.zone else UTC
    except NotReadableError:
        return UTC


def _before(one: Moment, other: Moment) -> bool:
    if isinstance(one, datetime) and isinstance(other, datetime):
        return one < other
    return _day(one) < _day(other)


def _day(moment: Moment) -> date:
    return moment.date() if isinstance(moment, datetime) else moment


def _written(moment: Moment) -> str:
    return f"{moment:%Y-%m-%d %H:%M}" if isinstance(moment, datetime) else f"{moment:%Y-%m-%d}"
