"""How well a question or a check tells two causes apart, from its words alone.

For two causes that are equally likely, the information in bits that one look
is expected to give: the mutual information between cause and answer, which for
two equal halves is the Jensen-Shannon divergence of the two answer
distributions (Lin 1991, IEEE Transactions on Information Theory 37, 145-151).
An answer's chance follows the words of scale.yaml; the other causes are
thought absent.  Weights against count in the either-or rule only, since in the
others no cause makes an answer rarer than its background.  It is a test of the
rules, not of a floor: the engine counts with everything at once.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

from diagnose.rulebook.model import Answer, AnswerRule, Check, Question, Rules, Scale
from diagnose.rulebook.stand_in import STAND_IN


def figure(scale: Scale, name: str) -> float:
    """Return a number of scale.yaml, or what stands in for it."""
    return scale.numbers.get(name, STAND_IN[name])


def through_mechanisms(rules: Rules) -> dict[str, dict[str, float]]:
    """Return, by `question.answer`, the chance that each cause gives it by a hidden state."""
    found: dict[str, dict[str, float]] = {}
    strengths, weights = rules.scale.link_strength.words, rules.scale.answer_for.words
    for mechanism in rules.mechanisms.values():
        for name, word in mechanism.answers.items():
            by_cause = found.setdefault(name, {})
            for cause, strength in mechanism.brought_about_by.items():
                chance = strengths.get(strength, 0.0) * weights.get(word, 0.0)
                by_cause[cause] = max(by_cause.get(cause, 0.0), chance)
    return found


def question_gain(
    scale: Scale,
    question: Question,
    one: str,
    other: str,
    hidden: Mapping[str, Mapping[str, float]],
) -> float:
    """Return the bits by which a question is expected to part two causes."""
    rows = [_chances(scale, question, cause, hidden) for cause in (one, other)]
    if question.rule is AnswerRule.TICKS:
        pairs = zip(*(row[1:] for row in rows), strict=True)
        return max(gain_bits((p, 1 - p), (q, 1 - q)) for p, q in pairs)
    return gain_bits(*rows)


def check_gain(scale: Scale, check: Check, one: str, other: str) -> float:
    """Return the bits by which a check is expected to part two causes."""
    alarm, backs = figure(scale, "check_false_alarm"), scale.check_backs.words
    p, q = (
        backs.get(check.backs[cause], alarm) if cause in check.backs else alarm
        for cause in (one, other)
    )
    return gain_bits((p, 1 - p), (q, 1 - q))


def gain_bits(one: Sequence[float], other: Sequence[float]) -> float:
    """Return the Jensen-Shannon divergence of two distributions, in bits.

    Examples
    --------
    >>> gain_bits((1, 0), (0, 1))
    1.0
    >>> gain_bits((0.5, 0.5), (0.5, 0.5))
    0.0
    """
    middle = [(p + q) / 2 for p, q in zip(one, other, strict=True)]
    return max(0.0, _entropy(middle) - (_entropy(one) + _entropy(other)) / 2)


def _entropy(chances: Sequence[float]) -> float:
    return -sum(p * math.log2(p) for p in chances if p > 0)


def _chances(
    scale: Scale, question: Question, cause: str, hidden: Mapping[str, Mapping[str, float]]
) -> list[float]:
    """Chances of "none of these" and of each answer with one cause present."""
    base = _background(scale, question)
    chances, fixed = list(base), [False] * len(base)
    for level, answer in enumerate(question.answers, start=1):
        by_state = hidden.get(f"{question.id}.{answer.id}", {})
        if cause in by_state:
            chances[level], fixed[level] = max(base[level], by_state[cause]), True
        elif cause in answer.speaks_for:
            word = answer.speaks_for[cause]
            chances[level], fixed[level] = scale.answer_for.words.get(word, base[level]), True
        elif cause in answer.speaks_against and question.rule is AnswerRule.EITHER_OR:
            divisor = max(scale.answer_against.words.get(answer.speaks_against[cause], 1.0), 1.0)
            chances[level], fixed[level] = base[level] / divisor, True
    if question.rule is AnswerRule.TICKS:
        return chances
    return _filled(chances, fixed)


def _filled(chances: list[float], fixed: list[bool]) -> list[float]:
    """Let the answers nothing is said about share what the others leave."""
    said = sum(p for p, is_said in zip(chances, fixed, strict=True) if is_said)
    if said > 0.95:
        shrink = 0.95 / said
        chances = [p * shrink if f else p for p, f in zip(chances, fixed, strict=True)]
        said = 0.95
    rest = sum(p for p, is_said in zip(chances, fixed, strict=True) if not is_said)
    return [p if f else p * (1 - said) / rest for p, f in zip(chances, fixed, strict=True)]


def _background(scale: Scale, question: Question) -> list[float]:
    usual = sum(answer.usual for answer in question.answers)
    listed = [_alone(scale, answer, usual) for answer in question.answers]
    shrink = min(1.0, 0.97 / sum(listed))
    listed = [p * shrink for p in listed]
    return [1.0 - sum(listed), *listed]


def _alone(scale: Scale, answer: Answer, usual: int) -> float:
    if answer.usual:
        return figure(scale, "usual_background") / usual
    is_sighting = "sighting" in answer.speaks_for.values()
    return figure(scale, "sighting_background" if is_sighting else "background")
