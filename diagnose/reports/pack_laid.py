"""The part of the handover pack that says what was laid where, with what, on what."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import tzinfo

from diagnose.checks.geometry import area_m2
from diagnose.checks.limits import choose_limit
from diagnose.checks.words import listed, num, shown
from diagnose.record.model import Area, ClimateLog, Conditioning, Drop, Job, Reading, Seam, Spread
from diagnose.reports.blocks import PictureBlock
from diagnose.reports.climate_chart import Band, climate_picture
from diagnose.reports.pack import NO_MATTER, Facts, Section, Sheet
from diagnose.reports.plan import draw_job, plan_block
from diagnose.reports.plan_words import pile_words
from diagnose.rulebook.model import Rules

_BASE = (
    ("Subfloor", "subfloor.kind"),
    ("Its age when laying began", "subfloor.age_days"),
    ("Damp proof membrane", "subfloor.damp_proof_membrane"),
    ("Old adhesive", "subfloor.old_adhesive"),
    ("Smoothing compound", "subfloor.smoothing"),
    ("Primer", "subfloor.primer"),
    ("Heating", "heating.kind"),
)


def laid_sections(job: Job, rules: Rules, zone: tzinfo) -> tuple[Section, ...]:
    """Return floor with plan, lots, seams, base and conditions, in that order."""
    return (
        _floor(job),
        _stuck(job),
        _seams(job),
        _base(job),
        _conditions(job, rules, zone),
    )


def job_section(job: Job) -> Section:
    """Return what the contract was, for whom, and when."""
    facts = Facts(job)
    facts.add("contract.client").named("Site", "site.name").add("site.building", "site.storey")
    facts.add("contract.ordered", "contract.expected_use", "contract.castor_chairs")
    facts.add("contract.rolling_loads", "contract.codes")
    facts.add("contract.seam_plan_agreed_on", "dates.started_at", "dates.finished_at")
    facts.add("dates.handed_over_at", "completion.handed_to")
    people = ", ".join(f"{name} ({role})" for name, role in job.people.items())
    return Section("job", "The job", facts=facts.say("People on the job", people).all())


def _floor(job: Job) -> Section:
    facts = Facts(job)
    facts.named("Product", "product.name").named("Its data sheet", "product.data_sheet")
    facts.add("product.use_class", "product.castor_rated")
    facts.named("Approved sample", "contract.approved_sample")
    seen = [roll.id for roll in job.rolls.values() if roll.inspected]
    facts.say("Rolls inspected before cutting", listed(seen))
    facts.say("Method of fixing", job.method or job.product.method or "")
    made = (job.product.pile, job.product.construction, job.product.backing, job.product.fibre)
    facts.say("Pile, making, backing, fibre", ", ".join(word for word in made if word))
    areas = Sheet(
        "Areas",
        ("area", "name", "carpeted m²", "drops"),
        tuple(
            (area.id, area.name or "", _size(area), _names(job.drops.values(), area.id))
            for area in job.areas.values()
        ),
    )
    drops = Sheet(
        "Drops",
        ("drop", "area", "roll", "batch", "metres of the roll", "pile lies"),
        tuple(_drop_row(job, drop) for drop in job.drops.values()),
    )
    drawn = draw_job(job)
    plans = tuple(plan_block(plan) for plan in drawn)
    without = [area for area in job.areas if area not in {plan.area for plan in drawn}]
    lines = (f"No outline is recorded of: {listed(without)}.",) if without else ()
    return Section("laid", "What was laid where", "", facts.all(), (areas, drops), lines, plans)


def _size(area: Area) -> str:
    if len(area.outline_m) >= 3:
        return num(area_m2(area.outline_m), places=1)
    return num(area.area_m2, places=1) if area.area_m2 is not None else ""


def _names(parts: Iterable[Drop], area: str) -> str:
    return ", ".join(part.id for part in parts if part.area == area)


def _drop_row(job: Job, drop: Drop) -> tuple[str, ...]:
    roll = job.rolls.get(drop.roll or "")
    metres = ""
    if drop.metre_from is not None and drop.metre_to is not None:
        metres = f"{num(drop.metre_from)} to {num(drop.metre_to)}"
    pile = "" if drop.pile_direction_deg is None else pile_words(drop.pile_direction_deg)
    batch = (roll.batch if roll else None) or ""
    return (drop.id, drop.area or "", drop.roll or "", batch, metres, pile)


def _stuck(job: Job) -> Section:
    lots = Sheet(
        "Lots used",
        ("lot", "what", "name", "batch", "use by", "data sheet", "used in"),
        tuple(
            (
                lot.id,
                lot.kind or "",
                lot.name or "",
                lot.batch or "",
                _day(lot.expires_on),
                lot.data_sheet or "",
                _used_in(job, lot.id),
            )
            for lot in job.lots.values()
        ),
    )
    spreads = Sheet(
        "Spreads of adhesive",
        ("spread", "drops", "lot", "notch", "spread from", "laid at", "rolled at", "kg/m²"),
        tuple(_spread_row(spread) for spread in job.spreads.values()),
    )
    return Section("stuck", "Adhesive, sealer and other lots", sheets=(lots, spreads))


def _used_in(job: Job, lot: str) -> str:
    spreads = [f"spread {each.id}" for each in job.spreads.values() if each.lot == lot]
    seams = [f"seam {s.id}" for s in job.seams.values() if lot in (s.sealer_lot, s.tape_lot)]
    return listed([*spreads, *seams])


def _spread_row(spread: Spread) -> tuple[str, ...]:
    spent = ""
    if spread.mass_used_kg is not None and spread.area_m2:
        spent = num(spread.mass_used_kg / spread.area_m2)
    times = (spread.started_at, spread.laid_at, spread.rolled_at)
    drops = ", ".join(spread.drops)
    return (
        spread.id, drops, spread.lot or "", spread.notch or "", *(_day(at) for at in times), spent
    )  # fmt: skip


def _seams(job: Job) -> Section:
    seams = Sheet(
        "Every seam",
        ("seam", "between", "made by", "cut edges sealed", "sealer lot", "face checked", "photo"),
        tuple(_seam_row(seam) for seam in job.seams.values()),
    )
    if not job.seams and len(job.drops) == 1:
        return Section("seams", "Seams", "One drop, no seam.")
    return Section("seams", "Seams", sheets=(seams,))


def _seam_row(seam: Seam) -> tuple[str, ...]:
    sealed = "" if seam.edges_sealed is None else f"{seam.edges_sealed} of 2"
    return (
        seam.id, " and ".join(seam.drops), seam.made_by or "", sealed, seam.sealer_lot or "",
        _yes(seam.face_checked), _yes(seam.photo),
    )  # fmt: skip


def _base(job: Job) -> Section:
    facts = Facts(job)
    for area in job.areas:
        for label, name in _BASE:
            facts.named(f"{label}, area {area}", f"areas.{area}.{name}")
    facts.add("site.asbestos_survey")
    readings = Sheet(
        "Readings",
        ("reading", "of what", "value", "where", "method", "instrument", "calibrated", "taken at"),
        tuple(_reading_row(reading) for reading in job.readings.values()),
    )
    return Section("base", "The base and its readings", facts=facts.all(), sheets=(readings,))


def _reading_row(reading: Reading) -> tuple[str, ...]:
    value = "" if reading.value is None else f"{reading.value:g} {reading.unit or ''}".rstrip()
    method = reading.method or ("" if reading.kind.startswith("moisture") else NO_MATTER)
    if reading.straightedge_m is not None:
        method = f"straightedge of {num(reading.straightedge_m, 'm')}"
    where = ", ".join(word for word in (reading.area, reading.at_part, reading.position) if word)
    return (
        reading.id, reading.kind.replace("-", " "), value, where, method,
        reading.instrument or "", _day(reading.calibrated_on), _day(reading.taken_at),
    )  # fmt: skip


def _conditions(job: Job, rules: Rules, zone: tzinfo) -> Section:
    stored = Sheet(
        "Goods left to condition",
        ("entry", "what", "where", "from", "to", "unrolled"),
        tuple(
            (k.id, _stock(k), k.where or "", _day(k.from_at), _day(k.to_at), _unrolled(k))
            for k in job.conditioning.values()
        ),
    )
    air = Sheet(
        "Air and floor while spreading",
        ("spread", "air", "humidity", "floor"),
        tuple(
            (
                spread.id,
                _shown(spread.air_c, "air_c"),
                _shown(spread.humidity_percent, "humidity_percent"),
                _shown(spread.floor_c, "floor_c"),
            )
            for spread in job.spreads.values()
        ),
    )
    charts = [_chart(log, job, rules, zone) for log in job.climate.values()]
    drawn = tuple(chart for chart in charts if chart is not None)
    facts = Facts(job)
    kept = ", ".join(f"{log.id}: {log.file_name or 'no file'}" for log in job.climate.values())
    facts.say("Climate logs", kept)
    sheets = (stored, air)
    return Section("conditions", "Conditions", "", facts.all(), sheets, pictures=drawn)


def _stock(kept: Conditioning) -> str:
    return (kept.what or "").replace(":", " ")


def _unrolled(kept: Conditioning) -> str:
    return _yes(kept.unrolled) if (kept.what or "roll:").startswith("roll") else NO_MATTER


def _chart(log: ClimateLog, job: Job, rules: Rules, zone: tzinfo) -> PictureBlock | None:
    areas = {area.id for area in job.areas.values() if area.climate == log.id}
    laying = [
        (spread.laid_at, spread.laid_end_at or spread.laid_at)
        for spread in job.spreads.values()
        if spread.laid_at is not None and (spread.area is None or spread.area in areas)
    ]
    bands = (_band("air-temperature", job, rules), _band("air-humidity", job, rules))
    return climate_picture(log, zone, laying, *bands)


def _band(name: str, job: Job, rules: Rules) -> Band | None:
    limit = rules.limits.get(name)
    chosen = choose_limit(limit, job) if limit else None
    return Band(chosen.low, chosen.high, chosen.used) if chosen else None


def _shown(value: object, name: str) -> str:
    return "" if value is None else shown(value, name)


def _day(at: object) -> str:
    return _shown(at, "at")


def _yes(value: bool | None) -> str:
    return _shown(value, "")
