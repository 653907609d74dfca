"""Clean text for output: nothing a record holds may steer a terminal or a page."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from difflib import get_close_matches

_KEPT_FORMAT = {"\u200c", "\u200d"}
_REPLACED = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}


def clean(text: str) -> str:
    """Return `text` with every control, format and private character spelled out.

    New lines and tabs stay; joiners that scripts need stay; all else of the
    Unicode categories Cc, Cf, Cs, Co, Cn, Zl and Zp becomes `\\uXXXX`.

    Examples
    --------
    >>> clean("a\\x1b[2Jb")
    'a\\\\u001b[2Jb'
    """
    if text.isascii() and text.isprintable():
        return text
    return "".join(_spell(char) for char in text)


def _spell(char: str) -> str:
    if char in "\n\t" or char in _KEPT_FORMAT:
        return char
    if unicodedata.category(char) in _REPLACED:
        return f"\\u{ord(char):04x}"
    return char


def nearest(word: str, known: Iterable[str], most: int = 3) -> tuple[str, ...]:
    """Return the known words that look most like `word`, for a hint."""
    return tuple(get_close_matches(word[:200], list(known), n=most, cutoff=0.5))
