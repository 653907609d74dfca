"""Compile the questions that apply to one floor into findings.

A question's words become, for each cause, a chance of every answer with that
cause alone; `numbers` says how.  An answer that a mechanism shows for a cause
hangs on the mechanism only.  Questions that are opened by one act whose
answers belong together also hang on the act's shared look.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from diagnose.engine import numbers
from diagnose.engine.nodes import AskedQuestion, Finding, by_product, from_rows
from diagnose.engine.numbers import Array, Figures
from diagnose.rulebook.model import AnswerRule, Question, Rules


class QuestionCompiler:
    """Knows the variables of a network; compiles one question after the other."""

    def __init__(
        self,
        rules: Rules,
        figures: Figures,
        *,
        causes: Sequence[str],
        shared: Sequence[str],
        mechanisms: Sequence[str],
    ) -> None:
        self.rules, self.figures = rules, figures
        self.causes, self.shared, self.mechanism_ids = tuple(causes), tuple(shared), mechanisms
        self.index = {cause: number for number, cause in enumerate(causes)}

    def compile(self, question: Question) -> AskedQuestion:
        """Return the question with the findings that its answers are levels of."""
        return AskedQuestion(
            id=question.id,
            rule=question.rule,
            answers=tuple(answer.id for answer in question.answers),
            findings=self._ticks(question)
            if question.rule is AnswerRule.TICKS
            else (self._single(question),),
            minutes=question.minutes,
            act=question.act,
        )

    def _weights(self, question: Question) -> dict[int, tuple[dict[int, float], dict[int, float]]]:
        """Per variable, its figures for and its divisors against, by level."""
        through = self._mechanism_weights(question)
        carried = {
            (self.index[cause], level)
            for variable, levels in through.items()
            for cause in self.rules.mechanisms[self._mechanism_of(variable)].brought_about_by
            if cause in self.index
            for level in levels
        }
        weights: dict[int, tuple[dict[int, float], dict[int, float]]] = {}
        named = {c for a in question.answers for c in (*a.speaks_for, *a.speaks_against)}
        for cause in sorted(named & self.index.keys(), key=self.index.__getitem__):
            number = self.index[cause]
            for_ = numbers.speaks_for(question, cause, self.figures)
            for_ = {level: f for level, f in for_.items() if (number, level) not in carried}
            against = numbers.speaks_against(question, cause, self.figures)
            if for_ or against:
                weights[number] = (for_, against)
        weights.update({variable: (levels, {}) for variable, levels in through.items()})
        return weights

    def _mechanism_of(self, variable: int) -> str:
        return self.mechanism_ids[variable - len(self.causes) - len(self.shared)]

    def _mechanism_weights(self, question: Question) -> dict[int, dict[int, float]]:
        levels = {a.id: level for level, a in enumerate(question.answers, start=1)}
        found: dict[int, dict[int, float]] = {}
        for offset, mechanism_id in enumerate(self.mechanism_ids):
            variable = len(self.causes) + len(self.shared) + offset
            for name, word in self.rules.mechanisms[mechanism_id].answers.items():
                asked, _, answer = name.partition(".")
                if asked == question.id and answer in levels:
                    found.setdefault(variable, {})[levels[answer]] = self.figures.answer_for(word)
        return found

    def _single(self, question: Question) -> Finding:
        """A graded or either-or question: one finding over all its answers."""
        base = numbers.background(question, self.figures)
        chances = {
            variable: figures
            for variable, (for_, against) in self._weights(question).items()
            if (figures := numbers.one_cause(base, for_, against, question.rule)) is not None
        }
        look = self._shared_chances(question, base)
        key = f"question:{question.id}"
        if question.rule is AnswerRule.EITHER_OR:
            own = _without_shared(base, look, self.figures.number("together_share"))
            rows: dict[int, Iterable[float]] = dict(chances)
            if look is not None:
                rows[self._shared_variable(question)] = look
            return from_rows(key, rows, own, mixture=True)
        net: dict[int, Iterable[float]] = {
            variable: numbers.graded_net(figures, base) for variable, figures in chances.items()
        }
        leak = np.cumsum(base)
        if look is not None:
            share = self.figures.number("together_share")
            cumulative = np.clip(np.cumsum(look), numbers.LEAST, 1.0)
            net[self._shared_variable(question)] = cumulative
            leak = leak / (1 - share + share * cumulative)
        leak[-1] = 1.0
        return by_product(key, net, leak)

    def _ticks(self, question: Question) -> tuple[Finding, ...]:
        """A ticked question: a noisy-OR for each answer."""
        base = numbers.background(question, self.figures)
        weights = self._weights(question)
        share = self.figures.number("together_share")
        findings = []
        for level, answer in enumerate(question.answers, start=1):
            tick = float(base[level])
            net: dict[int, Iterable[float]] = {
                variable: (numbers.tick_net(for_[level], tick), 1.0)
                for variable, (for_, _) in weights.items()
                if for_.get(level, 0.0) > tick
            }
            off = 1.0 - tick
            if question.act in self.shared and not answer.usual:
                agrees = min(0.8, self.figures.number("together_part") * tick / share)
                net[self._shared_variable(question)] = (1.0 - agrees, 1.0)
                off /= 1.0 - share * agrees
            findings.append(by_product(f"question:{question.id}.{answer.id}", net, (off, 1.0)))
        return tuple(findings)

    def _shared_variable(self, question: Question) -> int:
        return len(self.causes) + self.shared.index(question.act)

    def _shared_chances(self, question: Question, base: Array) -> Array | None:
        """Chances of the answers when the opened place misleads by itself.

        The unusual answers get what the shared look accounts for of their
        background (`together_part` of it), so that the chance of each answer
        taken alone stays what it was.
        """
        if question.act not in self.shared:
            return None
        unusual = np.array([False] + [not answer.usual for answer in question.answers])
        if not unusual.any():
            return None
        mass = float(base[unusual].sum())
        share = self.figures.number("together_share")
        lifted = min(0.8, self.figures.number("together_part") * mass / share)
        chances = base.copy()
        chances[unusual] *= lifted / mass
        chances[~unusual] *= (1.0 - lifted) / (1.0 - mass)
        return chances


def _without_shared(base: Array, look: Array | None, share: float) -> Array:
    """Background that is left when the shared look's part is taken out."""
    if look is None:
        return base
    rest = np.maximum(base - share * look, numbers.LEAST)
    return np.asarray(rest / rest.sum(), dtype=np.float64)
