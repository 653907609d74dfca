"""One inspection: what was complained of, what is known, what to ask next.

An inspection is a value.  A step gives a new one that shares the compiled
rules; nothing here reads a clock, a file or a keyboard.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from diagnose.engine.answers import answer_chances
from diagnose.engine.evidence import (
    Answered,
    CheckSaid,
    Evidence,
    NotMentioned,
    SymptomAbsent,
    SymptomFound,
    SymptomSeen,
)
from diagnose.engine.network import Network, build
from diagnose.engine.numbers import NONE_OF_THESE
from diagnose.engine.policy import Advice, Budget, advise
from diagnose.engine.posterior import Posterior, infer
from diagnose.engine.ranking import Ranking
from diagnose.errors import NotFoundError
from diagnose.model import CheckResult, Floor, Outcome, Place
from diagnose.rulebook.applies import applies_to
from diagnose.rulebook.model import Answer, AnswerRule, Question, Rules
from diagnose.text import nearest, one
from diagnose.walk.steps import Step, StepKind, standing

HEARSAY = ("ask", "read-the-record")
"""Acts that do not look at the floor."""
_RECORDED = (Outcome.DEVIATES, Outcome.IN_ORDER)


@dataclass(frozen=True, slots=True)
class Intake:
    """What is known when the complaint is taken."""

    symptoms: tuple[str, ...]
    place: Place
    floor: Floor
    checks: tuple[CheckResult, ...] = ()
    """What the record says at the place; empty for a floor without a record."""
    job: str = ""
    """Id of the job; empty for a floor without a record."""
    recorded: Mapping[str, frozenset[str]] = field(default_factory=dict)
    """Field such as `seams.made_by` to what is recorded of it at the place."""
    also: tuple[Place, ...] = ()
    """Further places of the same complaint."""

    @property
    def places(self) -> tuple[Place, ...]:
        """Every place complained of."""
        return (self.place, *self.also)

    @property
    def where(self) -> str:
        """The places as they are stored: `seam:S1,seam:S2`."""
        return ",".join(map(str, self.places))


@dataclass(frozen=True, slots=True)
class Effect:
    """What one answer would do, worked out before it is given."""

    answer: str
    chance: float
    causes: tuple[str, ...]
    """The explanation that would then come first."""
    probability: float


@dataclass(frozen=True)
class Inspection:
    """The state of one walk."""

    rules: Rules
    intake: Intake
    network: Network
    steps: tuple[Step, ...] = ()
    budget: Budget | None = None

    def after(self, step: Step) -> Inspection:
        """Return the inspection with one more step.

        Raises
        ------
        NotFoundError
            The step names a question, an answer or a symptom that is not there.
        """
        self._check(step)
        after = replace(self, steps=(*self.steps, step))
        noticed = (s.subject for s in after.held if s.kind is StepKind.NOTICED)
        complained = (*self.intake.symptoms, *noticed)
        if complained == self.network.complained:
            return after
        return replace(after, network=replace(self.network, complained=complained))

    @cached_property
    def held(self) -> tuple[Step, ...]:
        """The steps that hold."""
        return standing(self.steps)

    @cached_property
    def asked_of_floor(self) -> bool:
        """Whether a question that is answered by looking was put already."""
        return any(self.is_look(subject) for subject in self._asked)

    def is_look(self, question: str) -> bool:
        """Whether a question is answered by looking, not by asking or reading."""
        rule = self.rules.questions[question]
        return rule.act not in HEARSAY and (not rule.who or "inspector" in rule.who)

    @cached_property
    def known(self) -> tuple[Evidence, ...]:
        """What was known before the first step: complaint, record, age."""
        told: list[Evidence] = [SymptomSeen(symptom) for symptom in self.intake.symptoms]
        told.append(NotMentioned())
        told += [
            CheckSaid(result.check, result.outcome, result.provenance)
            for result in self.intake.checks
            if result.check in self.network.checks and result.outcome != Outcome.DOES_NOT_APPLY
        ]
        return (*told, *self._by_record())

    @cached_property
    def evidence(self) -> tuple[Evidence, ...]:
        """Everything known: complaint, record, and the steps that hold."""
        walked = [item for step in self.held if (item := self._item(step)) is not None]
        said = {item.key for item in walked} | self._checks_answered()
        return (*(item for item in self.known if item.key not in said), *walked)

    @cached_property
    def before(self) -> Posterior:
        """What complaint and record alone make of it."""
        return infer(self.network, self.known)

    @cached_property
    def posterior(self) -> Posterior:
        """What everything known makes of it."""
        return infer(self.network, self.evidence)

    @cached_property
    def acts_done(self) -> frozenset[str]:
        """Acts that an answered question has already paid for."""
        done = {self.rules.questions[s.subject].act for s in self.held if s.subject in self._asked}
        return frozenset(done)

    @cached_property
    def open_questions(self) -> tuple[str, ...]:
        """Questions still worth considering, in the order of the rules."""
        held = {step.subject for step in self.held}
        answered = {item.question for item in self.known if isinstance(item, Answered)}
        return tuple(
            question
            for question in self.network.questions
            if question not in held | answered and not self.settled_by(question)
        )

    @cached_property
    def advice(self) -> Advice:
        """The open questions, best first, and whether to stop."""
        return advise(
            self.posterior, self.open_questions, self.acts_done, self.budget, self._ranking
        )

    def settled_by(self, question: str) -> tuple[CheckResult, ...]:
        """Results of the record that make a question needless."""
        checks = self.rules.questions[question].settled_by
        return tuple(
            result
            for result in self.intake.checks
            if result.check in checks and result.outcome in _RECORDED
        )

    def effects(self, question: str) -> tuple[Effect, ...]:
        """Return what each answer of a question would make come first.

        For a ticked question each effect is that of this answer being ticked,
        whatever the others; otherwise "none of these" comes last.
        """
        asked = self.network.questions[question]
        after = self._ranking.after_answers(asked)
        names = (*asked.answers, NONE_OF_THESE)[: len(after)]
        return tuple(
            Effect(answer, each.chance, each.causes, each.probability)
            for answer, each in zip(names, after, strict=True)
        )

    @cached_property
    def _ranking(self) -> Ranking:
        return Ranking(answer_chances(self.posterior))

    def question(self, name: str) -> Question:
        """Return a question that makes sense on this floor and at this place.

        Raises
        ------
        NotFoundError
            There is none of that name, or it does not apply here.
        """
        if name not in self.rules.questions:
            raise NotFoundError(
                f"no question is called {name}", nearest(name, self.rules.questions)
            )
        if name not in self.network.questions:
            raise NotFoundError(f"the question {name} does not apply to this floor and place")
        return self.rules.questions[name]

    def _item(self, step: Step) -> Evidence | None:
        """Return what a step tells; None where it tells nothing."""
        if step.kind is StepKind.ANSWERED and self._tells(step.subject, step.answers):
            return Answered(step.subject, tuple(a for a in step.answers if a != NONE_OF_THESE))
        if step.kind is StepKind.NOTICED:
            return SymptomFound(step.subject)
        if step.kind is StepKind.LOOKED:
            return SymptomAbsent(step.subject)
        return None

    def _tells(self, question: str, answers: Sequence[str]) -> bool:
        """False for an answer such as "no photo", which no cause makes likelier or rarer."""
        asked = self.rules.questions[question]
        if asked.rule is AnswerRule.TICKS:
            return True
        given = [answer for answer in asked.answers if answer.id in answers]
        return not given or any(
            answer.usual or answer.speaks_for or answer.speaks_against for answer in given
        )

    def _checks_answered(self) -> set[str]:
        """Keys of checks that tell the same as a question answered all the same."""
        return {
            f"check:{check}"
            for question in self._asked
            for check in self.rules.questions[question].settled_by
        }

    @cached_property
    def _asked(self) -> frozenset[str]:
        kinds = (StepKind.ANSWERED, StepKind.CANNOT_TELL)
        return frozenset(step.subject for step in self.held if step.kind in kinds)

    def _by_record(self) -> Iterable[Evidence]:
        """Answers that the age of the floor or a recorded field gives unasked."""
        for name in self.network.questions:
            answers = self.rules.questions[name].answers
            given = [answer.id for answer in answers if self._is_known(answer)]
            if len(given) == 1 and self._tells(name, given) and not self.settled_by(name):
                yield Answered(name, (given[0],))

    def _is_known(self, answer: Answer) -> bool:
        age, recorded = self.intake.floor.age_days, self.intake.recorded
        if answer.age_days and age is not None:
            return answer.age_days[0] <= age < answer.age_days[1]
        return bool(answer.recorded) and all(
            recorded.get(path) and recorded[path] <= set(values)
            for path, values in answer.recorded.items()
        )

    def _check(self, step: Step) -> None:
        if step.kind in (StepKind.NOTICED, StepKind.LOOKED, StepKind.CONFIRMED):
            if step.subject not in self.network.symptoms:
                near = nearest(step.subject, self.network.symptoms)
                raise NotFoundError(f"no symptom on this floor is called {step.subject}", near)
            if step.kind is StepKind.NOTICED and step.subject in self.intake.symptoms:
                raise NotFoundError(f"{step.subject} is the complaint itself")
            if step.kind is StepKind.CONFIRMED and step.subject not in self.intake.symptoms:
                raise NotFoundError(f"{step.subject} was not complained of")
        elif step.kind in (StepKind.ANSWERED, StepKind.CANNOT_TELL):
            _check_answers(self.question(step.subject), step)
        elif (
            step.kind is StepKind.TAKEN_BACK
            and step.subject
            and step.subject not in {held.subject for held in self.held}
        ):
            near = tuple(held.subject for held in self.held)
            raise NotFoundError(
                f"{step.subject} was not answered, so it cannot be taken back", near
            )


def _check_answers(question: Question, step: Step) -> None:
    known = [answer.id for answer in question.answers]
    for answer in step.answers:
        if answer not in known and answer != NONE_OF_THESE:
            near = nearest(answer, known) or tuple(known)
            raise NotFoundError(f"the question {question.id} has no answer {answer}", near)
    if question.rule is not AnswerRule.TICKS and len(step.answers) > 1:
        raise NotFoundError(f"the question {question.id} takes one answer, not several")
    alone = {answer.id: answer.text for answer in question.answers if answer.alone}
    for answer in step.answers if len(step.answers) > 1 else ():
        if answer == NONE_OF_THESE or answer in alone:
            text = alone.get(answer, answer)
            raise NotFoundError(f'"{text}" cannot go with another answer')


def begin(
    rules: Rules,
    intake: Intake,
    steps: Sequence[Step] = (),
    budget: Budget | None = None,
    *,
    older: bool = False,
) -> Inspection:
    """Start an inspection, or take one up again with the steps it had.

    With `older`, steps that today's rules do not know any more are left out;
    `inspection.steps` then tells which are held.

    Raises
    ------
    NotFoundError
        A symptom is unknown, or the rules know no cause of it on this floor; a
        step does not fit, unless `older` is set.
    """
    if not intake.symptoms:
        raise NotFoundError("a complaint names at least one symptom")
    _check_symptoms(rules, intake)
    network = build(
        rules, intake.floor, symptoms=intake.symptoms, place_kind=_kinds(rules, intake) or None
    )
    for symptom in intake.symptoms:
        if not len(network.symptoms[symptom].parents):
            raise NotFoundError(
                f"the rules know no cause of {symptom} at {one(intake.place.kind)} of this floor"
            )
    inspection = Inspection(rules, intake, network, (), budget)
    for step in steps:
        try:
            inspection = inspection.after(step)
        except NotFoundError:
            if not older:
                raise
    return inspection


def _check_symptoms(rules: Rules, intake: Intake) -> None:
    for name in intake.symptoms:
        symptom = rules.symptoms.get(name)
        if symptom is None:
            raise NotFoundError(f"no symptom is called {name}", nearest(name, rules.symptoms))
        if not applies_to(symptom.applies, intake.floor):
            wanted = "; ".join(
                f"{facet} {' or '.join(values)}" for facet, values in symptom.applies.items()
            )
            raise NotFoundError(
                f"{symptom.name} ({name}) is seen on other floors only ({wanted})",
                symptom.taken_for,
            )


def _kinds(rules: Rules, intake: Intake) -> set[str]:
    """Kinds of place whose rules hold; empty for all of them."""
    kinds: set[str] = set()
    for place in intake.places:
        shown = [place.kind in rules.symptoms[symptom].shows_at for symptom in intake.symptoms]
        if place.kind == "job" or not any(shown):
            return set()
        kinds |= {"doorway": {"doorway", "edge"}, "drop": {"drop", "area"}}.get(
            place.kind, {place.kind}
        )
    at_any = (bool(kinds & {*rules.symptoms[s].shows_at}) for s in intake.symptoms)
    return kinds if all(at_any) else set()
