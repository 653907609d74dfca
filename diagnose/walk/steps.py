"""The steps of an inspection, as values that can be stored and taken back."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

TICK_ALL = " Tick all that fit."


def in_short(ask: str) -> str:
    """Return the words of a question without what only the one who answers needs."""
    return ask.removesuffix(TICK_ALL)


class StepKind(StrEnum):
    """What the inspector did in one step."""

    ANSWERED = "answered"
    CANNOT_TELL = "cannot-tell"
    NOTICED = "noticed"
    """A further symptom that nobody complained of."""
    LOOKED = "looked-not-there"
    """A symptom that was looked for and is not there; also one complained of."""
    CONFIRMED = "seen-as-told"
    """A symptom complained of that was looked at and is there."""
    NOTED = "noted"
    """The inspector's own words, about no question."""
    TAKEN_BACK = "taken-back"


@dataclass(frozen=True, slots=True)
class Step:
    """One step: about which question or symptom, and what was answered."""

    kind: StepKind
    subject: str = ""
    """Question or symptom id; for `taken-back` empty means the last step."""
    answers: tuple[str, ...] = ()
    note: str = ""
    """The inspector's own words; they are kept and printed, and weigh nothing."""


def standing(steps: Iterable[Step]) -> tuple[Step, ...]:
    """Return the steps that hold: the last word on each subject, nothing taken back."""
    held: dict[str, Step] = {}
    for step in steps:
        if step.kind is StepKind.TAKEN_BACK:
            subject = step.subject or (list(held)[-1] if held else "")
            held.pop(subject, None)
        else:
            held.pop(step.subject, None)
            held[step.subject] = step
    return tuple(held.values())


def body_of(step: Step) -> dict[str, Any]:
    """Return the step as plain text values for a journal entry."""
    body: dict[str, Any] = {"step": str(step.kind)}
    if step.subject:
        body["subject"] = step.subject
    if step.answers:
        body["answers"] = list(step.answers)
    if step.note:
        body["note"] = step.note
    return body


def step_of(body: Mapping[str, Any]) -> Step | None:
    """Return the step that a journal entry holds; None if it is of an unknown kind."""
    try:
        kind = StepKind(str(body.get("step")))
    except ValueError:
        return None
    answers = body.get("answers")
    return Step(
        kind,
        str(body.get("subject", "")),
        tuple(str(answer) for answer in answers) if isinstance(answers, list | tuple) else (),
        str(body.get("note", "")),
    )
