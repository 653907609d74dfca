"""From what the inspector typed to an inspection that can begin."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from diagnose.errors import InputError, NotFoundError, Position, Problem
from diagnose.model import FACET_VALUES, PLACE_KINDS, Facet, Floor, Place
from diagnose.rulebook.model import Rules
from diagnose.store.journal import Casebook
from diagnose.text import nearest
from diagnose.walk.inspection import Intake
from diagnose.walk.steps import Step, StepKind

CANNOT_TELL = "cannot-tell"


@dataclass(frozen=True, slots=True)
class Started:
    """An intake, and what the report prints of the job."""

    intake: Intake
    title: str = ""
    invented: bool = False


def on_record(
    casebook: Casebook, rules: Rules, job_id: str, symptoms: Iterable[str], at: str, on: date
) -> Started:
    """Take a complaint about a job of the casebook.

    Raises
    ------
    NotFoundError
        There is no such job or place.
    """
    from diagnose.checks.run import run_checks
    from diagnose.cli.record_of import job_of
    from diagnose.record.place import find_place, floor_of, words_at

    job = job_of(casebook, job_id)
    place = find_place(job, at)
    checks = run_checks(rules, job, place)
    intake = Intake(tuple(symptoms), place, floor_of(job, place, on), checks, job_id, words_at(job, place))
    return Started(intake, job.title or "", job.invented)


def off_record(
    symptoms: Iterable[str], at: str, facets: Mapping[str, str], age_days: int | None
) -> Started:
    """Take a complaint about a floor that nothing is recorded of.

    Raises
    ------
    InputError
        A word for the floor is not one of those that are known.
    """
    problems, known = [], {}
    for name, value in facets.items():
        facet = Facet(name)
        if value in FACET_VALUES[facet]:
            known[facet] = value
        elif value != "unknown":
            words = ", ".join(FACET_VALUES[facet])
            problems.append(Problem(None, f"--{name} {value} is not known", f"words: {words}"))
    kind, _, name = at.partition(":")
    if kind not in PLACE_KINDS:
        words = ", ".join(PLACE_KINDS)
        problems.append(Problem(None, f"--at {at}: {kind} is no kind of place", f"kinds: {words}"))
    if problems:
        raise InputError(problems)
    return Started(Intake(tuple(symptoms), Place(kind, name), Floor(known, age_days)))


def given_answers(rules: Rules, options: Iterable[str], file: Path | None) -> list[Step]:
    """Return the steps that options and a file of answers give, the file first.

    A file is YAML: a question, a colon, an answer or a list of answers.

    Raises
    ------
    InputError
        With every answer that does not fit a question, and where it stands.
    """
    pairs = [*_from_file(file), *map(_from_option, options)]
    problems, steps = [], []
    for question, answers, at in pairs:
        if question not in rules.questions:
            near = nearest(question, rules.questions)
            hint = f"did you mean {' or '.join(near)}?" if near else ""
            problems.append(Problem(at, f"no question is called {question}", hint))
            continue
        known = [answer.id for answer in rules.questions[question].answers]
        allowed = [*known, "none-of-these", CANNOT_TELL]
        wrong = [answer for answer in answers if answer not in allowed]
        if wrong:
            text = f"the question {question} has no answer {wrong[0] or 'of no letters'}"
            problems.append(Problem(at, text, "answers: " + ", ".join(allowed)))
            continue
        steps.append(
            Step(StepKind.CANNOT_TELL, question)
            if answers == (CANNOT_TELL,)
            else Step(StepKind.ANSWERED, question, answers)
        )
    if problems:
        raise InputError(problems)
    return steps


def _from_option(text: str) -> tuple[str, tuple[str, ...], Position | None]:
    question, sign, answers = text.partition("=")
    if not sign:
        hint = "write it as question=answer, several answers with commas between"
        raise InputError([Problem(None, f"--answer {text} has no equals sign", hint)])
    return question.strip(), tuple(a.strip() for a in answers.split(",")), None


def _from_file(file: Path | None) -> Iterable[tuple[str, tuple[str, ...], Position | None]]:
    if file is None:
        return
    from diagnose.cli.where import read_file
    from diagnose.yaml_text import read_yaml

    for question, line, node in read_yaml(read_file(file), str(file)).items():
        nodes = node.list() if node.kind == "list" else [node]
        yield question, tuple(each.text for each in nodes), Position(str(file), line)


def first_unknown(name: str, known: Iterable[str], what: str) -> NotFoundError:
    """Return the error for a word that is not known, with the nearest ones."""
    return NotFoundError(f"no {what} is called {name}", nearest(name, known))
