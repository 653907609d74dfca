"""Rolling: at all, both ways, in time, again, and what the lifted corner showed.

References
----------
.. [1] CRI Standard (2011) 13.6 and CRI 105 12.5: lightest roller that gives the
   transfer, at most 34 kg, along and across.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from diagnose.checks.found import Found, against, deviates, in_order, silent
from diagnose.checks.look import Look, hours_between
from diagnose.checks.words import moment, num


def rolled_both_ways(look: Look) -> Found | None:
    """Rolled along and across; rolled neither way is not rolled at all."""
    rolled_at = look.time(look.path("rolled_at"), needed=False)
    along = look.flag(look.path("rolled_along"), needed=False)
    across = look.flag(look.path("rolled_across"), needed=False)
    lines = (
        f"first rolling: {moment(rolled_at) if rolled_at else 'not recorded'}",
        f"along: {_said(along)}, across: {_said(across)}",
    )
    if along is False and across is False:
        return deviates("not rolled either way", *lines, excess=1.0)
    if along is False or across is False:
        way = "along" if across is False else "across"
        return deviates(f"rolled {way} the carpet only", *lines, excess=0.5)
    if along and across:
        return in_order("rolled along and across", *lines)
    for name, value in (("rolled_along", along), ("rolled_across", across)):
        if value is None:
            look.flag(look.path(name))
    return None


def rolled_in_time(look: Look) -> Found | None:
    """First rolling within the working time after the last carpet went in."""
    laid = look.time(look.path("laid_end_at"), needed=False) or look.time(look.path("laid_at"))
    rolled = look.time(look.path("rolled_at"))
    limit = look.limit("high")
    if laid is None or rolled is None or limit is None:
        return None
    hours = hours_between(laid, rolled)
    if hours is None or hours < 0:
        return silent("rolled before the last carpet was laid, or a time has no offset")
    minutes = hours * 60
    line = f"{moment(laid)} laid, {moment(rolled)} rolled: {num(minutes, 'min', 0)}"
    return against(minutes, limit, "rolled after", line, side="high", places=0)


def rolled_again(look: Look) -> Found | None:
    """Second rolling inside its window after the first."""
    first, second = look.time(look.path("rolled_at")), look.time(look.path("rerolled_at"))
    limit = look.limit()
    if first is None or second is None or limit is None:
        return None
    hours = hours_between(first, second)
    if hours is None or hours < 0:
        return silent("the second rolling lies before the first, or a time has no offset")
    line = f"{moment(first)} to {moment(second)} = {num(hours, 'h', 1)}"
    return against(hours, limit, "rolled again after", line, places=1)


def _said(value: bool | None) -> str:
    return "not recorded" if value is None else "yes" if value else "no"


CALCULATIONS: Mapping[str, Callable[[Look], Found | None]] = {
    "rolled-both-ways": rolled_both_ways,
    "rolled-in-time": rolled_in_time,
    "rolled-again": rolled_again,
}
