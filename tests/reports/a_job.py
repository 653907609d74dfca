"""One invented job and hostile variants of it, for the tests of reports."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

from diagnose.model import EntryRef, Provenance
from diagnose.record import model as record

START = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)


def at(hours: float) -> datetime:
    return START + timedelta(hours=hours)


def rectangle(x: float, y: float, wide: float, high: float) -> record.Line:
    return ((x, y), (x + wide, y), (x + wide, y + high), (x, y + high))


def climate_log() -> record.ClimateLog:
    points = tuple(
        record.ClimatePoint(
            at=at(-48 + 0.5 * step),
            air_c=18 + 3 * ((step % 48) / 48),
            humidity_percent=48 + step % 40,
        )
        for step in range(200)
    )
    return record.ClimateLog(id="C1", file_name="log.csv", points=points, interval_min=30)


def day_room() -> record.Area:
    return record.Area(
        id="day-room",
        name="Day room",
        outline_m=rectangle(0, 0, 9, 6),
        area_m2=54,
        doors=(record.Door(id="D1", line_m=((0, 2), (0, 3))),),
        windows=(record.Window(id="W1", line_m=((3, 6), (7, 6)), faces="south"),),
        traffic_m=((0, 2.5), (5, 2.5), (9, 4)),
        climate="C1",
        subfloor=record.Subfloor(kind="cement-screed", age_days=200, damp_proof_membrane="yes"),
    )


def corridor() -> record.Area:
    return record.Area(
        id="corridor",
        name="Corridor",
        outline_m=rectangle(0, 0, 18, 2),
        doors=(
            record.Door(id="D2", line_m=((18, 0.5), (18, 1.5))),
            record.Door(id="D3", line_m=((4, 2), (5, 2))),
        ),
    )


def the_job() -> record.Job:
    """Return a job with two areas, two batches, two seams and readings."""
    drops = {
        "L1": record.Drop(
            id="L1",
            area="day-room",
            roll="R1",
            metre_from=0,
            metre_to=9.2,
            outline_m=rectangle(0, 0, 9, 3),
            pile_direction_deg=0,
        ),
        "L2": record.Drop(
            id="L2",
            area="day-room",
            roll="R2",
            metre_from=0,
            metre_to=9.2,
            outline_m=rectangle(0, 3, 9, 3),
            pile_direction_deg=180,
        ),
        "L3": record.Drop(
            id="L3",
            area="corridor",
            roll="R1",
            metre_from=9.2,
            metre_to=19,
            outline_m=rectangle(0, 0, 9.5, 2),
            pile_direction_deg=0,
        ),
        "L4": record.Drop(
            id="L4",
            area="corridor",
            roll="R2",
            metre_from=9.2,
            metre_to=18,
            outline_m=rectangle(9.5, 0, 8.5, 2),
            pile_direction_deg=0,
        ),
    }
    seams = {
        "S1": record.Seam(
            id="S1",
            area="day-room",
            drops=("L1", "L2"),
            line_m=((0, 3), (9, 3)),
            kind="side",
            edges_sealed=1,
            sealer_lot="G1",
            bead_at=at(3),
        ),
        "S2": record.Seam(
            id="S2", area="corridor", drops=("L3", "L4"), line_m=((9.5, 0), (9.5, 2)), kind="cross"
        ),
    }
    readings = {
        "M1": record.Reading(
            id="M1",
            kind="moisture-humidity",
            value=71,
            unit="%",
            area="day-room",
            point_m=(1, 1),
            taken_at=at(-4),
            instrument="probe 3",
            calibrated_on=date(2025, 11, 4),
            method="in-slab-probe",
        ),
        "M2": record.Reading(
            id="M2",
            kind="moisture-humidity",
            value=68,
            unit="%",
            area="day-room",
            point_m=(5, 4.5),
            taken_at=at(-4),
            method="in-slab-probe",
        ),
        "T1": record.Reading(
            id="T1", kind="floor-temperature", value=17.5, unit="°C", area="corridor"
        ),
    }
    return record.Job(
        id="elm-house",
        title="Elm House, day room and corridor",
        invented=True,
        zone="Europe/London",
        method="adhered",
        people={"AB": "fitter", "CD": "estimator"},
        site=record.Site(name="Elm House", building="care-home", built_year=1988),
        contract=record.Contract(client="Elm House trust", codes=("bs-5325-2001",)),
        product=record.Product(
            name="Loop 500",
            method="adhered",
            pile="loop",
            construction="tufted",
            backing="impervious",
            fibre="polyamide",
            width_mm=4000,
            total_mass_g_m2=2200,
        ),
        dates=record.Dates(started_at=START, finished_at=at(9), handed_over_at=at(26)),
        completion=record.Completion(
            walked_over=True,
            self_check_by="AB",
            photos=6,
            protection="breathable-paper",
            handed_to="EF",
            care_advice_given=True,
            offcut_kept=True,
            offcut_labelled=True,
            spare_m2=2.5,
        ),
        areas={"day-room": day_room(), "corridor": corridor()},
        rolls={
            "R1": record.Roll(id="R1", batch="B-4711", roll_number=12, inspected=True),
            "R2": record.Roll(id="R2", batch="B-4712", roll_number=3, inspected=True),
        },
        lots={
            "A1": record.Lot(
                id="A1",
                kind="adhesive",
                name="Adhesive one",
                batch="0815",
                expires_on=date(2026, 9, 30),
                limits={
                    "open-time": record.Range(high=30, unit="min", source="data sheet 2025-04")
                },
            ),
            "G1": record.Lot(id="G1", kind="sealer", name="Sealer one", batch="77-2"),
        },
        drops=drops,
        spreads={
            "SP1": record.Spread(
                id="SP1",
                area="day-room",
                drops=("L1",),
                lot="A1",
                notch="A2",
                started_at=at(1),
                ended_at=at(1.3),
                laid_at=at(2.1),
                rolled_at=at(2.4),
                roller_kg=34,
                rolled_along=True,
                rolled_across=True,
            ),
            "SP2": record.Spread(id="SP2", area="day-room", drops=("L2",), lot="A1", laid_at=at(4)),
        },
        seams=seams,
        edges={"E1": record.Edge(id="E1", area="day-room", kind="doorway", door="D1")},
        readings=readings,
        climate={"C1": climate_log()},
        complaints={
            "Q1": record.Complaint(
                id="Q1", made_at=at(2000), symptoms=("seam-peaking",), at="seam:S1"
            )
        },
        photos={
            "P1": record.Photo(id="P1", of="seam:S1", alt="Seam S1 from the door", sha256="ab" * 32)
        },
        origins={
            "spreads.SP1.laid_at": EntryRef(
                "phone", 4, "cd" * 32, at(2.2), said_by="AB", provenance=Provenance.ON_THE_DAY
            )
        },
    )


HOSTILE = '<script>alert(1)</script><img src=x onerror=alert(2)> [x](javascript:alert(3)) \x1b[2J\u202e =1+1 #read("x")'


def hostile_job() -> record.Job:
    """Return the job with hostile text wherever a person may write freely."""
    job = the_job()
    area = replace(job.areas["day-room"], name=HOSTILE)
    drop = replace(job.drops["L1"], id=HOSTILE)
    return replace(
        job,
        title=HOSTILE,
        site=replace(job.site, name=HOSTILE),
        contract=replace(job.contract, client=HOSTILE, objection=HOSTILE),
        product=replace(job.product, name=HOSTILE),
        areas={**job.areas, "day-room": area},
        drops={**job.drops, "L1": drop},
        rolls={**job.rolls, "R1": replace(job.rolls["R1"], batch=HOSTILE)},
        lots={**job.lots, "A1": replace(job.lots["A1"], name=HOSTILE, batch=HOSTILE)},
        photos={"P1": replace(job.photos["P1"], alt=HOSTILE, shows=HOSTILE)},
    )
