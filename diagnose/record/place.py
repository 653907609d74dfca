"""Find a place of a job, and say what the record tells of the floor there."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import fields
from datetime import date

from diagnose.errors import NotFoundError
from diagnose.model import FACET_VALUES, PLACE_KINDS, Facet, Floor, Place, Provenance
from diagnose.record.doorway import doors_by_name, edges_at, is_doorway
from diagnose.record.fields import near_names
from diagnose.record.model import Job
from diagnose.record.parts import Parts, parts_at

__all__ = ["WHOLE_JOB", "Parts", "find_place", "floor_of", "parts_at", "places_of", "words_at"]

WHOLE_JOB = Place("job")
_DOUBTED = (Provenance.AFTER_COMPLAINT, Provenance.STATEMENT)

_COLLECTIONS = {"seam": "seams", "edge": "edges", "drop": "drops", "area": "areas"}


def find_place(job: Job, text: str) -> Place:
    """Return the place that `text` names: `seam:S2`, `seam S2`, `S2` or `job`.

    A doorway is named by its edge (`doorway:E2`) or its door (`doorway:D1`, or
    `doorway:day-room/D1` where two areas have a door D1 in different places).
    A door that one edge of the record belongs to is known by that edge.

    Raises
    ------
    NotFoundError
        When the job has no such part, or several, naming close ones.
    """
    kind, name = _split(text)
    if kind in ("", "job") and name in ("", "job"):
        return WHOLE_JOB
    places = [place for place in places_of(job) if kind in ("", place.kind)]
    found = _named(places, name)
    if not kind:
        # an edge in a doorway is listed as both; without a word the edge is meant
        found = [p for p in found if p.kind != "doorway" or Place("edge", p.name) not in found]
    if not found and kind in ("", "doorway"):
        edges = edges_at(job, doors_by_name(job).get(name, ()))
        found = [Place("doorway", edge.id) for edge in edges]
    if len(found) == 1:
        return found[0]
    if found:
        near = tuple(str(place) for place in found)
        raise NotFoundError(f"{name[:80]} can be {' or '.join(near)}; write which", near)
    raise not_found(job, kind, name)


def places_of(job: Job) -> tuple[Place, ...]:
    """Return every place of a job that a complaint can have, the job first."""
    named = [
        Place(kind, name)
        for kind, collection in _COLLECTIONS.items()
        for name in getattr(job, collection)
    ]
    doorways = [edge.id for edge in job.edges.values() if is_doorway(edge)]
    doorways += [name for name, doors in doors_by_name(job).items() if not edges_at(job, doors)]
    return (WHOLE_JOB, *named, *(Place("doorway", name) for name in dict.fromkeys(doorways)))


def floor_of(job: Job, place: Place, on: date | None) -> Floor:
    """Return what the record says of the floor at a place, and its age on a day.

    A facet on which the areas of the place differ is left out, and so is one
    that the record does not hold.  The method of the job goes before the
    product's.  Without a day, or before completion, the age is unknown.

    Raises
    ------
    NotFoundError
        When the job has no such place.
    """
    areas = parts_at(job, place).areas
    product = job.product
    found = {
        Facet.METHOD: job.method or product.method,
        Facet.PILE: product.pile,
        Facet.CONSTRUCTION: product.construction,
        Facet.BACKING: product.backing,
        Facet.FIBRE: product.fibre,
        Facet.SUBFLOOR: _agreed(area.subfloor.kind if area.subfloor else None for area in areas),
        Facet.HEATING: _agreed(area.heating.kind if area.heating else None for area in areas),
    }
    facets = {facet: value for facet, value in found.items() if value in FACET_VALUES[facet]}
    known = {facet: value for facet, value in facets.items() if value}
    finished = job.dates.finished_at
    if on is None or finished is None or on < finished.date():
        return Floor(known)
    return Floor(known, (on - finished.date()).days)


def words_at(job: Job, place: Place) -> Mapping[str, frozenset[str]]:
    """Return the words recorded of the parts at a place, by `collection.field`.

    Only fields with a word, a yes or a no; `yes` and `no` stand for the latter.
    At a seam, an edge or a doorway only that part itself counts of its kind.
    What was stated from memory or entered after the complaint is left out.
    """
    parts = parts_at(job, place)
    found: dict[str, set[str]] = {}
    for collection in ("areas", "seams", "edges", "drops", "rolls", "spreads", "lots"):
        for part in getattr(parts, collection):
            if collection == f"{place.kind}s" and place.name and part.id != place.name:
                continue
            for each in fields(part):
                value = getattr(part, each.name)
                if isinstance(value, bool):
                    value = "yes" if value else "no"
                origin = job.origins.get(f"{collection}.{part.id}.{each.name}")
                if origin is not None and origin.provenance in _DOUBTED:
                    continue
                if isinstance(value, str) and each.name != "id":
                    found.setdefault(f"{collection}.{each.name}", set()).add(value)
    return {path: frozenset(values) for path, values in found.items()}


def not_found(job: Job, kind: str, name: str) -> NotFoundError:
    """Return the error for a place that a job does not have, naming close ones."""
    places = [place for place in places_of(job) if place.name]
    same_kind = [place for place in places if place.kind == kind]
    wanted = f"{kind or 'place'} {name[:80]}".strip()
    near = near_names(name, [place.name for place in same_kind or places])
    names = [str(place) for place in same_kind or places if place.name in near]
    if kind and kind not in PLACE_KINDS:
        text = f"{kind[:80]} is no kind of place; there are {', '.join(PLACE_KINDS)}"
        return NotFoundError(text, near_names(kind, list(PLACE_KINDS)))
    near_ones = names or [str(place) for place in (same_kind or places)[:8]]
    return NotFoundError(f"the record of {job.id} holds no {wanted}", near_ones)


def _split(text: str) -> tuple[str, str]:
    plain = " ".join(text.split())
    kind, sign, name = plain.partition(":")
    if not sign:
        kind, sign, name = plain.partition(" ")
    if not sign:
        kind, name = ("job", "") if plain.casefold() == "job" else ("", plain)
    return kind.strip().casefold(), name.strip()


def _named(places: list[Place], name: str) -> list[Place]:
    alike = [place for place in places if place.name.casefold() == name.casefold()]
    return [place for place in alike if place.name == name] or alike


def _agreed(values: Iterable[str | None]) -> str | None:
    known = set(values)
    return known.pop() if len(known) == 1 else None
