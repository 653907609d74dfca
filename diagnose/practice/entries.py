"""What the record of a practice case is to say: drawn check by check from the rules.

Each check deviates with the chance that the causes present give it, and is
missing with the chance of the scale.  A page of the record that nobody filled
in silences a whole stage of the work.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from random import Random

from diagnose.engine.network import Network
from diagnose.model import STAGES, Outcome, Provenance
from diagnose.practice import sample
from diagnose.practice.chance import level, pick, pick_weighted
from diagnose.practice.fault import Difficulty, Fault
from diagnose.rulebook.model import Rules

BLANK_PAGES = 0.15
"""Chance that the page of one stage was hardly filled in; an invented share."""
SILENT_SHARE = 0.85
"""Share of the entries of such a page, or of a silent record, that nobody made."""
ENTERED: Mapping[Provenance, float] = {
    Provenance.ON_THE_DAY: 0.75,
    Provenance.LATE: 0.15,
    Provenance.AFTER_COMPLAINT: 0.1,
}
"""When the entries of a drawn record were made; invented shares."""


@dataclass(frozen=True, slots=True)
class Entries:
    """What each check is to say, and which of them speak for the fault."""

    said: Mapping[str, tuple[Outcome, Provenance]]
    own: Collection[str]
    """Checks whose drawn outcome matters most: traces of the fault, or of the deceit."""

    def of(self, check: str) -> tuple[Outcome, Provenance] | None:
        """Return what was drawn for a check; None where the rules do not weigh it."""
        return self.said.get(check)


def draw_entries(
    network: Network,
    rules: Rules,
    fault: Fault,
    on: frozenset[int],
    rng: Random,
    difficulty: Difficulty,
) -> Entries:
    """Draw what every check of the network is to say when these variables are on."""
    forced = _misleading(network, fault, rng) if difficulty is Difficulty.MISLEADING_RECORD else {}
    blank = {stage for stage in STAGES if rng.random() < BLANK_PAGES}
    said = {}
    for name in network.checks:
        silent = difficulty is Difficulty.SILENT_RECORD or rules.checks[name].stage in blank
        drawn = _drawn(network, name, on, rng, silent=silent)
        said[name] = forced.get(name, drawn)
    traces = {name for cause in fault.causes for name in backing(network, cause)}
    own = {name for name in traces if said[name][0] is Outcome.DEVIATES}
    return Entries(said, own | set(forced))


def _drawn(
    network: Network, name: str, on: frozenset[int], rng: Random, *, silent: bool
) -> tuple[Outcome, Provenance]:
    provenance = pick_weighted(rng, ENTERED)
    trust = network.figures.trust(provenance.value)
    deviates = level(rng, sample.chances(network.checks[name], on, trust=trust)) == 1
    missing = network.figures.number(
        "not_recorded_deviation" if deviates else "not_recorded_in_order"
    )
    if rng.random() < (max(missing, SILENT_SHARE) if silent else missing):
        return Outcome.NOT_RECORDED, provenance
    return (Outcome.DEVIATES if deviates else Outcome.IN_ORDER), provenance


def _misleading(
    network: Network, fault: Fault, rng: Random
) -> dict[str, tuple[Outcome, Provenance]]:
    """Return entries made after the complaint that clear the fault and accuse another."""
    after = Provenance.AFTER_COMPLAINT
    own = backing(network, fault.causes[0])
    forced = dict.fromkeys(own, (Outcome.IN_ORDER, after))
    rival = [name for name in backing(network, fault.rival) if name not in own]
    if rival:
        forced[pick(rng, rival)] = (Outcome.DEVIATES, after)
    return forced


def backing(network: Network, cause: str) -> list[str]:
    """Return the checks whose deviation speaks for a cause."""
    number = network.index.get(cause, -1)
    return [name for name, finding in network.checks.items() if number in set(finding.parents)]
