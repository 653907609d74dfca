"""Read the times of a climate log: one form for the whole column.

Whether 03/04 is the third of April or the fourth of March is never guessed:
a day above 12 settles it, or the steps from row to row do, or the person has
to say it.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone, tzinfo
from itertools import pairwise

from diagnose.record.climate_text import refusal

DAY_FIRST, MONTH_FIRST = "day-first", "month-first"
ORDERS = (DAY_FIRST, MONTH_FIRST)

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_CLOCK = r"(?P<h>\d{1,2}):(?P<m>\d{2})(?::(?P<s>\d{2})(?:[.,]\d{1,9})?)?\s*(?P<half>[ap]\.?m\.?)?"
_OFFSET = r"\s*(?P<offset>z|utc|gmt|[+-]\d{2}:?\d{2})?"
_DATE = (
    r"(?:(?P<y1>\d{4})(?P<sep>[-/.])(?P<b1>\d{1,2})(?P=sep)(?P<c1>\d{1,2})"
    r"|(?P<a2>\d{1,2})[-/. ](?P<month>[a-z]{3})[a-z]*[-/. ,]+(?P<y2>\d{4}|\d{2})"
    r"|(?P<a3>\d{1,2})(?P<sep3>[-/.])(?P<b3>\d{1,2})(?P=sep3)(?P<y3>\d{4}|\d{2}))"
)
_FLAGS = re.ASCII | re.IGNORECASE
_FULL = re.compile(rf"{_DATE}[ t,]+{_CLOCK}{_OFFSET}", _FLAGS)
_ONLY_DATE = re.compile(_DATE, _FLAGS)
_ONLY_CLOCK = re.compile(_CLOCK, _FLAGS)
_UNIX = re.compile(r"\d{9,10}(?:\.\d+)?|\d{12,13}", re.ASCII)
_SHEET_DAY = re.compile(r"\d{5}(?:[.,]\d+)?", re.ASCII)
_HEAD_OFFSET = re.compile(r"(?:utc|gmt)\s*(?:([+-])\s*(\d{1,2})(?::?(\d{2}))?)?", _FLAGS)

_SHEET_EPOCH = datetime(1899, 12, 30)
_FIRST, _LAST = 1990, 2100


@dataclass(frozen=True, slots=True)
class Stamp:
    """A time as its parts: two numbers whose order may be open, year, clock.

    `first` is the day when `second` is the month; for a settled date `order`
    says so.  A time that is an instant already stands in `instant`.
    """

    first: int = 0
    second: int = 0
    year: int = 0
    clock: timedelta = timedelta()
    order: str = ""
    offset: timedelta | None = None
    instant: datetime | None = None


def is_time(text: str) -> bool:
    """Return whether a cell holds day and time together."""
    return _FULL.fullmatch(text) is not None


def is_day(text: str) -> bool:
    """Return whether a cell holds a day alone."""
    return _ONLY_DATE.fullmatch(text) is not None


def is_clock(text: str) -> bool:
    """Return whether a cell holds a time of day alone."""
    return _ONLY_CLOCK.fullmatch(text) is not None


def is_unix(text: str) -> bool:
    """Return whether a cell can be seconds or milliseconds since 1970."""
    return _UNIX.fullmatch(text) is not None


def is_sheet_day(text: str) -> bool:
    """Return whether a cell can be the day number of a spreadsheet."""
    return _SHEET_DAY.fullmatch(text) is not None


def read_stamp(text: str) -> Stamp | None:
    """Return the parts of a time, or None when the text is none."""
    if is_unix(text):
        seconds = float(text) / (1000 if len(text.partition(".")[0]) > 10 else 1)
        return Stamp(instant=datetime.fromtimestamp(seconds, UTC))
    if is_sheet_day(text):
        days = float(text.replace(",", "."))
        moment = _SHEET_EPOCH + timedelta(seconds=round(days * 86400))
        clock = timedelta(hours=moment.hour, minutes=moment.minute, seconds=moment.second)
        return Stamp(moment.day, moment.month, moment.year, clock, DAY_FIRST)
    match = _FULL.fullmatch(text)
    if match is None:
        return None
    clock_time = _clock(match)
    if clock_time is None:
        return None
    return _dated(match, clock_time, _offset(match["offset"]))


def _dated(match: re.Match[str], clock: timedelta, offset: timedelta | None) -> Stamp | None:
    if match["y1"]:
        year, month, day = int(match["y1"]), int(match["b1"]), int(match["c1"])
        return Stamp(day, month, year, clock, DAY_FIRST, offset)
    if match["month"]:
        name = match["month"].casefold()
        if name not in _MONTHS:
            return None
        month = _MONTHS.index(name) + 1
        return Stamp(int(match["a2"]), month, _year(match["y2"]), clock, DAY_FIRST, offset)
    return Stamp(int(match["a3"]), int(match["b3"]), _year(match["y3"]), clock, "", offset)


def _clock(match: re.Match[str]) -> timedelta | None:
    hour, minute, second = int(match["h"]), int(match["m"]), int(match["s"] or 0)
    if match["half"]:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if match["half"][0] in "pP" else 0)
    if hour > 23 or minute > 59 or second > 59:
        return None
    return timedelta(hours=hour, minutes=minute, seconds=second)


def _offset(text: str | None) -> timedelta | None:
    if not text:
        return None
    if text[0] not in "+-":
        return timedelta()
    hours, minutes = int(text[1:3]), int(text[-2:])
    return (timedelta(hours=hours, minutes=minutes)) * (-1 if text[0] == "-" else 1)


def _year(text: str) -> int:
    return int(text) + 2000 if len(text) == 2 else int(text)


def head_offset(head: str) -> timedelta | None:
    """Return the offset that the name of a time column states, or None.

    Examples
    --------
    >>> head_offset("Date Time, GMT+01:00"), head_offset("Time")
    (datetime.timedelta(seconds=3600), None)
    """
    match = _HEAD_OFFSET.search(head)
    if match is None:
        return None
    if not match[1]:
        return timedelta()
    hours, minutes = int(match[2]), int(match[3] or 0)
    if hours > 14 or minutes > 59:
        return None
    return timedelta(hours=hours, minutes=minutes) * (-1 if match[1] == "-" else 1)


def local_time(stamp: Stamp, order: str) -> datetime | None:
    """Return the local time of a stamp read in `order`, None if there is none."""
    day, month = (stamp.first, stamp.second)
    if not stamp.order and order == MONTH_FIRST:
        day, month = month, day
    try:
        moment = datetime(stamp.year, month, day) + stamp.clock
    except ValueError:
        return None
    return moment if _FIRST <= moment.year <= _LAST else None


def order_of(stamps: Sequence[Stamp], file: str, line: int, told: str | None) -> str:
    """Return the order of day and month of a whole column.

    Raises
    ------
    InputError
        When neither the file nor `told` settles it, or both disagree.
    """
    if told is not None and told not in ORDERS:
        raise refusal(file, 0, f"{told[:40]} is no order of dates", f"write {' or '.join(ORDERS)}")
    pairs = list(
        dict.fromkeys((s.first, s.second, s.year) for s in stamps if not s.order and not s.instant)
    )
    if not pairs:
        return told or DAY_FIRST
    fitting = [order for order in ORDERS if _fits_all(pairs, order)]
    if not fitting:
        hint = "some dates have the day first and some the month; split the file"
        raise refusal(file, line, "no one order of day and month fits all dates", hint)
    if told:
        if told not in fitting:
            raise refusal(
                file,
                line,
                f"the dates cannot be {told}",
                f"leave --dates away, or write {fitting[0]}",
            )
        return told
    if len(fitting) == 2 and all(first == second for first, second, _ in pairs):
        return DAY_FIRST
    if len(fitting) == 2:
        fitting = [order for order in ORDERS if _steps_daily(pairs, order)]
    if len(fitting) != 1:
        first, second, year = pairs[0]
        text = f"{first}/{second}/{year} can be read with the day first or the month first"
        raise refusal(file, line, text, "say which: --dates day-first or --dates month-first")
    return fitting[0]


def _fits_all(pairs: Iterable[tuple[int, int, int]], order: str) -> bool:
    return all(local_time(Stamp(*pair), order) is not None for pair in pairs)


def _steps_daily(pairs: Sequence[tuple[int, int, int]], order: str) -> bool:
    """Return whether the days follow one another without a leap, three at least."""
    days = [local_time(Stamp(*pair), order) for pair in pairs]
    steps = {(two - one).days for one, two in pairwise(days) if one and two}
    return len(days) >= 3 and (steps == {1} or steps == {-1})


def instants(
    stamps: Sequence[Stamp | None], order: str, zone: tzinfo, offset: timedelta | None
) -> list[datetime | None]:
    """Return each stamp as an instant in UTC; None where there is none.

    A time that the clock of the zone skipped has none.  In the hour that the
    clock shows twice, a time that does not come after the row before it is the
    second of the two.
    """
    fixed = timezone(offset) if offset is not None else None
    found: list[datetime | None] = []
    last: datetime | None = None
    for stamp in stamps:
        moment = None if stamp is None else _instant(stamp, order, zone, fixed, last)
        found.append(moment)
        last = moment or last
    return found


def _instant(
    stamp: Stamp, order: str, zone: tzinfo, fixed: timezone | None, last: datetime | None
) -> datetime | None:
    if stamp.instant is not None:
        return stamp.instant
    local = local_time(stamp, order)
    if local is None:
        return None
    if stamp.offset is not None or fixed is not None:
        own = timezone(stamp.offset) if stamp.offset is not None else fixed
        return local.replace(tzinfo=own).astimezone(UTC)
    early = local.replace(tzinfo=zone).astimezone(UTC)
    if early.astimezone(zone).replace(tzinfo=None) != local:
        return None
    late = local.replace(tzinfo=zone, fold=1).astimezone(UTC)
    second = last is not None and late != early and early <= last
    return late if second else early
