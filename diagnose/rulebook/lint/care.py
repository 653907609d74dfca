"""Remedies, prevention and cautions: nobody is hurt, nothing is left empty."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from diagnose.errors import Problem
from diagnose.rulebook.cases import Case
from diagnose.rulebook.lint.items import called, items
from diagnose.rulebook.model import Damage, Rules

CONSENT = "consent-before-damage"
AFTER_SITE = ("handover", "maintenance", "building")
"""Stages that begin when the fitter has left, who can then neither mend nor record."""


def cause_without_cure(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """A cause has a remedy and a way not to meet it again."""
    for cause in rules.causes.values():
        missing = [] if cause.remedies else ["remedy"]
        missing += [] if cause.prevention else ["prevention"]
        if missing:
            text = f"cause {cause.id} has no {' and no '.join(missing)}"
            yield Problem(cause.at, text, "add what to do about it, if only to explain it")


def remedy_without_steps(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """A remedy says what to do."""
    for remedy in rules.remedies.values():
        if not remedy.steps or not all(remedy.steps):
            yield Problem(remedy.at, f"remedy {remedy.id} has no steps", "write them one by one")


def damage_without_caution(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """What cuts or cores asks for consent first; what lifts an edge warns of something."""
    for kind, item in items(rules, "acts", "remedies"):
        if item.damage is Damage.CUTS_OR_CORES and CONSENT not in item.cautions:
            text = f"{called(kind, item)} cuts or cores without the caution {CONSENT}"
            yield Problem(item.at, text, f"add {CONSENT} to its cautions")
        elif item.damage is not Damage.NONE and not item.cautions:
            text = f"{called(kind, item)} does damage and has no caution"
            yield Problem(item.at, text, "name the hazard that is met")


def damage_without_consent(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """An act that cuts or cores needs the owner's consent, and ends with making good."""
    for act in rules.acts.values():
        if act.damage is Damage.CUTS_OR_CORES and not act.consent:
            yield Problem(act.at, f"act {act.id} cuts or cores without consent", "consent: yes")
        if act.damage is not Damage.NONE and not act.put_back:
            text = f"act {act.id} does damage and does not say how it is made good"
            yield Problem(act.at, text, "add put_back")


def unsafe_make_safe(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """What a symptom names to make a place safe does so."""
    for symptom in rules.symptoms.values():
        for name in symptom.make_safe:
            if not rules.remedies[name].make_safe:
                text = f"symptom {symptom.id} is made safe by {name}, which is no such remedy"
                yield Problem(symptom.at, text, f"write make_safe: yes in {name}, or name another")


def check_that_helps_nobody(rules: Rules, cases: Sequence[Case]) -> Iterator[Problem]:
    """A check says what can still be done or what to write down; its minutes belong to an act."""
    for check in rules.checks.values():
        if not check.put_right and not check.record_now and check.stage not in AFTER_SITE:
            text = f"check {check.id} says neither what to put right nor what to record"
            yield Problem(check.at, text, "add put_right or record_now")
        if check.put_right_minutes and not check.put_right:
            text = f"check {check.id} gives minutes for putting right, and nothing to put right"
            yield Problem(check.at, text, "add put_right, or take put_right_minutes out")
        if check.put_right and not check.backs:
            text = f"check {check.id} is to be put right and backs no cause"
            yield Problem(check.at, text, "name the cause that a deviation speaks for")
