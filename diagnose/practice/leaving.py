"""The leave-site drill: an invented job just finished; find what is wrong in time.

The record is looked at line by line.  A look costs minutes, so does putting
right what deviates and writing down what is missing; when the minutes are
spent, the van leaves.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from difflib import get_close_matches

from diagnose.engine.network import Network, build
from diagnose.errors import NotFoundError
from diagnose.model import Facet, Floor, Outcome, Place
from diagnose.practice import sample
from diagnose.practice.chance import level, shuffled, stream
from diagnose.practice.consistent import go_together
from diagnose.practice.fault import PLAUSIBLE
from diagnose.practice.play import MoveError
from diagnose.practice.site import Site, invent_site
from diagnose.rulebook.model import Rules

LOOK_MINUTES = 1
WRITE_MINUTES = 1
LINES = 16
FAULTS = 3
LATER = ("maintenance", "building")
"""Stages of which nothing can be known on the day the job is finished."""
SPARE = 1.15
"""Minutes given, as a share of those that looking at all and mending all would take."""
GAP_SHARE = 0.2
POINTS = {"put right": 70, "written down": 20, "minutes": 10}


@dataclass(frozen=True, slots=True)
class LeavingCase:
    """A finished job with faults laid into its record; `outcomes` is the key."""

    seed: int
    edition: str
    floor: Floor
    site: Site
    lines: tuple[str, ...]
    """Checks to look at, by id."""
    outcomes: Mapping[str, Outcome]
    causes: tuple[str, ...]
    minutes: int


@dataclass(frozen=True, slots=True)
class Leaving:
    """How far the round before leaving has come."""

    case: LeavingCase
    looked: tuple[str, ...] = ()
    righted: tuple[str, ...] = ()
    written: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class LeavingMark:
    """How the drill went."""

    points: int
    put_right: tuple[str, ...]
    left_wrong: tuple[str, ...]
    """Checks that deviate and were left so."""
    left_open: tuple[str, ...]
    """Checks that were not recorded and still are not."""
    minutes: float
    callbacks: tuple[tuple[str, str, str], ...]
    """Check, cause and symptom of what is likely to come back."""


def draw_leaving(rules: Rules, seed: int) -> LeavingCase:
    """Return the finished job of a seed.

    Raises
    ------
    NotFoundError
        The rules have no check that could be put right on site.
    """
    rng = stream("leaving", seed)
    method = shuffled(rng, PLAUSIBLE)[0]
    facets = {facet: shuffled(rng, set_of)[0] for facet, set_of in PLAUSIBLE[method].items()}
    piles = [p for p in PLAUSIBLE[method][Facet.PILE] if go_together(facets[Facet.CONSTRUCTION], p)]
    facets[Facet.PILE] = shuffled(rng, piles)[0]
    floor = Floor({Facet.METHOD: method, Facet.FIBRE: "wool", Facet.HEATING: "none", **facets})
    network = build(rules, floor, symptoms=())
    now = [name for name in network.checks if rules.checks[name].stage not in LATER]
    mendable = [name for name in now if rules.checks[name].put_right]
    faults = [name for name in shuffled(rng, mendable) if _backed(rules, network, name)][:FAULTS]
    if not faults:
        raise NotFoundError("no check of the rules can be put right on such a floor")
    others = [name for name in shuffled(rng, now) if name not in faults]
    chosen = {*faults, *others[: LINES - len(faults)]}
    lines = tuple(name for name in network.checks if name in chosen)
    causes = tuple(dict.fromkeys(_backed(rules, network, name)[0] for name in faults))
    on = sample.states(network, causes, rng)
    outcomes = {}
    for name in lines:
        deviates = level(rng, sample.chances(network.checks[name], on)) == 1
        if name in faults or deviates:
            outcomes[name] = Outcome.DEVIATES
        else:
            gap = rng.random() < GAP_SHARE
            outcomes[name] = Outcome.NOT_RECORDED if gap else Outcome.IN_ORDER
    case = LeavingCase(
        seed=seed,
        edition=rules.edition,
        floor=floor,
        site=invent_site(rng, floor, Place("job")),
        lines=lines,
        outcomes=outcomes,
        causes=causes,
        minutes=0,
    )
    needed = len(lines) * LOOK_MINUTES + sum(
        cost(rules, case, name) for name in _wrong(rules, case)
    )
    return replace(case, minutes=math.ceil(SPARE * needed))


def cost(rules: Rules, case: LeavingCase, check: str) -> float:
    """Return the minutes that mending or writing down one line takes."""
    if case.outcomes[check] is Outcome.DEVIATES:
        return rules.checks[check].put_right_minutes
    return WRITE_MINUTES if case.outcomes[check] is Outcome.NOT_RECORDED else 0.0


def spent(rules: Rules, leaving: Leaving) -> float:
    """Return the minutes spent so far."""
    done = (*leaving.righted, *leaving.written)
    return len(leaving.looked) * LOOK_MINUTES + sum(
        cost(rules, leaving.case, name) for name in done
    )


def look(rules: Rules, leaving: Leaving, check: str) -> Leaving:
    """Return the drill with one more line looked at.

    Raises
    ------
    MoveError
        No minutes are left.
    NotFoundError
        The line is not on the list.
    """
    _listed(leaving, check)
    if check in leaving.looked:
        return leaving
    _affordable(rules, leaving, LOOK_MINUTES)
    return replace(leaving, looked=(*leaving.looked, check))


def mend(rules: Rules, leaving: Leaving, check: str) -> Leaving:
    """Return the drill with a deviation put right, or a gap written down.

    Raises
    ------
    MoveError
        It was not looked at, is in order, was done already, cannot be put
        right on site, or no minutes are left for it.
    NotFoundError
        The line is not on the list.
    """
    _listed(leaving, check)
    if check not in leaving.looked:
        raise MoveError(f"look at {check} first")
    if check in (*leaving.righted, *leaving.written):
        raise MoveError(f"{check} is done already")
    outcome = leaving.case.outcomes[check]
    if outcome is Outcome.IN_ORDER:
        raise MoveError(f"{check} is in order; there is nothing to mend")
    if outcome is Outcome.DEVIATES and not rules.checks[check].put_right:
        raise MoveError(f"{check} cannot be put right on site any more; tell the client")
    _affordable(rules, leaving, cost(rules, leaving.case, check))
    if outcome is Outcome.DEVIATES:
        return replace(leaving, righted=(*leaving.righted, check))
    return replace(leaving, written=(*leaving.written, check))


def mark_leaving(rules: Rules, leaving: Leaving) -> LeavingMark:
    """Return how the drill went: what was mended, what will come back."""
    case = leaving.case
    wrong = [name for name in _wrong(rules, case) if case.outcomes[name] is Outcome.DEVIATES]
    gaps = [name for name in case.lines if case.outcomes[name] is Outcome.NOT_RECORDED]
    left = tuple(name for name in wrong if name not in leaving.righted)
    open_still = tuple(name for name in gaps if name not in leaving.written)
    minutes = spent(rules, leaving)
    shares = {
        "put right": 1 - len(left) / len(wrong),
        "written down": 1 - len(open_still) / len(gaps) if gaps else 1.0,
        "minutes": 1.0 if not left or minutes >= case.minutes - LOOK_MINUTES else 0.0,
    }
    return LeavingMark(
        points=round(sum(POINTS[name] * share for name, share in shares.items())),
        put_right=leaving.righted,
        left_wrong=left,
        left_open=open_still,
        minutes=minutes,
        callbacks=_callbacks(rules, case, left),
    )


def _callbacks(
    rules: Rules, case: LeavingCase, left: Iterable[str]
) -> tuple[tuple[str, str, str], ...]:
    """Return what each line left wrong is likely to bring back, by the strongest link."""
    figure = rules.scale.link_strength.words
    found = []
    for check in left:
        causes = [c for c in case.causes if c in rules.checks[check].backs]
        for cause in causes or list(rules.checks[check].backs)[:1]:
            links = [link for link in rules.links.values() if link.cause == cause]
            if links:
                worst = max(links, key=lambda link: figure[link.strength])
                found.append((check, cause, worst.symptom))
    return tuple(found)


def _backed(rules: Rules, network: Network, check: str) -> list[str]:
    linked = {link.cause for link in rules.links.values()}
    return [c for c in rules.checks[check].backs if c in network.index and c in linked]


def _wrong(rules: Rules, case: LeavingCase) -> list[str]:
    """Return the lines that can be mended or written down."""
    return [
        name
        for name in case.lines
        if case.outcomes[name] is Outcome.NOT_RECORDED
        or (case.outcomes[name] is Outcome.DEVIATES and rules.checks[name].put_right)
    ]


def _listed(leaving: Leaving, check: str) -> None:
    if check not in leaving.case.lines:
        near = get_close_matches(check, leaving.case.lines, n=3)
        raise NotFoundError(f"{check} is not on the list", near)


def _affordable(rules: Rules, leaving: Leaving, minutes: float) -> None:
    left = leaving.case.minutes - spent(rules, leaving)
    if minutes > left:
        raise MoveError(f"that takes {minutes:g} min and the van leaves in {left:g}")
