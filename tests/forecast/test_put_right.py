"""Putting a check in order, and writing down what is missing, only ever helps.

What is shown for any evidence is the chance that at least one of the causes a
check backs is there: only where none is there is a deviation least likely.  It
does not follow for one cause or symptom alone, because another check that
still deviates may then point elsewhere.
"""

import numpy as np
import pytest

from diagnose.engine.evidence import CheckSaid
from diagnose.forecast.at_place import at_place, with_few_questions
from diagnose.forecast.leave_site import leave_site
from diagnose.forecast.suppose import Supposed, chances
from diagnose.model import Outcome, Provenance
from diagnose.record.place import find_place
from tests.engine.small_networks import draw

SAID = (Outcome.DEVIATES, Outcome.NOT_RECORDED, Outcome.IN_ORDER)


def any_of(network, evidence, causes):
    return 1.0 - chances(network, evidence, [Supposed((), frozenset(causes))])[1][0]


@pytest.mark.parametrize("seed", range(60))
def test_a_check_in_order_never_raises_what_it_backs(seed):
    drawn = draw(seed, causes=9, mechanisms=seed % 3)
    others = [i for i in drawn.evidence if i.key.startswith(("question", "check"))]
    for check, finding in drawn.network.checks.items():
        rest = [item for item in others if item.key != f"check:{check}"]
        causes = [drawn.network.causes[v] for v in finding.parents]
        deviates, silent, in_order = (
            any_of(drawn.network, [*rest, CheckSaid(check, said)], causes) for said in SAID
        )
        assert in_order <= silent + 1e-12
        assert silent <= deviates + 1e-12


@pytest.mark.parametrize("seed", range(12))
def test_the_same_on_the_real_network_with_drawn_records(seed, rules, job):
    spot = at_place(
        with_few_questions(rules), job("quayside-office"), find_place(job("quayside-office"), "S1")
    )
    rng = np.random.default_rng(seed)
    checks = list(spot.network.checks)
    said = {
        check: CheckSaid(
            check,
            SAID[rng.choice(3, p=[0.06, 0.3, 0.64])],
            Provenance(rng.choice([str(each) for each in Provenance])),
        )
        for check in checks
    }
    for check in rng.choice(checks, 8, replace=False):
        causes = spot.backed([check])
        if not causes:
            continue
        worse, silent, better = (
            any_of(spot.network, [*(said | {check: CheckSaid(check, how)}).values()], causes)
            for how in SAID
        )
        assert better <= silent + 1e-12
        assert silent <= worse + 1e-12


@pytest.mark.parametrize("name", ["larch-house", "millbrook-school", "quayside-office"])
def test_acts_stand_by_what_a_minute_removes(name, rules, checked):
    found = checked(name)
    assert found.put_right
    each = [act.per_minute for act in found.put_right]
    assert each == sorted(each, reverse=True)
    for act in found.put_right:
        assert act.per_minute == pytest.approx(act.removed / act.minutes)
        assert {rules.checks[check].put_right for check in act.checks} == {act.act}
        for check in act.checks:
            assert any(d.check == check and d.part in act.parts for d in found.deviations)


def test_an_act_is_worth_what_the_forecast_loses(rules, job):
    record = job("larch-house")
    place = find_place(record, "seam:S2")
    found = leave_site(rules, record, place)
    act = found.put_right[0]
    spot = at_place(rules, record, place)
    after = spot.forecast_given(spot.with_in_order(act.checks))
    lost = sum(spot.now.values()) - sum(after.values())
    assert act.removed == pytest.approx(lost, abs=1e-12)
    assert act.most.before - act.most.after == pytest.approx(
        max(spot.now[s] - after[s] for s in spot.symptoms), abs=1e-12
    )
    assert after["seam-peaking"] < spot.now["seam-peaking"]


def test_minutes_count_every_part(rules, checked):
    found = checked("quayside-office")
    act = next(a for a in found.put_right if "carpet-laid-too-soon" in a.checks)
    assert set(act.parts) == {"spread:SP1", "spread:SP2"}
    assert act.minutes == 2 * rules.checks["carpet-laid-too-soon"].put_right_minutes


def test_gaps_stand_by_what_they_would_hurt(rules, checked):
    found = checked("millbrook-school")
    hurts = [gap.hurts for gap in found.record_now]
    assert hurts == sorted(hurts, reverse=True)
    assert hurts[0] > 0.05
    assert min(hurts) > -0.01
    for gap in found.record_now:
        assert gap.most.after <= gap.most.before + 1e-12
        assert {rules.checks[check].record_now for check in gap.checks} == {gap.what}


def test_what_is_recorded_is_not_asked_for(rules, job):
    record = job("millbrook-school")
    found = leave_site(rules, record, find_place(record, "seam:S1"))
    spot = at_place(rules, record, find_place(record, "seam:S1"))
    silent = {check.id for check in spot.checks_that(Outcome.NOT_RECORDED)}
    assert {check for gap in found.record_now for check in gap.checks} <= silent
