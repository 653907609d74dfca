"""Lots: in date, kept from frost, brought to room temperature.

What a lot was used for tells when it was used: its spreads, its seams.

References
----------
.. [1] CRI 105 (2019) 9.0: installation materials at least 24 h in the area.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime

from diagnose.checks.found import Found, against, deviates, in_order, not_for_this, silent
from diagnose.checks.look import Look, hours_between, stamp
from diagnose.checks.words import moment, num


def lot_in_date(look: Look) -> Found | None:
    """A lot of one kind used no later than its use-by date."""
    if (other := _other_kind(look)) is not None:
        return other
    expires = look.day(look.path("expires_on"))
    used = _last_use(look)
    if expires is None or used is None:
        return None
    days = (expires - used.date()).days
    line = f"use-by {moment(expires)}, used {moment(used.date())}: {num(days, 'days')} left"
    if days < 0:
        return deviates(f"used {num(-days, 'days')} after its use-by date", line, excess=-days / 30)
    return in_order(f"used {num(days, 'days')} before its use-by date", line)


def lot_kept_from_frost(look: Look) -> Found | None:
    """A lot not frozen, and never colder than its sheet allows."""
    if (other := _other_kind(look)) is not None:
        return other
    frozen = look.flag(look.path("frozen"), needed=False)
    if frozen:
        return deviates(f"lot {look.part.id} was frozen", "frozen: yes")
    lowest = look.number(look.path("stored_low_c"), needed=frozen is None)
    limit = look.limit("low")
    if lowest is not None and limit is not None:
        return against(lowest, limit, "coldest storage", side="low")
    return in_order(f"lot {look.part.id} was not frozen", "frozen: no") if frozen is False else None


def lot_at_site_hours(look: Look) -> Found | None:
    """Hours that a lot stood in the rooms before it was first used."""
    if (other := _other_kind(look)) is not None:
        return other
    starts = [
        start
        for each in look.job.conditioning.values()
        if each.what == str(look.part)
        and (start := look.time(f"conditioning.{each.id}.from_at", needed=False))
    ]
    start = min(starts, default=None, key=stamp)
    start = start or look.time(look.path("stored_from"))
    used = _first_use(look)
    limit = look.limit("low")
    if start is None or used is None or limit is None:
        return None
    hours = hours_between(start, used)
    if hours is None or hours < 0:
        return silent("the lot was used before it came, or a time has no offset")
    line = f"{moment(start)} to {moment(used)} = {num(hours, 'h', 1)}"
    return against(hours, limit, f"lot {look.part.id} in the rooms for", line, places=1)


def _other_kind(look: Look) -> Found | None:
    kind = look.word(look.path("kind"), needed=False)
    wanted = look.option("kind")
    if kind is not None and kind != wanted:
        return not_for_this(f"the lot is {kind}, not {wanted}")
    return None


def _uses(look: Look) -> list[str]:
    name, job = look.part.id, look.job
    spreads = [f"spreads.{s.id}.started_at" for s in job.spreads.values() if s.lot == name]
    seams = [f"seams.{s.id}.bead_at" for s in job.seams.values() if s.sealer_lot == name]
    return [*spreads, *seams]


def _first_use(look: Look) -> datetime | None:
    return min(_times(look), default=None, key=stamp) or look.time("dates.started_at")


def _last_use(look: Look) -> datetime | None:
    return max(_times(look), default=None, key=stamp) or look.time("dates.started_at")


def _times(look: Look) -> list[datetime]:
    return [at for path in _uses(look) if (at := look.time(path, needed=False))]


CALCULATIONS: Mapping[str, Callable[[Look], Found | None]] = {
    "lot-in-date": lot_in_date,
    "lot-kept-from-frost": lot_kept_from_frost,
    "lot-at-site-hours": lot_at_site_hours,
}
