"""Read single values as typed on a command line: path=value."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import datetime

from diagnose.errors import InputError, Problem
from diagnose.record.fields import Keyed, branch_at, field_of, field_table, near_names
from diagnose.record.labels import PART_WORDS
from diagnose.record.sheet import read_sheet
from diagnose.record.sheet_numbers import NotReadableError, listed, short
from diagnose.record.sheet_times import zone_of
from diagnose.record.sheet_values import read_value
from diagnose.record.sheet_write import write_sheet
from diagnose.yaml_text import Node

NOW = "now"
MOST_LIKE = 4


def read_values(
    job_id: str,
    pairs: Iterable[str],
    present: Mapping[str, str],
    now: datetime,
    *,
    new_parts: bool = True,
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
    new_parts : bool
        Whether a value may begin a part that the job does not hold yet; with
        False a slip in an id is a problem.

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
            near = _like(path)
            hint = f"fields of like names: {', '.join(near)}" if near else ""
            problems.append(Problem(None, f"no field of the record is called {path[:80]}", hint))
        elif not new_parts and (problem := _unknown_part(job_id, path, present)):
            problems.append(problem)
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


def replaced(
    present: Mapping[str, str], wanted: Mapping[str, str | None]
) -> tuple[tuple[str, str | None, str | None], ...]:
    """Return path, old and new value of each value that differs, in the order typed."""
    return tuple(
        (path, present.get(path), new) for path, new in wanted.items() if present.get(path) != new
    )


def _like(path: str) -> tuple[str, ...]:
    """Return patterns of fields with a like last name, those of the same kind of part first."""
    kind, last = path.split(".")[0], path.split(".")[-1].casefold()
    table = [(pattern, pattern.split(".")[-1]) for pattern in field_table()]
    same = [(p, name) for p, name in table if p.split(".")[0] == kind]
    begun = [p for p, name in same if len(last) > 2 and name.startswith(last[:3])]
    near = [
        pattern
        for some in (same, table)
        for name in near_names(last, [name for _, name in some])
        for pattern, other in some
        if other == name
    ]
    return tuple(dict.fromkeys([*near, *begun]))[:MOST_LIKE]


def _unknown_part(job_id: str, path: str, present: Mapping[str, str]) -> Problem | None:
    """Return what is wrong when the path leads through a part that is not recorded."""
    steps = path.split(".")
    for at, step in enumerate(steps[1:], start=1):
        above = ".".join(steps[:at])
        branch = branch_at(above)
        if not isinstance(branch, Keyed) or branch.key in ("", "side"):
            continue
        known = [name.split(".")[at] for name in present if name.startswith(f"{above}.")]
        known = list(dict.fromkeys(known))
        if step in known:
            continue
        word = PART_WORDS.get(steps[at - 1], "part")
        near = near_names(step, known) or known[:5]
        there = f"recorded there: {listed(near)}; " if near else ""
        hint = f"{there}add --new if {short(step)} is to be entered as a new {word}"
        return Problem(None, f"the job {job_id} holds no {word} {short(step)}", hint)
    return None
