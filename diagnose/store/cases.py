"""Cases of a casebook: open, walk, find, close, reopen, list and show."""

from __future__ import annotations

import difflib
import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from diagnose.errors import NotFoundError, StoreError
from diagnose.store import sql
from diagnose.store.casefold import CLOSED, OPEN, Case, fold_case
from diagnose.store.entry import (
    CASE_CLOSED,
    CASE_REOPENED,
    COMPLAINT,
    FINDING,
    WALK_STEP,
    Entry,
    utc_text,
)
from diagnose.store.journal import Casebook

LIST_HINT = "; `diagnose case list` lists those there are"


@dataclass(frozen=True, slots=True)
class CaseLine:
    """One case in a list."""

    id: str
    job: str | None
    status: str
    symptoms: tuple[str, ...]
    place: str | None
    opened_at: str


def open_case(
    casebook: Casebook,
    *,
    symptoms: Iterable[str],
    at: datetime,
    said_by: str,
    job: str | None = None,
    place: str | None = None,
    words: str = "",
    floor: Mapping[str, str] | None = None,
    happened: datetime | None = None,
    case_id: str | None = None,
) -> str:
    """Open a case with its complaint and return its id.

    `job` is None for a floor without a record; `floor` then tells its facets.

    Raises
    ------
    StoreError
        When the id is taken.
    """
    body: dict[str, Any] = {"symptoms": list(symptoms), "said_by": said_by, "words": words}
    if job:
        body["job"] = job
    if place:
        body["at"] = place
    if floor:
        body["floor"] = dict(floor)
    if happened:
        body["happened_at"] = utc_text(happened)
    taken = casebook.engine.rows
    if case_id is None:
        case_id = _new_id(casebook, job, at)
    elif taken(_one(), {"case": case_id}):
        raise StoreError(f"there is a case {case_id} already")
    casebook.append(COMPLAINT, {"case": case_id, **body}, at=at)
    return case_id


def add_step(casebook: Casebook, case_id: str, step: Mapping[str, Any], *, at: datetime) -> Entry:
    """Record one step of the walk: a question and its answer, an act, a going back."""
    case = show_case(casebook, case_id)
    return casebook.append(WALK_STEP, {**step, **_of(case)}, at=at)


def store_finding(
    casebook: Casebook,
    case_id: str,
    finding: str,
    *,
    rule_edition: str,
    at: datetime,
    said_by: str = "",
) -> Entry:
    """Store a finding as the JSON text it was written in; later rules never change it."""
    case = show_case(casebook, case_id)
    body = {"finding": finding, "rule_edition": rule_edition, "said_by": said_by, **_of(case)}
    return casebook.append(FINDING, body, at=at)


def close_case(
    casebook: Casebook,
    case_id: str,
    causes: Iterable[str],
    *,
    how: str,
    said_by: str,
    at: datetime,
) -> Entry:
    """Close a case with the causes that were established; none when it stays unsettled.

    Raises
    ------
    StoreError
        When the case is closed already.
    """
    case = show_case(casebook, case_id)
    if case.status == CLOSED:
        raise StoreError(f"the case {case.id} is closed already; reopen it first")
    body = {"causes": list(causes), "how": how, "said_by": said_by, **_of(case)}
    return casebook.append(CASE_CLOSED, body, at=at)


def reopen_case(
    casebook: Casebook, case_id: str, *, reason: str, said_by: str, at: datetime
) -> Entry:
    """Reopen a closed case; the closing stays readable.

    Raises
    ------
    StoreError
        When the case is open.
    """
    case = show_case(casebook, case_id)
    if case.status == OPEN:
        raise StoreError(f"the case {case.id} is open")
    return casebook.append(
        CASE_REOPENED, {"reason": reason, "said_by": said_by, **_of(case)}, at=at
    )


def list_cases(
    casebook: Casebook,
    *,
    status: str | None = None,
    job: str | None = None,
    symptom: str | None = None,
) -> tuple[CaseLine, ...]:
    """Return cases in the order they were opened, filtered by what is given."""
    wanted = {"status": status, "job": job}
    given = {name: value for name, value in wanted.items() if value is not None}
    where = " and ".join(sql.CASE_FILTERS[name] for name in given)
    query = sql.SELECT_CASE_HEADS + (f" where {where}" if where else "") + sql.ORDER_CASE_HEADS
    lines = tuple(
        CaseLine(row[0], row[1], row[2], tuple(str(row[3]).split()), row[4], row[5])
        for row in casebook.engine.rows(query, given)
    )
    return tuple(line for line in lines if symptom is None or symptom in line.symptoms)


def show_case(casebook: Casebook, case_id: str) -> Case:
    """Return one case with everything that was entered about it.

    Raises
    ------
    NotFoundError
        When there is none of that id; it lists cases of like names.
    """
    case = fold_case(case_id, casebook.entries(case=case_id))
    if case is None:
        known = [line.id for line in list_cases(casebook)]
        near = difflib.get_close_matches(case_id, known, n=3)
        raise NotFoundError(f"the casebook has no case {case_id}{'' if near else LIST_HINT}", near)
    return case


def _of(case: Case) -> dict[str, str]:
    return {"case": case.id, "job": case.job} if case.job else {"case": case.id}


def _one() -> str:
    return f"{sql.SELECT_CASE_HEADS} where {sql.CASE_FILTERS['case']}"


def _new_id(casebook: Casebook, job: str | None, at: datetime) -> str:
    """Return a short id that two devices will hardly ever both choose."""
    head = casebook.own_head()
    seed = f"{head}|{casebook.count()}|{job}|{utc_text(at)}"
    for attempt in range(1_000):
        digest = hashlib.sha256(f"{seed}|{attempt}".encode()).hexdigest()
        case_id = f"case-{digest[:8]}"
        if not casebook.engine.rows(_one(), {"case": case_id}):
            return case_id
    raise StoreError("no free case id was found")
