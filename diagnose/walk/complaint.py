"""Read a worked complaint: who complained of what, and what was then answered.

Worked complaints stand beside the invented jobs; the demo, the tests and the
practice cases use them.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from diagnose.errors import InputError, Position, Problem
from diagnose.rulebook.model import Rules
from diagnose.walk.steps import Step, StepKind
from diagnose.yaml_text import Node, read_yaml

_KEYS = (
    "invented",
    "job",
    "symptoms",
    "at",
    "made_at",
    "first_seen_on",
    "words",
    "inspected_at",
    "answers",
    "truth",
)


@dataclass(frozen=True, slots=True)
class WorkedComplaint:
    """One complaint about an invented job, with the causes built into it."""

    job: str
    symptoms: tuple[str, ...]
    at: str
    made_at: datetime
    inspected_at: datetime
    words: str
    steps: tuple[Step, ...]
    truth: tuple[str, ...]


def read_complaint(data: bytes, file: str, rules: Rules) -> WorkedComplaint:
    """Return the worked complaint of a file.

    Raises
    ------
    InputError
        With every problem found: keys, ids that the rules do not have, times.
    """
    top = read_yaml(data, file)
    problems: list[Problem] = []
    for key, line, _ in top.items():
        if key not in _KEYS:
            hint = "keys: " + ", ".join(_KEYS)
            problems.append(Problem(Position(file, line), f"unknown key {key}", hint))
    given = {key: node for key, _, node in top.items()}
    for key in _KEYS:
        if key not in given and key != "first_seen_on":
            problems.append(Problem(Position(file), f"{key} is missing"))
    if problems:
        raise InputError(problems)
    steps = tuple(
        _step(question, line, node, file, rules, problems)
        for question, line, node in given["answers"].items()
    )
    symptoms = _ids(given["symptoms"], rules.symptoms, "symptom", problems)
    truth = _ids(given["truth"], rules.causes, "cause", problems)
    made_at = _time(given["made_at"], problems)
    inspected_at = _time(given["inspected_at"], problems)
    if problems or made_at is None or inspected_at is None:
        raise InputError(problems)
    return WorkedComplaint(
        given["job"].text,
        symptoms,
        given["at"].text,
        made_at,
        inspected_at,
        given["words"].text,
        steps,
        truth,
    )


def _ids(node: Node, known: object, what: str, problems: list[Problem]) -> tuple[str, ...]:
    found = tuple(each.text for each in node.list())
    for name in found:
        if name not in known:  # type: ignore[operator]
            problems.append(Problem(node.at, f"no {what} is called {name}"))
    return found


def _time(node: Node, problems: list[Problem]) -> datetime | None:
    try:
        moment = datetime.fromisoformat(node.text)
    except ValueError:
        problems.append(Problem(node.at, f"{node.text} is no time", "write 2026-05-04T09:00+01:00"))
        return None
    if moment.tzinfo is None:
        problems.append(Problem(node.at, f"{node.text} has no offset", "write it as +01:00"))
        return None
    return moment


def _step(
    question: str, line: int, node: Node, file: str, rules: Rules, problems: list[Problem]
) -> Step:
    nodes = node.list() if node.kind == "list" else [node]
    answers = tuple(each.text for each in nodes)
    at = Position(file, line)
    if question not in rules.questions:
        problems.append(Problem(at, f"no question is called {question}"))
    else:
        known = [answer.id for answer in rules.questions[question].answers]
        for answer in answers:
            if answer not in (*known, "none-of-these", "cannot-tell"):
                text = f"the question {question} has no answer {answer}"
                problems.append(Problem(at, text, "answers: " + ", ".join(known)))
    if answers == ("cannot-tell",):
        return Step(StepKind.CANNOT_TELL, question)
    return Step(StepKind.ANSWERED, question, answers)
