"""A case from its complaint to its established cause, and back."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from diagnose.errors import NotFoundError, StoreError
from diagnose.store.cases import (
    add_step,
    close_case,
    list_cases,
    open_case,
    reopen_case,
    show_case,
    store_finding,
)
from diagnose.store.jobs import set_value
from diagnose.store.journal import Casebook
from diagnose.store.withdraw import withdraw

FINDING = '{"causes": [{"id": "seam-edges-not-sealed", "chance": 0.87}]}'


def opened(casebook: Casebook, at: datetime, **more: str) -> str:
    return open_case(
        casebook,
        job="larch",
        symptoms=["seam-peaking", "fraying"],
        place="seam:S2",
        words="it stands up",
        said_by="EF",
        at=at,
        **more,  # type: ignore[arg-type]
    )


def test_a_case_is_what_was_entered_of_it(casebook: Casebook, now: datetime) -> None:
    case_id = opened(casebook, now)
    add_step(casebook, case_id, {"question": "corner-lift", "answer": "dry"}, at=now)
    add_step(casebook, case_id, {"question": "edge-look", "answer": "cannot-tell"}, at=now)
    store_finding(casebook, case_id, FINDING, rule_edition="ab" * 32, at=now, said_by="EF")
    case = show_case(casebook, case_id)
    assert (case.id, case.job, case.place, case.words) == (
        case_id,
        "larch",
        "seam:S2",
        "it stands up",
    )
    assert case.symptoms == ("seam-peaking", "fraying")
    assert (case.status, case.causes) == ("open", ())
    assert [step.body["question"] for step in case.steps] == ["corner-lift", "edge-look"]
    assert case.findings[0].body["finding"] == FINDING
    assert case.findings[0].body["rule_edition"] == "ab" * 32


def test_a_case_is_closed_reopened_and_closed_again(casebook: Casebook, now: datetime) -> None:
    case_id = opened(casebook, now)
    with pytest.raises(StoreError, match="is open"):
        reopen_case(casebook, case_id, reason="x", said_by="EF", at=now)
    close_case(casebook, case_id, ["no-sealer"], how="edge cut out", said_by="EF", at=now)
    case = show_case(casebook, case_id)
    assert (case.status, case.causes, case.how) == ("closed", ("no-sealer",), "edge cut out")
    assert [line.id for line in list_cases(casebook, status="closed")] == [case_id]
    with pytest.raises(StoreError, match="closed already; reopen it first"):
        close_case(casebook, case_id, [], how="", said_by="EF", at=now)
    reopen_case(casebook, case_id, reason="came back", said_by="EF", at=now)
    case = show_case(casebook, case_id)
    assert (case.status, case.causes) == ("open", ())
    assert list_cases(casebook, status="closed") == ()
    close_case(casebook, case_id, ["late-laying"], how="second lift", said_by="EF", at=now)
    case = show_case(casebook, case_id)
    assert case.causes == ("late-laying",)
    assert [turn.kind for turn in case.turns] == ["case-closed", "case-reopened", "case-closed"]


def test_a_withdrawn_closing_no_longer_counts_but_stays(casebook: Casebook, now: datetime) -> None:
    case_id = opened(casebook, now)
    closing = close_case(casebook, case_id, ["x"], how="", said_by="EF", at=now)
    withdraw(casebook, closing.device, closing.seq, said_by="EF", at=now, reason="wrong case")
    case = show_case(casebook, case_id)
    assert (case.status, case.withdrawn) == ("open", (closing,))
    assert [line.status for line in list_cases(casebook)] == ["open"]


def test_cases_are_listed_by_what_is_asked(casebook: Casebook, now: datetime) -> None:
    first = opened(casebook, now, case_id="case-larch")
    second = open_case(
        casebook,
        symptoms=["shading"],
        floor={"method": "stretch-in", "pile": "cut"},
        said_by="EF",
        at=now + timedelta(days=1),
    )
    assert [line.id for line in list_cases(casebook)] == [first, second]
    assert [line.id for line in list_cases(casebook, job="larch")] == [first]
    assert [line.id for line in list_cases(casebook, symptom="shading")] == [second]
    assert list_cases(casebook, symptom="shading", job="larch") == ()
    case = show_case(casebook, second)
    assert (case.job, dict(case.floor)) == (None, {"method": "stretch-in", "pile": "cut"})
    with pytest.raises(StoreError, match="case case-larch already"):
        opened(casebook, now, case_id="case-larch")
    with pytest.raises(NotFoundError) as caught:
        show_case(casebook, "case-lerch")
    assert caught.value.near[0] == "case-larch"


def test_ids_of_cases_differ(casebook: Casebook, now: datetime) -> None:
    ids = {opened(casebook, now) for _ in range(30)}
    assert len(ids) == 30


def test_steps_of_an_unknown_kind_are_kept(casebook: Casebook, now: datetime) -> None:
    case_id = opened(casebook, now)
    entry = casebook.append("case-photo", {"case": case_id, "sha256": "ab" * 32}, at=now)
    assert show_case(casebook, case_id).others == (entry,)


def test_values_and_cases_of_a_job_keep_apart(casebook: Casebook, now: datetime) -> None:
    set_value(casebook, "larch", "title", "L", said_by="AB", at=now)
    opened(casebook, now)
    assert len(casebook.entries(job="larch")) == 2
