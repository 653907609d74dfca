"""Small networks written down by hand, to run published examples through the engine.

The engine knows causes without parents and what hangs on them.  An example
with chains (one cause of another) is put in by *response* variables: X given
its parent is "X if the parent is there" or "X if not", each a variable without
parents.  That is exact, and what was seen becomes one table over them.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Mapping, Sequence

import numpy as np

from diagnose.engine.absorb import Absorbed, Table
from diagnose.engine.network import AskedQuestion, Finding, MechanismNode, Network
from diagnose.engine.plan import parts, plan
from diagnose.engine.sweep import sweep
from diagnose.rulebook.model import AnswerRule
from tests.engine.small_networks import figures


def network(
    priors: Mapping[str, float],
    *,
    symptoms: Mapping[str, Finding] | None = None,
    questions: Sequence[AskedQuestion] = (),
    checks: Mapping[str, Finding] | None = None,
    mechanisms: Sequence[MechanismNode] = (),
    complained: Sequence[str] | None = None,
    **numbers: float,
) -> Network:
    """A network of the causes and findings given."""
    symptoms = symptoms or {}
    return Network(
        figures=figures(**{"not_recorded_in_order": 0.2, "not_recorded_deviation": 0.2} | numbers),
        causes=tuple(priors),
        shared=(),
        mechanisms=tuple(mechanisms),
        prior=np.array(list(priors.values())),
        symptoms=symptoms,
        questions={question.id: question for question in questions},
        checks=checks or {},
        acts={},
        complained=tuple(symptoms if complained is None else complained),
    )


def finding(
    key: str, rows: Mapping[int, Sequence[float]], base: Sequence[float], *, mixture: bool = False
) -> Finding:
    """A finding; each row and the base are chances of the levels, least first.

    For the product rule they are net, leak shut, and are added up here.
    """
    table = np.array([rows[v] for v in rows], dtype=float).reshape(len(rows), len(base))
    levels = np.array(base, dtype=float)
    if not mixture:
        table, levels = np.cumsum(table, axis=1), np.cumsum(levels)
        table[:, -1], levels[-1] = 1.0, 1.0
    return Finding(key, np.array(list(rows), dtype=np.intp), table, levels, mixture)


def question(name: str, answers: Sequence[str], found: Finding) -> AskedQuestion:
    """A question of one finding."""
    rule = AnswerRule.EITHER_OR if found.mixture else AnswerRule.GRADED
    return AskedQuestion(name, rule, tuple(answers), (found,), 1.0, "ask")


def chance(priors: Mapping[str, float], *tables: Callable[..., float]) -> float:
    """Probability, by the engine's sweep, that everything in the tables holds.

    Each table is a function of some of the variables, named as in `priors`; it
    returns how likely what was seen is, given them.
    """
    names = list(priors)
    net = network(priors)
    state = Absorbed(
        log_odds=np.log(net.prior) - np.log1p(-net.prior), log_on=np.zeros(0), log_constant=0.0
    )
    for number, function in enumerate(tables):
        wanted = function.__code__.co_varnames[: function.__code__.co_argcount]
        values = np.empty((2,) * len(wanted))
        for present in itertools.product([0, 1], repeat=len(wanted)):
            values[present] = function(*(bool(on) for on in present))
        variables = tuple(names.index(name) for name in wanted)
        state.tables.append(Table(f"table:{number}", variables, values))
    log_total = 0.0
    for part in parts(net, state):
        swept = sweep(plan(net, state, part), net.prior)
        log_total += swept.log_evidence
    return math.exp(log_total)
