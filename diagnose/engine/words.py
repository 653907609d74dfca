"""Words for probabilities and for weights; the band edges are data (scale.yaml)."""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.rulebook.model import Scale


def probability_word(scale: Scale, probability: float) -> str:
    """Return the word of the band that a probability lies in."""
    return _band(scale.probability_words.words, probability)


def weight_word(scale: Scale, log10: float) -> str:
    """Return the word for a likelihood ratio, whichever side it speaks for."""
    return _band(scale.weight_words.words, 10.0 ** min(abs(log10), 300.0))


def weight_sentence(scale: Scale, log10: float) -> str:
    """Return such as "moderate support" or "weak support against it"."""
    word = weight_word(scale, log10)
    if abs(log10) < 0.05 or word.startswith("no "):
        return "no support either way"
    return f"{word} support" + ("" if log10 > 0 else " against it")


def as_said(probability: float) -> float:
    """Return the probability rounded as `odds_words` says it."""
    if 0.05 <= probability < 0.95:
        return min(max(round(probability * 10), 1), 9) / 10
    return round(probability, 2)


def in_hundred(chance: float) -> str:
    """Say a chance as so many in 100, a small one in 1,000; never that it is sure.

    >>> in_hundred(0.9998), in_hundred(0.414), in_hundred(0.004)
    ('over 99 in 100', '41 in 100', '4 in 1,000')
    """
    if chance >= 0.995:
        return "over 99 in 100"
    if chance >= 0.0095:
        return f"{round(chance * 100)} in 100"
    if chance >= 0.0005:
        return f"{round(chance * 1000)} in 1,000"
    return "under 1 in 1,000"


def odds_words(probability: float) -> str:
    """Say a probability as parts of ten or of a hundred, never with more digits."""
    if probability >= 0.995:
        return "nearly certain"
    if probability >= 0.95:
        return f"about {round(probability * 100)} in a hundred"
    if probability >= 0.05:
        return f"about {_TENTHS[round(probability * 10)]} in ten"
    if probability >= 0.005:
        return f"about {max(1, round(probability * 100))} in a hundred"
    return "fewer than one in a hundred"


_TENTHS = ("one", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "nine")


def _band(bands: Mapping[str, float], value: float) -> str:
    for word, upper in bands.items():
        if value <= upper:
            return word
    return list(bands)[-1] if bands else ""
