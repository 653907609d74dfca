"""Whether a rule holds for a floor, as far as the floor is known."""

from __future__ import annotations

from diagnose.model import Floor
from diagnose.rulebook.model import Applies


def applies_to(applies: Applies, floor: Floor) -> bool:
    """Return False only when a known facet rules the floor out."""
    return all(
        facet not in floor.facets or floor.facets[facet] in values
        for facet, values in applies.items()
    )
