"""A check at a seam looks at that seam's own drops, spreads and rolls, and no others."""

from datetime import UTC, datetime, timedelta

import pytest

from diagnose.checks.run import run_checks
from diagnose.data import data_folder
from diagnose.model import Outcome, Place
from diagnose.record.model import Area, Drop, Job, Lot, Range, Roll, Seam, Spread
from diagnose.rulebook.load import load_rules

NINE = datetime(2026, 3, 2, 9, tzinfo=UTC)


@pytest.fixture(scope="module")
def rules():
    return load_rules(data_folder("rules"))


def spread(number, minutes):
    return Spread(
        id=f"SP{number}",
        area="hall",
        drops=(f"L{number}",),
        lot="A1",
        started_at=NINE,
        ended_at=NINE + timedelta(minutes=5),
        laid_at=NINE + timedelta(minutes=minutes),
    )


@pytest.fixture
def job():
    """Three drops; only the third was laid too late and comes from another batch."""
    return Job(
        id="hall",
        method="adhered",
        areas={"hall": Area(id="hall")},
        rolls={"R1": Roll(id="R1", batch="0417"), "R2": Roll(id="R2", batch="0418")},
        lots={
            "A1": Lot(id="A1", kind="adhesive", limits={"open-time": Range(high=30, unit="min")})
        },
        drops={
            "L1": Drop(id="L1", area="hall", roll="R1"),
            "L2": Drop(id="L2", area="hall", roll="R1"),
            "L3": Drop(id="L3", area="hall", roll="R2"),
        },
        spreads={"SP1": spread(1, 15), "SP2": spread(2, 15), "SP3": spread(3, 90)},
        seams={
            "S1": Seam(id="S1", area="hall", drops=("L1", "L2")),
            "S2": Seam(id="S2", area="hall", drops=("L2", "L3")),
        },
    )


@pytest.mark.parametrize("check", ["carpet-laid-past-open-time", "seam-one-batch"])
def test_only_the_seam_of_the_wrong_drop_deviates(rules, job, check):
    at = {
        seam: {r.check: r for r in run_checks(rules, job, Place("seam", seam))}
        for seam in job.seams
    }
    assert at["S1"][check].outcome is Outcome.IN_ORDER
    assert at["S2"][check].outcome is Outcome.DEVIATES


def test_at_the_drop_itself_and_for_the_whole_job_it_deviates_too(rules, job):
    for place in (Place("drop", "L3"), Place("area", "hall"), Place("job")):
        found = {r.check: r.outcome for r in run_checks(rules, job, place)}
        assert found["carpet-laid-past-open-time"] is Outcome.DEVIATES
    sound = {r.check: r.outcome for r in run_checks(rules, job, Place("drop", "L1"))}
    assert sound["carpet-laid-past-open-time"] is Outcome.IN_ORDER
