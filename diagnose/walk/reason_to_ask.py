"""Say in plain words why a question is asked now, and what its answers would do."""

from __future__ import annotations

from collections.abc import Iterable

from diagnose.engine.words import odds_words
from diagnose.rulebook.model import Rules
from diagnose.walk.inspection import Effect, Inspection

NONE_WORDS = "none of these"


def why_asked(inspection: Inspection, question: str) -> str:
    """Return one sentence: which explanations the answer would part."""
    effects = [e for e in inspection.effects(question) if e.chance >= 0.02]
    now = inspection.posterior.explanations[0].causes
    firsts = list(dict.fromkeys(effect.causes for effect in effects))
    others = [causes for causes in firsts if causes != now]
    leading = named(inspection.rules, now)
    if others:
        rest = " or ".join(named(inspection.rules, causes) for causes in others[:2])
        return f"The answer can put {rest} before {leading}."
    chances = [effect.probability for effect in effects]
    low, high = odds_words(min(chances)), odds_words(max(chances))
    if low == high:
        return f"The answer can make {leading} a little surer or less sure."
    return f"The answer can make {leading} as likely as {high}, or only {low}."


def effect_lines(inspection: Inspection, question: str) -> Iterable[tuple[str, str]]:
    """Yield for each answer its text and what would then come first."""
    asked = inspection.rules.questions[question]
    texts = {answer.id: answer.text for answer in asked.answers}
    for effect in inspection.effects(question):
        yield texts.get(effect.answer, NONE_WORDS), _after(inspection.rules, effect)


def _after(rules: Rules, effect: Effect) -> str:
    return f"{named(rules, effect.causes)}, {odds_words(effect.probability)}"


def named(rules: Rules, causes: Iterable[str]) -> str:
    """Return the names of causes in running text."""
    names = [rules.causes[cause].name for cause in causes]
    if not names:
        return "no cause in the rules"
    return " with ".join(name[:1].lower() + name[1:] for name in names)
