"""Invented figures for the record of a practice case: readings, times, a week's log.

A figure agrees with what the check says of it under every source of the
limit: out of order beyond the widest edge, in order within the narrowest, so
that nobody can argue about it.
"""

from __future__ import annotations

from collections.abc import Callable
from random import Random

from diagnose.model import Facet, Floor, Outcome
from diagnose.rulebook.model import Check, LimitValue, Rules

DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
LOG, QUANTITIES = "band-kept", {"humidity_percent": "humidity", "air_c": "air"}
HIGHEST = {"%": 100.0, "% RH": 98.0, "pH": 13.0}
"""Highest figure that a unit allows."""


def figure(rules: Rules, check: Check, outcome: Outcome, floor: Floor, rng: Random) -> str:
    """Return a reading or a log in words; empty where the check has no plain figure."""
    limit = rules.limits.get(check.limit)
    what = check.options.get("what", "")
    log = check.calculation == LOG
    if limit is None or outcome is Outcome.NOT_RECORDED or not (what or log):
        return ""
    values = [value for value in limit.values if _holds(value, floor)]
    drawn = _drawer(values, _side(check, values), limit.unit, rng)
    if drawn is None:
        return ""
    if not log:
        return f"{what} {drawn(outcome is Outcome.DEVIATES)} {limit.unit}"
    out = int(rng.random() * len(DAYS)) if outcome is Outcome.DEVIATES else -1
    days = ", ".join(f"{day} {drawn(number == out)}" for number, day in enumerate(DAYS))
    name = QUANTITIES.get(check.options.get("quantity", ""), "log")
    return f"{name} in {limit.unit}: {days}"


def _holds(value: LimitValue, floor: Floor) -> bool:
    """Return whether a value is for this floor; one with other conditions is left out."""
    facets = {facet.value for facet in Facet}
    return all(
        name in facets and floor.facets.get(Facet(name)) in words
        for name, words in value.when.items()
    )


def _side(check: Check, values: list[LimitValue]) -> str:
    """Return the side of the limit that counts; empty where both could."""
    if "side" in check.options:
        return check.options["side"]
    if all(value.low is None for value in values):
        return "high"
    return "low" if all(value.high is None for value in values) else ""


def _drawer(
    values: list[LimitValue], side: str, unit: str, rng: Random
) -> Callable[[bool], str] | None:
    """Return a function that draws a figure, out of order or in order."""
    lows = [value.low for value in values if value.low is not None]
    highs = [value.high for value in values if value.high is not None]
    edges = {"high": highs, "low": lows}.get(side, [])
    if not edges or min(edges) <= 0:
        return None
    top = HIGHEST.get(unit, float("inf"))
    if side == "high":
        wrong = (max(edges) * 1.06, min(max(edges) * 1.5, top))
        least = max([min(edges) * 0.6, *(low for low in lows if low < min(edges))])
        fine = (least, max(least, min(edges) * 0.95))
    else:
        wrong = (min(edges) * 0.5, min(edges) * 0.92)
        most = min([max(edges) * 1.4, top, *(high for high in highs if high > max(edges))])
        fine = (min(max(edges) * 1.02, most), most)
    if wrong[1] <= wrong[0]:
        return None
    digits = 0 if max(edges) >= 20 else 1 if max(edges) >= 2 else 2

    def draw(out: bool) -> str:
        low, high = wrong if out else fine
        return f"{low + (high - low) * rng.random():.{digits}f}"

    return draw
