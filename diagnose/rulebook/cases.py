"""Cases beside the rules: what must come out, and what must not.

A case names a floor, what is seen, where, and answers; it expects that a cause
comes first, or that it does not.  Cases are read for tests and for linting
only and are no part of the edition.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from diagnose.errors import InputError, Position, Problem
from diagnose.model import PLACE_KINDS, Facet
from diagnose.rulebook.fields import (
    Choice,
    FacetsOfFloor,
    Id,
    ListOf,
    Log,
    MapOf,
    Ref,
    Text,
    Unusable,
    near,
)
from diagnose.rulebook.model import Rules
from diagnose.rulebook.records import Field, Record
from diagnose.yaml_text import Node, read_yaml


@dataclass(frozen=True, slots=True)
class Case:
    """One example that the rules have to get right."""

    name: str
    floor: Mapping[Facet, str]
    seen: tuple[str, ...]
    place: str
    answers: Mapping[str, tuple[str, ...]]
    expect: Mapping[str, str]
    """`first` or `not_first` to a cause."""
    at: Position


class _AnswerOrList:
    """One answer id, or a list of them for a ticked question."""

    def read(self, node: Node, log: Log) -> tuple[str, ...]:
        if node.kind == "list":
            return ListOf(Id(), least=1).read(node, log)
        return (Id().read(node, log),)

    def schema(self) -> dict[str, object]:
        return {"anyOf": [Id().schema(), ListOf(Id(), least=1).schema()]}


CASE = Record(
    "case",
    Case,
    (
        Field("name", Text(), "what the case shows"),
        Field("floor", FacetsOfFloor(), "what is known of the floor", default={}),
        Field("seen", ListOf(Ref(("symptom",)), least=1), "symptoms of the complaint"),
        Field("at", Choice(PLACE_KINDS), "kind of place", "place"),
        Field("answers", MapOf(Id(), _AnswerOrList()), "question to answer", default={}),
        Field(
            "expect",
            MapOf(Choice(("first", "not_first")), Ref(("cause",)), least=1),
            "what must come out",
        ),
    ),
)


def read_cases(data: bytes, file: str, rules: Rules) -> tuple[Case, ...]:
    """Read one file of cases and hold its ids against the rules.

    Raises
    ------
    InputError
        Every problem of the file, with its line.
    """
    log = Log()
    top = read_yaml(data, file)
    found = []
    nodes = top.get("cases")
    for node in nodes.list() if nodes else []:
        try:
            found.append(CASE.read(node, log))
        except Unusable:
            continue
    for kinds, name, at in log.named:
        among = rules.symptoms if "symptom" in kinds else rules.causes
        if name not in among:
            log.problems.append(Problem(at, f"no {kinds[0]} is called {name}", near(name, among)))
    for case in found:
        _answers_exist(case, rules, log)
    if log.problems:
        raise InputError(log.problems)
    return tuple(found)


def _answers_exist(case: Case, rules: Rules, log: Log) -> None:
    for question, answers in case.answers.items():
        if question not in rules.questions:
            hint = near(question, rules.questions)
            log.problems.append(Problem(case.at, f"no question is called {question}", hint))
            continue
        known = [answer.id for answer in rules.questions[question].answers] + ["none-of-these"]
        for answer in answers:
            if answer not in known:
                text = f"question {question} has no answer {answer}"
                log.problems.append(Problem(case.at, text, "answers: " + ", ".join(known)))


def load_cases(folder: Path, rules: Rules) -> tuple[Case, ...]:
    """Read every file of cases beside the rules in `folder`.

    Raises
    ------
    InputError
        Every problem of every file, with its line.
    """
    cases: list[Case] = []
    problems: list[Problem] = []
    for path in sorted(folder.rglob("*.cases.yaml")):
        name = f"{folder.name}/{path.relative_to(folder).as_posix()}"
        try:
            cases.extend(read_cases(path.read_bytes(), name, rules))
        except InputError as error:
            problems.extend(error.problems)
    if problems:
        raise InputError(problems)
    return tuple(cases)
