"""Refuse a number that a formula was not made for, in words a person can act on."""

from __future__ import annotations

import math

from diagnose.errors import DiagnoseError


class OutOfRangeError(DiagnoseError, ValueError):
    """A quantity outside the range in which a formula holds or nature allows."""


def check_range(
    name: str,
    value: float,
    *,
    above: float | None = None,
    at_least: float | None = None,
    up_to: float | None = None,
    below: float | None = None,
) -> None:
    """Raise `OutOfRangeError` unless `value` is finite and inside the bounds.

    Examples
    --------
    >>> check_range("humidity in %", 640, above=0, up_to=100)
    Traceback (most recent call last):
    ...
    diagnose.physics.guard.OutOfRangeError: humidity in % is 640; allowed is above 0, up to 100
    """
    inside = (
        math.isfinite(value)
        and (above is None or value > above)
        and (at_least is None or value >= at_least)
        and (up_to is None or value <= up_to)
        and (below is None or value < below)
    )
    if inside:
        return
    bounds = (("above", above), ("at least", at_least), ("up to", up_to), ("below", below))
    allowed = ", ".join(f"{word} {bound:g}" for word, bound in bounds if bound is not None)
    raise OutOfRangeError(f"{name} is {value:g}; allowed is {allowed or 'a finite number'}")
