"""Put what is known into words, with its weight for a cause."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import replace

from diagnose.engine.evidence import (
    Answered,
    CheckSaid,
    Evidence,
    NotMentioned,
    SymptomAbsent,
    SymptomFound,
    SymptomSeen,
)
from diagnose.engine.weights import LeaveOneOut, chance_of
from diagnose.engine.words import weight_sentence
from diagnose.model import CheckResult, LimitUsed, Outcome
from diagnose.rulebook.model import Cite, Rules
from diagnose.walk.finding import Reason
from diagnose.walk.inspection import Inspection
from diagnose.walk.steps import in_short

LEAST_WEIGHT = 0.1
"""Weights below this (log10) are not worth a line."""
LEAST_WEIGHT_OF_GAP = 0.3
"""Silence of the record is named as a reason only where it weighs clearly."""


def reasons_of(
    inspection: Inspection, without: LeaveOneOut, causes: Iterable[str]
) -> tuple[Reason, ...]:
    """Return what weighs for and against each cause, the weightiest first."""
    reasons = [
        reason_of(inspection, cause, weight.item, weight.log10)
        for cause in causes
        for weight in without.weights(chance_of(cause))
        if abs(weight.log10) >= (LEAST_WEIGHT_OF_GAP if _is_gap(weight.item) else LEAST_WEIGHT)
    ]
    return tuple(sorted(reasons, key=lambda reason: -abs(reason.log10)))


def _is_gap(item: Evidence) -> bool:
    return isinstance(item, CheckSaid) and item.outcome is Outcome.NOT_RECORDED


def reason_of(inspection: Inspection, cause: str, item: Evidence, log10: float) -> Reason:
    """Put one item of evidence and its weight for a cause in words."""
    rules = inspection.rules
    words = weight_sentence(rules.scale, log10)
    match item:
        case Answered(question, answers):
            asked = rules.questions[question]
            texts = [a.text for a in asked.answers if a.id in answers] or ["none of these"]
            by_step = any(step.subject == question for step in inspection.held)
            return Reason(
                kind="answer" if by_step else "record",
                about=cause,
                text=f"{in_short(asked.ask)} {'; '.join(texts)}",
                log10=log10,
                words=words,
                subject=question,
                sources=cite_texts(rules, asked.sources),
            )
        case CheckSaid(check, outcome, provenance):
            result = _result(inspection, check)
            return Reason(
                kind="gap" if outcome is Outcome.NOT_RECORDED else "record",
                about=cause,
                text=_check_words(rules, cause, result),
                log10=log10,
                words=words,
                subject=check,
                provenance=str(provenance),
                inputs=result.inputs,
                working=result.working,
                limit=_printed(rules, result.limit),
                sources=cite_texts(rules, rules.checks[check].sources),
            )
        case NotMentioned():
            text = "No other fault was complained of."
            return Reason("not-mentioned", cause, text, log10, words, "not-mentioned")
        case SymptomSeen(symptom):
            text = f"Complained of: {rules.symptoms[symptom].name.lower()}."
            return Reason("complaint", cause, text, log10, words, symptom)
        case SymptomFound(symptom):
            text = f"Also there, though nobody complained: {rules.symptoms[symptom].name.lower()}."
            return Reason("noticed", cause, text, log10, words, symptom)
        case SymptomAbsent(symptom):
            text = f"Looked for and not there: {rules.symptoms[symptom].name.lower()}."
            return Reason("noticed", cause, text, log10, words, symptom)


def _check_words(rules: Rules, cause: str, result: CheckResult) -> str:
    """Say what a check found; where it clears other causes, say that it does."""
    check = rules.checks[result.check]
    said = result.summary[:1].upper() + result.summary[1:]
    if cause in check.backs or result.outcome is not Outcome.IN_ORDER:
        return said
    return f"{said}, which leaves other causes less likely"


def _printed(rules: Rules, limit: LimitUsed | None) -> LimitUsed | None:
    """Return a limit with its sources as a reader knows them, not as ids."""
    if limit is None:
        return None
    names = {source.id: source.title for source in rules.sources.values()}
    return replace(
        limit,
        source=_named(names, limit.source),
        others=tuple(_named(names, other) for other in limit.others),
    )


def _named(names: Mapping[str, str], text: str) -> str:
    """Replace a source's id by its title, wherever the text holds it as a word."""
    for part in re.findall(r"[a-z0-9]+(?:-[a-z0-9]+)+", text):
        if part in names:
            text = text.replace(part, names[part], 1)
    return text


def cite_texts(rules: Rules, cites: Iterable[Cite]) -> tuple[str, ...]:
    """Return each source as it is printed: title, year, clause, how far it says so."""
    lines = []
    for cite in cites:
        source = rules.sources[cite.source]
        clause = f", {cite.clause}" if cite.clause else ""
        year = f" ({source.year})" if source.kind != "non-source" else ""
        how = " - inferred from it" if cite.support == "inferred" else ""
        lines.append(f"{source.title}{year}{clause}{how}")
    return tuple(lines)


def _result(inspection: Inspection, check: str) -> CheckResult:
    return next(result for result in inspection.intake.checks if result.check == check)
