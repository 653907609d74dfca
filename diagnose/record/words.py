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

_SAID_FOR: Mapping[str, str] = {
    "adhered": "glued glued-down glue-down stuck stuck-down direct-stick direct-stuck direct-glue full-stick fully-stuck bonded",
    "double-stick": "double-stuck double-bond double-bonded double-glue",
    "stretch-in": "stretch stretched stretch-fit stretch-fitted stretched-in tackless gripper",
    "tile": "tiles carpet-tile carpet-tiles modular",
    "polyamide": "nylon nylon-6 nylon-66 pa polyamid",
    "polypropylene": "pp polyprop olefin",
    "polyester": "pet pes",
    "wool-blend": "80/20 80-20 wool-mix wool-mixture wool-nylon",
    "impervious": "pvc pvc-backed vinyl vinyl-backed bitumen bitumen-backed",
    "secondary": "action-back action-backed actionback jute jute-backed hessian hessian-backed woven-back",
    "foam": "foam-backed foam-back",
    "cushion": "cushion-backed cushion-back",
    "loop": "loop-pile boucle",
    "cut": "cut-pile twist velvet velour saxony plush",
    "woven": "axminster wilton",
    "needled": "needlepunch needle-punch needlefelt needle-felt",
    "bonded": "fusion-bonded",
    "concrete": "concrete-slab concrete-floor slab",
    "cement-screed": "screed sand-and-cement sand-cement-screed cement",
    "calcium-sulfate-screed": "anhydrite anhydrite-screed gypsum-screed calcium-sulphate-screed",
    "timber-boards": "floorboards boards floor-boards boarded",
    "timber-sheet": "plywood ply chipboard particle-board hardboard osb",
    "access-panels": "raised-floor access-floor raised-access-floor",
    "old-floor": "vinyl lino linoleum old-vinyl",
    "underfloor": "ufh wet-underfloor floor-heating underfloor-heating",
    "stuck": "glued adhered bonded",
    "taped": "tape heat-bonded hot-melt hot-melt-tape",
    "sewn": "sewed hand-sewn stitched",
    "cover-strip": "door-bar threshold threshold-strip",
}


def _by_said_word() -> dict[str, tuple[str, ...]]:
    found: dict[str, tuple[str, ...]] = {}
    for word, said in _SAID_FOR.items():
        for other in said.split():
            found[other] = (*found.get(other, ()), word)
    return found


TRADE_WORDS: Mapping[str, tuple[str, ...]] = _by_said_word()
"""What fitters say, to the words of the record: `nylon` is polyamide.

One word may stand for several, each in its own field: `vinyl` is an impervious
backing or an old floor.  Common speech of the trade, no source.
"""
