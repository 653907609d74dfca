"""What each question would show on an invented floor, drawn once and for all.

Two passes: first what the causes bring about, within what the floor and the
complaint allow; then, once there is a record, what it states or denies.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from random import Random

from diagnose.engine.network import Network
from diagnose.practice import sample
from diagnose.practice.consistent import asked_in_vain, ruled_out
from diagnose.practice.fault import Fault
from diagnose.practice.job.sampled import SampledJob
from diagnose.practice.on_paper import denied, stated, too_young, youngest
from diagnose.rulebook.model import Question, Rules

AGE = "how-old-is-the-floor"
"""Question whose answer sets the dates of the invented job."""

Answers = Mapping[str, tuple[str, ...]]


class FloorAnswers:
    """Draws the answers of one floor; a question it leaves out gets "cannot tell"."""

    def __init__(
        self,
        rules: Rules,
        network: Network,
        fault: Fault,
        symptoms: tuple[str, ...],
        on: frozenset[int],
        rng: Random,
    ) -> None:
        self.rules, self.network, self.fault, self.symptoms = rules, network, fault, symptoms
        self.on, self.rng = on, rng

    def first(self) -> Answers:
        """Return what the floor shows, before anything is on paper."""
        drawn = {name: self._drawn(name) for name in self.network.questions}
        return {name: given for name, given in drawn.items() if given is not None}

    def agreeing(self, first: Answers, sampled: SampledJob) -> Answers:
        """Return the answers with those changed that the record states or denies."""
        found = dict(first)
        for name in self.network.questions:
            question = self.rules.questions[name]
            on_record = stated(question, sampled) or ()
            no = denied(self.rules, question, sampled)
            if on_record and not {*on_record} & self._barred(name):
                found[name] = on_record
            elif no & {*found.get(name, ())}:
                again = self._drawn(name, no)
                if again is None:
                    del found[name]
                else:
                    found[name] = again
        return found

    def _drawn(self, name: str, no: Collection[str] = ()) -> tuple[str, ...] | None:
        if asked_in_vain(self.fault.floor, name):
            return None
        barred = self._barred(name) | {*no}
        given = sample.answer(self.network.questions[name], self.on, self.rng, barred)
        return None if given is None else _coherent(self.rules.questions[name], given)

    def _barred(self, name: str) -> frozenset[str]:
        barred = ruled_out(self.fault.floor, self.symptoms, name)
        if name == AGE:
            least = youngest(self.rules, self.fault.causes)
            barred |= too_young(self.rules.questions[name], least)
        return barred


def _coherent(question: Question, given: tuple[str, ...]) -> tuple[str, ...]:
    """Return the ticks without "all is well" where something else is ticked too."""
    usual = {answer.id for answer in question.answers if answer.usual}
    faults = tuple(answer for answer in given if answer not in usual)
    return faults or given
