"""What closed cases propose for the judged numbers; nothing is adopted here.

Frequencies: an elicited chance is worth a few *seen occurrences*; the cases
count as occurrences among all installs on record, complained of or not.
Links: expectation and maximisation over what each finding showed in cases
whose causes are established.  A symptom that was part of the complaint says
nothing about its links, because without it there would have been no case.

A proposal is worth adopting only if, case after case, what had been learnt
before would have foretold the next one better than the elicited numbers do.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from diagnose.engine.beta import worth_of
from diagnose.engine.learn_links import (
    PSEUDO_CASES,
    ClosedCase,
    LinkProposal,
    learn_links,
    with_links,
)
from diagnose.engine.network import Finding, Network
from diagnose.engine.posterior import infer_chances
from diagnose.engine.scores import log_score
from diagnose.errors import NotFoundError

__all__ = [
    "ClosedCase",
    "LinkProposal",
    "PriorProposal",
    "Proposal",
    "learn_links",
    "learn_priors",
    "propose",
    "with_numbers",
]

OCCURRENCES = 2.0
"""Seen occurrences that an elicited frequency is worth; 2 to 5 did best in trials."""
_RELEARN_EVERY = 5


@dataclass(frozen=True, slots=True)
class PriorProposal:
    """A frequency that the cases would change."""

    cause: str
    elicited: float
    proposed: float
    interval: tuple[float, float]
    """Central 95 % of the belief."""
    seen: float
    installs: int


@dataclass(frozen=True, eq=False, slots=True)
class Proposal:
    """Everything learnt, with the scores that decide whether it is worth adopting."""

    priors: tuple[PriorProposal, ...]
    links: tuple[LinkProposal, ...]
    network: Network
    """The network with the proposed numbers."""
    elicited_score: float
    """Mean log score a cause of the elicited numbers over the cases; lower is better."""
    learnt_score: float
    """The same of what had been learnt before each case."""

    @property
    def better(self) -> bool:
        """True where learning would have foretold the cases better."""
        return self.learnt_score < self.elicited_score


def propose(
    network: Network,
    cases: Sequence[ClosedCase],
    *,
    installs: int,
    occurrences: float = OCCURRENCES,
    pseudo_cases: float = PSEUDO_CASES,
) -> Proposal:
    """Return what the cases, oldest first, propose; `installs` counts all on record.

    Raises
    ------
    NotFoundError
        A case names a cause that the network does not have, or there are more
        cases than installs.
    """
    if installs < len(cases):
        raise NotFoundError(f"{len(cases)} closed cases, but only {installs} installs on record")
    for case in cases:
        for causes, _ in case.established:
            unknown = sorted(causes - network.index.keys())
            if unknown:
                raise NotFoundError(f"cause {unknown[0]} does not apply to this floor")
    priors = learn_priors(network, cases, installs=installs, occurrences=occurrences)
    links = learn_links(network, cases, pseudo_cases=pseudo_cases)
    before, after = _prequential(network, cases, installs, occurrences, pseudo_cases)
    return Proposal(priors, links, with_numbers(network, priors, links), before, after)


def learn_priors(
    network: Network,
    cases: Sequence[ClosedCase],
    *,
    installs: int,
    occurrences: float = OCCURRENCES,
) -> tuple[PriorProposal, ...]:
    """Return the frequency of every cause after the cases."""
    found = []
    for number, cause in enumerate(network.causes):
        elicited = float(network.prior[number])
        seen = sum(case.chance(cause) for case in cases)
        belief = worth_of(elicited, occurrences).after(seen, installs)
        found.append(PriorProposal(cause, elicited, belief.mean, belief.interval(), seen, installs))
    return tuple(found)


def with_numbers(
    network: Network, priors: Iterable[PriorProposal], links: Iterable[LinkProposal]
) -> Network:
    """Return the network with the proposed numbers in place of the elicited ones."""
    prior = network.prior.copy()
    for each in priors:
        prior[network.index[each.cause]] = each.proposed
    changes: dict[str, list[LinkProposal]] = {}
    for link in links:
        changes.setdefault(link.about, []).append(link)

    def changed(finding: Finding) -> Finding:
        return with_links(network, finding, changes.get(finding.key, []))

    return dataclasses.replace(
        network,
        prior=prior,
        symptoms={key: changed(finding) for key, finding in network.symptoms.items()},
        checks={key: changed(finding) for key, finding in network.checks.items()},
        questions={
            key: dataclasses.replace(q, findings=tuple(changed(f) for f in q.findings))
            for key, q in network.questions.items()
        },
    )


def _prequential(
    network: Network,
    cases: Sequence[ClosedCase],
    installs: int,
    occurrences: float,
    pseudo_cases: float,
) -> tuple[float, float]:
    """Mean log score of the elicited numbers, and of what was learnt before each case."""
    right: list[float] = []
    before: list[float] = []
    after: list[float] = []
    learnt = network
    for number, case in enumerate(cases):
        if number and number % _RELEARN_EVERY == 0:
            known = cases[:number]
            share = max(number, round(installs * number / len(cases)))
            learnt = with_numbers(
                network,
                learn_priors(network, known, installs=share, occurrences=occurrences),
                learn_links(network, known, pseudo_cases=pseudo_cases),
            )
        right += [case.chance(cause) for cause in network.causes]
        for model, said in ((network, before), (learnt, after)):
            chance = infer_chances(model, case.evidence).reached
            said += np.clip(chance[: len(network.causes)], 0.0, 1.0).tolist()
    return log_score(before, right), log_score(after, right)
