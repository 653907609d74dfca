"""Read the file of a climate logger into a log of points and daily summaries.

The file itself stays outside the record and is known by its SHA-256.  Rows
that cannot be used are counted and the note says why; nothing is filled in.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, tzinfo
from itertools import pairwise
from statistics import median

from diagnose.record.climate_columns import (
    Channel,
    Layout,
    channel_of,
    layout_of,
    number_of,
    time_cell,
)
from diagnose.record.climate_days import Sample, day_summaries, gaps_between, thinned
from diagnose.record.climate_text import Row, Table, read_table, refusal
from diagnose.record.climate_times import (
    Stamp,
    head_offset,
    instants,
    local_time,
    order_of,
    read_stamp,
)
from diagnose.record.model import ClimateLog
from diagnose.record.sheet_numbers import NotReadableError
from diagnose.record.sheet_times import zone_of

POSSIBLE = {"air": (-40.0, 85.0), "floor": (-40.0, 85.0), "humidity": (0.0, 100.0)}

NO_READING = frozenset({"", "-", "--", "---", "n/a", "na", "nan", "null", "none"})
"""Cells by which loggers say that there was no reading."""


@dataclass(slots=True)
class _Count:
    """Rows and values that were left out, by reason."""

    no_time: int = 0
    skipped: int = 0
    twice: int = 0
    empty: int = 0
    impossible: int = 0
    unread: int = 0

    def words(self) -> list[str]:
        """Return the reasons in words, each with its number."""
        said = (
            (self.no_time, "without a time that can be read"),
            (self.skipped, "at a time that the clock skipped"),
            (self.twice, "for a time that is there already"),
            (self.empty, "without a reading"),
        )
        found = [f"{count} row{'s' if count > 1 else ''} {why}" for count, why in said if count]
        if self.impossible:
            found.append(f"{self.impossible} values that cannot be true left out")
        if self.unread:
            found.append(f"{self.unread} cell{'s' if self.unread > 1 else ''} that cannot be read")
        return found


def read_climate(
    data: bytes, file: str, *, zone: str, dates: str | None = None, log_id: str | None = None
) -> ClimateLog:
    """Return the log that a logger's file holds.

    Parameters
    ----------
    data : bytes
        The file: text columns apart by comma, semicolon, tab or blanks.
    file : str
        Its name, for messages and for the log.
    zone : str
        Time zone of the site; times without offset are local there.
    dates : str, optional
        `day-first` or `month-first`, where the file leaves it open.
    log_id : str, optional
        Id of the log in the record; the name of the file if not given.

    Raises
    ------
    InputError
        When the file cannot be read, or could be read in two ways.
    """
    try:
        place = zone_of(zone)
    except NotReadableError as error:
        raise refusal(file, 0, f"the time zone is {zone[:60]}; {error.text}", error.hint) from None
    table = read_table(data, file)
    layout = layout_of(table)
    rows: Sequence[Row] = table.rows[layout.first :]
    count = _Count()
    stamps = [read_stamp(time_cell(row, layout.time)) for row in rows]
    line = rows[0].line
    order = order_of([stamp for stamp in stamps if stamp], file, line, dates)
    rows, stamps = _oldest_first(rows, stamps, order)
    offset = next((o for n in layout.time if (o := head_offset(layout.head[n])) is not None), None)
    moments = instants(stamps, order, place, offset)
    samples = _samples(table, layout, rows, stamps, moments, count)
    if not samples:
        hint = "are the readings in other columns, or in tenths?"
        raise refusal(file, line, "no row holds a reading that can be used", hint)
    return _log(samples, place, zone, data, table, layout, count, log_id)


def _oldest_first(
    rows: Sequence[Row], stamps: list[Stamp | None], order: str
) -> tuple[Sequence[Row], list[Stamp | None]]:
    known = [s.instant or local_time(s, order) for s in stamps if s is not None]
    plain = [moment.replace(tzinfo=None) for moment in known if moment is not None]
    back = sum(two < one for one, two in pairwise(plain))
    forth = sum(two > one for one, two in pairwise(plain))
    if back > forth:
        return list(reversed(rows)), list(reversed(stamps))
    return rows, stamps


def _samples(
    table: Table,
    layout: Layout,
    rows: Sequence[Row],
    stamps: Sequence[Stamp | None],
    moments: Sequence[datetime | None],
    count: _Count,
) -> list[Sample]:
    found: dict[datetime, Sample] = {}
    channels: dict[tuple[str, str], Channel | None] = {}
    for row, stamp, moment in zip(rows, stamps, moments, strict=True):
        if stamp is None:
            count.no_time += 1
        elif moment is None:
            count.skipped += 1
        elif layout.long:
            values = _long_values(table, layout.long, row, channels, count)
            _add_reading(found, moment, values, count)
        elif moment in found:
            count.twice += 1
        else:
            values = _wide_values(layout, row, count)
            if values:
                found[moment] = Sample(moment, values)
            else:
                count.empty += 1
    return sorted(found.values(), key=lambda sample: sample.at)


def _add_reading(
    found: dict[datetime, Sample],
    moment: datetime,
    values: dict[str, float] | None,
    count: _Count,
) -> None:
    if values is None:
        return
    if not values:
        count.empty += 1
        return
    sample = found.setdefault(moment, Sample(moment))
    if values.keys() & sample.values.keys():
        count.twice += 1
    else:
        sample.values.update(values)


def _wide_values(layout: Layout, row: Row, count: _Count) -> dict[str, float]:
    found: dict[str, float] = {}
    for column, channel in layout.columns:
        cell = row.cells[column] if column < len(row.cells) else ""
        _keep(found, channel, cell, count)
    return found


def _long_values(
    table: Table,
    long: tuple[int, int, int | None],
    row: Row,
    channels: dict[tuple[str, str], Channel | None],
    count: _Count,
) -> dict[str, float] | None:
    """Return the reading of a row, empty for none, None for another channel."""
    found: dict[str, float] = {}
    name_at, value_at, unit_at = long
    if len(row.cells) <= max(name_at, value_at, unit_at or 0):
        return found
    name = row.cells[name_at]
    number = number_of(row.cells[value_at])
    unit = (row.cells[unit_at] if unit_at is not None else "") or (number[1] if number else "")
    if (name, unit) not in channels:
        try:
            channels[name, unit] = channel_of(name, unit)
        except ValueError:
            hint = "write °C or °F beside the value or into the name of the channel"
            text = f"the unit of the channel {name[:60]} is not stated"
            raise refusal(table.file, row.line, text, hint) from None
    channel = channels[name, unit]
    if channel is None:
        return None
    _keep(found, channel, row.cells[value_at], count)
    return found


def _keep(found: dict[str, float], channel: Channel, cell: str, count: _Count) -> None:
    number = number_of(cell)
    if number is None:
        count.unread += cell.strip().casefold() not in NO_READING
        return
    value = round((number[0] - 32) * 5 / 9, 3) if channel.fahrenheit else number[0]
    low, high = POSSIBLE[channel.role]
    if low <= value <= high:
        found[channel.role] = value
    else:
        count.impossible += 1


def _log(
    samples: list[Sample],
    place: tzinfo,
    zone: str,
    data: bytes,
    table: Table,
    layout: Layout,
    count: _Count,
    log_id: str | None,
) -> ClimateLog:
    steps = [two.at - one.at for one, two in pairwise(samples)]
    interval = median(step.total_seconds() for step in steps) / 60 if steps else None
    name = re.split(r"[/\\]", table.file)[-1]
    note = [table.how(), *count.words()]
    if layout.ignored:
        note.append(f"columns not read: {', '.join(layout.ignored)}"[:200])
    return ClimateLog(
        id=log_id or _id_from(name),
        file_name=name,
        file_sha256=hashlib.sha256(data).hexdigest(),
        zone=zone,
        interval_min=interval,
        points=thinned(samples, place),
        days=day_summaries(samples, place, interval),
        gaps=gaps_between(samples, place, interval),
        dropped_rows=count.no_time + count.skipped + count.twice + count.empty,
        note="; ".join(note),
    )


def _id_from(name: str) -> str:
    stem = re.sub(r"[^A-Za-z0-9_-]+", "-", name.rpartition(".")[0] or name).strip("-")
    return stem[:64].strip("-") or "log"
