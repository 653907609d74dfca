"""Recorded values in a person's words: labels, numbers with units, times."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime

from diagnose.record.units import unit_of

_PLURAL = ("days", "edges", "rolls", "fixings", "readings")


def num(value: float, unit: str = "", places: int = 2) -> str:
    """Return a number without needless noughts, with its unit.

    Examples
    --------
    >>> num(0.375, "kg/m²", 3), num(46.0, "min"), num(1.0, "days"), num(9.5, "pH")
    ('0.375 kg/m²', '46 min', '1 day', 'pH 9.5')
    """
    text = f"{value:.{places}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    text = "0" if text in ("-0", "") else text
    if unit == "pH":
        return f"pH {text}"
    if text in ("1", "-1") and unit in _PLURAL:
        unit = unit.removesuffix("s")
    return f"{text}{'' if unit == '°' else ' '}{unit}" if unit else text


def moment(at: date) -> str:
    """Return a day, or a time to the minute, in digits.

    Examples
    --------
    >>> moment(datetime(2026, 3, 2, 9, 5)), moment(date(2026, 3, 2))
    ('2026-03-02 09:05', '2026-03-02')
    """
    return f"{at:%Y-%m-%d %H:%M}" if isinstance(at, datetime) else at.isoformat()


def shown(value: object, name: str) -> str:
    """Return a recorded value as text; the unit stands in the field's `name`."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return num(value, unit_of(name))
    if isinstance(value, date):
        return moment(value)
    if isinstance(value, tuple):
        return ", ".join(str(item) for item in value) or "none"
    return str(value)


def listed(words: Sequence[str]) -> str:
    """Join words as a sentence does.

    Examples
    --------
    >>> listed(["a", "b", "c"]), listed(["a"])
    ('a, b and c', 'a')
    """
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} and {words[-1]}"
