"""Where a batch of carpet or a lot of adhesive went: jobs, drops, seams, spreads, cases."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.errors import NotFoundError
from diagnose.store import sql
from diagnose.store.cases import CaseLine, list_cases
from diagnose.store.fold import fold_values
from diagnose.store.journal import Casebook
from diagnose.store.project import mark_of

MOST_NEAR = 5


@dataclass(frozen=True, slots=True)
class Use:
    """One job that used the batch or lot, and where in it."""

    job: str
    title: str | None
    parts: tuple[str, ...]
    """Rolls or lots of the job that carry the mark, such as `rolls.R1`."""
    drops: tuple[str, ...] = ()
    spreads: tuple[str, ...] = ()
    seams: tuple[str, ...] = ()
    cases: tuple[CaseLine, ...] = ()


@dataclass(frozen=True, slots=True)
class Trace:
    """Everything that used one batch or lot."""

    mark: str
    uses: tuple[Use, ...]


def trace(casebook: Casebook, batch_or_lot: str) -> Trace:
    """Return every job that used a batch or lot; case and spaces do not matter.

    Raises
    ------
    NotFoundError
        When no job used it; it lists batches and lots that begin alike.
    """
    mark = mark_of(batch_or_lot)
    found = casebook.engine.rows(sql.JOBS_OF_MARK, {"mark": mark})
    if not found:
        near = _near(casebook, mark)
        more = "" if near else f"; `diagnose casebook search {batch_or_lot}` looks everywhere"
        raise NotFoundError(f"no job used the batch or lot {batch_or_lot}{more}", near)
    parts: dict[str, list[str]] = {}
    for job, path in found:
        parts.setdefault(str(job), []).append(str(path).removesuffix(".batch"))
    return Trace(mark, tuple(_use(casebook, job, tuple(names)) for job, names in parts.items()))


def _near(casebook: Casebook, mark: str) -> list[str]:
    for length in range(len(mark), 0, -1):
        low = mark[:length]
        bounds = {"low": low, "high": low + "\U0010ffff", "limit": MOST_NEAR}
        rows = casebook.engine.rows(sql.LIKE_MARKS, bounds)
        if rows:
            return [str(row[0]) for row in rows]
    return []


def _use(casebook: Casebook, job: str, parts: tuple[str, ...]) -> Use:
    values = fold_values(casebook.entries(job=job)).values
    rolls = {part.removeprefix("rolls.") for part in parts if part.startswith("rolls.")}
    lots = {part.removeprefix("lots.") for part in parts if part.startswith("lots.")}
    drops = _with(values, "drops", "roll", rolls)
    spreads = _with(values, "spreads", "lot", lots) | _with(values, "spreads", "drops", drops)
    seams = (
        _with(values, "seams", "drops", drops)
        | _with(values, "seams", "sealer_lot", lots)
        | _with(values, "seams", "tape_lot", lots)
    )
    return Use(
        job=job,
        title=values.get("title"),
        parts=parts,
        drops=tuple(sorted(drops)),
        spreads=tuple(sorted(spreads)),
        seams=tuple(sorted(seams)),
        cases=list_cases(casebook, job=job),
    )


def _with(values: Mapping[str, str], kind: str, name: str, wanted: set[str]) -> set[str]:
    """Return parts of a kind whose value `name` is, or lists, one of the wanted ids."""
    found: set[str] = set()
    for path, value in values.items():
        steps = path.split(".")
        if len(steps) == 3 and (steps[0], steps[2]) == (kind, name) and wanted & _ids(value):
            found.add(steps[1])
    return found


def _ids(text: str) -> set[str]:
    """Read one id, or a list of ids as the record writes it."""
    if not text.startswith("["):
        return {text}
    try:
        raw = json.loads(text)
    except (ValueError, RecursionError):
        return set()
    return {item for item in raw if isinstance(item, str)} if isinstance(raw, list) else set()
