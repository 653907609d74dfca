"""Sample a whole job for a drawn floor: sound work, the drawn traces, and what checks say.

The outcomes that were drawn decide what is turned or left out; what the real
checks then say of the record is the truth on paper, and nothing else is.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, time, timedelta
from random import Random

from diagnose.checks.parts import select_parts
from diagnose.checks.run import run_checks
from diagnose.model import CheckResult, EntryRef, Floor, Outcome, Place, Provenance
from diagnose.practice.chance import shuffled
from diagnose.practice.job.amiss import AMISS, EVENTS, GAPS, PLAIN_NUMBER, fill_in
from diagnose.practice.job.amiss_room import CLEANING, put_cleaning
from diagnose.practice.job.climate import log_of, log_text
from diagnose.practice.job.draft import Asked, Draft
from diagnose.practice.job.plan import put_window
from diagnose.practice.job.sound import area_id, put_sound
from diagnose.practice.job.times import Work, put_times
from diagnose.practice.job.together import Wanted, made_possible
from diagnose.practice.site import Site
from diagnose.record.fields import field_of
from diagnose.record.fold import fold
from diagnose.record.model import Job
from diagnose.record.sheet_times import zone_of
from diagnose.rulebook.model import Rules

FIRST = (
    "moisture-method",
    "enough-readings",
    "same-batch",
    "rolls-in-order",
    "into-doorway",
    "stretched",
    "edges-sealed",
)
"""Calculations whose deviation adds or takes out parts, laid in before the others."""
LATE_SHARE = 0.7
"""Share of the time from the work to the complaint after which late entries were made."""
FRIDAY, RINGS_AT = 4, time(10, 0)
"""Complaints come on a working day, in the forenoon."""
ANSWERED_AFTER = timedelta(days=2)
"""From the complaint to the entries that were made because of it."""
YOUNG_DAYS = 60.0
"""On a younger floor nothing is recorded that happened later."""
GAP = Outcome.NOT_RECORDED
ALONG = ("east", "west")
"""Walls whose window throws its light across every seam."""
READ_BY_CHECKS = ("seams.made_by", "seams.forced", "spreads.layer")
"""Fields whose value follows from the method, or from what a check is to say."""
ONLY_IF_AMISS = frozenset({*EVENTS, "over-moving-joint"})
"""Calculations that say nothing of a job on which nothing of the kind happened."""


@dataclass(frozen=True, slots=True)
class SampledJob:
    """An invented job, the place of the fault, and what the checks say there."""

    job: Job
    place: Place
    wanted: Mapping[str, Outcome]
    """What was drawn, as far as one record can show it."""
    own: Collection[str]
    """Checks that speak for the fault, with what was drawn for them."""
    results: Mapping[str, CheckResult]
    """What the checks say at the place, by check, in rule order."""
    log_text: str
    """The file of the climate logger."""
    window: str
    """Wall that the window is in."""


@dataclass(frozen=True, slots=True)
class JobOrder:
    """What a job is sampled for."""

    floor: Floor
    place: Place
    site: Site
    name: str
    """Id of the job."""
    symptoms: tuple[str, ...] = ()
    """What is complained of; nothing for a job that was just finished."""
    age_days: float = 75.0
    """From the end of the work to the complaint, days; 12 at least."""
    plain: bool = False
    """Goods without a pattern."""
    stated: Mapping[str, str] = field(default_factory=dict)
    """Fields such as `areas.room_emptied` with what is to stand in them."""
    own: Collection[str] = ()
    """Checks that speak for the fault laid in; they are kept above others."""


Draw = Callable[[str], tuple[Outcome, Provenance] | None]
"""Draws what a check is to say, and when it was entered; None for nothing."""


def sample_job(rules: Rules, order: JobOrder, draw: Draw, rng: Random) -> SampledJob:
    """Return a job of the floor on which the checks say what `draw` draws, where they can.

    `draw` is asked once for each check that applies at the place, in rule order.
    """
    area = area_id(order.site.room)
    place = Place("area", area) if order.place.kind == "area" else order.place
    draft = Draft(order.floor, order.site, area, rng)
    title = f"{order.site.room.capitalize()} (invented)"
    start = put_sound(draft, place, title, plain=order.plain, age_days=order.age_days)
    _state(draft, order.stated)
    sound = _folded(draft, order.name, start)
    before = _results(rules, sound, place)
    there = _asked(rules, sound, place, before)
    for each in there.values():
        if each.check.calculation == PLAIN_NUMBER:
            fill_in(draft, each)
    drawn = {name: said for name in there if (said := draw(name)) is not None}
    outcomes = _arising(rules, {n: outcome for n, (outcome, _) in drawn.items()}, order)
    alone = {name for name, asked in there.items() if len(asked.parts) == 1}
    wanted = made_possible(outcomes, rules.checks, order.own, alone)
    if any(rules.checks[name].calculation in CLEANING for name in wanted):
        put_cleaning(draft)
    _lay_in(draft, there, wanted, order.own)
    work = put_times(draft, start)
    if not order.symptoms:
        _forget_what_is_to_come(draft, work)
    _complain(draft, order, place, work)
    text = log_text(work, draft.log, rng, goes_on=bool(order.symptoms))
    values = {**draft.texts(), f"areas.{area}.climate": "C1"}
    job = fold(order.name, values)
    log = log_of(text, f"climate-{area}.csv", work.zone, "C1")
    job = replace(job, climate={"C1": log})
    entered = {name: said[1] for name, said in drawn.items() if wanted.get(name) is not GAP}
    late = _origins(before, entered, order.own, work.finished, order.age_days)
    own = {name: entered[name] for name in order.own if name in entered}
    late |= _washed_late(rules, job, own, work.finished, order.age_days)
    there_now = {
        path: entry for path, entry in late.items() if path in values or path.startswith("later.")
    }
    job = replace(job, origins={**_afterwards(job), **there_now})
    results = _results(rules, job, place)
    window = draft.text(f"areas.{area}.windows.W1.faces")
    return SampledJob(job, place, wanted, tuple(order.own), results, text, window)


def _folded(draft: Draft, name: str, start: date) -> Job:
    put_times(draft, start)
    return fold(name, draft.texts())


def _asked(rules: Rules, job: Job, place: Place, there: Collection[str]) -> dict[str, Asked]:
    """Return the checks that the sound job has parts for, with those parts."""
    found = {}
    parts: dict[str, tuple[str, ...]] = {}
    for check in rules.checks.values():
        if check.id not in there and check.calculation not in ONLY_IF_AMISS:
            continue
        if check.looks_at not in parts:
            chosen = select_parts(job, place, check.looks_at)
            parts[check.looks_at] = tuple(part.id for part in chosen if part.id)
        if parts[check.looks_at] or check.looks_at == "job":
            limit = rules.limits.get(check.limit)
            found[check.id] = Asked(check, parts[check.looks_at], limit, {})
    return found


def _state(draft: Draft, stated: Mapping[str, str]) -> None:
    """Write down what is to stand in a field of every part of its kind."""
    for path, word in stated.items():
        collection, _, name = path.partition(".")
        rule = field_of(f"{collection}.x.{name}")
        if rule is None or path in READ_BY_CHECKS:
            continue
        for part in draft.ids(collection):
            value = word == "yes" if rule.kind == "yes-no" else word
            draft.values[f"{collection}.{part}.{name}"] = value


def _arising(rules: Rules, drawn: Mapping[str, Outcome], order: JobOrder) -> Wanted:
    """Leave out what a check would say of events that did not happen."""
    if order.age_days < YOUNG_DAYS:
        drawn = {n: o for n, o in drawn.items() if rules.checks[n].calculation not in EVENTS}
    kinds = {name: rules.checks[name].calculation for name in drawn}
    off = {n for n, outcome in drawn.items() if outcome is Outcome.DEVIATES or n in order.own}
    washed = any(kinds[name] in CLEANING for name in off)
    return {
        name: outcome
        for name, outcome in drawn.items()
        if outcome is Outcome.DEVIATES
        or kinds[name] not in ONLY_IF_AMISS
        or (washed and kinds[name] in CLEANING)
    }


def _lay_in(draft: Draft, there: Mapping[str, Asked], wanted: Wanted, own: Collection[str]) -> None:
    """Turn and leave out what the outcomes ask for, the fault's own traces last."""
    if wanted.get("seam-along-the-light") is Outcome.IN_ORDER and draft.site.window in ALONG:
        put_window(draft, "north")
    off = [name for name, outcome in wanted.items() if outcome is Outcome.DEVIATES]
    gaps = [name for name, outcome in wanted.items() if outcome is Outcome.NOT_RECORDED]
    first = [n for n in off if there[n].check.calculation in FIRST]
    first += [n for n in gaps if there[n].check.calculation == "rolls-in-order"]
    last = sorted((n for n in off if n not in first), key=lambda name: name in own)
    rolls = _rolls(draft)
    for name in [*first, *shuffled(draft.rng, (n for n in gaps if n not in first)), *last]:
        asked = there[name]
        if asked.check.looks_at == "roll" and _rolls(draft) != rolls:
            asked = replace(asked, parts=_rolls_now(draft, asked, rolls))
        if wanted[name] is Outcome.DEVIATES:
            _turn(draft, asked, wanted)
        elif maker := GAPS.get(asked.check.calculation):
            maker(draft, replace(asked, wanted=wanted))


def _turn(draft: Draft, asked: Asked, wanted: Wanted) -> None:
    """Lay a deviation in; what it is read from is on record then."""
    before = dict(draft.values)
    if maker := AMISS.get(asked.check.calculation):
        maker(draft, replace(asked, wanted=wanted))
    draft.withheld -= {p for p, value in draft.values.items() if before.get(p) != value}


def _rolls(draft: Draft) -> dict[str, str]:
    return {drop: draft.text(f"drops.{drop}.roll") for drop in draft.ids("drops")}


def _rolls_now(draft: Draft, asked: Asked, before: Mapping[str, str]) -> tuple[str, ...]:
    """Return the rolls of the drops that were cut from the rolls looked at."""
    drops = [drop for drop, roll in before.items() if roll in asked.parts]
    now = _rolls(draft)
    return tuple(dict.fromkeys(now[drop] for drop in drops))


def _results(rules: Rules, job: Job, place: Place) -> dict[str, CheckResult]:
    return {result.check: result for result in run_checks(rules, job, place)}


def _origins(
    results: Mapping[str, CheckResult],
    entered: Mapping[str, Provenance],
    own: Collection[str],
    finished: datetime,
    age_days: float,
) -> dict[str, EntryRef]:
    """Return who entered late, as drawn, what only one check reads of the sound job.

    For a trace of the fault, where nothing is read by that check alone, all
    that it reads was entered late.
    """
    readers: dict[str, int] = {}
    for result in results.values():
        for used in result.inputs:
            readers[used.path] = readers.get(used.path, 0) + 1
    origins = {}
    age = timedelta(days=age_days)
    late = {Provenance.LATE: LATE_SHARE * age, Provenance.AFTER_COMPLAINT: age + ANSWERED_AFTER}
    for name, result in results.items():
        when = late.get(entered.get(name, Provenance.ON_THE_DAY))
        if when is None:
            continue
        paths = [used.path for used in result.inputs if _may_come_late(used.path)]
        alone = [path for path in paths if readers[path] == 1]
        for path in alone or (paths if name in own else []):
            entry = EntryRef("practice", 1, "", finished + when, "office", entered[name])
            origins[path] = entry
    return origins


def _washed_late(
    rules: Rules, job: Job, own: Mapping[str, Provenance], finished: datetime, age_days: float
) -> dict[str, EntryRef]:
    """Return the cleanings as entered after the complaint, where the record is to mislead so."""
    after = Provenance.AFTER_COMPLAINT
    if not any(own[n] is after and rules.checks[n].calculation in CLEANING for n in own):
        return {}
    at = finished + timedelta(days=age_days) + ANSWERED_AFTER
    entry = EntryRef("practice", 1, "", at, "office", after)
    return {f"later.{each.id}": entry for each in job.later.values() if each.kind == "cleaning"}


def _may_come_late(path: str) -> bool:
    """Return whether a sheet makes sense without this entry, and the days of the work too."""
    rule = field_of(path)
    return rule is not None and not rule.required and not path.startswith("dates.")


def _complain(draft: Draft, order: JobOrder, place: Place, work: Work) -> None:
    """Put the complaint that the job is looked at for."""
    if not order.symptoms:
        return
    day = (work.finished + timedelta(days=order.age_days)).astimezone(zone_of(work.zone)).date()
    day -= timedelta(days=max(0, day.weekday() - FRIDAY))
    made = datetime.combine(day, RINGS_AT, zone_of(work.zone)).astimezone(UTC)
    draft.put(
        "complaints.C1",
        made_at=made,
        symptoms=order.symptoms,
        at=str(place),
        first_seen_on=made.date() - timedelta(days=int(draft.between(2, 9))),
    )


def _forget_what_is_to_come(draft: Draft, work: Work) -> None:
    """Leave out what happens after the work, of a job that has only just ended."""
    for path, value in list(draft.values.items()):
        if isinstance(value, datetime) and value > work.finished:
            del draft.values[path]


def _afterwards(job: Job) -> dict[str, EntryRef]:
    """Return when what came after the work was entered: as it happened."""
    happened = {f"later.{each.id}": each.at for each in job.later.values()}
    happened |= {f"complaints.{each.id}": each.made_at for each in job.complaints.values()}
    return {path: EntryRef("practice", 1, "", at, "office") for path, at in happened.items() if at}


def unmade(rules: Rules) -> tuple[str, ...]:
    """Return the calculations of the rules that no maker can turn."""
    used = {check.calculation for check in rules.checks.values()}
    return tuple(sorted(used - set(AMISS)))
