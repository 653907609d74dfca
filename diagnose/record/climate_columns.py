"""Find what each column of a logger's table holds, and read its numbers.

Names decide, in the languages that are usual on site labels; a unit has to be
stated in the name, in the row below, or beside the number.  Without it nothing
is read: 20 may be degrees Celsius or Fahrenheit.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal, TypeAlias

from diagnose.errors import InputError
from diagnose.record.climate_text import Row, Table, refusal
from diagnose.record.climate_times import is_clock, is_day, is_sheet_day, is_time, is_unix

Role: TypeAlias = Literal["air", "humidity", "floor"]

_SAMPLE_ROWS = 500
_NOT_CLIMATE = re.compile(
    r"dew|taupunkt|batter|signal|wet.bulb|absolut|(?<![a-z])(?:max|min|mean|avg|average)(?![a-z])"
)
_FLOOR = ("floor", "surface", "boden", "slab", "screed")
_TEMPERATURE = ("temp", "°c", "°f", "celsius", "fahrenheit")
_HUMIDITY = ("humid", "feucht", "%rh", "% rh", "rh%", "rh %", "r.h.", "%rf")
_HUMIDITY_WORD = re.compile(r"(?<![a-z])r\.?[hf]\.?(?![a-z])")
_TIME = ("time", "date", "datum", "zeit", "unix", "epoch", "stamp")
_CELSIUS = re.compile(r"°\s*c|º\s*c|(?<![a-z])(?:deg ?)?c(?![a-z])|celsius")
_FAHRENHEIT = re.compile(r"°\s*f|º\s*f|(?<![a-z])(?:deg ?)?f(?![a-z])|fahrenheit")
_STATED = {"°c": ("°c", "ºc", "celsius"), "°f": ("°f", "ºf", "fahrenheit")}
_UNIT_CELL = re.compile(r"[°º]?\s*[cf]|%?\s*r\.?h\.?\s*%?|%|[\[(].{1,6}[\])]|", re.IGNORECASE)
_NUMBER = re.compile(
    r"([+-]?[0-9]+(?:[.,][0-9]+)?)\s*([°º]?\s*[CcFf]|%(?:\s*[Rr][Hh])?)?", re.ASCII
)


@dataclass(frozen=True, slots=True)
class Channel:
    """One series of readings: what it is, and whether it is in Fahrenheit."""

    role: Role
    fahrenheit: bool = False


@dataclass(frozen=True, slots=True)
class Layout:
    """Where a table keeps its times and readings."""

    time: tuple[int, ...]
    """One column, or the day's and the clock's."""
    head: tuple[str, ...]
    """Name of each column, with the unit row below it if there is one."""
    first: int
    """Number of the first row of data in the table."""
    columns: tuple[tuple[int, Channel], ...] = ()
    """Columns of readings, in a table with one row a time."""
    long: tuple[int, int, int | None] | None = None
    """Columns of channel, value and unit, in a table with one row a reading."""
    ignored: tuple[str, ...] = ()
    """Names of second columns of one kind, which are not read."""


def time_cell(row: Row, time: tuple[int, ...]) -> str:
    """Return the time of a row as one text, empty when the row is too short."""
    if len(row.cells) <= max(time):
        return ""
    return " ".join(row.cells[column] for column in time)


def layout_of(table: Table) -> Layout:
    """Return where the table keeps its times and readings.

    Raises
    ------
    InputError
        When no column holds times, or names or units are missing.
    """
    rows = [row for row in table.rows if len(row.cells) == table.width]
    time = _time_columns(table, rows)
    fits = _time_test(rows, time)
    first = next(
        n for n, row in enumerate(table.rows) if fits(row) and len(row.cells) == table.width
    )
    head = _head(table, first)
    layout = Layout(time, head, first)
    if not any(head):
        raise _no_names(table, first)
    long = _long(layout, table.width)
    if long:
        return Layout(time, head, first, long=long)
    return _wide(table, layout)


def channel_of(name: str, unit: str = "") -> Channel | None:
    """Return what a column or channel of that name holds, None for other things.

    Raises
    ------
    ValueError
        For a temperature whose unit stands nowhere.

    Examples
    --------
    >>> channel_of("Temp (°F)"), channel_of("rh_percent"), channel_of("Dew point (°C)")
    (Channel(role='air', fahrenheit=True), Channel(role='humidity', fahrenheit=False), None)
    """
    text = name.casefold().replace("_", " ")
    beside = unit.casefold()
    if _NOT_CLIMATE.search(text):
        return None
    if any(word in text for word in _HUMIDITY) or _HUMIDITY_WORD.search(text):
        return Channel("humidity")
    if not any(word in text for word in _TEMPERATURE) and not _is_degree(text):
        return None
    role: Role = "floor" if any(word in text for word in _FLOOR) else "air"
    both = f"{text} {beside}"
    celsius, fahrenheit = bool(_CELSIUS.search(both)), bool(_FAHRENHEIT.search(both))
    if celsius == fahrenheit:
        raise ValueError(name)
    return Channel(role, fahrenheit)


def number_of(text: str) -> tuple[float, str] | None:
    """Return the number of a cell and the unit beside it, None for none.

    Examples
    --------
    >>> number_of("21,5"), number_of("70.2 °F"), number_of("---")
    ((21.5, ''), (70.2, '°F'), None)
    """
    match = _NUMBER.fullmatch(text)
    if match is None or len(text) > 40:
        return None
    return float(match[1].replace(",", ".")), (match[2] or "").strip()


def _is_degree(text: str) -> bool:
    return text.strip() in ("c", "f", "°c", "°f")


def _time_columns(table: Table, rows: Sequence[Row]) -> tuple[int, ...]:
    sample = rows[:_SAMPLE_ROWS]
    least = max(1, len(sample) // 4)

    def best(test: Callable[[str], bool]) -> int | None:
        counts = [sum(test(row.cells[column]) for row in sample) for column in range(table.width)]
        most = max(counts, default=0)
        return counts.index(most) if most >= least else None

    full = best(is_time)
    if full is not None:
        return (full,)
    day, clock = best(is_day), best(is_clock)
    if day is not None and clock is not None:
        return (day, clock)
    for test in (is_unix, is_sheet_day):
        column = best(test)
        if column is not None and _named_time(table, column):
            return (column,)
    hint = "times such as 2026-03-02 09:00, 02.03.2026 09:00 or 3/2/2026 9:00 AM are read"
    raise refusal(table.file, table.rows[0].line, "no column holds day and time", hint)


def _named_time(table: Table, column: int) -> bool:
    heads = (row.cells[column].casefold() for row in table.rows[:60] if len(row.cells) > column)
    return any(word in head for head in heads for word in _TIME)


def _time_test(rows: Sequence[Row], time: tuple[int, ...]) -> Callable[[Row], bool]:
    if len(time) == 2:
        return lambda row: len(row.cells) > max(time) and is_day(row.cells[time[0]])
    column = time[0]
    kinds = [
        t for t in (is_time, is_unix, is_sheet_day) if any(t(row.cells[column]) for row in rows)
    ]
    return lambda row: len(row.cells) > column and kinds[0](row.cells[column])


def _head(table: Table, first: int) -> tuple[str, ...]:
    """Join the row of names with a row of units below it."""
    above = [row.cells for row in table.rows[max(0, first - 2) : first]]
    above = [cells for cells in above if len(cells) == table.width]
    if not above:
        return ("",) * table.width
    if len(above) == 2 and all(_UNIT_CELL.fullmatch(cell) for cell in above[1]):
        return tuple(f"{name} {unit}".strip() for name, unit in zip(*above, strict=True))
    return above[-1]


def _no_names(table: Table, first: int) -> InputError:
    line = table.rows[first].line
    above = {len(row.cells) for row in table.rows[:first]}
    if table.separator == "," and any(1 < n < table.width <= 2 * n for n in above):
        text = "the rows have more cells than the names; the comma seems to be the decimal sign too"
        return refusal(table.file, line, text, "export the file with ; between the columns")
    hint = "add a first row with the names, such as time, temperature °C, humidity %"
    return refusal(table.file, line, "the columns have no names", hint)


def _long(layout: Layout, width: int) -> tuple[int, int, int | None] | None:
    names = [name.casefold() for name in layout.head]

    def find(*words: str) -> int | None:
        return next((n for n in range(width) if names[n] in words and n not in layout.time), None)

    channel = find("channel", "sensor", "parameter", "quantity", "measurement", "kanal")
    value = find("value", "reading", "wert")
    if channel is None or value is None:
        return None
    return channel, value, find("unit", "units", "einheit")


def _wide(table: Table, layout: Layout) -> Layout:
    columns: list[tuple[int, Channel]] = []
    ignored: list[str] = []
    line = table.rows[layout.first].line
    told = _unit_above(table.rows[: layout.first])
    for column, name in enumerate(layout.head):
        if column in layout.time:
            continue
        unit = _unit_in_cells(table.rows[layout.first :], column) or told
        try:
            channel = channel_of(name, unit)
        except ValueError:
            hint = "write °C or °F into its name in the file"
            raise refusal(
                table.file, line, f"the unit of the column {name[:60]} is not stated", hint
            ) from None
        if channel is None:
            continue
        if any(channel.role == taken.role for _, taken in columns):
            ignored.append(name)
        else:
            columns.append((column, channel))
    if not columns:
        named = ", ".join(name for name in layout.head if name)[:200]
        hint = "name the columns, such as time, temperature °C, humidity %"
        raise refusal(
            table.file, line, f"no temperature or humidity among the columns {named}", hint
        )
    return Layout(layout.time, layout.head, layout.first, tuple(columns), ignored=tuple(ignored))


def _unit_above(rows: Sequence[Row]) -> str:
    """Return the one unit of temperature that the lines above the table state."""
    text = " ".join(cell for row in rows for cell in row.cells).casefold()
    found = [unit for unit, words in _STATED.items() if any(word in text for word in words)]
    return found[0] if len(found) == 1 else ""


def _unit_in_cells(rows: Sequence[Row], column: int) -> str:
    for row in rows[:_SAMPLE_ROWS]:
        found = number_of(row.cells[column]) if len(row.cells) > column else None
        if found and found[1]:
            return found[1]
    return ""
