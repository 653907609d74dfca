"""Read single values as typed on a command line: path=value."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import datetime

from diagnose.errors import InputError, Problem
from diagnose.record.fields import field_of, field_table, near_names
from diagnose.record.sheet import read_sheet
from diagnose.record.sheet_numbers import NotReadableError
from diagnose.record.sheet_times import zone_of
from diagnose.record.sheet_values import read_value
from diagnose.record.sheet_write import write_sheet
from diagnose.yaml_text import Node

NOW = "now"


def read_values(
    job_id: str, pairs: Iterable[str], present: Mapping[str, str], now: datetime
) -> dict[str, str | None]:
    """Return canonical texts by path; an empty value takes the recorded one out.

    Parameters
    ----------
    job_id : str
    pairs : texts such as `seams.S2.closed_at=now`
    present : mapping
        Values of the job by path; they decide the time zone and which parts
        a value may name.
    now : datetime
        What `now` stands for, with offset.

    Raises
    ------
    InputError
        With every problem found.
    """
    problems: list[Problem] = []
    wanted: dict[str, str | None] = {}
    zone = zone_of(present["zone"]) if "zone" in present else None
    for pair in pairs:
        path, sign, text = pair.partition("=")
        path = path.strip()
        rule = field_of(path)
        if not sign:
            problems.append(Problem(None, f"{pair[:80]} has no equals sign", "write path=value"))
        elif rule is None:
            last = [pattern.split(".")[-1] for pattern in field_table()]
            near = near_names(path.split(".")[-1], last)
            hint = f"fields of like names: {', '.join(near)}" if near else ""
            problems.append(Problem(None, f"no field of the record is called {path[:80]}", hint))
        elif not text.strip():
            wanted[path] = None
        else:
            given = now.isoformat(timespec="minutes") if text.strip() == NOW else text.strip()
            try:
                wanted[path] = read_value(rule, Node("text", 0, "", given), zone).text
            except NotReadableError as error:
                problems.append(Problem(None, f"{path}: {error.text}", error.hint))
    if problems:
        raise InputError(problems)
    merged = {**present, **{path: text for path, text in wanted.items() if text is not None}}
    for path in [path for path, value in wanted.items() if value is None]:
        merged.pop(path, None)
    try:
        read_sheet(write_sheet(job_id, merged).encode(), "the record")
    except InputError as error:
        raise InputError(replace(problem, at=None) for problem in error.problems) from None
    return wanted
