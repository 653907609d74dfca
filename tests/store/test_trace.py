"""Where a batch or lot went."""

from __future__ import annotations

from datetime import datetime

import pytest

from diagnose.errors import NotFoundError
from diagnose.store.cases import open_case
from diagnose.store.jobs import import_changes, set_value
from diagnose.store.journal import Casebook
from diagnose.store.trace import trace

JOB = {
    "title": "Larch House",
    "rolls.R1.batch": "b 0417",
    "rolls.R2.batch": "0418",
    "lots.A1.batch": "L 77/3",
    "lots.S1.batch": "sealer 9",
    "drops.D1.roll": "R1",
    "drops.D2.roll": "R2",
    "spreads.SP1.lot": "A1",
    "spreads.SP1.drops": '["D1"]',
    "spreads.SP2.lot": "A1",
    "seams.S1.drops": '["D1","D2"]',
    "seams.S2.drops": '["D2","D3"]',
    "seams.S2.sealer_lot": "S1",
}


def fill(casebook: Casebook, now: datetime) -> str:
    import_changes(casebook, "larch", JOB, said_by="AB", at=now)
    import_changes(casebook, "birch", {"rolls.R9.batch": "B  0417"}, said_by="AB", at=now)
    return open_case(casebook, job="larch", symptoms=["gap"], said_by="EF", at=now)


def test_a_batch_leads_to_jobs_drops_seams_and_cases(casebook: Casebook, now: datetime) -> None:
    case = fill(casebook, now)
    birch, larch = trace(casebook, "B 0417 ").uses
    assert (birch.job, birch.parts, birch.cases) == ("birch", ("rolls.R9",), ())
    assert (larch.title, larch.parts) == ("Larch House", ("rolls.R1",))
    assert (larch.drops, larch.spreads, larch.seams) == (("D1",), ("SP1",), ("S1",))
    assert [line.id for line in larch.cases] == [case]


def test_a_lot_leads_to_spreads_and_seams(casebook: Casebook, now: datetime) -> None:
    fill(casebook, now)
    (use,) = trace(casebook, "l 77/3").uses
    assert (use.drops, use.spreads, use.seams) == ((), ("SP1", "SP2"), ())
    (use,) = trace(casebook, "sealer 9").uses
    assert (use.drops, use.spreads, use.seams) == ((), (), ("S2",))


def test_a_corrected_batch_is_found_under_its_new_name_only(
    casebook: Casebook, now: datetime
) -> None:
    fill(casebook, now)
    set_value(casebook, "larch", "rolls.R1.batch", "0419", said_by="AB", at=now)
    assert [use.job for use in trace(casebook, "B 0417").uses] == ["birch"]
    assert [use.job for use in trace(casebook, "0419").uses] == ["larch"]


def test_an_unknown_batch_names_like_ones(casebook: Casebook, now: datetime) -> None:
    fill(casebook, now)
    with pytest.raises(NotFoundError) as caught:
        trace(casebook, "0417")
    assert caught.value.near == ("0418",)
    with pytest.raises(NotFoundError) as caught:
        trace(casebook, "zzz")
    assert caught.value.near == ()


def test_a_list_that_is_none_leads_nowhere(casebook: Casebook, now: datetime) -> None:
    fill(casebook, now)
    set_value(casebook, "larch", "seams.S1.drops", "[" * 9_000, said_by="AB", at=now)
    (_, larch) = trace(casebook, "b 0417").uses
    assert larch.seams == ()
