"""Read a number as a person writes it: decimal comma, unit beside it.

What could be read two ways is refused, never guessed: `1,250` may be one and
a quarter or twelve hundred and fifty.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from diagnose.record.codec import number_text
from diagnose.record.units import converted, same_unit, units_that_fit

_WRITTEN = re.compile(
    r"(?P<sign>[+-]?)\s*(?P<body>[0-9]+(?:[.,][0-9]*)*|[.,][0-9]+)"
    r"(?:[eE](?P<power>[+-]?[0-9]{1,2}))?(?P<unit>(?:\s+[0-9].*|\s*[^\W\d_].*|\s*[%°º].*)?)",
    re.DOTALL,
)
_LONGEST = 60


class NotReadableError(ValueError):
    """Text that is not what its field holds; says what is wrong and a way out."""

    def __init__(self, text: str, hint: str = "") -> None:
        self.text = text
        self.hint = hint
        super().__init__(text)


@dataclass(frozen=True, slots=True)
class Written:
    """A number as written: canonical decimals, and the unit text beside it."""

    text: str
    unit: str

    @property
    def value(self) -> float:
        """The number."""
        return float(self.text)


def read_number(text: str) -> Written:
    """Split a written number from its unit; decimals keep their precision.

    Raises
    ------
    NotReadableError
        When it is no number, or one that can be read two ways.

    Examples
    --------
    >>> read_number("61,50 %"), read_number("0417")
    (Written(text='61.50', unit='%'), Written(text='417', unit=''))
    """
    plain = text.strip().replace("−", "-")
    match = _WRITTEN.fullmatch(plain) if len(plain) <= _LONGEST else None
    if match is None:
        raise NotReadableError("a number is needed", "write it in figures, such as 12.5")
    body, unit = match["body"], match["unit"].strip()
    if re.match(r"[0-9]", unit):
        hint = "write it in one piece, without a blank between the figures"
        raise NotReadableError("a number with a blank in it cannot be read", hint)
    digits = _one_point(body)
    number = Decimal(match["sign"] + digits)
    if match["power"]:
        number = number.scaleb(int(match["power"]))
    if number == 0:
        number = abs(number)
    return Written(format(number, "f"), unit)


def _one_point(body: str) -> str:
    if body.count(".") + body.count(",") > 1:
        hint = "write it without separators of thousands: 1250.5"
        raise NotReadableError("more than one point or comma in a number", hint)
    before, comma, after = body.partition(",")
    if comma and len(after) == 3 and 1 <= len(before) <= 3 and int(before) > 0:
        hint = f"write {before}.{after} if it is the decimal sign, {before}{after} if not"
        raise NotReadableError("the comma can be the decimal sign or mark thousands", hint)
    return body.replace(",", ".")


def in_unit(written: Written, unit: str, allowed: Sequence[str] = ()) -> str:
    """Return the decimals of a written number in `unit`, converted if need be.

    Raises
    ------
    NotReadableError
        When the unit beside the number is another quantity, or not known.
    """
    if not written.unit or same_unit(written.unit, unit):
        return written.text
    value = converted(written.value, written.unit, unit)
    if value is None:
        fits = allowed or units_that_fit(unit)
        raise NotReadableError(
            f"the unit {short(written.unit)} does not fit here",
            f"write the number alone, or with {' or '.join(fits)}" if fits else "leave it out",
        )
    return number_text(value)


def short(text: str) -> str:
    """Return text for a message, cut to a line's length."""
    line = " ".join(text.split())
    return line if len(line) <= 50 else f"{line[:47]}..."


def listed(words: Sequence[str], most: int = 20) -> str:
    """Return words for a message: "left or right"."""
    shown = list(words[:most])
    if len(words) > most:
        shown.append("others")
    return shown[0] if len(shown) == 1 else f"{', '.join(shown[:-1])} or {shown[-1]}"
