"""What the floor and the complaint of an invented case rule out.

A drawn case must not contradict what the learner was told: a question that the
goods or the way of laying leave no room for is not asked, and no answer denies
the complaint.  Everything here is ids of the rules; ids that other rules lack
have no effect.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from diagnose.model import Facet, Floor

PILES: Mapping[str, tuple[str, ...]] = {
    "tufted": ("loop", "cut", "cut-and-loop"),
    "woven": ("loop", "cut", "cut-and-loop", "flat"),
    "needled": ("flat",),
    "bonded": ("cut", "flat"),
}
"""Piles that each construction can have."""

LAID_OVER = ("stretch-in", "double-stick")
STUCK = ("adhered", "double-stick", "tile")
IN_LENGTHS = ("adhered", "double-stick", "stretch-in")
BOARDED = ("timber-boards", "timber-sheet", "access-panels")
SECOND_CLOTH = ("secondary", "impervious", "foam", "cushion")
SYNTHETIC = ("polyamide", "polypropylene", "polyester", "other")
LOOPED = ("loop", "cut-and-loop")
CUT = ("cut", "cut-and-loop")

QUESTION_NEEDS: Mapping[str, tuple[Facet, tuple[str, ...]]] = {
    "under-the-tape": (Facet.METHOD, ("stretch-in",)),
    "release-one-wall": (Facet.METHOD, ("stretch-in",)),
    "tool-for-stretching": (Facet.METHOD, ("stretch-in",)),
    "seam-used-before-set": (Facet.METHOD, ("adhered", "double-stick", "stretch-in")),
    "paper-on-the-pile": (Facet.PILE, CUT),
    "pull-tufts-in-the-field": (Facet.CONSTRUCTION, ("tufted", "woven")),
    "foot-of-a-lost-tuft": (Facet.CONSTRUCTION, ("tufted", "woven")),
    "backing-at-a-lost-tuft": (Facet.CONSTRUCTION, ("tufted", "woven")),
    "pile-caught-in-the-join": (Facet.PILE, ("loop", "cut", "cut-and-loop")),
    "proud-tuft": (Facet.PILE, ("loop", "cut", "cut-and-loop")),
    "how-many-proud-tufts": (Facet.PILE, ("loop", "cut", "cut-and-loop")),
    "arrows-and-boxes": (Facet.METHOD, ("tile",)),
    "rub-the-foam": (Facet.BACKING, ("foam", "cushion")),
    "peel-in-the-field": (Facet.BACKING, SECOND_CLOTH),
    "drift-within-a-breadth": (Facet.METHOD, IN_LENGTHS),
    "spare-breadth-measured": (Facet.METHOD, IN_LENGTHS),
    "repeats-measured": (Facet.METHOD, IN_LENGTHS),
    "floor-temperature-while-laying": (Facet.METHOD, STUCK),
}
"""What a floor must be, for a question to have an answer at all."""

ANSWER_NEEDS: Mapping[tuple[str, str], tuple[Facet, tuple[str, ...]]] = {
    ("taped-or-stuck", "stuck-to-the-floor"): (Facet.METHOD, ("adhered",)),
    ("taped-or-stuck", "double-stuck"): (Facet.METHOD, ("double-stick",)),
    ("taped-or-stuck", "taped-and-stretched"): (Facet.METHOD, ("stretch-in",)),
    ("tape-sealer-really-used", "narrow-or-doubled-tape"): (Facet.METHOD, ("stretch-in",)),
    ("strip-reads-through", "band-as-wide-as-the-tape"): (Facet.METHOD, ("stretch-in",)),
    ("strip-reads-through", "band-at-an-underlay-edge"): (Facet.METHOD, LAID_OVER),
    ("width-of-the-dark-line", "underlay-joint-or-board"): (Facet.METHOD, LAID_OVER),
    ("gaps-and-fans", "untaped-underlay-joints"): (Facet.METHOD, LAID_OVER),
    ("layer-that-parted", "carpet-from-cushion"): (Facet.METHOD, ("double-stick",)),
    ("goods-stored-where", "tiles-on-edge"): (Facet.METHOD, ("tile",)),
    ("cleaning-and-vacuum-type", "rotating-brush-on-loop"): (Facet.PILE, LOOPED),
    ("style-that-shows-joins", "low-dense-loop"): (Facet.PILE, LOOPED),
    ("style-that-shows-joins", "plain-velvet"): (Facet.PILE, ("cut",)),
    ("how-the-edge-was-cut", "along-a-row"): (Facet.PILE, LOOPED),
    ("how-the-edge-was-cut", "across-rows"): (Facet.PILE, LOOPED),
    ("heated-floor", "none-fitted"): (Facet.HEATING, ("none",)),
    ("follows-building-or-roll", "pipe-or-heating-loop"): (Facet.HEATING, ("underfloor",)),
    ("follows-building-or-roll", "follows-the-roll"): (Facet.METHOD, IN_LENGTHS),
    ("where-on-the-floor", "one-end-of-the-roll"): (Facet.METHOD, IN_LENGTHS),
    ("marks-at-fixed-spacing", "round-of-the-roll"): (Facet.METHOD, IN_LENGTHS),
    ("marks-at-fixed-spacing", "board-or-panel-width"): (Facet.SUBFLOOR, BOARDED),
    ("marks-at-fixed-spacing", "trowel-notch"): (Facet.METHOD, STUCK),
    ("marks-at-fixed-spacing", "every-row"): (Facet.CONSTRUCTION, ("tufted", "woven")),
    ("shape-underfoot", "straight-boards-or-panels"): (Facet.SUBFLOOR, BOARDED),
    ("shape-underfoot", "comb-arcs"): (Facet.METHOD, STUCK),
    ("state-of-the-underlay", "none-there"): (Facet.METHOD, ("adhered", "tile")),
    ("kind-of-back", "natural-or-woven"): (Facet.BACKING, ("secondary", "unitary")),
    ("where-the-adhesive-is", "second-back-stays-down"): (Facet.BACKING, ("secondary",)),
    ("layer-that-parted", "between-the-backings"): (Facet.BACKING, ("secondary",)),
    ("kind-of-fluff", "filament-growing-hairy"): (Facet.FIBRE, SYNTHETIC),
    ("where-the-run-begins", "never-tufted"): (Facet.CONSTRUCTION, ("tufted",)),
    ("length-and-rows-of-the-line", "bare-row-no-stitch"): (Facet.CONSTRUCTION, ("tufted",)),
    ("backing-at-a-lost-tuft", "no-holes-at-all"): (Facet.CONSTRUCTION, ("tufted",)),
    ("adhesive-and-notch-really-used", "not-approved-for-heat"): (Facet.HEATING, ("underfloor",)),
    ("how-the-laying-went", "fans-or-heaters-on-the-adhesive"): (Facet.METHOD, STUCK),
    ("time-in-the-room-before-laying", "adhesive-left-in-the-van"): (Facet.METHOD, STUCK),
    ("under-the-uv-lamp", "adhesive-streaks"): (Facet.METHOD, STUCK),
    ("photos-from-the-day", "rolls-in-a-bent-stack"): (Facet.METHOD, IN_LENGTHS),
    ("photos-from-the-day", "carpet-laid-in-by-dropping"): (Facet.METHOD, IN_LENGTHS[:2]),
    ("seam-used-before-set", "stretched-at-once"): (Facet.METHOD, ("stretch-in",)),
    ("what-was-tried", "seam-remade-and-held"): (Facet.METHOD, IN_LENGTHS),
    ("what-was-tried", "seam-remade-came-back"): (Facet.METHOD, IN_LENGTHS),
    ("what-was-tried", "restuck-and-held"): (Facet.METHOD, ("adhered", "double-stick", "tile")),
    ("what-was-tried", "restuck-came-back"): (Facet.METHOD, ("adhered", "double-stick", "tile")),
    ("what-was-tried", "restretched-and-held"): (Facet.METHOD, ("stretch-in",)),
    ("what-was-tried", "restretched-came-back"): (Facet.METHOD, ("stretch-in",)),
}
"""What a floor must be, for one answer to be possible."""

HEIGHT, GAP, LINE, PROUD = (
    "height-on-one-side-or-both",
    "shape-of-the-gap",
    "width-of-the-dark-line",
    "how-many-proud-tufts",
)
TUFTS_LOST = {
    "foot-of-a-lost-tuft": ("no-tuft-lost",),
    "backing-at-a-lost-tuft": ("none-lost",),
}
COLOUR_MOVED = {
    "which-way-the-colour-moved": ("no-move",),
    "pattern-of-discolouration": ("no-colour-change",),
}
DENIES: Mapping[str, Mapping[str, tuple[str, ...]]] = {
    "over-full-seam": {
        HEIGHT: ("no-height", "both-rounded", "sunken"),
        "backings-touch": ("backings-apart",),
        GAP: ("even-all-along", "wider-to-one-end"),
    },
    "seam-peaking": {HEIGHT: ("no-height", "sharp-and-narrow", "one-side-step", "sunken")},
    "sunken-seam": {
        HEIGHT: ("no-height", "both-rounded", "sharp-and-narrow", "one-side-step"),
        "backings-touch": ("one-over-the-other", "backings-apart"),
    },
    "visible-flat-seam": {
        HEIGHT: ("both-rounded", "one-side-step", "sharp-and-narrow", "sunken"),
        GAP: (
            "even-all-along",
            "wider-to-one-end",
            "only-at-the-doorway",
            "open-and-tight-by-turns",
        ),
        "backings-touch": ("one-over-the-other", "backings-apart"),
    },
    "open-seam": {
        GAP: ("no-gap",),
        "backings-touch": ("touch-pile-closed", "touch-pile-parted", "one-over-the-other"),
    },
    "seam-soiling": {
        "dark-line-feel": ("no-dark-line",),
        LINE: ("no-line", "broad-lane", "underlay-joint-or-board", "rows-of-dots"),
    },
    "filtration-lines": {LINE: ("no-line", "along-the-join-only", "broad-lane")},
    "traffic-soiling": {"pattern-of-discolouration": ("no-colour-change",)},
    "tuft-loss": TUFTS_LOST,
    "run-in-loop-pile": {"where-the-run-begins": ("no-run",)},
    "pulled-loop": {
        "where-the-run-begins": ("no-run",),
        PROUD: ("none-stand-out",),
        "proud-tuft": ("no-proud-tuft",),
    },
    "sprouting": {PROUD: ("none-stand-out",), "proud-tuft": ("no-proud-tuft",)},
    "blisters": {
        "press-the-blister": ("no-blister",),
        "shape-of-the-loose-area": ("sound-everywhere",),
    },
    "bond-loss": {
        "shape-of-the-loose-area": ("sound-everywhere",),
        "where-the-adhesive-is": ("on-both-sound",),
    },
    "delamination": {"peel-in-the-field": ("strong",)},
    "ripples": {
        "direction-of-the-waves": ("no-waves",),
        "pinch-in-mid-room": ("tight-and-flat",),
    },
    "flattening": {"flat-where-and-when": ("not-flat",)},
    "indentation": {"dent-age-and-load": ("nothing-stood",)},
    "odour": {"what-smell": ("no-smell",)},
    "adhesive-bleed": {"shape-of-the-bleed": ("no-bleed",)},
    "adhesive-ooze-at-seam": {"shape-of-the-bleed": ("no-bleed",)},
    "colour-spot": {
        "edge-and-feel-of-the-spot": ("no-spot", "soft-edge"),
        **COLOUR_MOVED,
    },
    "fading": COLOUR_MOVED,
    "browning-or-yellowing": COLOUR_MOVED,
    "dye-bleeding": {"white-cloth": ("nothing",)},
    "pest-damage": {"traces-of-insects": ("no",)},
    "shedding-or-pilling": {"kind-of-fluff": ("hardly-any",)},
    "shrinkage-from-wall": {
        "gaps-at-opposite-walls": ("none",),
        "where-the-edge-once-lay": ("no-gap-at-the-wall",),
        "tucked-and-trimmed": ("reaches-and-tucked",),
    },
    "row-mismatch": {"offset-of-the-rows": ("no-offset",)},
    "lengthwise-streak": {"length-and-rows-of-the-line": ("no-line", "crosses-the-rows")},
    "adhesive-ridges-showing-through": {
        "shape-underfoot": ("nothing-underfoot",),
        "shape-of-the-marks": ("no-such-shape",),
    },
    "subfloor-showing-through": {"shape-underfoot": ("nothing-underfoot",)},
    "foam-breakdown": {"rub-the-foam": ("sound",)},
    "dust-not-from-carpet": {"kind-of-fluff": ("filament-growing-hairy",)},
    "heat-glazed-pile": {"shiny-strip-or-pricks": ("neither",)},
}
"""Answers that would deny a complaint, by symptom and question."""

THINGS: Mapping[str, tuple[Facet, tuple[str, ...]]] = {
    "gripper": (Facet.METHOD, ("stretch-in",)),
    "underlay": (Facet.METHOD, LAID_OVER),
}
ONLY_IN: Mapping[str, tuple[Facet, tuple[str, ...]]] = {
    "In tiles ": (Facet.METHOD, ("tile",)),
    "In loop pile ": (Facet.PILE, LOOPED),
    "In cut pile ": (Facet.PILE, CUT),
}


def go_together(construction: str, pile: str) -> bool:
    """Return whether goods of this construction can have this pile."""
    return pile in PILES.get(construction, (pile,))


def asked_in_vain(floor: Floor, question: str) -> bool:
    """Return whether a question does not apply, by what is told of the floor."""
    return question in QUESTION_NEEDS and not _meets(floor, *QUESTION_NEEDS[question])


def about_another(symptom: str, question: str) -> bool:
    """Return whether a question is about another complaint, as one about waves is for blisters."""
    about = {each for each, denied in DENIES.items() if question in denied}
    return bool(about) and symptom not in about


def on_one_floor(shown: Iterable[tuple[str, str]]) -> bool:
    """Return whether one floor can be asked these questions and give these answers."""
    left: dict[Facet, set[str]] = {}
    for question, answer in shown:
        for needs in (QUESTION_NEEDS.get(question), ANSWER_NEEDS.get((question, answer))):
            if needs:
                facet, values = needs
                left[facet] = left.get(facet, set(values)) & set(values)
    return all(left.values())


def ruled_out(floor: Floor, symptoms: Iterable[str], question: str) -> frozenset[str]:
    """Return the answers to a question that the floor or the complaint rules out."""
    by_floor = {
        answer
        for (name, answer), needs in ANSWER_NEEDS.items()
        if name == question and not _meets(floor, *needs)
    }
    by_complaint = {
        answer for symptom in symptoms for answer in DENIES.get(symptom, {}).get(question, ())
    }
    return frozenset(by_floor | by_complaint)


def fitting_words(looks_like: str, floor: Floor) -> str:
    """Return how a symptom looks, without what this kind of floor does not have."""
    sentences = re.split(r"(?<=\.)\s+", looks_like.strip())
    text = " ".join(
        sentence
        for sentence in sentences
        if all(
            _meets(floor, *needs) for start, needs in ONLY_IN.items() if sentence.startswith(start)
        )
    )
    for thing, needs in THINGS.items():
        if not _meets(floor, *needs):
            text = re.sub(rf",? (?:or|and) [^,.;]*?\b{thing}\b", "", text)
    return text


def _meets(floor: Floor, facet: Facet, values: tuple[str, ...]) -> bool:
    return facet not in floor.facets or floor.facets[facet] in values
