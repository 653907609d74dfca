"""A place selects the parts; the worst decides; silence is a gap, not a fault."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import UTC, datetime

import pytest

from diagnose.checks import Part, run_check, run_checks, select_parts
from diagnose.checks.look import origin
from diagnose.errors import NotFoundError
from diagnose.model import CheckResult, EntryRef, Outcome, Place, Provenance
from diagnose.record.model import Job
from diagnose.rulebook.model import Rules

Make = Callable[[Mapping[str, str]], Job]
TWO_SPREADS = {
    "method": "adhered",
    "areas.room.area_m2": "40",
    "drops.L1.area": "room",
    "drops.L2.area": "room",
    "drops.L3.area": "room",
    "spreads.SP1.area": "room",
    "spreads.SP1.drops": '["L1"]',
    "spreads.SP1.roller_kg": "34",
    "spreads.SP2.area": "room",
    "spreads.SP2.drops": '["L2"]',
    "spreads.SP2.roller_kg": "40",
    "spreads.SP3.area": "room",
    "spreads.SP3.drops": '["L3"]',
    "spreads.SP3.roller_kg": "68",
    "spreads.SP4.area": "room",
    "spreads.SP4.drops": '["L3"]',
    "seams.S1.area": "room",
    "seams.S1.drops": '["L1","L2"]',
}


def result_of(results: tuple[CheckResult, ...], check: str) -> CheckResult:
    return next(result for result in results if result.check == check)


def test_the_worst_part_decides_and_all_are_named(rules: Rules, make: Make) -> None:
    results = run_checks(rules, make(TWO_SPREADS), Place("area", "room"))
    result = result_of(results, "roller-not-too-heavy")
    assert result.outcome == Outcome.DEVIATES
    assert result.summary == "spread SP3: roller of 68 kg; allowed: at most 34 kg"
    assert result.working[-1] == (
        "4 spreads looked at; SP2 and SP3: deviates; SP4: not recorded; SP1: in order"
    )
    assert [name for name in result.objects if name.startswith("spread")] == [
        "spread:SP3",
        "spread:SP1",
        "spread:SP2",
        "spread:SP4",
    ]
    assert any("spread SP4" in gap for gap in result.missing)


def test_a_seam_asks_the_spreads_of_its_own_drops(rules: Rules, make: Make) -> None:
    results = run_checks(rules, make(TWO_SPREADS), Place("seam", "S1"))
    result = result_of(results, "roller-not-too-heavy")
    assert "40 kg" in result.summary
    assert "spread:SP3" not in result.objects


def test_a_silent_part_comes_before_one_in_order(rules: Rules, make: Make) -> None:
    values = TWO_SPREADS | {"spreads.SP3.roller_kg": "30"}
    results = run_checks(rules, make(values), Place("drop", "L3"))
    assert result_of(results, "roller-not-too-heavy").outcome == Outcome.NOT_RECORDED


def test_checks_that_do_not_apply_are_left_out(rules: Rules, make: Make) -> None:
    results = run_checks(rules, make({"method": "adhered"}), Place("job"))
    asked = {result.check for result in results}
    assert "carpet-laid-too-soon" in asked
    assert "power-stretched" not in asked
    assert Outcome.DOES_NOT_APPLY not in {result.outcome for result in results}


def test_a_job_without_a_record_has_gaps_and_no_faults(rules: Rules, make: Make) -> None:
    results = run_checks(rules, make({}), Place("job"))
    assert results
    assert {result.outcome for result in results} == {Outcome.NOT_RECORDED}
    assert all(result.missing for result in results)


def test_results_stand_in_the_order_of_the_rules(rules: Rules, make: Make) -> None:
    order = list(rules.checks)
    results = run_checks(rules, make(TWO_SPREADS), Place("job"))
    places = [order.index(result.check) for result in results]
    assert places == sorted(places)


def test_a_place_that_is_not_there_is_refused_with_its_name(rules: Rules, make: Make) -> None:
    with pytest.raises(NotFoundError, match="S9"):
        run_checks(rules, make(TWO_SPREADS), Place("seam", "S9"))


def test_the_least_trusted_input_decides_the_trust(rules: Rules, make: Make) -> None:
    at = datetime(2026, 3, 2, tzinfo=UTC)
    entry = EntryRef("phone", 1, "ab", at)
    told = replace(entry, seq=9, provenance=Provenance.STATEMENT)
    late = replace(entry, seq=2, provenance=Provenance.LATE)
    values = {"spreads.SP1.area_m2": "24", "spreads.SP1.mass_used_kg": "9", "method": "adhered"}
    origins = {"spreads.SP1.area_m2": late, "spreads.SP1.mass_used_kg": told}
    job = replace(make(values), origins=origins)
    check = rules.checks["adhesive-used-too-little"]
    result = run_check(check, rules, job, Part("spread", "SP1"))
    assert result.provenance == Provenance.STATEMENT
    assert {used.path: used.entry and used.entry.seq for used in result.inputs} == {
        "spreads.SP1.mass_used_kg": 9,
        "spreads.SP1.area_m2": 2,
    }
    assert {used.text for used in result.inputs} == {"9 kg", "24 m²"}
    assert any(used.label == "adhesive used, spread SP1" for used in result.inputs)


def test_a_climate_log_is_as_late_as_its_latest_values(make: Make) -> None:
    entry = EntryRef("phone", 1, "ab", datetime(2026, 3, 2, tzinfo=UTC))
    late = replace(entry, seq=8, provenance=Provenance.LATE)
    origins = {
        "climate.C1.note": entry,
        "climate.C1.points": late,
        "climate.C10.points": replace(late, provenance=Provenance.STATEMENT),
    }
    assert origin(replace(make({}), origins=origins), "climate.C1") == late


def test_a_part_that_is_not_recorded_is_a_gap(rules: Rules, make: Make) -> None:
    check = rules.checks["roller-not-too-heavy"]
    result = run_check(check, rules, make({}), Part("spread", "SP9"))
    assert result.outcome == Outcome.NOT_RECORDED
    assert result.at == Place("job")


def test_doorways_are_the_edges_in_doors(make: Make) -> None:
    job = make({"edges.E1.kind": "wall", "edges.E2.kind": "doorway", "edges.E3.door": "D1"})
    found = select_parts(job, Place("job"), "doorway")
    assert Part("doorway", "E2") in found
    assert Part("doorway", "E1") not in found


def test_an_unknown_calculation_is_said_and_not_raised(rules: Rules, make: Make) -> None:
    check = replace(rules.checks["seam-sealed"], calculation="no-such-thing")
    result = run_check(check, rules, make({"method": "adhered"}), Part("seam", "S1"))
    assert result.outcome == Outcome.NOT_RECORDED
    assert "no-such-thing" in result.summary
