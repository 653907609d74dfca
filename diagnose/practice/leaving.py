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
from random import Random

from diagnose.engine.network import Network, build
from diagnose.errors import NotFoundError
from diagnose.model import Facet, Floor, Outcome, Place, Provenance
from diagnose.practice import sample
from diagnose.practice.chance import level, shuffled, stream
from diagnose.practice.consistent import go_together
from diagnose.practice.fault import PLAUSIBLE
from diagnose.practice.job.amiss import EVENTS
from diagnose.practice.job.sampled import JobOrder, SampledJob, sample_job
from diagnose.practice.play import MoveError
from diagnose.practice.site import Site, invent_site
from diagnose.rulebook.model import Check, Rules

LOOK_MINUTES = 1
WRITE_MINUTES = 1
LINES = 16
ATTEMPTS = 8
FAULTS = 3
LATER = ("maintenance", "building")
"""Stages of which nothing can be known on the day the job is finished."""
TO_COME = ("traffic-after", "loaded-after-set", "heating-kept")
FIELDS_TO_COME = ("completion.last_trade", "lifted_after_set")
"""What only the days after the work can tell."""
SPARE = 1.15
"""Minutes given, as a share of those that looking at all and mending all would take."""
GAP_SHARE = 0.2
POINTS = {"put right": 70, "written down": 20, "minutes": 10}


@dataclass(frozen=True, slots=True)
class LeavingCase:
    """A finished job with faults laid into its record; `outcomes` is what the checks say of it."""

    seed: int
    edition: str
    floor: Floor
    site: Site
    lines: tuple[str, ...]
    """Checks to look at, by id."""
    outcomes: Mapping[str, Outcome]
    causes: tuple[str, ...]
    minutes: int
    sampled: SampledJob
    """The job itself: its record, climate log and plan."""

    def said(self, check: str) -> str:
        """Return what a check finds on the record, in one sentence."""
        return self.sampled.results[check].summary


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
    for _ in range(ATTEMPTS):
        case = _drawn(rules, seed, rng)
        if case.causes:
            return case
    raise NotFoundError("no check of the rules can be put right on such a floor")


def _drawn(rules: Rules, seed: int, rng: Random) -> LeavingCase:
    """Draw a floor, faults that can be put right, and the job that shows them."""
    floor = _floor(rng)
    site = invent_site(rng, floor, Place("job"))
    network = build(rules, floor, symptoms=())
    now = [name for name in network.checks if _known_now(rules.checks[name])]
    mendable = [name for name in now if rules.checks[name].put_right]
    faults = [name for name in shuffled(rng, mendable) if _backed(rules, network, name)][:FAULTS]
    causes = tuple(dict.fromkeys(_backed(rules, network, name)[0] for name in faults))
    on = sample.states(network, causes, rng)

    def said(name: str) -> tuple[Outcome, Provenance] | None:
        if name not in now:
            return None
        deviates = level(rng, sample.chances(network.checks[name], on)) == 1
        gap = rng.random() < GAP_SHARE
        if name in faults or deviates:
            return Outcome.DEVIATES, Provenance.ON_THE_DAY
        return (Outcome.NOT_RECORDED if gap else Outcome.IN_ORDER), Provenance.ON_THE_DAY

    order = JobOrder(floor, Place("job"), site, f"practice-drill-{seed}", own=faults)
    sampled = sample_job(rules, order, said, rng)
    told = [name for name in now if name in sampled.results]
    laid = [n for n in faults if n in told and sampled.results[n].outcome is Outcome.DEVIATES]
    others = [name for name in shuffled(rng, told) if name not in laid]
    others.sort(key=lambda name: sampled.results[name].outcome is not Outcome.DEVIATES)
    chosen = {*laid, *others[: LINES - len(laid)]}
    lines = tuple(name for name in told if name in chosen)
    case = LeavingCase(
        seed=seed,
        edition=rules.edition,
        floor=floor,
        site=replace(site, window=sampled.window),
        lines=lines,
        outcomes={name: sampled.results[name].outcome for name in lines},
        causes=tuple(dict.fromkeys(_backed(rules, network, name)[0] for name in laid)),
        minutes=0,
        sampled=sampled,
    )
    needed = len(lines) * LOOK_MINUTES + sum(
        cost(rules, case, name) for name in _wrong(rules, case)
    )
    return replace(case, minutes=math.ceil(SPARE * needed))


def _floor(rng: Random) -> Floor:
    method = shuffled(rng, PLAUSIBLE)[0]
    facets = {facet: shuffled(rng, set_of)[0] for facet, set_of in PLAUSIBLE[method].items()}
    piles = [p for p in PLAUSIBLE[method][Facet.PILE] if go_together(facets[Facet.CONSTRUCTION], p)]
    facets[Facet.PILE] = shuffled(rng, piles)[0]
    return Floor({Facet.METHOD: method, Facet.FIBRE: "wool", Facet.HEATING: "none", **facets})


def _known_now(check: Check) -> bool:
    """Return whether a check can say anything on the day the job is finished."""
    if check.calculation in TO_COME or check.options.get("field") in FIELDS_TO_COME:
        return False
    climate = check.calculation == "band-kept" and check.options.get("window") in ("after", "later")
    return check.stage not in LATER and check.calculation not in EVENTS and not climate


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
