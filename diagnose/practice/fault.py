"""Which fault a practice case is built round: curriculum, cause, symptom, floor.

Causes are drawn evenly, not as often as they happen, so that the rare ones are
practised too; weak spots come up more often.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from enum import StrEnum
from random import Random

from diagnose.errors import NotFoundError
from diagnose.model import FACET_VALUES, STAGES, Facet, Floor, Place
from diagnose.practice.chance import pick, pick_weighted, shuffled
from diagnose.practice.consistent import go_together
from diagnose.rulebook.model import Applies, Link, Rules

WEAK_SPOT = 4.0
"""How many times as often a weak spot is drawn."""

NO_ENTRY = ("no-event", "over-moving-joint")
"""Calculations that say nothing where nothing of the kind happened."""

USUAL_PLACE = 0.7
"""Share of cases at the kind of place that the rules name first for the symptom."""


class Difficulty(StrEnum):
    """What makes a case hard."""

    ONE_CAUSE = "one-cause"
    LOOK_ALIKE = "look-alike"
    TWO_CAUSES = "two-causes"
    SILENT_RECORD = "silent-record"
    MISLEADING_RECORD = "misleading-record"


@dataclass(frozen=True, slots=True)
class Curriculum:
    """What may be drawn; empty fields mean everything."""

    stages: tuple[str, ...] = ()
    causes: tuple[str, ...] = ()
    weak: tuple[str, ...] = ()
    """Ids of causes or names of stages that are drawn more often."""


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong, where, and on what kind of floor."""

    causes: tuple[str, ...]
    symptoms: tuple[str, ...]
    rival: str
    """A cause that this one is taken for; empty if none was chosen."""
    place: Place
    floor: Floor


PLAUSIBLE: Mapping[str, Mapping[Facet, tuple[str, ...]]] = {
    "adhered": {
        Facet.PILE: ("loop", "cut", "cut-and-loop", "flat"),
        Facet.CONSTRUCTION: ("tufted", "tufted", "woven", "needled"),
        Facet.BACKING: ("secondary", "secondary", "unitary", "foam"),
        Facet.SUBFLOOR: ("concrete", "cement-screed", "calcium-sulfate-screed", "timber-sheet"),
    },
    "double-stick": {
        Facet.PILE: ("loop", "cut"),
        Facet.CONSTRUCTION: ("tufted", "woven"),
        Facet.BACKING: ("secondary",),
        Facet.SUBFLOOR: ("concrete", "cement-screed", "timber-sheet"),
    },
    "stretch-in": {
        Facet.PILE: ("cut", "cut", "loop", "cut-and-loop"),
        Facet.CONSTRUCTION: ("tufted", "woven"),
        Facet.BACKING: ("secondary",),
        Facet.SUBFLOOR: ("timber-boards", "timber-sheet", "concrete"),
    },
    "tile": {
        Facet.PILE: ("loop", "cut", "flat"),
        Facet.CONSTRUCTION: ("tufted", "needled"),
        Facet.BACKING: ("impervious", "cushion"),
        Facet.SUBFLOOR: ("concrete", "access-panels", "cement-screed"),
    },
}
"""Facets that go together on a believable invented floor, by method; invented."""


def choose(rules: Rules, rng: Random, difficulty: Difficulty, curriculum: Curriculum) -> Fault:
    """Draw the fault of a case.

    Raises
    ------
    NotFoundError
        The curriculum names something that is not in the rules, or leaves
        nothing that could be drawn at this difficulty.
    """
    _known(rules, curriculum)
    weights = _weights(rules, difficulty, curriculum)
    if not weights:
        raise NotFoundError(f"no cause of this curriculum can be drawn as {difficulty.value}")
    main = pick_weighted(rng, weights)
    rival, link = _link(rules, rng, main, difficulty)
    causes, symptoms, applies = [main], [link.symptom], [link.applies]
    kinds = _kinds(rules, link)
    if difficulty is Difficulty.TWO_CAUSES:
        second = _second(rules, rng, link, kinds)
        causes.append(second.cause)
        if second.symptom not in symptoms:
            symptoms.append(second.symptom)
        applies.append(second.applies)
        kinds = tuple(kind for kind in kinds if kind in _kinds(rules, second))
    applies += [rules.causes[cause].applies for cause in (*causes, *([rival] if rival else []))]
    applies += [rules.symptoms[symptom].applies for symptom in symptoms]
    floor = _floor(rng, applies)
    kinds = tuple(kind for kind in kinds if kind != "job") or kinds
    kind = kinds[0] if rng.random() < USUAL_PLACE else pick(rng, kinds)
    name = {"seam": "S", "edge": "E", "drop": "D", "doorway": "DW"}.get(kind, "")
    place = Place(kind, f"{name}{1 + int(rng.random() * 4)}" if name else "")
    return Fault(tuple(causes), tuple(symptoms), rival, place, floor)


def _known(rules: Rules, curriculum: Curriculum) -> None:
    known = {
        "stage": (curriculum.stages, STAGES),
        "cause": (curriculum.causes, tuple(rules.causes)),
        "cause or stage": (curriculum.weak, (*rules.causes, *STAGES)),
    }
    for word, (given, allowed) in known.items():
        for name in given:
            if name not in allowed:
                near = get_close_matches(name, allowed, n=3)
                all_ = (
                    f"; the stages are {', '.join(STAGES)}" if word == "stage" and not near else ""
                )
                raise NotFoundError(f"no {word} is called {name}{all_}", near)


def _weights(rules: Rules, difficulty: Difficulty, curriculum: Curriculum) -> dict[str, float]:
    linked = {link.cause for link in rules.links.values() if _tells(link)}
    if difficulty is Difficulty.LOOK_ALIKE:
        linked &= {pair.cause for pair in rules.look_alikes.values() if pair.gives_it}
    if difficulty is Difficulty.MISLEADING_RECORD:
        linked &= _cleared_by_an_entry(rules)
    return {
        cause.id: WEAK_SPOT if {cause.id, cause.stage} & {*curriculum.weak} else 1.0
        for cause in rules.causes.values()
        if cause.id in linked
        and (not curriculum.stages or cause.stage in curriculum.stages)
        and (not curriculum.causes or cause.id in curriculum.causes)
        and one_floor([cause.applies])
    }


def _cleared_by_an_entry(rules: Rules) -> set[str]:
    """Return the causes that an entry can clear; that nothing happened is no entry."""
    checks = (c for c in rules.checks.values() if c.calculation not in NO_ENTRY)
    return {cause for check in checks for cause in check.backs}


def _tells(link: Link) -> bool:
    return link.strength != "rarely"


def _link(rules: Rules, rng: Random, main: str, difficulty: Difficulty) -> tuple[str, Link]:
    """Return the rival, if one is wanted, and the link that gives the complaint."""
    figure = rules.scale.link_strength.words
    links = {link.id: link for link in rules.links.values() if link.cause == main and _tells(link)}
    if difficulty is Difficulty.LOOK_ALIKE:
        for pair in shuffled(rng, rules.look_alikes.values()):
            link = rules.links.get(f"{main}.{pair.symptom}")
            if pair.cause == main and link is not None:
                return pair.taken_for, link
    link = links[pick_weighted(rng, {name: figure[link.strength] for name, link in links.items()})]
    if difficulty is not Difficulty.MISLEADING_RECORD:
        return "", link
    backed = {cause for check in rules.checks.values() for cause in check.backs}
    rivals = [
        other.cause
        for other in rules.links.values()
        if other.symptom == link.symptom and other.cause != main and other.cause in backed
        if one_floor([rules.causes[main].applies, rules.causes[other.cause].applies, link.applies])
    ]
    return (pick(rng, rivals) if rivals else ""), link


def _second(rules: Rules, rng: Random, first: Link, kinds: tuple[str, ...]) -> Link:
    """Return a link of another cause that shows at the same place."""
    main = rules.causes[first.cause]
    near = [
        link
        for link in rules.links.values()
        if link.cause != first.cause
        and _tells(link)
        and {*_kinds(rules, link)} & {*kinds}
        and main.id not in (rules.causes[link.cause].kind_of, "")
        and main.kind_of != link.cause
        and one_floor(
            [
                main.applies,
                first.applies,
                link.applies,
                rules.causes[link.cause].applies,
                rules.symptoms[link.symptom].applies,
                rules.symptoms[first.symptom].applies,
            ]
        )
    ]
    same = [link for link in near if link.symptom == first.symptom]
    if not near:
        raise NotFoundError(f"nothing else can go wrong where {main.id} shows")
    return pick(rng, same if same and rng.random() < 0.6 else near)


def _kinds(rules: Rules, link: Link) -> tuple[str, ...]:
    shown = rules.symptoms[link.symptom].shows_at
    return tuple(kind for kind in shown if not link.shows_at or kind in link.shows_at) or shown


def _allowed(applies: Iterable[Applies], facet: Facet) -> tuple[str, ...]:
    sets = [one[facet] for one in applies if facet in one]
    return tuple(v for v in FACET_VALUES[facet] if all(v in values for values in sets))


def one_floor(applies: list[Applies]) -> bool:
    """Return whether one floor can meet all the conditions."""
    return all(_allowed(applies, facet) for facet in Facet) and bool(_goods(applies))


def _goods(applies: Iterable[Applies]) -> list[tuple[str, str]]:
    """Return the constructions and piles that the conditions allow and that go together."""
    kept = list(applies)
    return [
        (construction, pile)
        for construction in _allowed(kept, Facet.CONSTRUCTION)
        for pile in _allowed(kept, Facet.PILE)
        if go_together(construction, pile)
    ]


def _floor(rng: Random, applies: list[Applies]) -> Floor:
    """Draw a floor on which all of the conditions hold."""
    methods = _allowed(applies, Facet.METHOD)
    method = pick(rng, methods or FACET_VALUES[Facet.METHOD])
    facets = {Facet.METHOD: method}
    usual = PLAUSIBLE[method]
    goods = _goods(applies)
    kept = [
        (construction, pile)
        for construction in usual[Facet.CONSTRUCTION]
        for pile in usual[Facet.PILE]
        if (construction, pile) in goods
    ]
    facets[Facet.CONSTRUCTION], facets[Facet.PILE] = pick(rng, kept or goods)
    for facet in (Facet.BACKING, Facet.SUBFLOOR):
        values = usual[facet]
        fits = [value for value in values if value in _allowed(applies, facet)]
        facets[facet] = pick(rng, fits or _allowed(applies, facet) or values)
    fibres = _allowed(applies, Facet.FIBRE)
    facets[Facet.FIBRE] = pick(rng, [fibre for fibre in fibres if fibre != "other"] or fibres)
    heating = _allowed(applies, Facet.HEATING)
    warm = rng.random() < 0.2 or "none" not in heating
    facets[Facet.HEATING] = "underfloor" if warm and "underfloor" in heating else "none"
    # The age is left open: it is a question, and the floor answers it.
    return Floor(facets)
