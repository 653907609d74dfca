"""Files of climate loggers in the shapes that loggers write; all data is invented."""

from __future__ import annotations

import hashlib
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from diagnose.errors import InputError
from diagnose.record.climate import read_climate
from diagnose.record.fold import flatten, fold
from diagnose.record.model import ClimateLog, Job

CASEBOOK = Path(__file__).parents[2] / "casebook"
LONDON = "Europe/London"


def read(text: str, dates: str | None = None, zone: str = LONDON) -> ClimateLog:
    return read_climate(text.encode(), "log.csv", zone=zone, dates=dates)


def refused(text: str, dates: str | None = None, zone: str = LONDON) -> str:
    with pytest.raises(InputError) as caught:
        read(text, dates, zone)
    return str(caught.value)


def times(log: ClimateLog) -> list[str]:
    return [point.at.isoformat() for point in log.points]


@pytest.mark.parametrize(
    ("name", "points", "interval", "first", "last"),
    [
        ("larch-house", 240, 60, "2026-02-27T15:00:00+00:00", (20.2, 48.0)),
        ("millbrook-school", 432, 30, "2025-08-16T08:00:00+01:00", (24.8, 44.0)),
        ("rowan-lounge", 192, 60, "2025-10-11T09:00:00+01:00", (20.6, 57.2)),
        ("quayside-office", 192, 60, "2025-11-07T08:00:00+00:00", (15.2, 68.1)),
        ("beacon-clinic", 240, 60, "2026-01-16T07:00:00+00:00", (19.4, 50.4)),
    ],
)
def test_the_worked_logs_read_completely(
    name: str, points: int, interval: float, first: str, last: tuple[float, float]
) -> None:
    (path,) = (CASEBOOK / name).glob("climate-*.csv")
    log = read_climate(path.read_bytes(), str(path), zone=LONDON)
    assert (len(log.points), log.interval_min, log.dropped_rows) == (points, interval, 0)
    assert times(log)[0] == first
    assert (log.points[-1].air_c, log.points[-1].humidity_percent) == last
    assert log.file_sha256 == hashlib.sha256(path.read_bytes()).hexdigest()
    assert (log.id, log.file_name, log.zone) == (path.stem, path.name, LONDON)
    assert sum(day.samples for day in log.days) == points


def test_a_log_goes_into_the_job_and_back() -> None:
    path = CASEBOOK / "millbrook-school" / "climate-room-4.csv"
    log = read_climate(path.read_bytes(), path.name, zone=LONDON, log_id="C1")
    job = Job(id="a-job", climate={"C1": log})
    assert fold("a-job", flatten(job)) == job


ONE = "2026-03-02T09:00:00+00:00"
SHAPES = {
    "iso-comma": "time,temperature °C,humidity %\n2026-03-02 09:00,21.5,48\n",
    "iso-offset": "time,temp °C,rh\n2026-03-02T10:00:00+01:00,21.5,48\n",
    "iso-z": "time,temp °C,rh\n2026-03-02T09:00:00.000Z,21.5,48\n",
    "slashes": "time;temp °C;rh\n2026/03/02 09:00;21,5;48\n",
    "decimal-comma": "time;Temp (°C);RH [%]\n2026-03-02 09:00:00;21,50;48,0\n",
    "quoted-decimal-comma": 'time,temp °C,rh\n"2026-03-02 09:00","21,5","48,0"\n',
    "tabs": "time\ttemp_c\trh_percent\n2026-03-02 09:00\t21.5\t48\n",
    "blanks": "time                temp °C   rh %\n2026-03-02 09:00   21.5   48\n",
    "sep-line": "sep=;\ntime;temp °C;rh\n2026-03-02 09:00;21,5;48\n",
    "units-below": "Date,Time,Temperature,Humidity\n,,C,%RH\n2026-03-02,09:00,21.5,48\n",
    "units-in-cells": "time,temperature,humidity\n2026-03-02 09:00,21.5°C,48 %\n",
    "unit-above": "Unit: °C\n\ntime,temperature,humidity\n2026-03-02 09:00,21.5,48\n",
    "fahrenheit": "time,Temp (°F),Humidity (%RH)\n2026-03-02 09:00,70.7,48\n",
    "fahrenheit-cells": "time,Temp,Humidity\n2026-03-02 09:00,70.7 F,48\n",
    "am-pm": "time,temp °C,rh\n02 Mar 2026 09:00:00 AM,21.5,48\n",
    "month-name": "time,temp °C,rh\n02-Mar-2026 09:00,21.5,48\n",
    "day-only-one-way": "time,temp °C,rh\n02/03/2026 09:00,21.5,48\n13/03/2026 09:00,,\n",
    "us-only-one-way": "time,temp °C,rh\n3/2/2026 9:00 AM,21.5,48\n3/13/2026 9:00 AM,,\n",
    "two-figure-year": "time,temp °C,rh\n02.03.26 09:00,21.5,48\n31.03.26 09:00,,\n",
    "unix": "unix time,temp °C,rh\n1772442000,21.5,48\n",
    "unix-milliseconds": "timestamp,temp °C,rh\n1772442000000,21.5,48\n",
    "sheet-day": "date,temp °C,rh\n46083.375,21.5,48\n",
    "offset-in-head": '#,"Date Time, GMT+01:00",Temp °C,RH\n1,2026-03-02 10:00,21.5,48\n',
    "index-and-extras": "#,time,temp °C,rh,dew point °C,battery\n1,2026-03-02 09:00,21.5,48,10.1,3.6\n",
    "preamble": "Serial;123456\nInterval;10 min\nStart;2026-03-01 00:00\n\ntime;temp °C;rh\n2026-03-02 09:00;21,5;48\n2026-03-02 10:00;;\n2026-03-02 11:00;;\n2026-03-02 12:00;;\n",
    "footer": "time;temp °C;rh\n2026-03-02 09:00;21,5;48\n\nMax;21,5;48\nMin;21,5;48\n",
    "long-form": "timestamp,channel,value,unit\n2026-03-02 09:00,temperature,21.5,°C\n2026-03-02 09:00,humidity,48,%RH\n2026-03-02 09:00,battery,3.6,V\n",
    "german": "Datum;Uhrzeit;Temperatur °C;Feuchte %\n02.03.2026;09:00;21,5;48\n28.03.2026;09:00;;\n",
}


@pytest.mark.parametrize("name", SHAPES)
def test_a_shape_reads_to_the_same_point(name: str) -> None:
    log = read(SHAPES[name])
    assert len(log.points) == 1
    point = log.points[0]
    assert point.at == datetime.fromisoformat(ONE)
    assert point.air_c == pytest.approx(21.5, abs=0.001)
    assert point.humidity_percent == 48


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"]
)
@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
def test_encodings_and_line_ends(encoding: str, ending: str) -> None:
    text = "time;Temp (°C);RH\n2026-03-02 09:00;21,5;48\n".replace("\n", ending)
    log = read_climate(text.encode(encoding), "log.csv", zone=LONDON)
    assert (log.points[0].air_c, log.points[0].humidity_percent) == (21.5, 48)


def hourly(start: str, hours: int, form: str) -> str:
    moment = datetime.fromisoformat(start)
    rows = ((moment + timedelta(hours=n)).strftime(form) for n in range(hours))
    return "time,temp °C,rh\n" + "".join(f"{row},20,50\n" for row in rows)


def test_an_open_order_of_day_and_month_is_asked_back() -> None:
    text = hourly("2026-03-02 20:00", 12, "%d/%m/%Y %H:%M")
    said = refused(text)
    assert said == (
        "log.csv, line 2: 2/3/2026 can be read with the day first or the month first\n"
        "hint: say which: --dates day-first or --dates month-first"
    )
    assert times(read(text, "day-first"))[0] == "2026-03-02T20:00:00+00:00"
    assert times(read(text, "month-first"))[0] == "2026-02-03T20:00:00+00:00"


def test_days_in_step_settle_the_order() -> None:
    day_first = hourly("2026-03-02 00:00", 72, "%d/%m/%Y %H:%M")
    month_first = hourly("2026-03-02 00:00", 72, "%m/%d/%Y %I:%M %p")
    assert times(read(day_first)) == times(read(month_first))


def test_the_same_day_and_month_needs_no_order() -> None:
    assert times(read(hourly("2026-03-03 00:00", 5, "%d/%m/%Y %H:%M")))[0][:10] == "2026-03-03"


def test_an_order_that_cannot_be_is_refused() -> None:
    text = "time,temp °C,rh\n13/03/2026 09:00,20,50\n"
    assert "the dates cannot be month-first" in refused(text, "month-first")
    assert "sideways is no order of dates" in refused(text, "sideways")
    mixed = "time,temp °C,rh\n13/03/2026 09:00,20,50\n03/13/2026 10:00,20,50\n"
    assert "no one order of day and month fits all dates" in refused(mixed)


def test_noon_and_midnight_by_halves_of_the_day() -> None:
    log = read(
        "time,temp °C\n13/03/2026 12:00 AM,20\n13/03/2026 12:00 PM,21\n13/03/2026 1:00 p.m.,22\n"
    )
    assert [point.at.hour for point in log.points] == [0, 12, 13]


def test_the_hour_that_the_clock_shows_twice() -> None:
    rows = ["00:30", "01:00", "01:30", "01:00", "01:30", "02:00"]
    text = "time,temp °C\n" + "".join(f"2026-10-25 {row},20\n" for row in rows)
    log = read(text)
    assert [at[11:16] + at[19:] for at in times(log)] == [
        "00:30+01:00",
        "01:00+01:00",
        "01:30+01:00",
        "01:00+00:00",
        "01:30+00:00",
        "02:00+00:00",
    ]
    assert (log.interval_min, log.gaps, log.dropped_rows) == (30, (), 0)


def test_the_hour_that_the_clock_skips() -> None:
    rows = ["00:30", "01:00", "01:30", "02:00"]
    log = read("time,temp °C\n" + "".join(f"2026-03-29 {row},20\n" for row in rows))
    assert times(log) == ["2026-03-29T00:30:00+00:00", "2026-03-29T02:00:00+01:00"]
    assert log.dropped_rows == 2
    assert "2 rows at a time that the clock skipped" in str(log.note)


def test_a_day_of_25_hours_is_covered_in_full() -> None:
    start = datetime(2026, 10, 24, 22, tzinfo=UTC)
    rows = ((start + timedelta(hours=n)).isoformat() for n in range(28))
    log = read("time,temp °C\n" + "".join(f"{row},20\n" for row in rows))
    assert [(day.day.day, day.hours_covered) for day in log.days] == [(24, 1), (25, 25), (26, 2)]


def test_gaps_duplicates_and_empty_rows_are_told() -> None:
    text = (
        "time,temp °C,rh\n2026-03-02 09:00,20,50\n2026-03-02 10:00,21,50\n"
        "2026-03-02 10:00,22,50\n2026-03-02 11:00,---,OL\n2026-03-02 14:00,20,50\n"
        "2026-03-02 15:00,20,\naverage,20,50\n"
    )
    log = read(text)
    assert [point.air_c for point in log.points] == [20, 21, 20, 20]
    assert log.points[-1].humidity_percent is None
    assert [(one.hour, two.hour) for one, two in log.gaps] == [(10, 14)]
    assert log.dropped_rows == 3
    assert str(log.note).endswith(
        "1 row without a time that can be read; 1 row for a time that is there already; "
        "1 row without a reading; 1 cell that cannot be read"
    )


def test_values_that_cannot_be_true_are_left_out_and_counted() -> None:
    log = read("time,temp °C,rh\n2026-03-02 09:00,20,150\n2026-03-02 10:00,-273,50\n")
    assert [(p.air_c, p.humidity_percent) for p in log.points] == [(20, None), (None, 50)]
    assert "2 values that cannot be true left out" in str(log.note)


def test_a_log_from_last_to_first_is_turned() -> None:
    text = "time,temp °C\n" + "".join(f"2026-03-02 {hour:02}:00,{hour}\n" for hour in (12, 11, 10))
    assert [point.air_c for point in read(text).points] == [10, 11, 12]


def test_points_are_thinned_and_days_keep_the_extremes() -> None:
    start = datetime(2026, 3, 2, tzinfo=UTC)
    rows = ((start + timedelta(minutes=n), 30 if n == 7 else 20) for n in range(60))
    log = read("time,temp °C\n" + "".join(f"{at.isoformat()},{value}\n" for at, value in rows))
    assert [point.at.minute for point in log.points] == [0, 15, 30, 45]
    day = log.days[0]
    assert (day.day, day.samples, day.hours_covered) == (date(2026, 3, 2), 60, 1)
    assert (day.air_low_c, day.air_high_c, day.air_mean_c) == (20, 30, 20.17)
    assert day.humidity_mean_percent is None


def test_a_floor_sensor_is_kept_apart_and_second_columns_are_named() -> None:
    log = read("time,air temp °C,floor temp °C,temp 2 °C,rh\n2026-03-02 09:00,20,17,99,50\n")
    assert (log.points[0].air_c, log.points[0].floor_c) == (20, 17)
    assert "columns not read: temp 2 °C" in str(log.note)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("", "log.csv: holds no table"),
        ("just words\nand more\n", "log.csv: holds no table"),
        ("a,b\n1,2\n", "log.csv, line 1: no column holds day and time"),
        ("2026-03-02 09:00,20,50\n", "log.csv, line 1: the columns have no names"),
        (
            "time,temp °C,rh\n2026-03-02 09:00,21,5,48,0\n2026-03-02 10:00,21,5,48,0\n",
            "line 2: the rows have more cells than the names",
        ),
        (
            "time,temperature,rh\n2026-03-02 09:00,20,50\n",
            "line 2: the unit of the column temperature is not stated",
        ),
        (
            "time,volts\n2026-03-02 09:00,20\n",
            "line 2: no temperature or humidity among the columns",
        ),
        ("time,temp °C\n2026-03-02 09:00,OL\n", "line 2: no row holds a reading"),
        ("time,temp °C\n2026-03-02 09:00,215\n", "line 2: no row holds a reading"),
        ('time,temp °C\n2026-03-02 09:00,"20\n', "cannot be read as a table"),
        ("time,temp °C\n2026-03-02 09:00,\x00\n", "line 2: holds a NUL character"),
        (
            "timestamp,channel,value\n2026-03-02 09:00,temperature,20\n",
            "line 2: the unit of the channel temperature is not stated",
        ),
        ("time,temp °C" + ",x" * 80 + "\n2026-03-02 09:00,20" + ",1" * 80, "has 82 columns"),
    ],
)
def test_a_file_that_cannot_be_read_says_why(text: str, message: str) -> None:
    assert message in refused(text)


def test_an_unknown_zone_is_refused() -> None:
    assert "the time zone is Europe/Nowhere" in refused("", zone="Europe/Nowhere")


def test_a_file_too_large_is_refused_before_it_is_read() -> None:
    data = bytes(100_000_001)
    with pytest.raises(InputError, match="at most 100000000 are read"):
        read_climate(data, "log.csv", zone=LONDON)


@settings(max_examples=200, deadline=None)
@given(st.data())
def test_no_damaged_file_gives_a_traceback(data: st.DataObject) -> None:
    text = bytearray(data.draw(st.sampled_from(sorted(SHAPES.values()))).encode())
    for _ in range(data.draw(st.integers(1, 5))):
        at = data.draw(st.integers(0, len(text) - 1))
        patch = data.draw(
            st.sampled_from([b"", b",", b";", b'"', b"\n", b"9", b"99", b"/", b"\xff", b"0"])
        )
        text[at : at + data.draw(st.integers(0, 3))] = patch
    try:
        log = read_climate(
            bytes(text), "log.csv", zone=LONDON, dates=data.draw(st.none() | st.just("day-first"))
        )
    except InputError:
        return
    assert log.points
    assert list(log.points) == sorted(log.points, key=lambda point: point.at)


@given(st.binary(max_size=200))
def test_no_bytes_give_a_traceback(data: bytes) -> None:
    try:
        read_climate(data, "log.csv", zone=LONDON)
    except InputError:
        return
    pytest.fail("random bytes were read as a log")
