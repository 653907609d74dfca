"""Conditioning of the carpet: hours, unrolled, in the rooms, from how cold a carriage.

References
----------
.. [1] A model specification clause (NBS M50 cl. 340): twice the time after
   carriage or storage below 10 °C; unrolled flat in the room of laying.
.. [2] CRI 105 (2019) 9.0 and CRI Standard (2011) 10: at least 24 h.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import datetime

from diagnose.checks.found import Found, against, deviates, in_order, judged, silent
from diagnose.checks.look import Look, hours_between, stamp
from diagnose.checks.words import moment, num
from diagnose.record.model import Conditioning

FOR_ALL = ("carpet", "tiles", "rolls", "goods")
"""What a conditioning entry may name to mean every roll."""


def hours_in_room(look: Look) -> Found | None:
    """Longest stay of a roll in a room of the job before it was laid."""
    stays = _stays(look)
    limit = look.limit("low", season=_season(look))
    if not stays:
        look.lack(f"conditioning of {look.part.words}: from and to")
    if not stays or limit is None:
        return None
    entry, hours = max(stays, key=lambda stay: stay[1])
    if hours < 0:
        return silent(f"conditioning {entry.id} ends before it begins")
    if entry.where is not None and entry.where not in look.job.areas:
        line = f"{entry.id}: {num(hours, 'h', 1)} in {entry.where}, which is no room of the job"
        return deviates(f"kept in {entry.where}, not in a room of the job", line, excess=1.0)
    line = _stay_line(look, entry, hours)
    return against(hours, limit, "in the room for", line, side="low", places=1)


def hours_after_cold(look: Look) -> Found | None:
    """Twice the hours where the carriage or store was colder than the limit."""
    entries = _entries(look)
    cold = look.limit("low")
    base = look.limit("low", of="conditioning-hours", season=_season(look))
    before = [
        (entry, look.number(f"conditioning.{entry.id}.before_c", needed=False)) for entry in entries
    ]
    known = [(entry, value) for entry, value in before if value is not None]
    if not known:
        look.lack(f"temperature of carriage or store before conditioning, {look.part.words}")
        return None
    if cold is None or cold.low is None or base is None or base.low is None:
        return None
    entry, coldest = min(known, key=lambda pair: pair[1])
    line = f"carriage or store {num(coldest, '°C')}; cold is below {num(cold.low, '°C')}"
    if cold.holds(coldest, "low"):
        return in_order(f"came from {num(coldest, '°C')}: no longer wait needed", line)
    stays = [hours for each, hours in _stays(look) if each.id == entry.id]
    if not stays:
        look.lack(f"conditioning {entry.id}: from and to")
        return None
    wanted = 2 * base.low
    lines = (line, f"2 × {num(base.low, 'h')} = {num(wanted, 'h')} wanted, {num(stays[0], 'h', 1)}")
    words = f"came from {num(coldest, '°C')} and stood {num(stays[0], 'h', 1)}; {num(wanted, 'h')} wanted"
    excess = max(0.0, (wanted - stays[0]) / wanted) if wanted else 0.0
    return judged(stays[0] >= wanted, words, *lines, excess=excess)


def unrolled(look: Look) -> Found | None:
    """The roll lay unrolled while it was conditioned."""
    said = {
        entry.id: look.flag(f"conditioning.{entry.id}.unrolled", needed=False)
        for entry in _entries(look)
    }
    lines = tuple(f"{name}: {_said(value)}" for name, value in said.items())
    if True in said.values():
        return in_order("lay unrolled in conditioning", *lines)
    if False in said.values():
        return deviates("stood rolled up in conditioning", *lines)
    look.lack(f"unrolled or not in conditioning, {look.part.words}")
    return None


def temperature_step(look: Look) -> Found | None:
    """Step from carriage or store to the room in which the roll was laid out."""
    limit = look.limit("high")
    steps = []
    for entry in _entries(look):
        before = look.number(f"conditioning.{entry.id}.before_c", needed=False)
        room = _room_c(look, entry)
        if before is not None and room is not None:
            steps.append((abs(room - before), before, room))
    if not steps:
        look.lack(f"temperature before conditioning and of the room then, {look.part.words}")
    if not steps or limit is None:
        return None
    step, before, room = max(steps)
    line = f"room {num(room, '°C')} - before {num(before, '°C')} = {num(room - before, 'K', 1)}"
    return against(step, limit, "temperature step", line, side="high", places=1)


def _entries(look: Look) -> list[Conditioning]:
    wanted = (str(look.part), *FOR_ALL)
    return [each for each in look.job.conditioning.values() if each.what in wanted]


def _stays(look: Look) -> list[tuple[Conditioning, float]]:
    found = []
    for entry in _entries(look):
        look.word(f"conditioning.{entry.id}.where", needed=False)
        start = look.time(f"conditioning.{entry.id}.from_at", needed=False)
        end = look.time(f"conditioning.{entry.id}.to_at", needed=False) or _first_laid(look)
        hours = hours_between(start, end) if start and end else None
        if hours is not None:
            found.append((entry, hours))
    return found


def _stay_line(look: Look, entry: Conditioning, hours: float) -> str:
    start, end = entry.from_at, entry.to_at or _first_laid(look)
    span = f"{moment(start)} to {moment(end)}" if start and end else entry.id
    return f"{entry.id}: {span} = {num(hours, 'h', 1)} in {entry.where or 'a place not named'}"


def _first_laid(look: Look) -> datetime | None:
    job = look.job
    drops = {drop.id for drop in job.drops.values() if drop.roll == look.part.id}
    spreads = [each for each in job.spreads.values() if drops & set(each.drops)]
    times = [
        at for each in spreads if (at := look.time(f"spreads.{each.id}.laid_at", needed=False))
    ]
    return min(times, default=None, key=stamp) or look.time("dates.started_at", needed=False)


def _season(look: Look) -> str:
    at = _first_laid(look)
    if at is None:
        return "not-known"
    return "winter" if at.month >= 10 or at.month <= 3 else "summer"


def _room_c(look: Look, entry: Conditioning) -> float | None:
    area = look.job.areas.get(entry.where or "")
    log = look.job.climate.get(area.climate or "") if area else None
    if log is None or entry.from_at is None:
        return None
    near = [
        (abs(hours), point.air_c)
        for point in log.points
        if point.air_c is not None
        and (hours := hours_between(entry.from_at, point.at)) is not None
        and -2 <= hours <= 24
    ]
    if not near:
        return None
    value = min(near)[1]
    words = f"air in {entry.where} when {entry.id} began"
    look.note(f"climate.{log.id}", words, num(value, "°C"))
    return value


def _said(value: bool | None) -> str:
    return "not recorded" if value is None else "unrolled" if value else "rolled up"


CALCULATIONS: Mapping[str, Callable[[Look], Found | None]] = {
    "hours-in-room": hours_in_room,
    "hours-after-cold": hours_after_cold,
    "unrolled": unrolled,
    "temperature-step": temperature_step,
}
