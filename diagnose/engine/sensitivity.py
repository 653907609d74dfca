"""What each single judged number does to the leading explanation.

One number at a time is shifted up and down in log odds, all others held.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from diagnose.engine.adjust import BACKGROUND, Dial, dials, figure, findings, name_of, turned
from diagnose.engine.evidence import Evidence
from diagnose.engine.network import Network
from diagnose.engine.posterior import Posterior, infer

SHIFT = math.log(2.0)
"""Log odds by which a number is shifted: to half its odds and to double."""
FARTHEST = math.log(1000.0)
"""Log odds beyond which no turning point is looked for."""
_HALVINGS = 8

LEAST_CHANCE = 0.01


@dataclass(frozen=True, slots=True)
class Effect:
    """What shifting one number does."""

    dial: Dial
    lower: float
    """Probability of the leading explanation with the number shifted down."""
    higher: float
    """The same with it shifted up."""
    stays_first: bool
    """Whether the explanation leads either way."""

    @property
    def range(self) -> float:
        """How far the probability moves between the two."""
        return abs(self.higher - self.lower)


def sensitivity(
    network: Network,
    evidence: Iterable[Evidence],
    *,
    shift: float = SHIFT,
    only: Sequence[Dial] | None = None,
    least_chance: float = LEAST_CHANCE,
) -> tuple[Effect, ...]:
    """Return the effect of each number the evidence touches, the largest first.

    Numbers of causes that are less likely than `least_chance` and not part of
    the explanation are left out; `only` names the numbers to look at instead.

    Raises
    ------
    ImpossibleEvidenceError
        The evidence has no chance at all under the rules.
    """
    items = tuple(evidence)
    before = infer(network, items)
    leading = before.leading.causes
    if only is None:
        only = _that_count(before, items, least_chance)
    effects = []
    for dial in only:
        low = infer(turned(network, {dial: -shift}), items)
        high = infer(turned(network, {dial: shift}), items)
        effects.append(
            Effect(
                dial=dial,
                lower=_probability(low, leading),
                higher=_probability(high, leading),
                stays_first=low.leading.causes == leading == high.leading.causes,
            )
        )
    return tuple(sorted(effects, key=lambda each: (-each.range, each.dial.about, each.dial.of)))


@dataclass(frozen=True, slots=True)
class Turn:
    """How far a number would have to move for another explanation to come first."""

    shift: float
    """In log odds; the nearer of the two directions."""
    figure: float
    """What the number would then be."""
    leading: tuple[str, ...]
    """What would come first."""


def turning_point(network: Network, evidence: Iterable[Evidence], dial: Dial) -> Turn | None:
    """Return the smallest shift of one number that puts another explanation first.

    None where odds a thousand times smaller or larger do not.  A number that
    goes one way favours the same explanations all along, so that halving the
    distance finds the point.

    Raises
    ------
    ImpossibleEvidenceError
        The evidence has no chance at all under the rules.
    """
    items = tuple(evidence)
    first = infer(network, items).leading.causes
    found: Turn | None = None
    for sign in (-1.0, 1.0):
        held, turns = 0.0, FARTHEST if found is None else abs(found.shift)
        leading = _leading(network, items, dial, sign * turns)
        if leading == first:
            continue
        for _ in range(_HALVINGS):
            middle = (held + turns) / 2.0
            other = _leading(network, items, dial, sign * middle)
            if other == first:
                held = middle
            else:
                turns, leading = middle, other
        shift = sign * turns
        now = figure(turned(network, {dial: shift}), dial, items)
        found = Turn(shift, now, leading)
    return found


def _leading(
    network: Network, items: tuple[Evidence, ...], dial: Dial, shift: float
) -> tuple[str, ...]:
    return infer(turned(network, {dial: shift}), items).leading.causes


def _that_count(
    before: Posterior, evidence: tuple[Evidence, ...], least_chance: float
) -> list[Dial]:
    """Numbers that can move the explanation: all others stand in parts of their own."""
    network = before.network
    coupled = {name_of(network, v) for v in before.sets.variables}
    chances = before.causes()
    causes = {c for c in coupled if chances.get(c, 1.0) >= least_chance}
    causes |= {*before.leading.causes}
    about = {
        finding.key
        for finding in findings(network)
        if not causes.isdisjoint(name_of(network, int(v)) for v in finding.parents)
    }
    about |= {f"mechanism:{name}" for name in coupled}
    return [
        dial
        for dial in dials(network, evidence)
        if dial.of in causes or (dial.of == BACKGROUND and dial.about in about)
    ]


def _probability(posterior: Posterior, causes: tuple[str, ...]) -> float:
    return next((e.probability for e in posterior.explanations if e.causes == causes), 0.0)
