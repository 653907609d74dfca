"""A calculation written out so that a reader can redo it with a pocket calculator."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

SURE_WORDS = {
    "seen": "read in extract",
    "second-hand": "second-hand",
    "memory": "from memory, to be verified",
    "computed": "computed",
}


def plain(value: float, digits: int = 6) -> str:
    """Return a number to `digits` significant digits, never with an exponent.

    Examples
    --------
    >>> plain(1234567.0), plain(0.00002), plain(13.2151234)
    ('1234570', '0.00002', '13.2151')
    """
    text = format(Decimal(f"{value:.{digits}g}"), "f")
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def put(value: float) -> str:
    """Return a number to stand in a formula; a negative one in brackets.

    Examples
    --------
    >>> put(20.0), put(-5)
    ('20', '(-5)')
    """
    text = plain(value)
    return f"({text})" if text.startswith("-") else text


def counted(number: int, one: str) -> str:
    """Return a number with its word, in the plural where it is not one.

    Examples
    --------
    >>> counted(1, "bottle"), counted(3, "bottle")
    ('1 bottle', '3 bottles')
    """
    return f"{number} {one}" if number == 1 else f"{number} {one}s"


def most(values: Sequence[float]) -> str:
    """Return the words of a largest value: `max(74, 76)`, or the one value alone.

    Examples
    --------
    >>> most([74, 76]), most([12])
    ('max(74, 76)', '12')
    """
    text = ", ".join(plain(value) for value in values)
    return f"max({text})" if len(values) > 1 else text


@dataclass(frozen=True, slots=True)
class Step:
    """One line of working: a name, the formula with the numbers put in, its value."""

    name: str
    expression: str
    value: float
    unit: str = ""

    def __str__(self) -> str:
        end = f" {self.unit}" if self.unit else ""
        value = plain(self.value)
        middle = "" if self.expression == value else f"{self.expression} = "
        return f"{self.name} = {middle}{value}{end}"


@dataclass(frozen=True, slots=True)
class Bound:
    """A rule that belongs to a method itself, who printed it, and how sure that is."""

    text: str
    source: str
    sure: str

    def __str__(self) -> str:
        return f"{self.text} [{self.source}, {SURE_WORDS[self.sure]}]"


@dataclass(frozen=True, slots=True)
class Worked:
    """A result with its formula, its steps, its method and what to bear in mind.

    `limits` names the limits of the rules that such a figure is held against; `when`
    tells what is known of the case, so that figures for another case are left out.
    """

    formula: tuple[str, ...]
    steps: tuple[Step, ...]
    result: float | int | str
    unit: str
    words: str
    """The result as a person says it: "dew point 13.2 °C"."""
    bounds: tuple[Bound, ...] = ()
    notes: tuple[str, ...] = ()
    limits: tuple[str, ...] = ()
    when: tuple[tuple[str, str], ...] = ()
