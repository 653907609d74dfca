"""The part of the handover pack that tells how the floor may be used, and what was checked."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from diagnose.checks.limits import Chosen, choose_limit
from diagnose.checks.parts import facets_of
from diagnose.checks.words import listed, moment, num
from diagnose.model import CheckResult, Floor, Outcome
from diagnose.record.model import Job
from diagnose.reports.pack import Fact, Facts, Section, Sheet, text_at
from diagnose.rulebook.applies import applies_to
from diagnose.rulebook.model import Rules

NORMAL = (
    "shading",
    "visible-flat-seam",
    "tracking-marks",
    "flattening",
    "shedding-or-pilling",
    "indentation",
)
"""Symptoms of which the client is told at handover what is normal."""
CARE = (
    "too-little-vacuuming",
    "rotating-brush-on-loop",
    "rotary-pad-on-cut-pile",
    "sticky-cleaning-residue",
    "alkali-left-in-pile",
    "overwet-cleaning",
    "solvent-in-backing",
    "bleach-contact",
)
"""Causes in use whose prevention is the care advice, the commonest first."""
_WAITS = (
    ("Walked on from", "traffic-hours", "rolled"),
    ("Furnished and wheeled on from", "furniture-hours", "rolled"),
    ("Wet-cleaned from", "wet-cleaning-days", "finished"),
)
_CARE_LIMITS = (
    ("Water in cleaning", "cleaning-water"),
    ("Dry again after cleaning", "cleaning-drying"),
    ("pH of cleaners", "cleaner-ph"),
    ("Air in the room, also when nobody is there", "temperature-in-use"),
)


def use_sections(job: Job, rules: Rules, call: str) -> tuple[Section, ...]:
    """Return use, care, what is normal, offcuts and whom to call, in that order."""
    return (
        _use(job, rules),
        _care(job, rules),
        _normal(job, rules),
        _offcuts(job),
        Section("call", "Whom to call", facts=(Fact("If something is amiss", call),)),
    )


def end_sections(job: Job, results: Iterable[CheckResult]) -> tuple[Section, ...]:
    """Return self-check, what the checks say, photos and papers, in that order."""
    return (_self_check(job), _checked(tuple(results)), _photos(job), _papers(job))


def _self_check(job: Job) -> Section:
    facts = Facts(job)
    facts.add("completion.self_check_by", "completion.walked_over")
    facts.named("Protection after laying", "completion.protection")
    facts.named("Carpet was the last trade", "completion.last_trade")
    facts.named("Fitter's written objection", "contract.objection")
    if not facts.found[-1].text:
        # An objection is made only where there is something to object to.
        facts.found[-1] = Fact(facts.found[-1].label, "none on record")
    return Section("self-check", "Self-check before leaving", facts=facts.all())


def _checked(results: tuple[CheckResult, ...]) -> Section:
    out = [each for each in results if each.outcome == Outcome.DEVIATES]
    fine = sum(each.outcome == Outcome.IN_ORDER for each in results)
    gaps = sum(each.outcome == Outcome.NOT_RECORDED for each in results)
    intro = (
        f"Of {len(results)} checks of the record against its limits {fine} are in order, "
        f"{len(out)} deviate and {gaps} had nothing to go by."
    )
    lines = tuple(
        each.summary + (f" (limit: {each.limit.text})" if each.limit else "") for each in out
    )
    return Section("checked", "The record against its limits", intro, lines=lines)


def _photos(job: Job) -> Section:
    facts = Facts(job).named("Photos taken", "completion.photos").all()
    kept = Sheet(
        "Photos kept with the record",
        ("photo", "of", "shows", "taken at", "fingerprint"),
        tuple(
            (
                photo.id,
                photo.of or "",
                photo.alt or photo.shows or "",
                moment(photo.taken_at) if photo.taken_at else "",
                (photo.sha256 or "")[:16],
            )
            for photo in job.photos.values()
        ),
    )
    return Section("photos", "Photos", facts=facts, sheets=(kept,))


def _use(job: Job, rules: Rules) -> Section:
    rolled = [at for s in job.spreads.values() if (at := s.rerolled_at or s.rolled_at)]
    starts = {
        "rolled": max(rolled, default=job.dates.finished_at),
        "finished": job.dates.finished_at,
    }
    facts = [_wait(job, rules, label, limit, starts[start]) for label, limit, start in _WAITS]
    facts.append(Fact("First traffic was", text_at(job, "completion.first_traffic_at")))
    facts.append(Fact("Furniture was back", text_at(job, "completion.furniture_at")))
    told = Facts(job).named("The client was told these times", "completion.traffic_hours_told")
    intro = "Counted from the last rolling, cleaning from the end of the work."
    return Section("use", "When it may be used", intro, (*facts, *told.all()))


def _wait(job: Job, rules: Rules, label: str, limit: str, start: datetime | None) -> Fact:
    chosen = _chosen(job, rules, limit)
    if chosen is None or chosen.low is None or start is None:
        return Fact(label)
    wait = timedelta(days=chosen.low) if chosen.unit == "days" else timedelta(hours=chosen.low)
    day = start + wait
    when = moment(day.date() if chosen.unit == "days" else day)
    return Fact(label, f"{when} ({num(chosen.low, chosen.unit)} after; {_source(rules, chosen)})")


def _chosen(job: Job, rules: Rules, name: str) -> Chosen | None:
    limit = rules.limits.get(name)
    words = {str(facet): value for facet, value in facets_of(job).items()}
    return choose_limit(limit, job, facets=words) if limit else None


def _source(rules: Rules, chosen: Chosen) -> str:
    name, _, clause = chosen.used.source.partition(", ")
    source = rules.sources.get(name)
    text = source.title if source else name
    return f"{text}, {clause}" if clause else text


def _care(job: Job, rules: Rules) -> Section:
    floor = Floor(facets_of(job))
    facts = []
    for label, name in _CARE_LIMITS:
        chosen = _chosen(job, rules, name)
        if chosen is not None:
            facts.append(Fact(label, f"{chosen.text()} ({_source(rules, chosen)})"))
    told = Facts(job)
    told.named("Care advice was given", "completion.care_advice_given")
    told.named("The least temperature was told", "completion.warm_limit_told")
    causes = [rules.causes[name] for name in CARE if name in rules.causes]
    lines = tuple(each.prevention for each in causes if applies_to(each.applies, floor))
    intro = "What the maker of the carpet says in writing goes before what follows."
    return Section("care", "Care", intro, (*facts, *told.all()), lines=lines)


def _normal(job: Job, rules: Rules) -> Section:
    floor = Floor(facets_of(job))
    told = Facts(job)
    told.named("Shading and pile reversal were explained", "completion.shading_explained")
    told.named("That a seam is never invisible was explained", "completion.seams_explained")
    symptoms = [rules.symptoms[name] for name in NORMAL if name in rules.symptoms]
    lines = tuple(
        f"{each.name}: {each.normal}" for each in symptoms if applies_to(each.applies, floor)
    )
    return Section("normal", "What is normal and no fault", facts=told.all(), lines=lines)


def _offcuts(job: Job) -> Section:
    facts = Facts(job).named("Offcut kept", "completion.offcut_kept")
    facts.named("Offcut labelled with its batch", "completion.offcut_labelled")
    facts.named("Spare carpet handed over, m²", "completion.spare_m2")
    batches = dict.fromkeys(roll.batch for roll in job.rolls.values() if roll.batch)
    facts.say("Batches to match", listed(list(batches)))
    return Section("offcuts", "Offcuts and spare carpet", facts=facts.all())


def _papers(job: Job) -> Section:
    facts = Facts(job).named("List of batches", "completion.batch_list_given")
    facts.named("Moisture report", "completion.moisture_report")
    facts.named("Safety data sheets", "completion.safety_data_sheets")
    facts.named("Care sheet", "completion.care_advice_given")
    facts.named("Data sheet of the carpet", "product.data_sheet")
    return Section("papers", "Papers handed over", facts=facts.all())
