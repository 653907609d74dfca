"""The parts of a record that checks are asked of, and what belongs to one part.

A check is asked of one kind of part; a place only selects the parts, through
`diagnose.record.parts`.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from diagnose.model import FACET_VALUES, PLACE_KINDS, Facet, Place
from diagnose.record.doorway import is_doorway
from diagnose.record.model import Area, Job, Lot, Reading, Spread
from diagnose.record.parts import parts_at

COLLECTIONS: Mapping[str, str] = {
    "spread": "spreads",
    "seam": "seams",
    "drop": "drops",
    "edge": "edges",
    "doorway": "edges",
    "area": "areas",
    "roll": "rolls",
    "lot": "lots",
    "later": "later",
}
"""Kind of part to the collection of the job that holds it."""


@dataclass(frozen=True, slots=True, order=True)
class Part:
    """One part of a record, such as `spread:SP1`; the whole job has no id."""

    kind: str
    id: str = ""

    def __str__(self) -> str:
        return f"{self.kind}:{self.id}" if self.id else self.kind

    @property
    def words(self) -> str:
        """Return it as a person says it: "spread SP1", "the job"."""
        return f"{self.kind} {self.id}" if self.id else f"the {self.kind}"


JOB = Part("job")


def select_parts(job: Job, place: Place, kind: str) -> tuple[Part, ...]:
    """Return the parts of one kind that belong to a place, in record order.

    A place without a name stands for the whole job.

    Raises
    ------
    NotFoundError
        When the job has no such place.
    """
    if kind == "job":
        return (JOB,)
    found = parts_at(job, place if place.name else Place("job"))
    if kind == "doorway":
        return tuple(Part(kind, edge.id) for edge in found.edges if is_doorway(edge))
    return tuple(Part(kind, each.id) for each in getattr(found, COLLECTIONS[kind], ()))


def place_of(job: Job, part: Part) -> Place:
    """Return the place that a part is reported at when none was asked for."""
    if part.kind in PLACE_KINDS:
        return Place(part.kind, part.id)
    area = area_of(job, part)
    return Place("area", area.id) if area else Place("job")


def area_of(job: Job, part: Part) -> Area | None:
    """Return the area a part lies in; the only area of the job if there is one."""
    if part.kind == "area":
        return job.areas.get(part.id)
    thing = getattr(job, COLLECTIONS.get(part.kind, ""), {}).get(part.id)
    name = getattr(thing, "area", None)
    if name is not None:
        return job.areas.get(name)
    return next(iter(job.areas.values())) if len(job.areas) == 1 else None


def facets_of(job: Job, area: Area | None = None) -> dict[Facet, str]:
    """Return the facets that are recorded, those of `area` where areas differ."""
    product = job.product
    found: dict[Facet, str | None] = {
        Facet.METHOD: job.method or product.method,
        Facet.PILE: product.pile,
        Facet.CONSTRUCTION: product.construction,
        Facet.BACKING: product.backing,
        Facet.FIBRE: product.fibre,
        Facet.SUBFLOOR: _agreed(job, area, "subfloor"),
        Facet.HEATING: _agreed(job, area, "heating"),
    }
    return {facet: value for facet, value in found.items() if value in FACET_VALUES[facet]}


def lots_of(job: Job, part: Part) -> tuple[Lot, ...]:
    """Return the lots whose data sheets speak for a part: its own, if any."""
    names: Iterable[str | None] = ()
    if part.kind == "lot":
        names = (part.id,)
    elif part.kind == "spread" and part.id in job.spreads:
        names = (job.spreads[part.id].lot,)
    elif part.kind == "seam" and part.id in job.seams:
        names = (job.seams[part.id].sealer_lot, job.seams[part.id].tape_lot)
    return tuple(job.lots[name] for name in names if name is not None and name in job.lots)


def spreads_in(job: Job, area: str) -> tuple[Spread, ...]:
    """Return the spreads of an area, those of the whole job included."""
    return tuple(spread for spread in job.spreads.values() if spread.area in (area, None))


def readings_in(job: Job, area: str, *kinds: str) -> tuple[Reading, ...]:
    """Return the readings of an area of these kinds that have a value.

    A reading without an area and a part counts everywhere.
    """
    return tuple(
        reading
        for reading in job.readings.values()
        if reading.kind in kinds
        and reading.value is not None
        and (reading.area == area or (reading.area is None and not reading.at_part))
    )


def _agreed(job: Job, area: Area | None, name: str) -> str | None:
    areas = [area] if area else list(job.areas.values())
    kinds = {getattr(getattr(each, name), "kind", None) for each in areas}
    return kinds.pop() if len(kinds) == 1 else None
