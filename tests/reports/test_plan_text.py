"""The compact plan for a terminal holds the same parts as the picture."""

from __future__ import annotations

from dataclasses import replace
from types import ModuleType

import pytest

from diagnose.model import Place
from diagnose.record.model import Job
from diagnose.reports.bars import Bar, bar_lines
from diagnose.reports.plan_text import HIGH, WIDE, plan_lines

JOBS = ("beacon-clinic", "larch-house", "millbrook-school", "quayside-office", "rowan-lounge")


@pytest.mark.parametrize("name", JOBS)
def test_every_drop_seam_door_and_window_is_drawn(made: ModuleType, name: str) -> None:
    job: Job = made.invented_job(name)
    for area in job.areas.values():
        lines = plan_lines(job, area.id)
        text = "\n".join(lines[:-1])
        assert all(len(line) <= WIDE + 2 for line in lines[:-1])
        assert len(lines) <= HIGH + 3
        assert [d.id for d in job.drops.values() if d.area == area.id and d.id not in text] == []
        assert [s.id for s in job.seams.values() if s.area == area.id and s.id not in text] == []
        assert ("D" in text) == bool(area.doors)
        assert ("W" in text) == bool(area.windows)


def test_walls_are_closed_round_the_room(made: ModuleType) -> None:
    lines = plan_lines(made.invented_job("larch-house"), "day-room")[:-1]
    wall = set("#DW|")
    assert set(lines[0]) <= wall
    assert set(lines[-1]) <= wall
    assert {line[0] for line in lines} | {line[-1] for line in lines} <= wall


def test_batches_are_told_apart_by_sign(made: ModuleType) -> None:
    lines = plan_lines(made.a_job().the_job(), "day-room")
    assert ". batch B-4711, : batch B-4712" in lines[-1]
    assert any("::::" in line for line in lines)
    assert any("...." in line for line in lines)


def test_unknown_batch_is_a_question_mark(made: ModuleType) -> None:
    job = replace(made.a_job().the_job(), rolls={})
    assert any("????" in line for line in plan_lines(job, "day-room"))


def test_pin_shows_in_its_own_area_only(made: ModuleType) -> None:
    job = made.a_job().the_job()
    pins = [("complaint", Place("seam", "S1"))]
    here, there = plan_lines(job, "day-room", pins), plan_lines(job, "corridor", pins)
    assert sum(line.count("!") for line in here[:-1]) == 1
    assert here[-1].endswith("! complaint")
    assert not any("!" in line for line in there)


def test_pile_arrow_turns_with_a_long_room(made: ModuleType) -> None:
    """Pile along +x, and the corridor is turned so that +x runs down."""
    job = made.a_job().the_job()
    assert any("L3↓" in line for line in plan_lines(job, "corridor"))
    assert any("L1→" in line for line in plan_lines(job, "day-room"))


def test_no_outline_no_plan(made: ModuleType) -> None:
    job = made.a_job().the_job()
    bare = replace(job, areas={"x": replace(job.areas["corridor"], id="x", outline_m=())})
    assert plan_lines(bare, "x") == ()


def test_bars_are_cut_to_their_scale() -> None:
    low, high = bar_lines([Bar("none", 0.0), Bar("sure", 1.0)])
    assert low == "none  ....................  0.0 in 100"
    assert high == "sure  ####################  100 in 100"
