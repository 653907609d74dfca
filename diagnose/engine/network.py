"""Compile the rules that apply to one floor into arrays.

Variables are numbered: the causes in file order, then one *shared look* for
each act whose answers belong together, then the mechanisms.  A shared look
stands for what the opened place shows for reasons outside the causes; it
makes several answers of one act agree by itself, so that agreeing answers are
not counted as if they were independent.  A mechanism is a hidden state that
causes bring about and that several answers show; where it carries an answer
for a cause, it takes the place of the direct weight.

Nothing is collapsed: mechanisms stay nodes.

References
----------
.. [1] Henrion (1989) leaky noisy-OR; Diez (1993) graded noisy-OR, IJAR;
   formulas as restated in the tests.  Read as abstracts.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cached_property

import numpy as np

from diagnose.engine.compile_questions import QuestionCompiler
from diagnose.engine.nodes import AskedQuestion, Finding, MechanismNode, by_product
from diagnose.engine.numbers import Array, Figures
from diagnose.errors import NotFoundError
from diagnose.model import Floor
from diagnose.rulebook.applies import applies_to
from diagnose.rulebook.model import Act, Question, Rules

__all__ = ["AskedQuestion", "Finding", "MechanismNode", "Network", "build"]


@dataclass(frozen=True, eq=False)
class Network:
    """All that the engine needs of the rules for one floor and complaint."""

    figures: Figures
    causes: tuple[str, ...]
    shared: tuple[str, ...]
    """Ids of the acts that have a shared look."""
    mechanisms: tuple[MechanismNode, ...]
    prior: Array
    """Prior of the causes, then of the shared looks."""
    symptoms: Mapping[str, Finding]
    questions: Mapping[str, AskedQuestion]
    checks: Mapping[str, Finding]
    acts: Mapping[str, Act]
    complained: tuple[str, ...]
    """Symptoms of the complaint, which decide what an explanation is made of."""

    @cached_property
    def index(self) -> Mapping[str, int]:
        """Variable number of each cause."""
        return {cause: number for number, cause in enumerate(self.causes)}

    @cached_property
    def roots(self) -> int:
        """Number of variables without parents: causes and shared looks."""
        return len(self.prior)

    @cached_property
    def size(self) -> int:
        """Number of variables."""
        return self.roots + len(self.mechanisms)

    @cached_property
    def candidates(self) -> frozenset[int]:
        """Causes that could have given a symptom of the complaint."""
        return frozenset(
            int(parent) for symptom in self.complained for parent in self.symptoms[symptom].parents
        )


def build(
    rules: Rules,
    floor: Floor,
    *,
    symptoms: Iterable[str],
    place_kind: str | Collection[str] | None = None,
) -> Network:
    """Compile the rules that apply to a floor.

    Parameters
    ----------
    rules : Rules
    floor : Floor
        A facet that is unknown leaves the rules that depend on it in play.
    symptoms : ids
        Symptoms of the complaint; they fix the causes an explanation is made of.
    place_kind : str, collection or None
        Kind or kinds of place complained of; questions and links that hold
        elsewhere only are left out.  None takes all.

    Raises
    ------
    NotFoundError
        A symptom that the rules do not know.
    """
    complained = tuple(dict.fromkeys(symptoms))
    for symptom in complained:
        if symptom not in rules.symptoms:
            near = get_close_matches(symptom, rules.symptoms, n=3)
            raise NotFoundError(f"symptom {symptom} is not in the rules", near)
    kinds = {place_kind} if isinstance(place_kind, str) else set(place_kind or ())
    return _Builder(rules, floor, complained, kinds).network()


class _Builder:
    """Holds what the steps of compiling share."""

    def __init__(
        self, rules: Rules, floor: Floor, complained: tuple[str, ...], kinds: set[str]
    ) -> None:
        self.rules, self.floor, self.complained, self.kinds = rules, floor, complained, kinds
        self.figures = Figures(rules.scale)
        self.causes = tuple(
            cause.id for cause in rules.causes.values() if applies_to(cause.applies, floor)
        )
        self.index = {cause: number for number, cause in enumerate(self.causes)}
        self.asked = [q for q in rules.questions.values() if self._is_asked(q)]
        self.shared = self._shared_acts()
        self.mechanism_ids = tuple(
            mechanism.id
            for mechanism in rules.mechanisms.values()
            if any(cause in self.index for cause in mechanism.brought_about_by)
        )

    def network(self) -> Network:
        """Put the compiled parts together."""
        priors = [self.figures.prior(self.rules.causes[c].how_common) for c in self.causes]
        priors += [self.figures.number("together_share")] * len(self.shared)
        questions = QuestionCompiler(
            self.rules,
            self.figures,
            causes=self.causes,
            shared=self.shared,
            mechanisms=self.mechanism_ids,
        )
        return Network(
            figures=self.figures,
            causes=self.causes,
            shared=self.shared,
            mechanisms=tuple(self._mechanism(m) for m in self.mechanism_ids),
            prior=np.array(priors, dtype=np.float64),
            symptoms=self._symptoms(),
            questions={q.id: questions.compile(q) for q in self.asked},
            checks=self._checks(),
            acts=self.rules.acts,
            complained=self.complained,
        )

    def _is_asked(self, question: Question) -> bool:
        at_place = not self.kinds or not question.asks_at or bool(self.kinds & {*question.asks_at})
        return at_place and applies_to(question.applies, self.floor)

    def _shared_acts(self) -> tuple[str, ...]:
        opened: dict[str, int] = {}
        for question in self.asked:
            opened[question.act] = opened.get(question.act, 0) + 1
        together = (a.id for a in self.rules.acts.values() if a.together)
        return tuple(act for act in together if opened.get(act, 0) > 1)

    def _mechanism(self, mechanism_id: str) -> MechanismNode:
        brought = self.rules.mechanisms[mechanism_id].brought_about_by
        known = sorted((self.index[c], word) for c, word in brought.items() if c in self.index)
        return MechanismNode(
            id=mechanism_id,
            parents=np.array([number for number, _ in known], dtype=np.intp),
            off=np.array([1.0 - self.figures.link(word) for _, word in known]),
            leak_off=1.0 - self.figures.number("mechanism_leak"),
        )

    def _symptoms(self) -> dict[str, Finding]:
        """Three levels: absent, there but not mentioned, mentioned."""
        strengths: dict[str, dict[int, float]] = {
            symptom.id: {}
            for symptom in self.rules.symptoms.values()
            if symptom.id in self.complained or applies_to(symptom.applies, self.floor)
        }
        for link in self.rules.links.values():
            if link.symptom not in strengths or link.cause not in self.index:
                continue
            elsewhere = link.symptom in self.complained and link.shows_at and self.kinds
            if elsewhere and not self.kinds & {*link.shows_at}:
                continue
            if applies_to(link.applies, self.floor):
                figure = self.figures.link(link.strength)
                at = strengths[link.symptom]
                at[self.index[link.cause]] = max(figure, at.get(self.index[link.cause], 0.0))
        mention, leak = self.figures.number("mention_rate"), self.figures.number("leak")
        return {
            symptom: by_product(
                f"symptom:{symptom}",
                {cause: (1 - q, 1 - mention * q, 1.0) for cause, q in strength.items()},
                (1 - leak, 1 - mention * leak, 1.0),
            )
            for symptom, strength in strengths.items()
        }

    def _checks(self) -> dict[str, Finding]:
        """Two levels: in order, deviates."""
        alarm = self.figures.number("check_false_alarm")
        return {
            check.id: by_product(
                f"check:{check.id}",
                {
                    self.index[cause]: (1 - self.figures.check_backs(word), 1.0)
                    for cause, word in check.backs.items()
                    if cause in self.index
                },
                (1 - alarm, 1.0),
            )
            for check in self.rules.checks.values()
            if applies_to(check.applies, self.floor)
        }
