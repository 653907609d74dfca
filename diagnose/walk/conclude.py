"""Turn an inspection into a finding."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from diagnose.engine.network import Network
from diagnose.engine.policy import Stop
from diagnose.engine.robustness import sentence, survival
from diagnose.engine.weights import LeaveOneOut, chance_of, leave_one_out
from diagnose.engine.words import as_said, odds_words, probability_word
from diagnose.model import Outcome
from diagnose.walk.advice_words import cautions_of, remedy_lines
from diagnose.walk.finding import (
    AnswerGiven,
    CauseLine,
    CauseWork,
    ExplanationLine,
    Finding,
    Gap,
    LookAlikeLine,
    RuledOut,
    WouldSettle,
)
from diagnose.walk.inspection import Inspection
from diagnose.walk.misfits import misfits
from diagnose.walk.reasons import reason_of, reasons_of
from diagnose.walk.steps import StepKind, in_short

LISTED_UP_TO = 0.9
MOST_EXPLANATIONS = 6
MOST_RULED_OUT = 8
LEAST_SINGLE = 0.15
"""Causes at least this likely by themselves are listed where nothing is settled."""
LEAST_FOR_REMEDY = 0.5
"""No work on the floor is proposed for what is less likely than not."""
DRAWS, SEED = 20, 1
"""Disturbances of the judged numbers behind the sentence on firmness."""


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
    odd = misfits(rules, inspection.network, inspection.held, first.causes)
    settled = advice.stop is Stop.SETTLED and not odd
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
        reasons=reasons_of(inspection, each_without, first.causes),
        ruled_out=_ruled_out(inspection, each_without, first.causes),
        gaps=_gaps(inspection),
        look_alikes=_look_alikes(inspection, first.causes),
        work=tuple(
            CauseWork(cause, remedies[cause], rules.causes[cause].prevention)
            for cause in first.causes
            if first.probability >= LEAST_FOR_REMEDY and not odd
        ),
        make_safe=remedy_lines(rules, safe_ids),
        cautions=cautions_of(rules, intake.floor, intake.symptoms, first.causes, safe_ids),
        normal=tuple(n for s in intake.symptoms if (n := rules.symptoms[s].normal)),
        answers=_answers(inspection),
        would_settle=() if settled else _would_settle(inspection),
        stop="contradicted" if odd else str(advice.stop) if advice.stop else "stopped",
        edition=rules.edition,
        casebook_head=casebook_head,
        made_at=made_at,
        made_by=made_by,
        case=case,
        firmness=_firmness(inspection) if firm else "",
        misfits=odd,
        singly=() if settled else _singly(inspection),
        not_there=_noted(inspection, StepKind.LOOKED, of_complaint=True),
        also_seen=_noted(inspection, StepKind.NOTICED, of_complaint=False),
        named_sure=not settled and not odd and _named_sure(inspection, first.causes),
    )


def _named_sure(inspection: Inspection, causes: Sequence[str]) -> bool:
    settle_at = inspection.network.figures.number("settle_at")
    return bool(causes) and all(inspection.posterior.of(cause) >= settle_at for cause in causes)


def _noted(inspection: Inspection, kind: StepKind, *, of_complaint: bool) -> tuple[str, ...]:
    return tuple(
        inspection.rules.symptoms[step.subject].name
        for step in inspection.held
        if step.kind is kind and (step.subject in inspection.intake.symptoms) == of_complaint
    )


def _singly(inspection: Inspection) -> tuple[CauseLine, ...]:
    network = inspection.network
    likely = [
        network.causes[number]
        for number in network.candidates
        if inspection.posterior.reached[number] >= LEAST_SINGLE
    ]
    likely.sort(key=lambda cause: (-inspection.posterior.of(cause), cause))
    return tuple(_cause_line(inspection, cause) for cause in likely[:MOST_EXPLANATIONS])


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
                probability_word(rules.scale, as_said(each.probability)),
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
        by = reason_of(inspection, cause, against[0].item, against[0].log10).text if against else ""
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
        p = float(inspection.posterior.reached[variable])
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


_SAID = {
    StepKind.NOTICED: "there",
    StepKind.LOOKED: "looked for, not there",
    StepKind.CONFIRMED: "there, as complained of",
}


def _answers(inspection: Inspection) -> tuple[AnswerGiven, ...]:
    given = []
    for step in inspection.held:
        if step.kind in (StepKind.ANSWERED, StepKind.CANNOT_TELL):
            asked = inspection.rules.questions[step.subject]
            texts = tuple(a.text for a in asked.answers if a.id in step.answers)
            cannot = step.kind is StepKind.CANNOT_TELL
            given.append(
                AnswerGiven(
                    step.subject, in_short(asked.ask), step.answers, texts, cannot, step.note
                )
            )
        elif step.kind is StepKind.NOTED:
            given.append(AnswerGiven(step.subject, "Noted:", (), (step.note,)))
        else:
            name = inspection.rules.symptoms[step.subject].name
            text = _SAID[step.kind]
            given.append(AnswerGiven(step.subject, f"{name}:", (), (text,), False, step.note))
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
                ask=in_short(question.ask),
                act=act.name,
                minutes=candidate.minutes,
                damage=str(act.damage),
                gain_bit=candidate.worth.gain_bit,
                hope=candidate.worth.hope,
            )
        )
    return tuple(lines)
