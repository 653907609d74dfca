"""Read a job's sheet: YAML that a person writes, into values by path.

Every value becomes text in one canonical form, so that two sheets can be
compared and the journal can keep what changed.  All problems of a sheet are
reported at once.  Order of times and limits of good work are not judged here.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.errors import InputError, Position
from diagnose.record.sheet_problems import Problems
from diagnose.record.sheet_read import Reader
from diagnose.record.sheet_refs import check_references
from diagnose.yaml_text import read_yaml


@dataclass(frozen=True, slots=True)
class SheetValue:
    """One value of a sheet in canonical text, and the line that it stands on."""

    text: str
    at: Position


@dataclass(frozen=True, slots=True)
class Query:
    """A value that is possible but unusual, to be asked about."""

    path: str
    text: str
    at: Position


@dataclass(frozen=True, slots=True)
class Sheet:
    """What one sheet says of one job."""

    job_id: str
    values: Mapping[str, SheetValue]
    """By path, such as `spreads.SP1.laid_at`, in the order of the sheet."""
    queries: tuple[Query, ...] = ()
    """Values that can be true but seldom are."""
    file: str = ""

    def texts(self) -> dict[str, str]:
        """Return the canonical texts by path, as `fold` takes them."""
        return {path: value.text for path, value in self.values.items()}


def read_sheet(data: bytes, file: str, *, zone: str | None = None) -> Sheet:
    """Return what the sheet says; `file` is its name for messages.

    Parameters
    ----------
    data : bytes
        The sheet, YAML in UTF-8.
    zone : str, optional
        Time zone of the site where the sheet names none.

    Raises
    ------
    InputError
        With every problem found, in the order of the sheet.
    """
    root = read_yaml(data, file)
    problems = Problems()
    reader = Reader(problems, zone)
    job_id = reader.read(root)
    check_references(reader, problems)
    if problems.found:
        raise InputError(problems.in_order())
    values = {path: SheetValue(text, at) for path, (text, at) in reader.values.items()}
    queries = tuple(Query(path, text, reader.values[path][1]) for path, text in reader.queries)
    return Sheet(job_id, values, queries, file)
