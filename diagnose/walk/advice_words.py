"""Remedies and cautions of a finding, in the order a reader needs them."""

from __future__ import annotations

from collections.abc import Iterable

from diagnose.model import Floor
from diagnose.rulebook.applies import applies_to
from diagnose.rulebook.model import Rules
from diagnose.walk.finding import CautionLine, RemedyLine


def remedy_lines(rules: Rules, remedies: Iterable[str]) -> tuple[RemedyLine, ...]:
    """Return remedies with their steps and cautions."""
    return tuple(
        RemedyLine(
            remedy,
            rules.remedies[remedy].name,
            rules.remedies[remedy].steps,
            rules.remedies[remedy].cautions,
        )
        for remedy in remedies
    )


def caution_lines(
    rules: Rules, cautions: Iterable[str], floor: Floor | None = None
) -> tuple[CautionLine, ...]:
    """Return the cautions that hold for a floor, once each, in the order given."""
    named = [rules.cautions[caution] for caution in dict.fromkeys(cautions)]
    found = [each for each in named if applies_to(each.applies, floor or Floor())]
    return tuple(CautionLine(each.id, each.name, each.text, each.defer_to) for each in found)


def cautions_of(
    rules: Rules,
    floor: Floor,
    symptoms: Iterable[str],
    causes: Iterable[str],
    remedies: Iterable[str],
) -> tuple[CautionLine, ...]:
    """Return every caution that a reader of a finding can meet."""
    wanted: list[str] = []
    for symptom in symptoms:
        wanted += rules.symptoms[symptom].cautions
    proposed = list(remedies)
    for cause in causes:
        wanted += rules.causes[cause].cautions
        proposed += rules.causes[cause].remedies
    for remedy in proposed:
        wanted += rules.remedies[remedy].cautions
    return caution_lines(rules, wanted, floor)
