"""Say which parts of a record belong to a place.

A complaint at seam S2 concerns that seam, its two drops, their rolls, the
spreads they were laid into, the lots used, the area with its climate, the
readings taken there and the edges that the seam runs into.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TypeVar

from diagnose.errors import NotFoundError
from diagnose.model import Place
from diagnose.record.doorway import AreaDoor, doors_by_name, doors_in, edges_at
from diagnose.record.model import (
    Area,
    ClimateLog,
    Complaint,
    Conditioning,
    Drop,
    Edge,
    Job,
    Later,
    Lot,
    Photo,
    Reading,
    Roll,
    Seam,
    Spread,
)
from diagnose.record.plan_touch import touches

EVERYWHERE = ("underlay", "primer", "smoothing")
"""Kinds of lot that no part names, so they count for every place."""

_T = TypeVar("_T")


@dataclass(frozen=True, slots=True)
class Parts:
    """What belongs to one place, each kind in the order of the record."""

    place: Place
    areas: tuple[Area, ...] = ()
    doors: tuple[AreaDoor, ...] = ()
    """The doors of a doorway; all doors of an area or of the job."""
    seams: tuple[Seam, ...] = ()
    edges: tuple[Edge, ...] = ()
    drops: tuple[Drop, ...] = ()
    rolls: tuple[Roll, ...] = ()
    spreads: tuple[Spread, ...] = ()
    lots: tuple[Lot, ...] = ()
    readings: tuple[Reading, ...] = ()
    conditioning: tuple[Conditioning, ...] = ()
    climate: tuple[ClimateLog, ...] = ()
    later: tuple[Later, ...] = ()
    complaints: tuple[Complaint, ...] = ()
    photos: tuple[Photo, ...] = ()


@dataclass(frozen=True, slots=True)
class _Laid:
    """The fixed parts at a place, which all else follows from."""

    areas: frozenset[str | None] = frozenset()
    doors: tuple[AreaDoor, ...] = ()
    seams: tuple[Seam, ...] = ()
    edges: tuple[Edge, ...] = ()
    drops: tuple[Drop, ...] = ()


def parts_at(job: Job, place: Place) -> Parts:
    """Return what belongs to a place.

    A spread that names no drop counts for its whole area; a reading without
    area and part, a climate log that no area names, and a lot of underlay,
    primer or smoothing count everywhere.  Edges belong to a seam or a drop,
    and drops and seams to an edge, within their area, unless the plan shows
    that the two do not touch.

    Raises
    ------
    NotFoundError
        When the job has no such place.
    """
    if place.kind == "job":
        return _everything(job, place)
    laid = _laid_at(job, place)
    if laid is None:
        raise NotFoundError(f"the record of {job.id} holds no {place.kind} {place.name}")
    return _with_all_that_follows(job, place, laid)


def _everything(job: Job, place: Place) -> Parts:
    return Parts(
        place=place,
        areas=tuple(job.areas.values()),
        doors=doors_in(job),
        seams=tuple(job.seams.values()),
        edges=tuple(job.edges.values()),
        drops=tuple(job.drops.values()),
        rolls=tuple(job.rolls.values()),
        spreads=tuple(job.spreads.values()),
        lots=tuple(job.lots.values()),
        readings=tuple(job.readings.values()),
        conditioning=tuple(job.conditioning.values()),
        climate=tuple(job.climate.values()),
        later=tuple(job.later.values()),
        complaints=tuple(job.complaints.values()),
        photos=tuple(job.photos.values()),
    )


def _laid_at(job: Job, place: Place) -> _Laid | None:
    if place.kind == "seam" and place.name in job.seams:
        return _at_seam(job, job.seams[place.name])
    if place.kind == "drop" and place.name in job.drops:
        return _at_drop(job, job.drops[place.name])
    if place.kind == "area" and place.name in job.areas:
        return _in_area(job, place.name)
    if place.kind == "edge" and place.name in job.edges:
        return _at_edges(job, (job.edges[place.name],), ())
    if place.kind == "doorway" and place.name in job.edges:
        edge = job.edges[place.name]
        doors = tuple(each for each in doors_in(job, [edge.area]) if each.door.id == edge.door)
        return _with_doorway_seams(job, _at_edges(job, (edge,), doors))
    doors = doors_by_name(job).get(place.name, ())
    if place.kind == "doorway" and doors:
        return _with_doorway_seams(job, _at_edges(job, edges_at(job, doors), doors))
    return None


def _at_seam(job: Job, seam: Seam) -> _Laid:
    drops = _chosen(job.drops, seam.drops)
    areas = frozenset([seam.area, *(drop.area for drop in drops)])
    edges = (edge for edge in job.edges.values() if edge.area in areas)
    met = tuple(edge for edge in edges if touches(seam.line_m, edge.line_m))
    return _Laid(areas, (), (seam,), met, drops)


def _at_drop(job: Job, drop: Drop) -> _Laid:
    seams = tuple(seam for seam in job.seams.values() if drop.id in seam.drops)
    edges = (edge for edge in job.edges.values() if edge.area == drop.area)
    met = tuple(edge for edge in edges if touches(edge.line_m, drop.outline_m, outline=True))
    return _Laid(frozenset([drop.area]), (), seams, met, (drop,))


def _in_area(job: Job, area: str) -> _Laid:
    drops = tuple(drop for drop in job.drops.values() if drop.area == area)
    names = {drop.id for drop in drops}
    seams = tuple(s for s in job.seams.values() if s.area == area or names & set(s.drops))
    edges = tuple(edge for edge in job.edges.values() if edge.area == area)
    return _Laid(frozenset([area]), doors_in(job, [area]), seams, edges, drops)


def _at_edges(job: Job, edges: tuple[Edge, ...], doors: tuple[AreaDoor, ...]) -> _Laid:
    areas = frozenset([edge.area for edge in edges] + [each.area for each in doors])
    lines = [edge.line_m for edge in edges] or [each.door.line_m for each in doors]
    drops = tuple(
        drop
        for drop in job.drops.values()
        if drop.area in areas and any(touches(line, drop.outline_m, outline=True) for line in lines)
    )
    seams = tuple(
        seam
        for seam in job.seams.values()
        if seam.area in areas and any(touches(line, seam.line_m) for line in lines)
    )
    return _Laid(areas, doors, seams, edges, drops)


def _with_doorway_seams(job: Job, laid: _Laid) -> _Laid:
    seams = tuple(
        seam
        for seam in job.seams.values()
        if seam in laid.seams or (seam.kind == "doorway" and seam.area in laid.areas)
    )
    return _Laid(laid.areas, laid.doors, seams, laid.edges, laid.drops)


def _with_all_that_follows(job: Job, place: Place, laid: _Laid) -> Parts:
    areas = _chosen(job.areas, laid.areas)
    if not areas and len(job.areas) == 1:
        areas = tuple(job.areas.values())
    within = {area.id for area in areas}
    spreads = _spreads(job, laid, within)
    rolls = _chosen(job.rolls, (drop.roll for drop in laid.drops))
    lots = _lots(job, laid, spreads)
    own = {str(place), "job", *(f"area:{name}" for name in within)}
    for kind, parts in (
        ("seam", laid.seams),
        ("edge", laid.edges),
        ("doorway", laid.edges),
        ("drop", laid.drops),
        ("spread", spreads),
        ("roll", rolls),
        ("lot", lots),
    ):
        own.update(f"{kind}:{part.id}" for part in parts)
    logs, claimed = {a.climate for a in areas}, {a.climate for a in job.areas.values()}
    return Parts(
        place=place,
        areas=areas,
        doors=laid.doors,
        seams=laid.seams,
        edges=laid.edges,
        drops=laid.drops,
        rolls=rolls,
        spreads=spreads,
        lots=lots,
        readings=tuple(each for each in job.readings.values() if _read_here(each, own, within)),
        conditioning=tuple(
            each for each in job.conditioning.values() if _kept_here(each, own, within, job.areas)
        ),
        climate=tuple(
            each for each in job.climate.values() if each.id in logs or each.id not in claimed
        ),
        later=tuple(each for each in job.later.values() if _in(each.area, within)),
        complaints=tuple(each for each in job.complaints.values() if (each.at or "job") in own),
        photos=tuple(each for each in job.photos.values() if (each.of or "job") in own),
    )


def _spreads(job: Job, laid: _Laid, within: set[str]) -> tuple[Spread, ...]:
    names = {drop.id for drop in laid.drops}
    return tuple(
        spread
        for spread in job.spreads.values()
        if names & set(spread.drops) or (not spread.drops and _in(spread.area, within))
    )


def _lots(job: Job, laid: _Laid, spreads: Iterable[Spread]) -> tuple[Lot, ...]:
    used: list[str | None] = [spread.lot for spread in spreads]
    for seam in laid.seams:
        used += [seam.sealer_lot, seam.tape_lot]
    used += [lot.id for lot in job.lots.values() if lot.kind in EVERYWHERE]
    return _chosen(job.lots, used)


def _read_here(reading: Reading, own: set[str], within: set[str]) -> bool:
    if reading.at_part:
        return reading.at_part in own
    return _in(reading.area, within)


def _kept_here(
    each: Conditioning, own: set[str], within: set[str], areas: Mapping[str, Area]
) -> bool:
    if each.what and ":" in each.what:
        return each.what in own
    return each.where not in areas or each.where in within


def _in(area: str | None, within: set[str]) -> bool:
    return area is None or area in within


def _chosen(held: Mapping[str, _T], names: Iterable[str | None]) -> tuple[_T, ...]:
    wanted = set(names)
    return tuple(part for name, part in held.items() if name in wanted)
