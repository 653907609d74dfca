"""Say in plain words why a question is asked now, and what its answers would do."""

from __future__ import annotations

from collections.abc import Iterable

from diagnose.engine.words import odds_words
from diagnose.rulebook.model import Rules
from diagnose.walk.inspection import Inspection

NONE_WORDS = "none of these"
NO_CAUSE = "a cause the rules do not know"


def why_asked(inspection: Inspection, question: str) -> str:
    """Return one sentence: what the answer would tell about."""
    effects = [e for e in inspection.effects(question) if e.chance >= 0.02]
    now = set(inspection.posterior.explanations[0].causes)
    firsts = [set(effect.causes) for effect in effects]
    changing = {cause for first in firsts for cause in first ^ now}
    if changing:
        order = sorted(changing, key=lambda cause: -inspection.posterior.of(cause))
        names = [_small(inspection.rules.causes[cause].name) for cause in order[:3]]
        return f"The answer tells most about: {'; '.join(names)}."
    leading = named(inspection.rules, now)
    chances = [effect.probability for effect in effects]
    low, high = odds_words(min(chances)), odds_words(max(chances))
    if low == high:
        return f"The answer can make {leading} a little surer or less sure."
    return f"The answer can make {leading} as likely as {high}, or only {low}."


def effect_lines(inspection: Inspection, question: str) -> Iterable[tuple[str, str, str]]:
    """Yield for each answer its text, what would then come first, and how likely that is."""
    asked = inspection.rules.questions[question]
    texts = {answer.id: answer.text for answer in asked.answers}
    for effect in inspection.effects(question):
        yield (
            texts.get(effect.answer, NONE_WORDS),
            named(inspection.rules, effect.causes),
            odds_words(effect.probability),
        )


def named(rules: Rules, causes: Iterable[str]) -> str:
    """Return the names of causes in running text."""
    names = [_small(rules.causes[cause].name) for cause in sorted(causes)]
    return " with ".join(names) or NO_CAUSE


def _small(name: str) -> str:
    return name[:1].lower() + name[1:]
