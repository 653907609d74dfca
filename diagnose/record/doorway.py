"""Doors of a job, and the edges of carpet that lie in their openings."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from diagnose.record.model import Door, Edge, Job


@dataclass(frozen=True, slots=True)
class AreaDoor:
    """A door and the area that it is recorded in."""

    area: str
    door: Door


def is_doorway(edge: Edge) -> bool:
    """Return whether an edge lies in a doorway."""
    return edge.kind == "doorway" or edge.door is not None


def doors_in(job: Job, areas: Iterable[str | None] | None = None) -> tuple[AreaDoor, ...]:
    """Return the doors of some areas, or of all."""
    wanted = None if areas is None else set(areas)
    return tuple(
        AreaDoor(area.id, door)
        for area in job.areas.values()
        if wanted is None or area.id in wanted
        for door in area.doors
    )


def doors_by_name(job: Job) -> dict[str, tuple[AreaDoor, ...]]:
    """Return doors by the name of their doorway.

    Two areas that record a door of one id on one line mean the same door; on
    different lines each is named with its area, `day-room/D1`.
    """
    by_id: dict[str, list[AreaDoor]] = {}
    for each in doors_in(job):
        by_id.setdefault(each.door.id, []).append(each)
    named: dict[str, tuple[AreaDoor, ...]] = {}
    for door_id, doors in by_id.items():
        lines = {each.door.line_m for each in doors}
        if len(doors) == 1 or (len(lines) == 1 and lines != {()}):
            named[door_id] = tuple(doors)
        else:
            named.update({f"{each.area}/{door_id}": (each,) for each in doors})
    return named


def edges_at(job: Job, doors: Iterable[AreaDoor]) -> tuple[Edge, ...]:
    """Return the edges that lie in the openings of some doors."""
    wanted = {(each.area, each.door.id) for each in doors}
    return tuple(edge for edge in job.edges.values() if (edge.area, edge.door) in wanted)
