"""How far a finding survives errors in the judged numbers, and other answers.

References
----------
.. [1] Henrion et al. (1996), Artificial Intelligence 85: normal noise on the
   log odds of the numbers of a diagnostic network.  From memory.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.engine.adjust import dials, turned
from diagnose.engine.evidence import Evidence
from diagnose.engine.network import Network
from diagnose.engine.posterior import infer

NOISES = (0.5, 1.0)
"""Standard deviations in log odds: moderate and gross errors of judgement."""


@dataclass(frozen=True, slots=True)
class Survival:
    """How often the leading explanation stayed first under one size of error."""

    noise: float
    draws: int
    stayed: int
    others: tuple[tuple[tuple[str, ...], int], ...]
    """What came first instead, and how often, the most frequent first."""

    @property
    def share(self) -> float:
        """Share of the draws in which it stayed first."""
        return self.stayed / self.draws


def survival(
    network: Network,
    evidence: Iterable[Evidence],
    *,
    seed: int,
    draws: int = 60,
    noises: Sequence[float] = NOISES,
) -> tuple[Survival, ...]:
    """Disturb every judged number and count how often the explanation stays first.

    Every number gets its own normal error in log odds; the same seed gives the
    same draws.

    Raises
    ------
    ImpossibleEvidenceError
        The evidence has no chance at all under the rules.
    """
    items = tuple(evidence)
    first = infer(network, items).leading.causes
    numbers = dials(network, items)
    found = []
    for noise in noises:
        rng = np.random.default_rng(seed)
        instead: dict[tuple[str, ...], int] = {}
        for _ in range(draws):
            errors = rng.normal(0.0, noise, len(numbers)).tolist()
            disturbed = turned(network, dict(zip(numbers, errors, strict=True)))
            leading = infer(disturbed, items).leading.causes
            instead[leading] = instead.get(leading, 0) + 1
        stayed = instead.pop(first, 0)
        others = tuple(sorted(instead.items(), key=lambda item: (-item[1], item[0])))
        found.append(Survival(noise, draws, stayed, others))
    return tuple(found)


def sentence(found: Sequence[Survival]) -> str:
    """Say in one plain sentence how far the finding survives errors of judgement."""
    moderate, gross = found[0], found[-1]
    if gross.share >= 0.9:
        return "The finding does not hang on the exact numbers: even gross errors leave it first."
    if moderate.share >= 0.9:
        return (
            "Moderate errors in the judged numbers leave the finding first; "
            f"gross ones do in {_in_ten(gross.share)}."
        )
    return (
        "The finding hangs on the judged numbers: with moderate errors in them it stays "
        f"first in {_in_ten(moderate.share)}, with gross ones in {_in_ten(gross.share)}."
    )


def _in_ten(share: float) -> str:
    tenths = round(share * 10)
    if tenths == 0:
        return "hardly any case"
    return "nearly every case" if tenths == 10 else f"{tenths} cases in ten"
