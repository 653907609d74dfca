"""Compile the rules that apply to one floor into arrays.

Variables are numbered: the causes in file order, then one *shared look* for
each act whose answers belong together, then the mechanisms.  A shared look
stands for what the opened place shows for reasons outside the causes; it
makes several answers of one act agree by itself, so that agreeing answers are
not counted as if they were independent.  A mechanism is a hidden state that
causes bring about and that several answers show; where it carries an answer
for a cause, it takes the place of the direct weight.

Findings are compiled to *net cumulative chances* (product rule) or to plain
chances (either-or).  Nothing is collapsed: mechanisms stay nodes.

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

from diagnose.engine import numbers
from diagnose.engine.numbers import Array, Figures, Index
from diagnose.errors import NotFoundError
from diagnose.model import Floor
from diagnose.rulebook.applies import applies_to
from diagnose.rulebook.model import Act, AnswerRule, Question, Rules


@dataclass(frozen=True, eq=False, slots=True)
class Finding:
    """One thing that can be seen or recorded, with its levels and parents.

    Product rule: `net[i, x]` is the chance that parent i alone, leak shut,
    gives level x or less, and `base[x]` that the leak does.  Mixture rule:
    `net[i, x]` is the chance of level x with parent i alone, `base[x]` with none.
    """

    key: str
    parents: Index
    net: Array
    base: Array
    mixture: bool = False


@dataclass(frozen=True, eq=False, slots=True)
class AskedQuestion:
    """A question with the findings that its answers are levels of.

    Graded and either-or questions have one finding with the levels "none of
    these" and then the listed answers; a ticked one has a finding an answer.
    """

    id: str
    rule: AnswerRule
    answers: tuple[str, ...]
    findings: tuple[Finding, ...]
    minutes: float
    act: str


@dataclass(frozen=True, eq=False, slots=True)
class MechanismNode:
    """A hidden state: the causes that switch it on, and its leak."""

    id: str
    parents: Index
    off: Array
    """Chance that each parent alone leaves it off."""
    leak_off: float


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
        return Network(
            figures=self.figures,
            causes=self.causes,
            shared=self.shared,
            mechanisms=tuple(self._mechanism(m) for m in self.mechanism_ids),
            prior=np.array(priors, dtype=np.float64),
            symptoms=self._symptoms(),
            questions={q.id: self._question(q) for q in self.asked},
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
            symptom: _product(
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
            check.id: _product(
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

    def _question(self, question: Question) -> AskedQuestion:
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
        for number, cause in enumerate(self.causes):
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
            return _rows(key, rows, own, mixture=True)
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
        return _product(key, net, leak)

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
            findings.append(_product(f"question:{question.id}.{answer.id}", net, (off, 1.0)))
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


def _rows(
    key: str, rows: Mapping[int, Iterable[float]], base: Iterable[float], *, mixture: bool
) -> Finding:
    parents = sorted(rows)
    levels = np.array(list(base), dtype=np.float64)
    table = np.array([list(rows[p]) for p in parents], dtype=np.float64)
    return Finding(
        key=key,
        parents=np.array(parents, dtype=np.intp),
        net=table.reshape(len(parents), len(levels)),
        base=levels,
        mixture=mixture,
    )


def _product(key: str, net: Mapping[int, Iterable[float]], base: Iterable[float]) -> Finding:
    """A product-rule finding; parents that change nothing are left out."""
    telling = {v: values for v, row in net.items() if min(values := list(row)) < 1.0 - 1e-12}
    return _rows(key, telling, base, mixture=False)
