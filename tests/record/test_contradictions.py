"""Times that cannot all be true are found; what is merely odd is left alone."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import pytest

from diagnose.record.contradictions import contradictions
from diagnose.record.fold import fold
from diagnose.record.model import Job
from diagnose.record.sheet import read_sheet

NOW = datetime.fromisoformat("2026-03-10T12:00:00+00:00")
SHEETS = sorted((Path(__file__).parents[2] / "casebook").glob("*/job.yaml"))
BASE = """\
id: elm-court
zone: Europe/London
areas: {hall: {}}
lots: {A1: {kind: adhesive}}
drops: {L1: {area: hall}, L2: {area: hall}}
"""


def job(text: str) -> Job:
    return fold("elm-court", read_sheet(f"{BASE}{text}\n".encode(), "sheet").texts())


def pairs(text: str, now: datetime | None = NOW) -> list[tuple[str, str]]:
    return [(each.path_a, each.path_b) for each in contradictions(job(text), now)]


@pytest.mark.parametrize("path", SHEETS, ids=lambda path: path.parent.name)
def test_the_worked_sheets_can_all_be_so(path: Path) -> None:
    sheet = read_sheet(path.read_bytes(), path.name)
    late = datetime.fromisoformat("2100-01-01T00:00:00+00:00")
    assert contradictions(fold(sheet.job_id, sheet.texts()), late) == ()


@pytest.mark.parametrize(
    ("text", "early", "other"),
    [
        (
            "spreads: {SP1: {started_at: 2026-03-02 09:00, laid_at: 2026-03-02 08:40}}",
            "spreads.SP1.laid_at",
            "spreads.SP1.started_at",
        ),
        (
            "spreads: {SP1: {laid_at: 2026-03-02 09:40, rolled_at: 2026-03-02 09:30}}",
            "spreads.SP1.rolled_at",
            "spreads.SP1.laid_at",
        ),
        (
            "seams: {S1: {bead_at: 2026-03-02 11:00, closed_at: 2026-03-02 10:50}}",
            "seams.S1.closed_at",
            "seams.S1.bead_at",
        ),
        (
            "readings: {M1: {kind: other, placed_at: 2026-03-02 10:00, "
            "taken_at: 2026-03-01 10:00}}",
            "readings.M1.taken_at",
            "readings.M1.placed_at",
        ),
        (
            "conditioning: {K1: {from_at: 2026-03-02 10:00, to_at: 2026-03-01 10:00}}",
            "conditioning.K1.to_at",
            "conditioning.K1.from_at",
        ),
        (
            "dates: {started_at: 2026-03-02 08:00, finished_at: 2026-02-28 16:00}",
            "dates.finished_at",
            "dates.started_at",
        ),
        (
            "dates: {started_at: 2026-03-02 08:00}\nlater: {W1: {kind: leak, at: 2026-02-01 08:00}}",
            "later.W1.at",
            "dates.started_at",
        ),
        (
            "dates: {started_at: 2026-03-02 08:00}\ncomplaints: {C1: {first_seen_on: 2026-03-01}}",
            "complaints.C1.first_seen_on",
            "dates.started_at",
        ),
    ],
)
def test_what_comes_too_early_is_found(text: str, early: str, other: str) -> None:
    assert pairs(text) == [(early, other)]


def test_a_lot_opened_after_it_was_used() -> None:
    text = "spreads: {SP1: {lot: A1, laid_at: 2026-03-02 09:00}}\n"
    opened = BASE.replace("kind: adhesive", "kind: adhesive, opened_on: 2026-03-03")
    held = fold("elm-court", read_sheet(f"{opened}{text}".encode(), "sheet").texts())
    found = contradictions(held, NOW)
    assert [(each.path_a, each.path_b) for each in found] == [
        ("spreads.SP1.laid_at", "lots.A1.opened_on")
    ]


def test_heating_on_again_before_it_was_off() -> None:
    text = BASE.replace(
        "hall: {}", "hall: {heating: {off_from: 2026-03-01 08:00, on_again_from: 2026-02-01 08:00}}"
    )
    held = fold("elm-court", read_sheet(text.encode(), "sheet").texts())
    assert len(contradictions(held, NOW)) == 1


def test_what_is_still_to_come_needs_the_present() -> None:
    text = "seams: {S1: {closed_at: 2029-03-02 10:50}}"
    assert pairs(text) == [("seams.S1.closed_at", "")]
    assert pairs(text, None) == []


def test_what_may_be_written_ahead_is_left_alone() -> None:
    text = (
        "seams: {S1: {closed_at: 2026-03-10 11:50, weights_until: 2026-03-12 08:00}}\n"
        "completion: {first_traffic_at: 2026-03-13 08:00}"
    )
    assert pairs(text) == []
    assert pairs("completion: {first_traffic_at: 2031-03-13 08:00}") == [
        ("completion.first_traffic_at", "")
    ]


def test_equal_times_and_other_offsets_are_no_contradiction() -> None:
    text = (
        "spreads: {SP1: {started_at: 2026-03-02 09:00, ended_at: 2026-03-02 09:00, "
        "laid_at: '2026-03-02 10:05+01:00'}}"
    )
    assert pairs(text) == []


def test_the_sentence_tells_both_times() -> None:
    text = "spreads: {SP1: {started_at: 2026-03-02 09:00, laid_at: 2026-03-02 08:40}}"
    (found,) = contradictions(job(text), NOW)
    assert found.text == (
        "carpet laid into the adhesive, spread SP1: 2026-03-02 08:40, before "
        "spreading began, spread SP1: 2026-03-02 09:00"
    )


def test_one_wrong_day_is_told_once() -> None:
    text = (
        "dates: {started_at: 2026-03-02 08:00, finished_at: 2026-03-01 16:00}\n"
        "spreads: {SP1: {laid_at: 2026-03-02 09:00}}"
    )
    (found,) = contradictions(job(text), NOW)
    assert found.text == ("work finished: 2026-03-01 16:00, before work started: 2026-03-02 08:00")
    late = text.replace("2026-03-01 16:00", "2026-03-02 08:30")
    assert pairs(late) == [("dates.finished_at", "spreads.SP1.laid_at")]
