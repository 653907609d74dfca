"""Turn an inspection into a finding."""

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
from diagnose.engine.network import Network
from diagnose.engine.policy import Stop
from diagnose.engine.robustness import sentence, survival
from diagnose.engine.weights import LeaveOneOut, chance_of, leave_one_out
from diagnose.engine.words import odds_words, probability_word, weight_sentence
from diagnose.model import CheckResult, LimitUsed, Outcome
from diagnose.rulebook.model import Cite, Rules
from diagnose.walk.advice_words import cautions_of, remedy_lines
from diagnose.walk.finding import (
    AnswerGiven,
    CauseLine,
    CauseWork,
    ExplanationLine,
    Finding,
    Gap,
    LookAlikeLine,
    Reason,
    RuledOut,
    WouldSettle,
)
from diagnose.walk.inspection import Inspection
from diagnose.walk.steps import StepKind

LISTED_UP_TO = 0.9
MOST_EXPLANATIONS = 6
MOST_RULED_OUT = 8
DRAWS, SEED = 20, 1
"""Disturbances of the judged numbers behind the sentence on firmness."""
LEAST_WEIGHT = 0.1
"""Weights below this (log10) are not worth a line."""
LEAST_WEIGHT_OF_GAP = 0.3
"""Silence of the record is named as a reason only where it weighs clearly."""


def conclude(
    inspection: Inspection,
    *,
    made_at: str,
    made_by: str,
    title: str = "",
    invented: bool = False,
    casebook_head: str = "",
    case: str = "",
    firm: bool = False,
) -> Finding:
    """Return the finding of an inspection as it stands now.

    `made_at` is an ISO time with offset; the clock is the caller's.  With `firm`
    the judged numbers are disturbed to say how far the finding hangs on them.
    """
    rules, intake = inspection.rules, inspection.intake
    posterior, advice = inspection.posterior, inspection.advice
    first = posterior.explanations[0]
    each_without = leave_one_out(inspection.network, inspection.evidence, whole=posterior)
    settled = advice.stop is Stop.SETTLED
    listed = explanation_lines(inspection)
    remedies = {cause: remedy_lines(rules, rules.causes[cause].remedies) for cause in first.causes}
    safe_ids = dict.fromkeys(r for s in intake.symptoms for r in rules.symptoms[s].make_safe)
    return Finding(
        job=intake.job,
        title=title,
        invented=invented,
        place=intake.where,
        symptoms=tuple((s, rules.symptoms[s].name) for s in intake.symptoms),
        floor=tuple((str(facet), value) for facet, value in intake.floor.facets.items()),
        age_days=intake.floor.age_days,
        settled=settled,
        explanations=listed,
        left_out=max(0.0, 1.0 - sum(line.probability for line in listed)),
        causes=tuple(_cause_line(inspection, cause) for cause in first.causes),
        also_found=_also_found(inspection),
        reasons=_reasons(inspection, each_without, first.causes),
        ruled_out=_ruled_out(inspection, each_without, first.causes),
        gaps=_gaps(inspection),
        look_alikes=_look_alikes(inspection, first.causes),
        work=tuple(
            CauseWork(cause, remedies[cause], rules.causes[cause].prevention)
            for cause in first.causes
        ),
        make_safe=remedy_lines(rules, safe_ids),
        cautions=cautions_of(rules, intake.floor, intake.symptoms, first.causes, safe_ids),
        normal=tuple(n for s in intake.symptoms if (n := rules.symptoms[s].normal)),
        answers=_answers(inspection),
        would_settle=() if settled else _would_settle(inspection),
        stop=str(advice.stop) if advice.stop else "stopped",
        edition=rules.edition,
        casebook_head=casebook_head,
        made_at=made_at,
        made_by=made_by,
        case=case,
        firmness=_firmness(inspection) if firm else "",
    )


def _firmness(inspection: Inspection) -> str:
    network, evidence = inspection.network, inspection.evidence
    return sentence(survival(network, evidence, seed=SEED, draws=DRAWS))


def explanation_lines(inspection: Inspection) -> tuple[ExplanationLine, ...]:
    """Return the likeliest explanations, until nine in ten are listed."""
    rules = inspection.rules
    lines, total = [], 0.0
    for each in inspection.posterior.explanations[:MOST_EXPLANATIONS]:
        lines.append(
            ExplanationLine(
                each.causes,
                tuple(rules.causes[cause].name for cause in each.causes),
                each.probability,
                probability_word(rules.scale, each.probability),
                odds_words(each.probability),
            )
        )
        total += each.probability
        if total >= LISTED_UP_TO:
            break
    return tuple(lines)


def _cause_line(inspection: Inspection, cause: str) -> CauseLine:
    rule = inspection.rules.causes[cause]
    chance = inspection.posterior.of(cause)
    return CauseLine(cause, rule.name, rule.stage, chance, rule.happened, rule.answers_for)


def _also_found(inspection: Inspection) -> tuple[CauseLine, ...]:
    """Causes that the evidence shows although they cannot have given the complaint."""
    network = inspection.network
    return tuple(
        _cause_line(inspection, cause)
        for number, cause in enumerate(network.causes)
        if number not in network.candidates and inspection.posterior.of(cause) >= 0.5
    )


def _reasons(
    inspection: Inspection, without: LeaveOneOut, causes: Iterable[str]
) -> tuple[Reason, ...]:
    reasons = [
        _reason(inspection, cause, weight.item, weight.log10)
        for cause in causes
        for weight in without.weights(chance_of(cause))
        if abs(weight.log10) >= (LEAST_WEIGHT_OF_GAP if _is_gap(weight.item) else LEAST_WEIGHT)
    ]
    return tuple(sorted(reasons, key=lambda reason: -abs(reason.log10)))


def _is_gap(item: Evidence) -> bool:
    return isinstance(item, CheckSaid) and item.outcome is Outcome.NOT_RECORDED


def _reason(inspection: Inspection, cause: str, item: Evidence, log10: float) -> Reason:
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
                text=f"{asked.ask} {'; '.join(texts)}",
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
                text=f"{rules.checks[check].name}: {result.summary}",
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


def _ruled_out(
    inspection: Inspection, without: LeaveOneOut, causes: Iterable[str]
) -> tuple[RuledOut, ...]:
    """Causes in question at first that are now clearly less likely, with the reason."""
    network, rules = inspection.network, inspection.rules
    prior = inspection.before
    found = []
    for number in network.candidates:
        cause = network.causes[number]
        before, now = prior.of(cause), inspection.posterior.of(cause)
        if cause in causes or now > 0.1 or now > before / 2 or before < 0.02:
            continue
        against = [w for w in without.weights(chance_of(cause)) if w.log10 < -0.15]
        by = _reason(inspection, cause, against[0].item, against[0].log10).text if against else ""
        found.append(RuledOut(cause, rules.causes[cause].name, before, now, by))
    found.sort(key=lambda line: -line.before)
    return tuple(found[:MOST_RULED_OUT])


def _gaps(inspection: Inspection) -> tuple[Gap, ...]:
    network, rules = inspection.network, inspection.rules
    gaps = []
    for result in inspection.intake.checks:
        if result.outcome is not Outcome.NOT_RECORDED or result.check not in network.checks:
            continue
        worth = _worth_of_gap(network, inspection, result.check)
        backs = tuple(c for c in rules.checks[result.check].backs if c in network.index)
        name = rules.checks[result.check].name
        gaps.append(Gap(result.check, name, result.missing, backs, worth))
    return tuple(sorted(gaps, key=lambda gap: -gap.worth))


def _worth_of_gap(network: Network, inspection: Inspection, check: str) -> float:
    """How much the record could have told: sum over its causes of p (1 - p) q."""
    finding = network.checks[check]
    total = 0.0
    for variable, net in zip(finding.parents, finding.net, strict=True):
        p = float(inspection.posterior.chance[variable])
        total += p * (1.0 - p) * (1.0 - float(net[0]))
    return total


def _look_alikes(inspection: Inspection, causes: tuple[str, ...]) -> tuple[LookAlikeLine, ...]:
    rules = inspection.rules
    answered = {step.subject for step in inspection.held if step.kind is StepKind.ANSWERED}
    lines = []
    for pair in rules.look_alikes.values():
        if pair.symptom not in inspection.intake.symptoms:
            continue
        for found, other in ((pair.cause, pair.taken_for), (pair.taken_for, pair.cause)):
            if found in causes and other not in causes and other in inspection.network.index:
                asked = bool(answered & set(pair.questions))
                name = rules.causes[other].name
                lines.append(LookAlikeLine(found, other, name, pair.separates, asked))
    return tuple(lines)


def _answers(inspection: Inspection) -> tuple[AnswerGiven, ...]:
    given = []
    for step in inspection.held:
        if step.kind in (StepKind.ANSWERED, StepKind.CANNOT_TELL):
            asked = inspection.rules.questions[step.subject]
            texts = tuple(a.text for a in asked.answers if a.id in step.answers)
            cannot = step.kind is StepKind.CANNOT_TELL
            given.append(
                AnswerGiven(step.subject, asked.ask, step.answers, texts, cannot, step.note)
            )
        else:
            name = inspection.rules.symptoms[step.subject].name
            text = "there" if step.kind is StepKind.NOTICED else "looked for, not there"
            given.append(AnswerGiven(step.subject, name, (), (text,), False, step.note))
    return tuple(given)


def _would_settle(inspection: Inspection) -> tuple[WouldSettle, ...]:
    rules = inspection.rules
    by_gain = sorted(inspection.advice.candidates, key=lambda c: -c.worth.gain_bit)
    lines = []
    for candidate in by_gain[:3]:
        if candidate.worth.gain_bit < 0.01:
            continue
        question = rules.questions[candidate.question]
        act = rules.acts[question.act]
        lines.append(
            WouldSettle(
                question=question.id,
                ask=question.ask,
                act=act.name,
                minutes=candidate.minutes,
                damage=str(act.damage),
                gain_bit=candidate.worth.gain_bit,
                hope=candidate.worth.hope,
            )
        )
    return tuple(lines)
