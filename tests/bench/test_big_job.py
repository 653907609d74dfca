"""A job of forty areas with logs of a year: how long its checks take, and the memory.

Run with: pytest -m bench -n 0 tests/bench/test_big_job.py -s
"""

from __future__ import annotations

import resource
import time
from datetime import UTC, datetime, timedelta

import pytest

from diagnose.checks.run import run_checks
from diagnose.data import data_folder
from diagnose.model import Place
from diagnose.record.model import (
    Area,
    ClimateLog,
    ClimatePoint,
    Dates,
    Door,
    Drop,
    DropEdge,
    Job,
    Roll,
    Seam,
    Spread,
    Subfloor,
    Window,
)
from diagnose.rulebook.load import load_rules

AREAS, DROPS, LOGS = 40, 10, 20
POINTS_A_YEAR = 35_040
"""A log at ten minutes is thinned to one point in a quarter of an hour."""
START = datetime(2026, 1, 1, tzinfo=UTC)
WORK = START + timedelta(days=100)


def log(name: str) -> ClimateLog:
    points = tuple(
        ClimatePoint(
            at=START + timedelta(minutes=15 * n),
            air_c=19 + (n % 96) / 48,
            humidity_percent=45 + (n % 500) / 50,
            floor_c=17.5,
        )
        for n in range(POINTS_A_YEAR)
    )
    return ClimateLog(id=name, points=points, interval_min=10, zone="Europe/London")


def big_job() -> Job:
    areas, drops, seams, spreads = {}, {}, {}, {}
    for a in range(AREAS):
        area = f"A{a}"
        areas[area] = Area(
            id=area,
            outline_m=((0, 0), (40, 0), (40, 20), (0, 20)),
            climate=f"C{a % LOGS}",
            subfloor=Subfloor(kind="cement-screed", thickness_mm=65, age_days=300),
            doors=(Door(id="D1", line_m=((1, 0), (2, 0))),),
            windows=(Window(id="W1", line_m=((5, 20), (30, 20))),),
            traffic_m=((1, 1), (30, 10)),
        )
        for d in range(DROPS):
            drop, seam, spread = f"L{a}-{d}", f"S{a}-{d}", f"SP{a}-{d}"
            left = 4 * d
            drops[drop] = Drop(
                id=drop,
                area=area,
                roll=f"R{a}",
                outline_m=((left, 0), (left + 4, 0), (left + 4, 20), (left, 20)),
                pile_direction_deg=90,
                edges=(
                    DropEdge(side="left", cut="thread-drawn"),
                    DropEdge(side="right", cut="thread-drawn"),
                ),
            )
            seams[seam] = Seam(
                id=seam,
                area=area,
                drops=(drop, f"L{a}-{(d + 1) % DROPS}"),
                line_m=((left + 4, 0), (left + 4, 20)),
                edges_sealed=2,
                bead_at=WORK - timedelta(minutes=5),
                closed_at=WORK,
            )
            spreads[spread] = Spread(
                id=spread,
                area=area,
                drops=(drop,),
                started_at=WORK,
                ended_at=WORK + timedelta(minutes=10),
                laid_at=WORK + timedelta(minutes=20),
                rolled_at=WORK + timedelta(minutes=25),
                air_c=19,
                humidity_percent=50,
                floor_c=17,
            )
    return Job(
        id="big",
        method="adhered",
        areas=areas,
        drops=drops,
        seams=seams,
        spreads=spreads,
        rolls={f"R{a}": Roll(id=f"R{a}", batch="1", roll_number=a) for a in range(AREAS)},
        climate={f"C{n}": log(f"C{n}") for n in range(LOGS)},
        dates=Dates(started_at=WORK - timedelta(days=1), finished_at=WORK + timedelta(days=1)),
    )


@pytest.mark.bench
def test_checks_of_a_big_job() -> None:
    rules, job = load_rules(data_folder("rules")), big_job()
    start = time.process_time()
    points = sum(point.air_c or 0.0 for each in job.climate.values() for point in each.points)
    once_over = time.process_time() - start
    start = time.process_time()
    results = run_checks(rules, job, Place("job"))
    taken = time.process_time() - start
    memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{len(results)} checks: {taken:.1f} s, {taken / once_over:.0f} times one pass over the")
    print(f"points of its logs; {memory:.0f} MiB (goals on the project machine: 5 s, 300 MiB)")
    assert points > 0
    assert len(results) > 80
    assert memory < 300
    assert taken / once_over < 400
