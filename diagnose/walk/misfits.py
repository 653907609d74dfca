"""Answers that hardly go with the likeliest explanation.

A strong record can keep a cause first though something seen speaks clearly
against it.  Such an answer is named, and the finding then counts as unsettled:
look again before acting.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np
from numpy.typing import NDArray

from diagnose.engine.network import Network
from diagnose.engine.nodes import Finding, level_chances
from diagnose.rulebook.model import AnswerRule, Rules
from diagnose.walk.finding import Misfit
from diagnose.walk.steps import Step, StepKind, in_short

LEAST_CHANCE = 0.25
"""An answer that this many floors with the causes would show still fits."""
LEAST_RATIO = 0.4
"""So does one that is not much rarer than on a floor without them."""


def misfits(
    rules: Rules, network: Network, steps: Iterable[Step], causes: tuple[str, ...]
) -> tuple[Misfit, ...]:
    """Return the answers among `steps` that hardly go with `causes` alone."""
    if not causes:
        return ()
    acting, sound = present(network, causes), present(network, ())
    found = []
    for step in steps:
        if step.kind is not StepKind.ANSWERED or step.subject not in network.questions:
            continue
        for text, with_causes, without in _chances(rules, network, step, acting, sound):
            if with_causes < LEAST_CHANCE and with_causes < LEAST_RATIO * without:
                asked = in_short(rules.questions[step.subject].ask)
                found.append(Misfit(step.subject, asked, text, with_causes, without))
    return tuple(found)


def present(network: Network, causes: Iterable[str]) -> NDArray[np.bool_]:
    """Return which variables are present with these causes and no others.

    A mechanism counts as present where the causes more likely than not bring
    it about.
    """
    on = np.zeros(network.size, dtype=bool)
    on[[network.index[cause] for cause in causes]] = True
    for number, node in enumerate(network.mechanisms):
        off = node.leak_off * float(np.prod(node.off[on[node.parents]]))
        on[network.roots + number] = off < 0.5
    return on


def _chances(
    rules: Rules,
    network: Network,
    step: Step,
    acting: NDArray[np.bool_],
    sound: NDArray[np.bool_],
) -> Iterator[tuple[str, float, float]]:
    """Yield what was answered, with its chance with the causes and without."""
    asked = network.questions[step.subject]
    texts = {answer.id: answer.text for answer in rules.questions[step.subject].answers}
    if asked.rule is AnswerRule.TICKS:
        for answer, finding in zip(asked.answers, asked.findings, strict=True):
            ticked = int(answer in step.answers)
            text = texts[answer] if ticked else f"not: {texts[answer]}"
            yield text, _chance(finding, ticked, acting), _chance(finding, ticked, sound)
        return
    level = next((n for n, a in enumerate(asked.answers, 1) if a in step.answers), 0)
    text = texts[asked.answers[level - 1]] if level else "none of these"
    finding = asked.findings[0]
    yield text, _chance(finding, level, acting), _chance(finding, level, sound)


def _chance(finding: Finding, level: int, on: NDArray[np.bool_]) -> float:
    return float(level_chances(finding, on)[level])
