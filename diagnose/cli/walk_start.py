"""From what the inspector typed to an inspection that can begin."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from diagnose.errors import InputError, Position, Problem
from diagnose.model import FACET_VALUES, PLACE_KINDS, Facet, Floor, Place
from diagnose.rulebook.model import Rules
from diagnose.store.casefold import Case
from diagnose.store.journal import Casebook
from diagnose.text import nearest
from diagnose.walk.inspection import Intake
from diagnose.walk.steps import Step, StepKind, step_of

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
    """Take a complaint about a job of the casebook, looked into on that day.

    Raises
    ------
    NotFoundError
        There is no such job or place.
    """
    from diagnose.checks.run import run_checks
    from diagnose.cli.record_of import job_of
    from diagnose.record.place import find_place, floor_of, words_at
    from diagnose.walk.places import all_words, worst_of

    job = job_of(casebook, job_id)
    places = list(dict.fromkeys(find_place(job, part) for part in _parts(at)))
    intake = Intake(
        tuple(dict.fromkeys(symptoms)),
        places[0],
        floor_of(job, places[0], on),
        worst_of(run_checks(rules, job, place) for place in places),
        job_id,
        all_words(words_at(job, place) for place in places),
        tuple(places[1:]),
    )
    return Started(intake, job.title or "", job.invented)


def _parts(at: str) -> list[str]:
    """Return the places named, none of them empty."""
    parts = at.split(",")
    if not all(part.strip(" :") for part in parts):
        hint = "write it as seam:S2; `diagnose job places JOB` lists them"
        raise InputError([Problem(None, f"--at {at} names a place without letters", hint)])
    return parts


def resumed(casebook: Casebook, rules: Rules, case: Case, on: str) -> tuple[Started, list[Step]]:
    """Take a stored case up again: the complaint as it came, and the steps that were taken.

    `on` is the day or time of the inspection, in ISO form.
    """
    place, day = case.place or "job", date.fromisoformat(on[:10])
    if case.job:
        started = on_record(casebook, rules, case.job, case.symptoms, place, day)
    else:
        told = {str(name): str(value) for name, value in case.floor.items()}
        age = told.get("age_days", "")
        floor = {name: value for name, value in told.items() if value in _words_of(name)}
        days = int(age) if re.fullmatch(r"[0-9]{1,6}", age) else None
        started = off_record(case.symptoms, place, floor, days)
    return started, [step for e in case.steps if (step := step_of(e.body)) is not None]


def _words_of(facet: str) -> tuple[str, ...]:
    return FACET_VALUES[Facet(facet)] if facet in tuple(Facet) else ()


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
    named = (Place(*part.strip().partition(":")[::2]) for part in _parts(at))
    places = list(dict.fromkeys(named))
    for place in places:
        if place.kind not in PLACE_KINDS:
            words = ", ".join(PLACE_KINDS)
            text = f"--at {at}: {place.kind} is no kind of place"
            problems.append(Problem(None, text, f"kinds: {words}"))
    if problems:
        raise InputError(problems)
    floor = Floor(known, age_days)
    return Started(Intake(tuple(dict.fromkeys(symptoms)), places[0], floor, also=tuple(places[1:])))


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
