"""What a calculation says: outcome, one sentence, and the working in lines."""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.checks.limits import Chosen
from diagnose.checks.words import num
from diagnose.model import Outcome


@dataclass(frozen=True, slots=True)
class Found:
    """Answer of one calculation about one part."""

    outcome: Outcome
    summary: str
    working: tuple[str, ...] = ()
    excess: float = 0.0
    """How far beyond the limit, as a share of it: the worst part decides by it."""


def deviates(summary: str, *working: str, excess: float = 0.0) -> Found:
    """Return that a recorded fact departs from the limit."""
    return Found(Outcome.DEVIATES, summary, working, excess)


def in_order(summary: str, *working: str) -> Found:
    """Return that what is recorded keeps the limit."""
    return Found(Outcome.IN_ORDER, summary, working)


def silent(summary: str, *working: str) -> Found:
    """Return that the record does not say enough, and why."""
    return Found(Outcome.NOT_RECORDED, summary, working)


def not_for_this(summary: str) -> Found:
    """Return that the question does not arise for this part."""
    return Found(Outcome.DOES_NOT_APPLY, summary)


def judged(kept: bool, summary: str, *working: str, excess: float = 0.0) -> Found:
    """Return in order or deviating by `kept`."""
    if kept:
        return in_order(summary, *working)
    return deviates(summary, *working, excess=excess)


def against(
    value: float, limit: Chosen, what: str, *working: str, side: str = "", places: int = 2
) -> Found:
    """Compare a value with a limit: "air at 15 °C; wanted: 18 to 35 °C"."""
    kept = limit.holds(value, side)
    number = num(value, limit.unit, places)
    bound = limit.text(side)
    verdict = "in order" if kept else "deviates"
    line = f"{number} against {bound}: {verdict}"
    excess = 0.0 if kept else beyond(value, limit, side)
    return judged(kept, f"{what} {number}; {asked(limit, side)}", *working, line, excess=excess)


def asked(limit: Chosen, side: str = "") -> str:
    """Return a limit as a sentence ends with it: "allowed: at most 30 min"."""
    text = limit.text(side)
    return f"allowed: {text}" if text.startswith("at most") else f"wanted: {text}"


def beyond(value: float, limit: Chosen, side: str = "") -> float:
    """Return by what share of the limit a value lies outside it; 0 inside."""
    over = 0.0
    if side != "low" and limit.high is not None and value > limit.high:
        over = (value - limit.high) / max(abs(limit.high), 1e-6)
    if side != "high" and limit.low is not None and value < limit.low:
        over = max(over, (limit.low - value) / max(abs(limit.low), 1e-6))
    return over
