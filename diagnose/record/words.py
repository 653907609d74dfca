"""Words that a field allows, where only some words make sense.

The lists are those of the record's own documentation; a field that is not
here takes any text.
"""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.model import FACET_VALUES, Facet

READING_KINDS: tuple[str, ...] = (
    "air-temperature",
    "air-humidity",
    "floor-temperature",
    "moisture-humidity",
    "moisture-carbide",
    "moisture-emission",
    "moisture-hand-meter",
    "timber-moisture",
    "surface-ph",
    "porosity-drop",
    "flatness-gap",
    "step",
    "colour",
    "pile-height",
    "pull",
    "gap",
    "other",
)

WORDS: Mapping[str, tuple[str, ...]] = {
    "method": FACET_VALUES[Facet.METHOD],
    "product.method": FACET_VALUES[Facet.METHOD],
    "product.pile": FACET_VALUES[Facet.PILE],
    "product.construction": FACET_VALUES[Facet.CONSTRUCTION],
    "product.backing": FACET_VALUES[Facet.BACKING],
    "product.methods_allowed": FACET_VALUES[Facet.METHOD],
    "lots.*.for_backings": FACET_VALUES[Facet.BACKING],
    "product.fibre": FACET_VALUES[Facet.FIBRE],
    "site.asbestos_survey": ("none", "clear", "found", "not-known"),
    "areas.*.subfloor.kind": FACET_VALUES[Facet.SUBFLOOR],
    "areas.*.subfloor.dries_from": ("one-face", "two-faces"),
    "areas.*.subfloor.damp_proof_membrane": ("yes", "no", "surface", "not-known"),
    "areas.*.subfloor.old_adhesive": ("none", "removed", "left", "black-bituminous", "not-known"),
    "areas.*.subfloor.removal": ("mechanical", "chemical", "none"),
    "areas.*.subfloor.cleaned": ("vacuumed", "swept", "sweeping-compound", "not-cleaned"),
    "areas.*.heating.kind": FACET_VALUES[Facet.HEATING],
    "areas.*.windows.*.faces": (
        "north",
        "north-east",
        "east",
        "south-east",
        "south",
        "south-west",
        "west",
        "north-west",
    ),
    "readings.*.kind": READING_KINDS,
    "readings.*.position": ("corner", "edge", "field"),
    "lots.*.kind": ("adhesive", "sealer", "tape", "underlay", "primer", "smoothing"),
    "drops.*.edges.*.side": ("left", "right"),
    "drops.*.edges.*.cut": (
        "thread-drawn",
        "row-parted",
        "row-followed",
        "straightedge-on-face",
        "from-the-back",
        "double-cut",
        "factory-edge",
    ),
    "drops.*.stretch_tool": ("power-stretcher", "knee-kicker", "none"),
    "spreads.*.layer": ("floor", "cushion"),
    "spreads.*.notch_shape": ("v", "square", "u"),
    "spreads.*.tack": ("wet", "tacky", "dry"),
    "spreads.*.base": ("porous", "closed", "mixed"),
    "seams.*.kind": ("side", "cross", "doorway"),
    "seams.*.made_by": ("stuck", "taped", "sewn"),
    "seams.*.roller": ("smooth", "spiked", "none"),
    "edges.*.kind": ("wall", "doorway", "column", "step"),
    "edges.*.profile": ("none", "cover-strip", "ramp", "butt"),
    "completion.protection": (
        "none",
        "breathable-paper",
        "board",
        "plastic-sheet",
        "adhesive-film",
    ),
    "later.*.kind": (
        "cleaning",
        "leak",
        "heating-off",
        "heating-change",
        "furniture-moved",
        "spill",
        "inspection",
        "repair",
        "works",
        "other",
    ),
}

REFERS_TO: Mapping[str, str] = {
    "areas.*.climate": "climate",
    "readings.*.area": "areas",
    "readings.*.at_part": "place",
    "conditioning.*.what": "stock",
    "drops.*.area": "areas",
    "drops.*.roll": "rolls",
    "spreads.*.area": "areas",
    "spreads.*.drops": "drops",
    "spreads.*.lot": "lots",
    "seams.*.area": "areas",
    "seams.*.drops": "drops",
    "seams.*.sealer_lot": "lots",
    "seams.*.tape_lot": "lots",
    "edges.*.area": "areas",
    "edges.*.door": "doors",
    "later.*.area": "areas",
    "complaints.*.at": "place",
    "photos.*.of": "place",
}
"""Fields that name another part.

A collection of the job; `doors` of the part's own area; `place` such as
`seam:S2`; `stock` such as `roll:R1`.
"""
