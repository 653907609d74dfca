"""Complaints drawn from the rules, and inspectors who question them."""

from __future__ import annotations

import dataclasses
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np

from diagnose.engine.evidence import Evidence
from diagnose.engine.network import Network, build
from diagnose.engine.nodes import Finding, level_chances
from diagnose.engine.policy import Stop, advise, candidates
from diagnose.engine.posterior import Posterior, infer
from diagnose.engine.sampling import Drawn, draw
from diagnose.model import Facet, Floor
from diagnose.rulebook.model import Rules

SETTLED = 0.9
MOST_QUESTIONS = 12
FLOORS = tuple(
    Floor({Facet.METHOD: method}) for method in ("adhered", "double-stick", "stretch-in", "tile")
)

Chooser = Callable[[Posterior, Sequence[str], set[str]], str | None]
"""Chooses among the open questions, knowing which acts are done; None ends the walk."""


@dataclass
class Case:
    """A drawn floor, and the network its inspector reasons with."""

    floor: Drawn
    network: Network

    @property
    def right(self) -> tuple[str, ...]:
        """The causes present that could have given the complaint."""
        index, candidates = self.network.index, self.network.candidates
        return tuple(sorted(c for c in self.floor.causes if index[c] in candidates))


@dataclass
class Walked:
    """What one inspection came to."""

    said: list[float] = field(default_factory=list)
    """Probability of the leading explanation before each question."""
    correct: list[bool] = field(default_factory=list)
    cost: list[float] = field(default_factory=list)
    """Minutes spent so far, harm included, before each question."""
    chance: list[np.ndarray] = field(default_factory=list)
    """Chances of the causes before each question."""
    seconds: list[float] = field(default_factory=list)
    """Processor time of state and ranking, each question."""
    cuts: list[float] = field(default_factory=list)

    def at(self, questions: int) -> int:
        """Place in the lists after so many questions, or at the last one."""
        return min(questions, len(self.said) - 1)

    @property
    def stop(self) -> int | None:
        """Questions asked when the leading explanation reached `SETTLED`."""
        return next((n for n, p in enumerate(self.said) if p >= SETTLED), None)

    @property
    def cost_to_stop(self) -> float:
        """Cost at the stop, or of all that was asked."""
        return self.cost[-1 if self.stop is None else self.stop]


def networks(rules: Rules) -> list[Network]:
    """The network of each kind of floor, without a complaint."""
    return [build(rules, floor, symptoms=[]) for floor in FLOORS]


def cases(
    truths: Sequence[Network],
    number: int,
    seed: int,
    *,
    believed: Sequence[Network] | None = None,
    faults: Sequence[int] | None = None,
    chances: Callable[[Finding, np.ndarray], np.ndarray] = level_chances,
) -> list[Case]:
    """Draw complaints; the inspector may believe in other numbers than the truth."""
    rng = np.random.default_rng(seed)
    found = []
    for n in range(number):
        kind = n % len(truths)
        floor = draw(truths[kind], rng, faults=faults, chances=chances)
        believes = (believed or truths)[kind]
        found.append(Case(floor, dataclasses.replace(believes, complained=floor.mentioned)))
    return found


def walk(case: Case, choose: Chooser | None, *, most: int, stop: bool = False) -> Walked:
    """Question one floor; without a chooser only the complaint and the record are used."""
    evidence: list[Evidence] = [*case.floor.complaint(), *case.floor.record()]
    open_, done, spent = list(case.network.questions), set(), 0.0
    walked = Walked()
    for number in range(most + 1):
        start = time.process_time()
        posterior = infer(case.network, evidence)
        leading = posterior.leading
        walked.said.append(leading.probability)
        walked.correct.append(leading.causes == case.right)
        walked.cost.append(spent)
        walked.chance.append(posterior.chance[: len(case.network.causes)])
        walked.cuts.append(posterior.cut)
        settled = stop and leading.probability >= SETTLED
        if number == most or settled or choose is None or not open_:
            break
        asked = choose(posterior, open_, done)
        if asked is None:
            break
        walked.seconds.append(time.process_time() - start)
        question = case.network.questions[asked]
        spent += question.minutes
        if question.act not in done and question.act in case.network.acts:
            act = case.network.acts[question.act]
            spent += act.minutes + case.network.figures.damage_minutes(act.damage)
        done.add(question.act)
        open_.remove(asked)
        evidence.append(case.floor.answer(asked))
    return walked


def by_engine(posterior: Posterior, open_: Sequence[str], done: set[str]) -> str:
    """The engine's own choice."""
    return candidates(posterior, open_, done)[0].question


def by_engine_and_stop(posterior: Posterior, open_: Sequence[str], done: set[str]) -> str | None:
    """The engine's own choice, and its own end where no question is worth its cost."""
    advice = advise(posterior, open_, done)
    return None if advice.stop is Stop.NOT_WORTH_IT else advice.candidates[0].question


def by_gain_per_minute(posterior: Posterior, open_: Sequence[str], done: set[str]) -> str:
    """The most information for each minute of cost."""
    return max(candidates(posterior, open_, done), key=lambda each: each.per_minute).question


def at_random(rng: np.random.Generator, *, linked: bool = True) -> Chooser:
    """Any open question; `linked` ones only ask after a cause the complaint can have."""

    def choose(posterior: Posterior, open_: Sequence[str], done: set[str]) -> str:
        telling = [q for q in open_ if not linked or _linked(posterior.network, q)]
        return str(rng.choice(telling or list(open_)))

    return choose


def in_order(order: Sequence[str]) -> Chooser:
    """The first open question of a fixed order; unlinked ones are skipped."""
    rank = {question: number for number, question in enumerate(order)}

    def choose(posterior: Posterior, open_: Sequence[str], done: set[str]) -> str:
        linked = [q for q in open_ if _linked(posterior.network, q)]
        return min(linked or list(open_), key=lambda q: rank.get(q, len(rank)))

    return choose


def best_fixed_order(training: Sequence[Case]) -> list[str]:
    """Questions by their gain per minute right after intake, averaged over complaints."""
    worth: dict[str, float] = {}
    for case in training:
        evidence = [*case.floor.complaint(), *case.floor.record()]
        posterior = infer(case.network, evidence)
        for each in candidates(posterior, list(case.network.questions), set()):
            worth[each.question] = worth.get(each.question, 0.0) + each.per_minute
    return sorted(worth, key=lambda question: -worth[question])


def _linked(network: Network, question: str) -> bool:
    return any(
        not network.candidates.isdisjoint(finding.parents.tolist())
        for finding in network.questions[question].findings
    )


def disturbed(network: Network, noise: float, seed: int) -> Network:
    """The network as somebody would have judged it with errors in log odds."""
    from diagnose.engine.adjust import dials, turned

    rng = np.random.default_rng(seed)
    return turned(network, {dial: float(rng.normal(0.0, noise)) for dial in dials(network)})


def by_mixture(finding: Finding, present: np.ndarray) -> np.ndarray:
    """Another way answers can come about: one of the causes present made what is seen."""
    if finding.mixture:
        return level_chances(finding, present)
    on = present[finding.parents]
    if not on.any():
        return np.diff(finding.base, prepend=0.0)
    return np.diff(finding.net[on] * finding.base, prepend=0.0, axis=1).mean(axis=0)


def by_gain(posterior: Posterior, open_: Sequence[str], done: set[str]) -> str:
    """The most telling question, whatever it costs."""
    return max(candidates(posterior, open_, done), key=lambda each: each.worth.gain_bit).question
