"""No record is so odd that a check fails on it: it answers, and says why it cannot."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from datetime import UTC, date, datetime, timedelta, timezone
from functools import lru_cache
from pathlib import Path
from types import UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints

import yaml
from hypothesis import HealthCheck, given, reject, settings
from hypothesis import strategies as st

from diagnose.checks import Part, run_check, run_checks
from diagnose.checks.run import ALWAYS_THERE
from diagnose.errors import InputError
from diagnose.model import Outcome, Place
from diagnose.record import model
from diagnose.record.fields import field_of
from diagnose.record.words import WORDS
from diagnose.rulebook.model import Rules

Make = Callable[[Mapping[str, str]], model.Job]

IDS = st.sampled_from(["A", "B", "C1", "S1"])
TIMES = st.one_of(
    st.datetimes(datetime(2026, 3, 1), datetime(2026, 3, 9)).map(lambda t: t.replace(tzinfo=UTC)),
    st.datetimes(timezones=st.just(timezone(timedelta(hours=-9)))),
    st.datetimes(datetime(2026, 3, 1), datetime(2026, 3, 2)),
)
NUMBERS = st.one_of(
    st.sampled_from([0.0, -1.0, 1.0, 2.0, 24.0, 75.0, 1e-9, 1e300, math.inf, math.nan]),
    st.floats(-100, 10_000),
)
ALL_WORDS = sorted({word for words in WORDS.values() for word in words})
TEXTS = st.one_of(
    IDS, st.sampled_from([*ALL_WORDS, "roll:A", "lot:A", "seam:S1", "2 x 2 x 2 V", "1/0 x 1 x 1 V"])
)
POINTS = st.tuples(st.floats(-5, 9), st.floats(-5, 9))


def values_of(hint: Any) -> st.SearchStrategy[Any]:
    """Return values of a field's kind, silence included."""
    origin, args = get_origin(hint), get_args(hint)
    if origin in (Union, UnionType):
        return st.none() | values_of(args[0])
    if origin is tuple:
        if args == (float, float):
            return POINTS
        if args[-1] is Ellipsis:
            return st.lists(values_of(args[0]), max_size=3).map(tuple)
        return st.tuples(*(values_of(arg) for arg in args))
    if origin is not None and issubclass(origin, Mapping):
        return st.dictionaries(IDS, values_of(args[1]), max_size=2).map(_named)
    if is_dataclass(hint):
        return part_of(hint)
    kinds: dict[Any, st.SearchStrategy[Any]] = {
        bool: st.booleans(),
        int: st.integers(-2, 400),
        float: NUMBERS,
        str: TEXTS,
        datetime: TIMES,
        date: st.dates(),
    }
    return kinds[hint]


def _named(held: dict[str, Any]) -> dict[str, Any]:
    """Give each part the id it is held by, as a real record does."""
    for name, item in held.items():
        if is_dataclass(item) and hasattr(item, "id"):
            object.__setattr__(item, "id", name)
    return held


@lru_cache
def part_of(cls: Any) -> st.SearchStrategy[Any]:
    hints = get_type_hints(cls)
    names = [field.name for field in fields(cls) if field.name not in ("origins", "people")]
    return st.builds(cls, **{name: values_of(hints[name]) for name in names})


METHODS = st.sampled_from(["adhered", "double-stick", "stretch-in", "tile", None])
COLLECTIONS = {
    "spread": "spreads",
    "seam": "seams",
    "drop": "drops",
    "edge": "edges",
    "doorway": "edges",
    "area": "areas",
    "roll": "rolls",
    "lot": "lots",
}


@settings(
    max_examples=30,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large],
)
@given(data=st.data())
def test_no_check_raises_on_any_small_job(rules: Rules, data: st.DataObject) -> None:
    kinds = ["areas", "drops", "rolls", "lots", "readings", "climate", "later", "conditioning"]
    hints = get_type_hints(model.Job)
    held = {
        name: data.draw(values_of(hints[name]), name)
        for name in [*kinds, "spreads", "seams", "edges", "completion", "contract", "product"]
    }
    job = model.Job(
        id="j", method=data.draw(METHODS), dates=data.draw(part_of(model.Dates)), **held
    )
    for check in rules.checks.values():
        names = list(getattr(job, COLLECTIONS.get(check.looks_at, ""), {})) or ["A"]
        part = Part("job") if check.looks_at == "job" else Part(check.looks_at, names[0])
        result = run_check(check, rules, job, part)
        assert result.summary
        assert "nan" not in result.summary.split()
        if result.outcome == Outcome.DEVIATES:
            assert result.inputs, f"{check.id} deviates without a recorded fact"
            assert result.working
    for result in run_checks(rules, job, Place("job")):
        assert result.outcome != Outcome.DOES_NOT_APPLY


ODD: Mapping[str, tuple[str, ...]] = {
    "number": ("0", "-1", "0.000001", "1" + "0" * 300, "-273.2", "101"),
    "whole": ("0", "-3", "7", "400000000"),
    "time": (
        "0001-01-01T00:00:00+00:00",
        "9999-12-31T23:59:59+00:00",
        "2026-03-02T09:00:00+14:00",
        "2026-03-02T09:30:00",
    ),
    "date": ("0001-01-01", "9999-12-31"),
    "text": ("", "none", "1/0 x 0/0 x 1 V", "0 x 0 x 0 U", "\x00", "A" * 3000),
    "yes-no": ("yes", "no"),
    "words": ("[]", '["A"]', '["L1","L1","L2"]'),
    "line": ("[]", "[[0,0]]", "[[1,1],[1,1]]", "[[0,0],[1e300,1e300]]"),
    "point": ("[0,0]",),
    "lines": ("[]", "[[]]", "[[[0,0]]]"),
    "log": ("[]", '[{"at":"2026-03-02T09:00:00","air_c":1e300}]'),
}


@lru_cache
def recorded() -> list[dict[str, str]]:
    """Values of every example: records that reach far into the calculations."""
    found = []
    for path in sorted(Path(__file__).with_name("examples").glob("*.yaml")):
        data = yaml.load(path.read_text("utf-8"), Loader=yaml.BaseLoader)
        for item in data["examples"]:
            found.append(data["bases"].get(item.get("base"), {}) | item.get("with", {}))
    return found


@settings(max_examples=150, deadline=None, suppress_health_check=list(HealthCheck))
@given(data=st.data())
def test_no_check_raises_on_a_good_job_gone_wrong(
    rules: Rules, make: Make, data: st.DataObject
) -> None:
    values: dict[str, str] = {}
    for example in data.draw(st.lists(st.sampled_from(recorded()), min_size=1, max_size=3)):
        values |= example
    for path in data.draw(st.lists(st.sampled_from(sorted(values)), max_size=5)):
        rule = field_of(path)
        assert rule is not None
        odd = (*ODD.get(rule.kind, ()), "")
        text = data.draw(st.sampled_from(odd), path)
        if text or rule.kind == "text":
            values[path] = text
        else:
            values.pop(path, None)
    try:
        job = make(values)
    except InputError:
        reject()
    for check in rules.checks.values():
        held = list(getattr(job, COLLECTIONS.get(check.looks_at, ""), {}))
        parts = [Part(check.looks_at, name) for name in held] or [Part(check.looks_at)]
        for part in parts:
            result = run_check(check, rules, job, part)
            if result.outcome == Outcome.DEVIATES:
                assert result.inputs, f"{check.id} deviates without a recorded fact"
                assert result.working, check.id
            if result.outcome == Outcome.NOT_RECORDED:
                assert result.missing or result.summary
    run_checks(rules, job, Place("job"))


def test_parts_that_are_always_there_are_kinds_that_checks_look_at(rules: Rules) -> None:
    assert set(ALWAYS_THERE) <= {check.looks_at for check in rules.checks.values()}
