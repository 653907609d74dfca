"""Read days and times as a sheet writes them.

A time without offset is local time in the zone of the job.  Local times that
the clock skipped or showed twice are refused: only an offset settles them.
"""

from __future__ import annotations

import re
from calendar import monthrange
from datetime import UTC, date, datetime, tzinfo
from functools import lru_cache
from zoneinfo import ZoneInfo, available_timezones

from diagnose.record.fields import near_names
from diagnose.record.sheet_numbers import NotReadableError

FIRST_YEAR, LAST_YEAR = 1900, 2200

_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", re.ASCII)
_TIME = re.compile(
    r"([0-9]{4}-[0-9]{2}-[0-9]{2})[ T]+([0-9]{1,2}:[0-9]{2}(?::[0-9]{2}(?:\.[0-9]{1,6})?)?)"
    r"\s*(Z|[+-][0-9]{2}:?[0-9]{2})?",
    re.ASCII | re.IGNORECASE,
)
_OTHER_DAY = re.compile(r"[0-9]{1,4}[./-][0-9]{1,2}[./-][0-9]{2,4}", re.ASCII)


@lru_cache(maxsize=32)
def zone_of(name: str) -> ZoneInfo:
    """Return the time zone called `name`.

    Raises
    ------
    NotReadableError
        When there is none of that name, naming close ones.
    """
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        near = near_names(name, sorted(available_timezones()))
        hint = f"did you mean {' or '.join(near)}?" if near else "such as Europe/London"
        raise NotReadableError("no time zone of that name is known", hint) from None


def read_day(text: str) -> str:
    """Return a day in its one form, `2026-03-02`.

    Raises
    ------
    NotReadableError
        For any other form, or a day that no calendar has.
    """
    plain = text.strip()
    if _TIME.fullmatch(plain):
        _day(plain[:10])
        raise NotReadableError("a day without a time is needed", f"write {plain[:10]}")
    if not _DAY.fullmatch(plain):
        raise NotReadableError("a day is needed", _hint_for_day(plain, "2026-03-02"))
    return _day(plain).isoformat()


def read_time(text: str, zone: tzinfo | None) -> str:
    """Return a time as ISO 8601 with offset, `2026-03-02T09:40:00+00:00`.

    Raises
    ------
    NotReadableError
        For any other form; for a local time without a zone, or one that the
        clock of the zone skipped or showed twice.
    """
    plain = text.strip()
    match = _TIME.fullmatch(plain)
    if match is None:
        if _DAY.fullmatch(plain):
            _day(plain)
            raise NotReadableError("a time of day is needed too", f"write {plain} 08:30")
        raise NotReadableError("a time is needed", _hint_for_day(plain, "2026-03-02 08:30"))
    day, clock, offset = match.groups()
    _day(day)
    if clock[1] == ":":
        clock = f"0{clock}"
    try:
        moment = datetime.fromisoformat(f"{day}T{clock}{(offset or '').upper()}")
    except ValueError:
        hint = "hours run from 00 to 23, minutes from 00 to 59; an offset looks like +01:00"
        raise NotReadableError("no clock shows that time", hint) from None
    if moment.tzinfo is None:
        moment = in_zone(moment, zone)
    return moment.isoformat()


def in_zone(local: datetime, zone: tzinfo | None) -> datetime:
    """Return a local time with the offset that the zone has then.

    Raises
    ------
    NotReadableError
        Without a zone; when the clock skipped the time or showed it twice.
    """
    if zone is None:
        hint = "add zone: Europe/London at the top of the sheet, or an offset such as +00:00"
        raise NotReadableError("a local time needs the time zone of the job", hint)
    first, second = local.replace(tzinfo=zone, fold=0), local.replace(tzinfo=zone, fold=1)
    offsets = _offset(first), _offset(second)
    if _skipped(first):
        hint = f"the clock went forward; add {offsets[0]} if one not yet put forward was read"
        raise NotReadableError("the clock skipped that time", hint)
    if offsets[0] != offsets[1]:
        hint = (
            f"the clock went back; add {offsets[0]} for the first time, {offsets[1]} for the second"
        )
        raise NotReadableError("the clock showed that time twice", hint)
    return datetime.fromisoformat(first.isoformat())


def _skipped(moment: datetime) -> bool:
    there_and_back = moment.astimezone(UTC).astimezone(moment.tzinfo)
    return there_and_back.replace(tzinfo=None) != moment.replace(tzinfo=None)


def _offset(moment: datetime) -> str:
    return moment.isoformat()[-6:]


def _day(text: str) -> date:
    try:
        day = date.fromisoformat(text)
    except ValueError:
        raise NotReadableError("the calendar has no such day", _possible(text)) from None
    if not FIRST_YEAR <= day.year <= LAST_YEAR:
        hint = f"years from {FIRST_YEAR} to {LAST_YEAR} are read"
        raise NotReadableError("the year cannot be right", hint)
    return day


def _possible(text: str) -> str:
    """Return a hint with a day that the calendar has, near to the one written."""
    year, month = int(text[:4]), int(text[5:7])
    if FIRST_YEAR <= year <= LAST_YEAR and 1 <= month <= 12:
        last = f"{text[:8]}{monthrange(year, month)[1]}"
        return f"the last day of that month is {last}"
    return "year, month and day, such as 2026-03-02"


def _hint_for_day(text: str, example: str) -> str:
    if _OTHER_DAY.match(text):
        return f"year first, so that no one can read it two ways: {example}"
    return f"such as {example}"
