"""Whether a rule holds for a floor, as far as the floor is known."""

from __future__ import annotations

from diagnose.model import Facet, Floor
from diagnose.rulebook.model import Applies


def applies_to(applies: Applies, floor: Floor) -> bool:
    """Return False only when a known facet rules the floor out."""
    return all(
        facet not in floor.facets or floor.facets[facet] in values
        for facet, values in applies.items()
    )


def overlap(one: Applies, other: Applies) -> Applies | None:
    """Return the floors that both hold for; None where there is no such floor."""
    both: dict[Facet, tuple[str, ...]] = {}
    for facet in (*one, *(facet for facet in other if facet not in one)):
        values = one.get(facet) or other[facet]
        both[facet] = tuple(value for value in values if value in other.get(facet, values))
        if not both[facet]:
            return None
    return both


def apart(one: Applies, other: Applies) -> Facet | None:
    """Return the first facet on which two conditions exclude each other."""
    for facet, values in one.items():
        if facet in other and not {*values} & {*other[facet]}:
            return facet
    return None
