"""Worked sheets read cleanly; values take their one canonical form."""

from __future__ import annotations

from pathlib import Path

import pytest

from diagnose.errors import InputError
from diagnose.record.fold import flatten, fold, unread
from diagnose.record.sheet import Sheet, read_sheet

CASEBOOK = Path(__file__).parents[2] / "casebook"
SHEETS = sorted(CASEBOOK.glob("*/job.yaml"))


def read(text: str, zone: str | None = "Europe/London") -> Sheet:
    return read_sheet(f"id: a-job\n{text}\n".encode(), "sheet.yaml", zone=zone)


def one(text: str, path: str) -> str:
    return read(text).values[path].text


def test_there_are_five_worked_sheets() -> None:
    assert len(SHEETS) == 5


@pytest.mark.parametrize("path", SHEETS, ids=lambda path: path.parent.name)
def test_a_worked_sheet_reads_and_folds(path: Path) -> None:
    sheet = read_sheet(path.read_bytes(), path.name)
    assert sheet.job_id == path.parent.name
    assert sheet.queries == ()
    assert unread(sheet.texts()) == ()
    job = fold(sheet.job_id, sheet.texts())
    assert job.invented
    assert fold(sheet.job_id, flatten(job)) == job
    assert set(flatten(job)) == set(sheet.values)


def test_a_value_knows_its_line() -> None:
    sheet = read("spreads:\n  SP1:\n    floor_c: 17.5")
    assert str(sheet.values["spreads.SP1.floor_c"].at) == "sheet.yaml, line 4"


@pytest.mark.parametrize(
    ("written", "canonical"),
    [
        ("4000", "4000"),
        ("4000.50", "4000.50"),
        ("+0417", "417"),
        ('"4000,5"', "4000.5"),
        ('"4000,250"', "4000.250"),
        ("4000 mm", "4000"),
        ("4000mm", "4000"),
        ("400 cm", "4000"),
        ("4 m", "4000"),
        ("4e3", "4000"),
    ],
)
def test_a_number_keeps_its_precision_in_one_form(written: str, canonical: str) -> None:
    assert one(f"product: {{width_mm: {written}}}", "product.width_mm") == canonical


@pytest.mark.parametrize(
    ("written", "canonical"),
    [("20", "20"), ("20 °C", "20"), ("20C", "20"), ("68 °F", "20"), ("−3", "-3")],
)
def test_a_temperature_is_kept_in_celsius(written: str, canonical: str) -> None:
    assert one(f"spreads: {{SP1: {{air_c: {written}}}}}", "spreads.SP1.air_c") == canonical


def test_a_nought_before_a_comma_marks_no_thousands() -> None:
    assert (
        one('drops: {L1: {tile_edge_fraction: "0,125"}}', "drops.L1.tile_edge_fraction") == "0.125"
    )


def test_batches_keep_their_noughts() -> None:
    assert one("rolls: {R1: {batch: 0417}}", "rolls.R1.batch") == "0417"


@pytest.mark.parametrize(("written", "canonical"), [("yes", "yes"), ("No", "no"), ("true", "yes")])
def test_yes_and_no(written: str, canonical: str) -> None:
    assert one(f"seams: {{S1: {{forced: {written}}}}}", "seams.S1.forced") == canonical


@pytest.mark.parametrize(
    ("written", "canonical"),
    [
        ("2026-03-02 09:05", "2026-03-02T09:05:00+00:00"),
        ("2026-07-02 09:05", "2026-07-02T09:05:00+01:00"),
        ("2026-07-02T09:05:30", "2026-07-02T09:05:30+01:00"),
        ("2026-07-02 9:05", "2026-07-02T09:05:00+01:00"),
        ("2026-07-02 09:05Z", "2026-07-02T09:05:00+00:00"),
        ("2026-10-25 01:30+00:00", "2026-10-25T01:30:00+00:00"),
        ("2026-10-25 02:30", "2026-10-25T02:30:00+00:00"),
    ],
)
def test_local_times_take_the_offset_of_the_site(written: str, canonical: str) -> None:
    assert one(f"seams: {{S1: {{closed_at: {written}}}}}", "seams.S1.closed_at") == canonical


def test_the_zone_of_the_sheet_goes_before_the_callers() -> None:
    text = "zone: Europe/Berlin\nseams: {S1: {closed_at: 2026-03-02 09:00}}"
    assert read(text).values["seams.S1.closed_at"].text == "2026-03-02T09:00:00+01:00"


def test_lists_and_points_are_one_leaf_each() -> None:
    text = "drops: {L1: {outline_m: [[0, 0.0], [4, 0], [4, 9.50]]}, L2: {dry_fitted: no}}\nspreads: {SP1: {drops: [L1, L2]}, SP2: {drops: L1}}"
    values = read(text).texts()
    assert values["drops.L1.outline_m"] == "[[0,0],[4,0],[4,9.5]]"
    assert values["spreads.SP1.drops"] == '["L1","L2"]'
    assert values["spreads.SP2.drops"] == '["L1"]'


def test_parts_may_stand_in_a_map_or_in_a_list() -> None:
    as_map = read("drops: {L1: {edges: {left: {cut: row-parted}}}}").texts()
    as_list = read("drops:\n  - {id: L1, edges: [{side: left, cut: Row parted}]}").texts()
    assert as_map == as_list == {"drops.L1.edges.left.cut": "row-parted"}


def test_limits_of_a_data_sheet_take_the_unit_beside_the_number() -> None:
    text = "product: {limits: {open-time: {low: 20 min, high: 40 min, source: sheet A}}}"
    assert read(text).texts() == {
        "product.limits.open-time.low": "20",
        "product.limits.open-time.high": "40",
        "product.limits.open-time.unit": "min",
        "product.limits.open-time.source": "sheet A",
    }


@pytest.mark.parametrize(
    ("written", "value", "unit"),
    [
        ('value: 68, unit: "%RH"', "68", "% RH"),
        ('value: "68 %"', "68", "%"),
        ("value: 68", "68", None),
    ],
)
def test_a_reading_keeps_its_scale(written: str, value: str, unit: str | None) -> None:
    values = read(f"readings: {{M1: {{kind: moisture-humidity, {written}}}}}").texts()
    assert values["readings.M1.value"] == value
    assert values.get("readings.M1.unit") == unit


def test_a_reading_in_fahrenheit_is_converted() -> None:
    values = read("readings: {T1: {kind: floor-temperature, value: 68 °F}}").texts()
    assert (values["readings.T1.value"], values["readings.T1.unit"]) == ("20", "°C")


def test_a_step_may_go_down() -> None:
    assert one("readings: {H1: {kind: step, value: -2.5, unit: mm}}", "readings.H1.value") == "-2.5"


def test_blank_lines_record_nothing_and_empty_parts_exist() -> None:
    values = read("title:\nproduct:\ndrops: {L1: , L2: {}}\nseams: {S1: {drops: [L1, L2]}}").texts()
    assert values == {"drops.L1": "{}", "drops.L2": "{}", "seams.S1.drops": '["L1","L2"]'}
    assert set(fold("a-job", values).drops) == {"L1", "L2"}


def test_an_unusual_value_is_kept_and_queried() -> None:
    sheet = read("spreads: {SP1: {air_c: 60}}")
    assert sheet.values["spreads.SP1.air_c"].text == "60"
    assert [query.path for query in sheet.queries] == ["spreads.SP1.air_c"]
    assert "unusual" in sheet.queries[0].text


def test_text_takes_one_unicode_form() -> None:
    assert one("title: Cafe\u0301", "title") == "Caf\u00e9"


def test_times_in_the_wrong_order_are_left_to_the_checks() -> None:
    read("spreads: {SP1: {started_at: 2026-03-02 10:00, laid_at: 2026-03-02 09:00}}")


def test_places_may_name_parts_of_every_kind() -> None:
    read(
        "areas: {a: {doors: {D1: {kept_closed: no}}}}\nspreads: {SP1: {area: a}}\n"
        "edges: {E1: {area: a, door: D1}}\n"
        "photos: {F1: {of: 'spread:SP1'}, F2: {of: 'doorway:D1'}, F3: {of: job}}\n"
        "complaints: {C1: {at: 'doorway:E1'}, C2: {at: 'area:a'}, C3: {at: 'doorway:a/D1'}}\n"
        "conditioning: {K1: {what: underlay}}"
    )


def test_a_climate_log_may_come_later() -> None:
    assert one("areas: {a: {climate: C7}}", "areas.a.climate") == "C7"


def test_a_local_time_needs_a_zone() -> None:
    with pytest.raises(InputError, match="needs the time zone"):
        read("seams: {S1: {closed_at: 2026-03-02 09:00}}", zone=None)
