"""COBie sheets: every room, batch and reading, and no cell that a spreadsheet would run."""

from __future__ import annotations

import csv
import io
from types import ModuleType

from diagnose.record.model import Job
from diagnose.reports.cobie import COLUMNS, UNKNOWN, cobie_sheets


def sheets_of(job: Job) -> dict[str, list[dict[str, str]]]:
    made = cobie_sheets(job, made_at="2026-05-04T09:00:00+01:00", made_by="fitter")
    assert made.keys() == COLUMNS.keys()
    return {
        name: list(csv.DictReader(io.StringIO(text), strict=True)) for name, text in made.items()
    }


def test_every_room_has_a_space_and_its_carpet(made: ModuleType) -> None:
    job = made.invented_job("larch-house")
    sheets = sheets_of(job)
    assert {row["Name"] for row in sheets["Space"]} == set(job.areas)
    assert {row["Space"] for row in sheets["Component"]} == set(job.areas)
    assert {row["TypeName"] for row in sheets["Component"]} <= {r["Name"] for r in sheets["Type"]}
    assert {row["RowName"] for row in sheets["Attribute"]} <= {
        r["Name"] for r in sheets["Component"]
    }
    assert {row["InstallationDate"] for row in sheets["Component"]} == {"2026-03-03"}


def test_batches_and_readings_are_attributes(made: ModuleType) -> None:
    job = made.invented_job("larch-house")
    rows = {row["Name"]: row for row in sheets_of(job)["Attribute"]}
    for drop in job.drops.values():
        assert rows[f"Drop {drop.id} batch"]["Value"] == job.rolls[drop.roll].batch == "0417"
    for reading in job.readings.values():
        row = rows[f"Reading {reading.id} {reading.kind}"]
        assert float(row["Value"]) == reading.value
        assert row["Unit"] == (reading.unit or UNKNOWN)


def test_numbers_stay_numbers_and_text_is_never_a_formula(made: ModuleType) -> None:
    job = made.a_job().hostile_job()
    for lead in ("=1+1", "+1", "-1", "@SUM(A1)", "\t=1", "\r=1", "\x00=1"):
        from dataclasses import replace

        bad = replace(job, product=replace(job.product, name=lead))
        for rows in sheets_of(bad).values():
            for row in rows:
                for cell in row.values():
                    assert cell[:1] not in ("=", "+", "@", "\t", "\r", "\x00")
                    assert cell[:1] != "-" or float(cell) < 0


def test_a_bare_job_says_what_is_not_known() -> None:
    sheets = sheets_of(Job(id="bare"))
    assert sheets["Facility"][0]["SiteName"] == UNKNOWN
    assert sheets["Space"] == []
