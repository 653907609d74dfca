"""A job and its values are two forms of one thing."""

from __future__ import annotations

import types
from collections.abc import Mapping
from datetime import UTC, date, datetime, timedelta, timezone
from typing import Any, get_args, get_origin, get_type_hints

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from diagnose.errors import InputError
from diagnose.model import EntryRef, Provenance
from diagnose.record.codec import EMPTY, decode, encode
from diagnose.record.fields import FieldRule, field_table, label_of
from diagnose.record.fold import flatten, fold, provenance_of, unread
from diagnose.record.labels import LABELS
from diagnose.record.model import Area, Door, Job, Range, Reading, Seam, Subfloor
from diagnose.record.ranges import BY_FIELD
from diagnose.record.words import REFERS_TO, WORDS

IDS = st.sampled_from(["a", "b", "S1", "day-room"])
EXAMPLES = {
    "text": "x",
    "number": "0.5",
    "whole": "2",
    "yes-no": "yes",
    "date": "2026-03-02",
    "time": "2026-03-02T09:40:00+01:00",
    "words": '["x"]',
    "point": "[0,0.5]",
    "line": "[[0,0.5],[1,2]]",
    "lines": "[[[0,0.5],[1,2]]]",
    "colour": "[50,1,-2]",
}
OFFSETS = st.integers(-12 * 60, 14 * 60).map(lambda minutes: timezone(timedelta(minutes=minutes)))
TIMES = st.datetimes(datetime(1990, 1, 1), datetime(2100, 1, 1), timezones=OFFSETS)


def values(hint: Any) -> st.SearchStrategy[Any]:
    """Any value of a type that a field of the record can have."""
    plain = {
        str: st.text(max_size=8),
        bool: st.booleans(),
        int: st.integers(-(10**9), 10**9),
        float: st.floats(allow_nan=False, allow_infinity=False, width=64),
        date: st.dates(),
        datetime: TIMES,
    }
    if hint in plain:
        return plain[hint]
    args = get_args(hint)
    if get_origin(hint) is types.UnionType:
        return st.none() | values(args[0])
    if get_origin(hint) is tuple and args[-1] is not Ellipsis:
        return st.tuples(*(values(arg) for arg in args))
    if get_origin(hint) is tuple:
        return st.lists(values(args[0]), max_size=3).map(tuple)
    return st.builds(hint, **{name: values(own) for name, own in get_type_hints(hint).items()})


RULES = tuple(field_table().values())
GROUPS = (
    "areas.a.subfloor",
    "seams.S1",
    "drops.b.edges.left",
    "product.limits.c",
    "areas.a.doors.b",
)


@st.composite
def recorded(draw: st.DrawFn) -> dict[str, str]:
    """Values of any fields of a few parts, and parts that hold nothing."""
    found = dict.fromkeys(draw(st.lists(st.sampled_from(GROUPS), max_size=3)), EMPTY)
    for rule in draw(st.lists(st.sampled_from(RULES), max_size=12)):
        path = ".".join(draw(IDS) if step == "*" else step for step in rule.pattern.split("."))
        found[path] = encode(rule, draw(values(rule.hint)))
    return found


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(recorded())
def test_a_job_comes_back_from_its_values(flat: dict[str, str]) -> None:
    job = fold("a-job", flat)
    assert unread(flat) == ()
    assert fold("a-job", flatten(job)) == job
    assert flatten(fold("a-job", flatten(job))) == flatten(job)


@settings(max_examples=400, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.data(), st.sampled_from(RULES))
def test_every_field_comes_back(data: st.DataObject, rule: FieldRule) -> None:
    value = data.draw(values(rule.hint))
    assert decode(rule, encode(rule, value)) == value


@pytest.mark.parametrize(
    "rule", [rule for rule in RULES if rule.kind != "log"], ids=lambda rule: rule.pattern
)
def test_every_field_has_its_place_in_the_job(rule: FieldRule) -> None:
    path = rule.pattern.replace("*", "x")
    text = EXAMPLES[rule.kind]
    flat = flatten(fold("a-job", {path: text}))
    assert flat.get(path) == text
    assert set(flat) - {path} <= {"readings.x.kind", "later.x.kind"}


def test_the_tables_name_only_fields_of_the_model() -> None:
    known = set(field_table())
    named: list[Mapping[str, Any]] = [WORDS, REFERS_TO, LABELS, BY_FIELD]
    # the side of an edge is its key
    assert {name for table in named for name in table} - known == {"drops.*.edges.*.side"}


def test_labels_are_unique_among_the_fields_of_a_part() -> None:
    labels: dict[tuple[str, str], list[str]] = {}
    for rule in field_table().values():
        labels.setdefault((rule.pattern.rpartition(".")[0], rule.label), []).append(rule.pattern)
    double = [patterns for patterns in labels.values() if len(patterns) > 1]
    # used by mass or by volume is one thing to a fitter; the unit tells them apart
    assert double == [["spreads.*.mass_used_kg", "spreads.*.volume_used_l"]]


@pytest.mark.parametrize(
    ("path", "label"),
    [
        ("product.thickness_mm", "thickness, product"),
        ("areas.day-room.doors.D1.line_m", "line, door D1 of area day-room"),
        ("people.AB", "role, person AB"),
        ("product.limits.open-time.high", "high, data-sheet limit open-time of product"),
        ("seams.S2", "seam S2"),
        ("no.such.field", "no.such.field"),
    ],
)
def test_a_path_has_trade_words(path: str, label: str) -> None:
    assert label_of(path) == label


def test_parts_without_a_value_are_kept() -> None:
    job = Job(
        id="a-job",
        areas={"hall": Area(id="hall", subfloor=Subfloor(), doors=(Door(id="D1"),))},
        seams={"S1": Seam(id="S1")},
    )
    assert flatten(job) == {
        "areas.hall.doors.D1": "{}",
        "areas.hall.subfloor": "{}",
        "seams.S1": "{}",
    }
    assert fold("a-job", flatten(job)) == job


def test_one_value_makes_its_part() -> None:
    job = fold("a-job", {"product.limits.open-time.high": "30"})
    assert job.product.limits == {"open-time": Range(high=30.0)}


def test_a_reading_of_unknown_kind_is_another_reading() -> None:
    assert fold("a-job", {"readings.M1.value": "68"}).readings["M1"] == Reading(
        id="M1", kind="other", value=68.0
    )


def test_origins_go_with_the_job() -> None:
    entry = EntryRef("device", 1, "00", datetime(2026, 3, 2, tzinfo=UTC))
    assert fold("a-job", {"title": "x"}, {"title": entry}).origins == {"title": entry}


def test_unknown_paths_are_left_out_and_named() -> None:
    values = {"seams.S1.forced": "no", "seams.S1.blessed": "yes", "attic": "1", "seams": "no"}
    assert flatten(fold("a-job", values)) == {"seams.S1.forced": "no"}
    assert unread(values) == ("seams.S1.blessed", "attic", "seams")


@pytest.mark.parametrize(
    ("path", "text"),
    [
        ("spreads.SP1.air_c", "warm"),
        ("spreads.SP1.air_c", "nan"),
        ("spreads.SP1.air_c", "1_0"),
        ("spreads.SP1.laid_at", "2026-03-02T09:40:00"),
        ("spreads.SP1.air_c", "9" * 400),
        ("seams.S1.line_m", "[[1e999,0],[0,0]]"),
        ("seams.S1.line_m", "[[1" + "0" * 400 + ",0],[0,0]]"),
        ("seams.S1.line_m", "[[true,0],[0,0]]"),
        ("areas.a.doors.D1.leaf_centre_m", "null"),
        ("seams.S1.forced", "perhaps"),
        ("seams.S1.edges_sealed", "2.0"),
        ("seams.S1.line_m", "[[0,0],[4]]"),
        ("seams.S1.line_m", "[" * 20_000),
        ("seams.S1.line_m", "[[NaN,0]]"),
        ("seams.S1.drops", '"L1"'),
        ("climate.C1.points", '[{"at":"2026-03-02T09:40:00+00:00","wind":1}]'),
        ("climate.C1.points", "[{}]"),
        ("lots.A1.expires_on", "soon"),
    ],
)
def test_values_out_of_form_are_named(path: str, text: str) -> None:
    with pytest.raises(InputError, match=f"{path} cannot be read"):
        fold("a-job", {path: text, "title": "x"})


LAID = "2026-03-02T09:40:00+00:00"
RECORD = {
    "spreads.SP1.laid_at": LAID,
    "spreads.SP1.tack": "tacky",
    "dates.finished_at": "2026-03-03T15:40:00+00:00",
    "dates.handed_over_at": "2026-03-05T10:00:00+00:00",
    "complaints.C1.made_at": "2026-04-01T09:00:00+01:00",
    "complaints.C2.made_at": "2026-05-01T09:00:00+01:00",
    "later.V1.at": "2026-04-20T09:00:00+01:00",
}


@pytest.mark.parametrize(
    ("path", "entered", "expected"),
    [
        ("spreads.SP1.tack", "2026-03-02T09:45:00+00:00", Provenance.ON_THE_DAY),
        ("spreads.SP1.tack", "2026-03-03T15:40:00+00:00", Provenance.ON_THE_DAY),
        ("spreads.SP1.tack", "2026-03-03T15:41:00+00:00", Provenance.LATE),
        ("product.pile", "2026-03-04T15:40:00+00:00", Provenance.ON_THE_DAY),
        ("product.pile", "2026-03-04T15:41:00+00:00", Provenance.LATE),
        ("completion.walked_over", "2026-03-06T09:00:00+00:00", Provenance.ON_THE_DAY),
        ("product.pile", "2026-04-01T07:59:00+00:00", Provenance.LATE),
        ("product.pile", "2026-04-01T08:00:00+00:00", Provenance.AFTER_COMPLAINT),
        ("later.V1.at", "2026-04-20T10:00:00+01:00", Provenance.ON_THE_DAY),
        ("later.V1.rinsed", "2026-04-22T10:00:00+01:00", Provenance.AFTER_COMPLAINT),
        ("complaints.C1.made_at", "2026-04-01T10:00:00+01:00", Provenance.ON_THE_DAY),
    ],
)
def test_provenance_follows_the_time_of_entry(
    path: str, entered: str, expected: Provenance
) -> None:
    assert provenance_of(path, datetime.fromisoformat(entered), RECORD) is expected


def test_a_time_after_the_work_was_finished_makes_no_part_of_the_laying_early() -> None:
    entered = datetime.fromisoformat("2026-03-20T12:00:00+00:00")
    moved = RECORD | {"seams.S1.closed_at": "2026-03-20T11:59:00+00:00"}
    assert provenance_of("seams.S1.closed_at", entered, moved) is Provenance.LATE
    assert provenance_of("seams.S1.sealed", entered, moved) is Provenance.LATE
    tested = RECORD | {"readings.R1.taken_at": "2026-03-20T11:59:00+00:00"}
    assert provenance_of("readings.R1.value", entered, tested) is Provenance.ON_THE_DAY


def test_a_statement_stays_a_statement() -> None:
    now = datetime.fromisoformat(LAID)
    assert provenance_of("spreads.SP1.tack", now, RECORD, statement=True) is Provenance.STATEMENT


def test_work_without_an_end_is_under_way() -> None:
    now = datetime.fromisoformat(LAID)
    assert provenance_of("product.pile", now, {}) is Provenance.ON_THE_DAY
    assert (
        provenance_of("product.pile", now, {"complaints.C1.made_at": LAID})
        is Provenance.AFTER_COMPLAINT
    )


def test_a_time_out_of_form_counts_as_not_recorded() -> None:
    now = datetime.fromisoformat(LAID)
    values = {"dates.finished_at": "once", "complaints.C1.made_at": "once"}
    assert provenance_of("product.pile", now, values) is Provenance.ON_THE_DAY
