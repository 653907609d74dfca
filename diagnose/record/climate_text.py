"""Split the file of a climate logger into rows of cells.

The encoding is told by a mark at the start, else UTF-8, else Windows-1252;
the separator is the one that gives the most rows of one width.
"""

from __future__ import annotations

import codecs
import csv
import io
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from diagnose.errors import InputError, Position, Problem

MOST_BYTES = 100_000_000
MOST_ROWS = 5_000_000
MOST_COLUMNS = 64
_SAMPLE_LINES = 400

BLANKS = "blanks"
"""Columns that stand apart by two blanks or more."""
_SEPARATORS = (";", "\t", ",", BLANKS)
_NAMES = {";": "semicolon", "\t": "tab", ",": "comma", BLANKS: "blanks"}


@dataclass(frozen=True, slots=True)
class Row:
    """The trimmed cells of one line."""

    line: int
    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """All rows of a file that hold anything, and how they were read."""

    file: str
    rows: tuple[Row, ...]
    width: int
    """Number of cells that most rows have."""
    separator: str
    encoding: str

    def how(self) -> str:
        """Return in words how the file was read."""
        return f"read as {self.encoding}, columns apart by {_NAMES[self.separator]}"


def refusal(file: str, line: int, text: str, hint: str = "") -> InputError:
    """Return the error for a file that cannot be read."""
    return InputError([Problem(Position(file, line), text, hint)])


def read_table(data: bytes, file: str) -> Table:
    """Return the rows of the file `data`; `file` is its name for messages.

    Raises
    ------
    InputError
        When it is too large, no text, or no table.
    """
    if len(data) > MOST_BYTES:
        raise refusal(file, 0, f"holds {len(data)} bytes; at most {MOST_BYTES} are read")
    text, encoding = _decoded(data, file)
    lines = text.splitlines()
    first = lines[0].strip().casefold() if lines else ""
    told = re.fullmatch(r'"?sep=(.)"?', first)
    start = 1 if told else 0
    separator = told[1] if told and told[1] in _SEPARATORS else _best(lines[start:])
    rows = tuple(_rows(lines[start:], separator, file, start))
    widths = Counter(len(row.cells) for row in rows if len(row.cells) > 1)
    if not widths:
        hint = "a table of times and readings is needed: one row a reading, columns apart by , or ;"
        raise refusal(file, 0, "holds no table", hint)
    width = widths.most_common(1)[0][0]
    if width > MOST_COLUMNS:
        raise refusal(file, 0, f"has {width} columns; at most {MOST_COLUMNS} are read")
    return Table(file, rows, width, separator, encoding)


def _decoded(data: bytes, file: str) -> tuple[str, str]:
    text, encoding = _text(data)
    if "\x00" in text:
        line = text.count("\n", 0, text.index("\x00")) + 1
        raise refusal(file, line, "holds a NUL character; this is no text file")
    return text, encoding


def _text(data: bytes) -> tuple[str, str]:
    if data.startswith(codecs.BOM_UTF8):
        return data.decode("utf-8-sig", "replace"), "UTF-8"
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return data.decode("utf-16", "replace"), "UTF-16"
    for start, name in ((1, "utf-16-le"), (0, "utf-16-be")):
        # ASCII text in UTF-16 has a NUL at every other byte
        if len(data) >= 4 and data[:200][start::2].count(0) > 0.9 * len(data[:200]) // 2:
            return data.decode(name, "replace"), "UTF-16"
    try:
        return data.decode("utf-8"), "UTF-8"
    except UnicodeDecodeError:
        pass
    try:
        return data.decode("cp1252"), "Windows-1252"
    except UnicodeDecodeError:
        return data.decode("latin-1"), "Latin-1"


def _best(lines: list[str]) -> str:
    sample = [line for line in lines[:_SAMPLE_LINES] if line.strip()]

    def score(separator: str) -> tuple[int, int]:
        widths = Counter(len(cells) for _, cells in _cells(sample, separator, lenient=True))
        del widths[1]
        best = max(widths.items(), key=lambda item: (item[1], item[0]), default=(0, 0))
        return best[1], best[0]

    return max(_SEPARATORS, key=score)


def _rows(lines: list[str], separator: str, file: str, skipped: int) -> Iterator[Row]:
    try:
        for count, (number, cells) in enumerate(_cells(lines, separator)):
            if count >= MOST_ROWS:
                raise refusal(file, number + skipped, f"has more than {MOST_ROWS} rows")
            trimmed = tuple(cell.strip() for cell in cells)
            if any(trimmed):
                yield Row(number + skipped, trimmed)
    except csv.Error as error:
        raise refusal(file, 0, f"cannot be read as a table: {error}") from None


def _cells(
    lines: list[str], separator: str, lenient: bool = False
) -> Iterator[tuple[int, list[str]]]:
    if separator == BLANKS:
        for number, line in enumerate(lines, 1):
            yield number, re.split(r"\s{2,}", line.strip())
        return
    reader = csv.reader(io.StringIO("\n".join(lines)), delimiter=separator, strict=not lenient)
    try:
        for cells in reader:
            yield reader.line_num, cells
    except csv.Error:
        if not lenient:
            raise
