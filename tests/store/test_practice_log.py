"""Practice in the journal: merged, verified, and nobody's once the name is forgotten."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from diagnose.errors import NotFoundError
from diagnose.store import people
from diagnose.store.bundle import export, take_in
from diagnose.store.jobs import import_changes, jobs, values_of
from diagnose.store.journal import Casebook
from diagnose.store.merge import copy_into, merge, texts_of
from diagnose.store.practice_log import (
    ANSWER,
    KINDS,
    REVIEW,
    ROUND,
    ROUND_OPEN,
    Line,
    add,
    forget,
    latest,
    lines_of,
    marks,
    pupils,
)
from diagnose.store.search import search

Maker = Callable[[], Casebook]


def said(lines: tuple[Line, ...]) -> list[tuple[str, str, object]]:
    return sorted((line.kind, line.pupil, line.body["n"]) for line in lines)


def test_lines_come_back_by_kind_and_by_learner(casebook: Casebook, now: datetime) -> None:
    add(
        casebook,
        [
            Line(REVIEW, "wren", {"n": 1}),
            Line(ANSWER, "wren", {"n": 2, "nested": {"pupil": "robin"}}),
            Line(REVIEW, "robin", {"n": 3}),
            Line(ROUND, "robin", {"n": 4, "round": '{"pupil":"wren"}'}),
        ],
        at=now,
    )
    assert casebook.count() == 4
    whole = [(ANSWER, "wren", 2), (REVIEW, "robin", 3), (REVIEW, "wren", 1), (ROUND, "robin", 4)]
    assert said(lines_of(casebook, KINDS)) == whole
    assert said(lines_of(casebook, KINDS, "wren")) == [(ANSWER, "wren", 2), (REVIEW, "wren", 1)]
    assert said(lines_of(casebook, [ROUND], "robin")) == [(ROUND, "robin", 4)]
    assert lines_of(casebook, KINDS, "nobody") == ()
    assert pupils(casebook) == ("robin", "wren")
    assert add(casebook, [], at=now) == ()


def test_the_round_entered_last_is_the_one_that_is_open(maker: Maker, now: datetime) -> None:
    here, there = maker(), maker()
    assert latest(here, ROUND_OPEN, "wren") is None
    add(here, [Line(ROUND_OPEN, "wren", {"n": 1})], at=now)
    # Its clock is an hour behind, but it knew of the first.
    copy_into(here, there)
    add(there, [Line(ROUND_OPEN, "wren", {"n": 2})], at=now - timedelta(hours=1))
    add(there, [Line(ROUND_OPEN, "robin", {"n": 3})], at=now)
    copy_into(there, here)
    for casebook in (here, there):
        found = latest(casebook, ROUND_OPEN, "wren")
        assert found == Line(ROUND_OPEN, "wren", {"n": 2})


def test_the_last_of_two_devices_is_told_by_the_logical_clock(maker: Maker, now: datetime) -> None:
    """Each made a mark of its own for the learner; the one that entered last has the slow clock."""
    here, there = maker(), maker()
    add(here, [Line(REVIEW, "robin", {"n": 0})], at=now + timedelta(hours=2))
    copy_into(here, there)
    add(here, [Line(ROUND_OPEN, "wren", {"n": 1})], at=now)
    slow = now - timedelta(hours=1)
    add(there, [Line(ROUND_OPEN, "wren", {"n": n}) for n in (2, 3)], at=slow)
    copy_into(here, there)
    copy_into(there, here)
    assert len(marks(here)) == 3
    for casebook in (here, there):
        assert latest(casebook, ROUND_OPEN, "wren") == Line(ROUND_OPEN, "wren", {"n": 3})


def test_two_devices_know_a_learner_by_one_name(tmp_path: Path, now: datetime) -> None:
    with (
        Casebook.open(tmp_path / "one.db", create=True) as one,
        Casebook.open(tmp_path / "two.db", create=True) as two,
    ):
        add(one, [Line(REVIEW, "Zoë", {"n": 1})], at=now)
        add(two, [Line(REVIEW, "Zoë", {"n": 2})], at=now)
        export(two, tmp_path / "two.zip")
        assert take_in(one, tmp_path / "two.zip").merged.added == 1
        assert take_in(one, tmp_path / "two.zip").merged.added == 0
        assert len(marks(one)) == 2
        assert pupils(one) == ("Zoë",)
        assert said(lines_of(one, KINDS, "Zoë")) == [(REVIEW, "Zoë", 1), (REVIEW, "Zoë", 2)]
        assert one.verify().sound


def test_a_forgotten_learner_leaves_figures_and_no_name(maker: Maker, now: datetime) -> None:
    here, there = maker(), maker()
    add(here, [Line(REVIEW, "Wren Ashby", {"n": 1}), Line(REVIEW, "robin", {"n": 2})], at=now)
    copy_into(here, there)
    assert "Wren Ashby" not in "".join(texts_of(here))
    with pytest.raises(NotFoundError, match="no learner") as refused:
        forget(here, "Wren", at=now)
    assert "Wren Ashby" in refused.value.near
    forget(here, "Wren Ashby", at=now)
    copy_into(here, there)
    for casebook in (here, there):
        assert not people.kept(casebook, "Wren Ashby")
        anonymous, other = pupils(casebook)
        assert (anonymous.startswith(people.FORGOTTEN), other) == (True, "robin")
        assert sorted(line.body["n"] for line in lines_of(casebook, KINDS)) == [1, 2]
        assert lines_of(casebook, KINDS, "Wren Ashby") == ()
        assert casebook.verify().sound
    with pytest.raises(NotFoundError, match="no learner"):
        forget(here, anonymous, at=now)
    # The name may be used again, by somebody else; the old lines are not theirs.
    add(here, [Line(REVIEW, "Wren Ashby", {"n": 3})], at=now)
    assert said(lines_of(here, KINDS, "Wren Ashby")) == [(REVIEW, "Wren Ashby", 3)]


def test_without_names_a_bundle_still_keeps_learners_apart(maker: Maker, now: datetime) -> None:
    here, there = maker(), maker()
    add(here, [Line(REVIEW, name, {"n": 1}) for name in ("wren", "robin")], at=now)
    merge(there, texts_of(here))
    assert len(pupils(there)) == 2
    assert not {"wren", "robin"} & {*pupils(there)}


def test_practice_stays_out_of_jobs_cases_and_search(casebook: Casebook, now: datetime) -> None:
    import_changes(casebook, "larch", {"title": "sealer by the door"}, said_by="AB", at=now)
    add(casebook, [Line(kind, "wren", {"named": ["sealer-omitted"]}) for kind in KINDS], at=now)
    assert [line.id for line in jobs(casebook)] == ["larch"]
    assert values_of(casebook, "larch")[0] == {"title": "sealer by the door"}
    assert {hit.job for hit in search(casebook, "sealer")} == {"larch"}
    before = lines_of(casebook, KINDS)
    assert casebook.rebuild() == 5
    assert sorted(lines_of(casebook, KINDS)) == sorted(before)


def test_a_class_and_a_learner_are_read_at_once(file_casebook: Casebook, now: datetime) -> None:
    """20,000 lines of 30 learners: processor time, what else the machine does set aside."""
    add(
        file_casebook,
        [
            Line(
                (REVIEW, ANSWER)[n % 2], f"p{n // 2 % 30}", {"n": n, "subject": f"cause:c{n % 90}"}
            )
            for n in range(20_000)
        ],
        at=now,
    )
    start = time.process_time()
    assert len(lines_of(file_casebook, KINDS)) == 20_000
    whole = time.process_time() - start
    assert len(lines_of(file_casebook, KINDS, "p3")) in (666, 667, 668)
    assert whole < 0.8
    assert time.process_time() - start - whole < 0.2
