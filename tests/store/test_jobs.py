"""What a job says now, what it said before, and how far each value is trusted."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime, timedelta

import pytest

from diagnose.errors import NotFoundError, StoreError
from diagnose.model import Provenance
from diagnose.store.cases import open_case
from diagnose.store.entry import WITHDRAWAL, Entry
from diagnose.store.fold import Folded, fold_values
from diagnose.store.jobs import (
    correct,
    history_of,
    import_changes,
    jobs,
    set_value,
    values_of,
)
from diagnose.store.journal import Casebook
from diagnose.store.withdraw import withdraw

SHEET = {
    "title": "Larch House",
    "zone": "Europe/London",
    "method": "adhered",
    "product.name": "loop pile, sample A",
    "dates.started_at": "2026-03-02T08:00:00+00:00",
    "dates.finished_at": "2026-03-03T15:40:00+00:00",
    "spreads.SP1.laid_at": "2026-03-02T09:40:00+00:00",
    "spreads.SP1.notch": "A2",
    "seams.S2.edges_sealed": "0",
}


def take_in(casebook: Casebook, at: datetime) -> None:
    import_changes(
        casebook,
        "larch",
        SHEET,
        said_by="AB",
        at=at,
        file_name="job.yaml",
        file_sha256="ab" * 32,
    )


def test_values_come_back_with_the_entry_that_set_them(casebook: Casebook, now: datetime) -> None:
    take_in(casebook, now)
    entry = set_value(casebook, "larch", "seams.S2.edges_sealed", "2", said_by="CD", at=now)
    values, origins = values_of(casebook, "larch")
    assert values == {**SHEET, "seams.S2.edges_sealed": "2"}
    assert set(origins) == set(values)
    origin = origins["seams.S2.edges_sealed"]
    assert (origin.device, origin.seq, origin.hash) == (entry.device, 2, entry.hash)
    assert (origin.said_by, origin.entered_at) == ("CD", now)
    assert origins["title"].said_by == "AB"


def test_a_sheet_read_twice_adds_only_the_differences(casebook: Casebook, now: datetime) -> None:
    take_in(casebook, now)
    again = {**SHEET, "spreads.SP1.notch": "B1", "seams.S2.edges_sealed": None}
    entry = import_changes(casebook, "larch", again, said_by="AB", at=now)
    assert entry is not None
    assert entry.body["values"] == {"spreads.SP1.notch": "B1", "seams.S2.edges_sealed": None}
    assert import_changes(casebook, "larch", again, said_by="AB", at=now) is None
    values, origins = values_of(casebook, "larch")
    assert "seams.S2.edges_sealed" not in values
    assert "seams.S2.edges_sealed" not in origins
    first = casebook.entries(job="larch")[0]
    assert first.body["file"] == {"name": "job.yaml", "sha256": "ab" * 32}


def test_a_correction_keeps_the_old_value_readable(casebook: Casebook, now: datetime) -> None:
    old = set_value(casebook, "larch", "spreads.SP1.notch", "A2", said_by="AB", at=now)
    new = correct(
        casebook, "larch", "spreads.SP1.notch", "B1", said_by="AB", at=now, reason="misread"
    )
    assert new.body["corrects"] == [old.device, 1, old.hash]
    steps = history_of(casebook, "larch", "spreads.SP1.notch")
    assert [(step.value, step.entry.seq, step.struck) for step in steps] == [
        ("A2", 1, False),
        ("B1", 2, False),
    ]
    with pytest.raises(StoreError, match="needs its reason"):
        correct(casebook, "larch", "spreads.SP1.notch", "C1", said_by="AB", at=now, reason=" ")
    with pytest.raises(NotFoundError) as caught:
        correct(casebook, "larch", "spreads.SP1.notc", "C1", said_by="AB", at=now, reason="x")
    assert caught.value.near == ("spreads.SP1.notch",)


def test_a_withdrawal_brings_the_value_before_back(casebook: Casebook, now: datetime) -> None:
    take_in(casebook, now)
    wrong = set_value(casebook, "larch", "title", "Birch House", said_by="AB", at=now)
    withdraw(casebook, wrong.device, wrong.seq, said_by="AB", at=now, reason="other job")
    assert values_of(casebook, "larch")[0]["title"] == "Larch House"
    assert [line.title for line in jobs(casebook)] == ["Larch House"]
    assert [step.struck for step in history_of(casebook, "larch", "title")] == [False, True]
    withdraw(casebook, wrong.device, 1, said_by="AB", at=now, reason="slip", path="method")
    values, _ = values_of(casebook, "larch")
    assert "method" not in values
    assert values["title"] == "Larch House"
    withdraw(casebook, wrong.device, 1, said_by="AB", at=now, reason="wrong sheet")
    with pytest.raises(StoreError, match="needs its reason"):
        withdraw(casebook, wrong.device, 1, said_by="AB", at=now, reason="")
    with pytest.raises(NotFoundError, match="no entry 99"):
        withdraw(casebook, wrong.device, 99, said_by="AB", at=now, reason="x")
    assert values_of(casebook, "larch")[0] == {}


def test_a_withdrawal_that_names_another_hash_strikes_nothing(
    casebook: Casebook, now: datetime
) -> None:
    entry = set_value(casebook, "larch", "title", "L", said_by="AB", at=now)
    body = {"job": "larch", "withdraws": [entry.device, entry.seq, "00" * 32]}
    casebook.append(WITHDRAWAL, body, at=now)
    assert values_of(casebook, "larch")[0] == {"title": "L"}


def test_a_body_of_another_shape_is_kept_and_sets_nothing(
    casebook: Casebook, now: datetime
) -> None:
    set_value(casebook, "larch", "title", "L", said_by="AB", at=now)
    for kind, body in (
        ("job-value", {"path": ["x"], "value": "1"}),
        ("job-value", {"path": "x", "value": 1}),
        ("job-values", {"values": ["x"]}),
        ("job-values", {"values": {"a\nb": "1", "": "2"}}),
        ("withdrawal", {"withdraws": {"a": "b"}}),
        ("thing-of-the-future", {"values": {"title": "M"}}),
    ):
        casebook.append(kind, {"job": "larch", **body}, at=now)
    assert values_of(casebook, "larch")[0] == {"title": "L"}
    assert len(casebook.entries(job="larch")) == 7


def test_jobs_are_listed(casebook: Casebook, now: datetime) -> None:
    take_in(casebook, now)
    set_value(casebook, "birch", "title", "Birch", said_by="AB", at=now)
    birch, larch = jobs(casebook)
    assert (birch.id, birch.title, birch.product) == ("birch", "Birch", None)
    assert (larch.method, larch.finished_at) == ("adhered", SHEET["dates.finished_at"])
    with pytest.raises(NotFoundError) as caught:
        values_of(casebook, "lerch")
    assert caught.value.near == ("larch", "birch")
    with pytest.raises(StoreError, match="1 to 200"):
        set_value(casebook, "", "title", "x", said_by="AB", at=now)


NEXT_DAY = datetime(2026, 3, 3, 15, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("value_path", "entered", "expected"),
    [
        ("spreads.SP1.notch", NEXT_DAY, Provenance.ON_THE_DAY),
        ("spreads.SP1.notch", NEXT_DAY + timedelta(hours=1), Provenance.LATE),
        ("seams.S2.edges_sealed", datetime(2026, 3, 3, 20, tzinfo=UTC), Provenance.ON_THE_DAY),
        ("seams.S2.edges_sealed", datetime(2026, 3, 9, tzinfo=UTC), Provenance.LATE),
    ],
)
def test_late_is_what_was_entered_after_its_day(
    casebook: Casebook, value_path: str, entered: datetime, expected: Provenance
) -> None:
    import_changes(casebook, "larch", SHEET, said_by="AB", at=entered)
    assert values_of(casebook, "larch")[1][value_path].provenance is expected


def test_what_is_entered_after_the_complaint_says_so(casebook: Casebook, now: datetime) -> None:
    take_in(casebook, now)
    later = now + timedelta(days=60)
    open_case(casebook, job="larch", symptoms=["seam-peaking"], said_by="EF", at=later)
    set_value(casebook, "larch", "seams.S2.edges_sealed", "2", said_by="AB", at=later)
    casebook.append(
        "job-values",
        {
            "job": "larch",
            "values": {
                "readings.M1.taken_at": later.isoformat(),
                "readings.M1.value": "78.5",
            },
        },
        at=later,
    )
    set_value(casebook, "larch", "seams.S2.bead_mm", "3", said_by="AB", at=later, statement=True)
    set_value(
        casebook, "larch", "seams.S2.face_checked", "yes", said_by="AB", at=later, happened=later
    )
    _, origins = values_of(casebook, "larch")
    assert {
        path: origins[path].provenance for path in origins if path[:5] in ("seams", "readi")
    } == {
        "seams.S2.edges_sealed": Provenance.AFTER_COMPLAINT,
        "seams.S2.bead_mm": Provenance.STATEMENT,
        "seams.S2.face_checked": Provenance.AFTER_COMPLAINT,
        "readings.M1.value": Provenance.AFTER_COMPLAINT,
        "readings.M1.taken_at": Provenance.AFTER_COMPLAINT,
    }
    assert origins["spreads.SP1.notch"].provenance is Provenance.ON_THE_DAY


def test_a_complaint_counts_from_when_it_was_made_not_when_it_was_noted(
    casebook: Casebook, now: datetime
) -> None:
    take_in(casebook, now)
    made = now + timedelta(days=30)
    improved = made + timedelta(days=2)
    set_value(casebook, "larch", "seams.S2.edges_sealed", "2", said_by="AB", at=improved)
    assert values_of(casebook, "larch")[1]["seams.S2.edges_sealed"].provenance is Provenance.LATE
    open_case(
        casebook,
        job="larch",
        symptoms=["fraying"],
        said_by="EF",
        at=improved + timedelta(days=5),
        happened=made,
    )
    _, origins = values_of(casebook, "larch")
    assert origins["seams.S2.edges_sealed"].provenance is Provenance.AFTER_COMPLAINT


def test_a_date_moved_after_the_complaint_makes_nothing_early(
    casebook: Casebook, now: datetime
) -> None:
    take_in(casebook, now)
    made = now + timedelta(days=30)
    noted = made + timedelta(days=7)
    # Between the complaint and its entry, somebody moves the end of the work.
    moved = {
        "dates.finished_at": (made + timedelta(days=2)).isoformat(),
        "seams.S2.edges_sealed": "2",
    }
    import_changes(casebook, "larch", moved, said_by="AB", at=made + timedelta(days=1))
    open_case(casebook, job="larch", symptoms=["fraying"], said_by="EF", at=noted, happened=made)
    _, origins = values_of(casebook, "larch")
    assert origins["seams.S2.edges_sealed"].provenance is Provenance.AFTER_COMPLAINT
    assert origins["spreads.SP1.notch"].provenance is Provenance.ON_THE_DAY


def test_a_job_is_folded_once(
    casebook: Casebook, now: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    from diagnose.cli.record_of import job_of
    from diagnose.store import jobs as module

    take_in(casebook, now)
    folds: list[int] = []

    def counted(entries: Iterable[Entry]) -> Folded:
        folds.append(1)
        return fold_values(entries)

    monkeypatch.setattr(module, "fold_values", counted)
    job = job_of(casebook, "larch")
    assert folds == [1]
    assert job.origins == values_of(casebook, "larch")[1]
