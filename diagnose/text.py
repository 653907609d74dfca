"""Clean text for output: nothing a record holds may steer a terminal or a page."""

from __future__ import annotations

import codecs
import unicodedata
from collections.abc import Iterable
from difflib import get_close_matches

SPELLED = "diagnose-spelled"
"""Name of the error handler that spells a sign an encoding cannot show."""
_CODEC = "spelled_"
_SPELLED = {
    "²": "^2",
    "³": "^3",
    "×": "x",
    "÷": "/",
    "·": ".",
    "±": "+/-",
    "√": "sqrt",
    "π": "pi",
    "≤": "<=",
    "≥": ">=",
    "≈": "~",
    "≠": "!=",
    "→": "->",
    "←": "<-",
    "Δ": "delta ",
    "∞": "inf",
    **dict.fromkeys("–—−‐‑‒―─━═╌", "-"),
    **dict.fromkeys("‘’‚′", "'"),
    **dict.fromkeys("“”„″«»", '"'),
    **dict.fromkeys("│┃║", "|"),
    **dict.fromkeys("•▪●", "*"),
    **dict.fromkeys("µμ", "u"),
    "½": "1/2",
    "¼": "1/4",
    "¾": "3/4",
    "…": "...",
    "€": "EUR ",
    "£": "GBP ",
    "§": "sec. ",
    "ß": "ss",
    "æ": "ae",
    "Æ": "AE",
    "ø": "o",
    "Ø": "O",
    "œ": "oe",
    "ł": "l",
    "Ł": "L",
    "✓": "yes",
    "✔": "yes",
    "✗": "no",
}

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


def one(word: str) -> str:
    """Return the word after its article, `a` or `an` by its first letter.

    >>> one("edge"), one("seam")
    ('an edge', 'a seam')
    """
    return f"an {word}" if word[:1].lower() in "aeiou" else f"a {word}"


def nearest(word: str, known: Iterable[str], most: int = 3) -> tuple[str, ...]:
    """Return the known words that look most like `word`, for a hint."""
    return tuple(get_close_matches(word[:200], list(known), n=most, cutoff=0.5))


def spelled(error: UnicodeError) -> tuple[str, int]:
    """Return plain letters for what an encoding cannot show, and where to go on.

    An error handler for `codecs`: a known sign is spelled (`m²` as `m^2`), a letter
    loses its accent, all else becomes `?`.

    Raises
    ------
    UnicodeError
        The error itself, where it is not one of encoding.

    Examples
    --------
    >>> "5 m² – 20 °C, 90°".encode("ascii", SPELLED)
    b'5 m^2 - 20 deg C, 90 deg'
    """
    if not isinstance(error, UnicodeEncodeError):
        raise error
    text, end = error.object, error.end
    return "".join(_plain_sign(text, at) for at in range(error.start, end)), end


def _plain_sign(text: str, at: int) -> str:
    sign = text[at]
    if sign == "°":
        if text[at + 1 : at + 2] in ("C", "F"):
            return "deg "
        return "deg" if text[:at].endswith(" ") else " deg"
    if sign in _SPELLED:
        return _SPELLED[sign]
    if unicodedata.combining(sign):
        return ""
    letters = unicodedata.normalize("NFKD", sign).encode("ascii", "ignore").decode("ascii")
    return letters or "?"


def spelling(encoding: str) -> str:
    """Return the name of a codec like `encoding` that spells what it cannot show.

    It does so whatever error handler it is called with: a writer that asks for
    `replace` would lose the square of `m²`.  UTF encodings can show every sign and
    are returned as they are.

    Examples
    --------
    >>> "m² ≤ 3".encode(spelling("latin-1"), "replace") == "m² <= 3".encode("latin-1")
    True
    >>> spelling("utf-8")
    'utf-8'
    """
    name = codecs.lookup(encoding).name
    if name.startswith(("utf", _CODEC)):
        return encoding
    return _CODEC + name.replace("-", "_")


def _spelling_codec(name: str) -> codecs.CodecInfo | None:
    if not name.startswith(_CODEC):
        return None
    base = codecs.lookup(name.removeprefix(_CODEC))

    def encode(text: str, errors: str = "strict") -> tuple[bytes, int]:
        return base.encode(text, SPELLED)

    class Encoder(codecs.IncrementalEncoder):
        def encode(self, text: str, final: bool = False) -> bytes:
            return encode(text)[0]

    return codecs.CodecInfo(
        encode,
        base.decode,
        incrementalencoder=Encoder,
        incrementaldecoder=base.incrementaldecoder,
        name=name,
    )


codecs.register_error(SPELLED, spelled)
codecs.register(_spelling_codec)
