"""One round of practice as a value: what was asked, what it cost, what was found.

A round is its case and its moves; everything else follows from them, so that a
round that was broken off is resumed by replaying its moves.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from difflib import get_close_matches

from diagnose.engine.evidence import Evidence, answered
from diagnose.engine.network import Network
from diagnose.errors import DiagnoseError, NotFoundError
from diagnose.model import Outcome, Provenance
from diagnose.practice.consistent import asked_in_vain
from diagnose.practice.draw import PracticeCase, known_at_the_start
from diagnose.rulebook.model import Question, Rules

DEFAULT_MINUTES = 90
DEFAULT_HARM = 72
"""Harm allowed, in the minutes of scale.yaml: one cut and one lifted edge."""


class MoveError(DiagnoseError):
    """A move that the round does not allow, with the reason in one sentence."""


@dataclass(frozen=True, slots=True)
class Allowed:
    """What the customer allows: time, and harm counted in minutes."""

    minutes: int = DEFAULT_MINUTES
    harm: int = DEFAULT_HARM


@dataclass(frozen=True, slots=True)
class Asked:
    """A question asked, and whether the caution before its act was read."""

    question: str
    caution_read: bool = True


@dataclass(frozen=True, slots=True)
class Stated:
    """How the learner ends: the causes, how sure in per cent, what to do."""

    causes: tuple[str, ...]
    percent: int
    remedy: str = ""


@dataclass(frozen=True, slots=True)
class Round:
    """A round in the middle or at its end."""

    case: PracticeCase
    allowed: Allowed = field(default_factory=Allowed)
    moves: tuple[Asked, ...] = ()
    stated: Stated | None = None

    @property
    def asked(self) -> tuple[str, ...]:
        """Questions asked so far, in order."""
        return tuple(move.question for move in self.moves)


@dataclass(frozen=True, slots=True)
class Price:
    """What a question would cost now."""

    minutes: float
    harm: float
    """In minutes of scale.yaml."""
    act: str
    """Id of the act that has to be done first; empty if it is done already."""
    cautions: tuple[str, ...]
    """Ids of the cautions to read before the act."""
    put_back: str


def start(case: PracticeCase, allowed: Allowed | None = None) -> Round:
    """Return a round with nothing asked yet."""
    return Round(case, allowed or Allowed())


def acts_done(rules: Rules, round_: Round) -> tuple[str, ...]:
    """Return the acts done so far, in order."""
    return tuple(dict.fromkeys(rules.questions[name].act for name in round_.asked))


def price(rules: Rules, round_: Round, question: str) -> Price:
    """Return what a question would cost now; an act costs once.

    Raises
    ------
    NotFoundError
        The question is not in the rules.
    """
    asked = _question(rules, question)
    act = rules.acts.get(asked.act)
    if act is None or act.id in acts_done(rules, round_):
        return Price(asked.minutes, 0.0, "", (), "")
    harm = float(rules.scale.damage_minutes.words.get(act.damage.value, 0.0))
    return Price(asked.minutes + act.minutes, harm, act.id, act.cautions, act.put_back)


def spent(rules: Rules, round_: Round) -> tuple[float, float]:
    """Return the minutes and the harm that the round has cost so far."""
    minutes = harm = 0.0
    so_far = replace(round_, moves=())
    for move in round_.moves:
        cost = price(rules, so_far, move.question)
        minutes, harm = minutes + cost.minutes, harm + cost.harm
        so_far = replace(so_far, moves=(*so_far.moves, move))
    return minutes, harm


def open_questions(rules: Rules, network: Network, round_: Round) -> tuple[str, ...]:
    """Return the questions that can still be asked within what is allowed."""
    minutes, harm = spent(rules, round_)
    found = []
    for name in network.questions:
        if asked_in_vain(round_.case.floor, name):
            continue
        cost = price(rules, round_, name)
        within = minutes + cost.minutes <= round_.allowed.minutes
        if name not in round_.asked and within and harm + cost.harm <= round_.allowed.harm:
            found.append(name)
    return tuple(found)


def answered_by_record(rules: Rules, case: PracticeCase) -> frozenset[str]:
    """Return the questions that the record answers; not by what was written after the complaint."""
    told = {
        line.check
        for line in case.record
        if line.outcome in (Outcome.DEVIATES, Outcome.IN_ORDER)
        and line.provenance in (Provenance.ON_THE_DAY, Provenance.LATE)
    }
    return frozenset(name for name in case.answers if told & {*rules.questions[name].settled_by})


def ask(
    rules: Rules, network: Network, round_: Round, question: str, *, caution_read: bool = True
) -> Round:
    """Return the round with one more question asked.

    Raises
    ------
    MoveError
        It was asked already, does not belong to this floor, or costs more
        than is left; or the round is over.
    NotFoundError
        There is no such question.
    """
    asked = _question(rules, question)
    if round_.stated is not None:
        raise MoveError("the round is over; nothing more can be asked")
    if question in round_.asked:
        raise MoveError(f"{question} was asked already; the floor gives the same answer again")
    if question not in network.questions:
        raise MoveError(f"{question} cannot be asked of this floor at this place")
    if asked_in_vain(round_.case.floor, question):
        raise MoveError(f"{question} does not apply to a floor of this kind")
    if question not in open_questions(rules, network, round_):
        minutes = spent(rules, round_)[0]
        cost = price(rules, round_, question)
        if minutes + cost.minutes > round_.allowed.minutes:
            left = round_.allowed.minutes - minutes
            raise MoveError(f"{question} takes {cost.minutes:g} min and {left:g} min are left")
        raise MoveError(f"{question} does more harm to the floor than the owner still allows")
    needs = bool(price(rules, round_, question).cautions)
    return replace(round_, moves=(*round_.moves, Asked(asked.id, caution_read or not needs)))


def stop(rules: Rules, round_: Round, stated: Stated) -> Round:
    """Return the round ended with a finding.

    Raises
    ------
    MoveError
        It is over already, names no cause, or the percentage is not 0 to 100.
    NotFoundError
        A cause or the remedy is not in the rules.
    """
    if round_.stated is not None:
        raise MoveError("the round is over already")
    if not stated.causes:
        raise MoveError("name at least one cause")
    if not 0 <= stated.percent <= 100:
        raise MoveError(f"{stated.percent} is no percentage; allowed: 0 to 100")
    for cause in stated.causes:
        _there("cause", cause, rules.causes)
    if stated.remedy:
        _there("remedy", stated.remedy, rules.remedies)
    return replace(round_, stated=replace(stated, causes=tuple(dict.fromkeys(stated.causes))))


def given(round_: Round, question: str) -> tuple[str, ...] | None:
    """Return the answers to a question, empty for none of these; None for cannot tell."""
    return round_.case.answers.get(question)


def evidence(network: Network, round_: Round) -> tuple[Evidence, ...]:
    """Return what is known in the round: complaint, record, answers so far."""
    said = [
        answered(name, *answers)
        for name in round_.asked
        if (answers := given(round_, name)) is not None
    ]
    return (*known_at_the_start(network, round_.case), *said)


def _question(rules: Rules, name: str) -> Question:
    _there("question", name, rules.questions)
    return rules.questions[name]


def _there(word: str, name: str, among: Mapping[str, object]) -> None:
    if name not in among:
        near = get_close_matches(name, among, n=3)
        raise NotFoundError(f"no {word} is called {name}", near)
