"""The invented surroundings of a practice case: who rings, which room, what plan.

Everything here is invented and says nothing of what is wrong.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from random import Random

from diagnose.model import Facet, Floor, Place
from diagnose.practice.chance import pick

CALLERS: tuple[tuple[str, str], ...] = (
    ("the caretaker of a village school", "reading room"),
    ("the manager of a small office", "open-plan office"),
    ("the tenant of a first-floor flat", "living room"),
    ("the owner of a guest house", "breakfast room"),
    ("the sister in charge of a day clinic", "waiting room"),
    ("the verger of a chapel", "side aisle"),
    ("the librarian of a town library", "quiet room"),
    ("the steward of a bowling club", "lounge"),
    ("the owner of an old terraced house", "stairs landing and hall"),
    ("the facilities clerk of an insurance office", "meeting room"),
    ("the matron of a care home", "day room"),
    ("the secretary of a music school", "practice room"),
)
COLOURS = ("moss green", "charcoal", "wheat", "slate blue", "rust", "oat", "heather", "navy")
WALLS = ("north", "east", "south", "west")
WEEKDAYS = ("Monday", "Tuesday", "Wednesday", "Thursday", "Friday")

WORDS: Mapping[str, str] = {
    "adhered": "stuck down all over",
    "double-stick": "stuck to an underlay that is stuck to the floor",
    "stretch-in": "stretched in over gripper and underlay",
    "tile": "carpet tiles",
    "loop": "loop pile",
    "cut": "cut pile",
    "cut-and-loop": "cut and loop pile",
    "flat": "flat, without pile",
    "secondary": "secondary backing",
    "impervious": "backing that lets no water through",
    "foam": "foam backing",
    "cushion": "cushion backing",
    "unitary": "latex backing without a second cloth",
    "concrete": "concrete",
    "cement-screed": "cement screed",
    "calcium-sulfate-screed": "calcium sulfate screed",
    "timber-boards": "timber boards",
    "timber-sheet": "timber sheets",
    "access-panels": "access floor panels",
    "old-floor": "an old floor left in place",
    "wool-blend": "wool blend",
}


@dataclass(frozen=True, slots=True)
class Site:
    """Invented surroundings; lengths in centimetres, so that no figure is rounded."""

    caller: str
    room: str
    colour: str
    weekday: str
    length_cm: int
    width_cm: int
    drop_cm: int
    """Width of one drop; 50 for tiles."""
    window: str
    """Wall that the window is in: north, east, south, west."""


def invent_site(rng: Random, floor: Floor, place: Place) -> Site:
    """Return the surroundings of a case; a place of any number fits into the room."""
    caller, room = pick(rng, CALLERS)
    tile = floor.facets.get(Facet.METHOD) == "tile"
    number = int("".join(ch for ch in place.name if ch.isdigit()) or "1")
    drops = number + 1 + int(rng.random() * 2)
    return Site(
        caller=caller,
        room=room,
        colour=pick(rng, COLOURS),
        weekday=pick(rng, WEEKDAYS),
        length_cm=420 + 20 * int(rng.random() * 20),
        width_cm=300 + 50 * int(rng.random() * 8) if tile else drops * 200 - 30,
        drop_cm=50 if tile else 200,
        window=pick(rng, WALLS),
    )


def place_words(place: Place, site: Site) -> str:
    """Return such as "at the seam S2 in the day room"."""
    if place.kind == "job":
        return "all over the job"
    if place.kind == "area":
        return f"in the {site.room}"
    kind = {"drop": "in the middle of the drop"}.get(place.kind, f"at the {place.kind}")
    return f"{kind} {place.name} in the {site.room}".replace("  ", " ")


def floor_words(floor: Floor, site: Site) -> str:
    """Return one sentence on the goods and the floor."""
    facets = {facet: WORDS.get(value, value) for facet, value in floor.facets.items()}
    warm = ", heated from below" if floor.facets.get(Facet.HEATING) == "underfloor" else ""
    return (
        f"{site.colour.capitalize()} {facets[Facet.FIBRE]} carpet, {facets[Facet.CONSTRUCTION]}, "
        f"{facets[Facet.PILE]}, {facets[Facet.BACKING]}; {facets[Facet.METHOD]}; "
        f"on {facets[Facet.SUBFLOOR]}{warm}."
    )


def plan_lines(floor: Floor, site: Site) -> tuple[str, ...]:
    """Return a plan of the room in characters, north up; nothing for tiles.

    Seams lie between drops; edges are numbered round from the north wall.
    """
    if floor.facets.get(Facet.METHOD) == "tile":
        return ()
    drops = (site.width_cm + 30) // site.drop_cm
    rule = "+" + "----+" * drops
    names = "|" + "".join(f" D{number} |" for number in range(1, drops + 1))
    seams = "    " + "".join(f" S{number}  " for number in range(1, drops))
    walls = ", ".join(
        f"{edge} {wall}{' with the window' if wall == site.window else ''}"
        for edge, wall in zip(("E1", "E2", "E3", "E4"), WALLS, strict=True)
    )
    return (rule, names, rule, seams.rstrip(), f"Walls: {walls}.")
