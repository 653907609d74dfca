"""The check before leaving site: what deviates, what to expect, what to do and write down."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from diagnose.checks.parts import select_parts
from diagnose.checks.run import run_check
from diagnose.forecast.acts import Asked, acts_of, gaps_of
from diagnose.forecast.at_place import AtPlace, at_place, likeliest, symptoms_at, with_few_questions
from diagnose.forecast.values import Callback, Deviation, Hazard, LeaveSite
from diagnose.model import Outcome, Place
from diagnose.record.model import Job
from diagnose.record.parts import parts_at
from diagnose.record.place import WHOLE_JOB, floor_of, places_of
from diagnose.rulebook.model import Rules
from diagnose.walk.advice_words import caution_lines, remedy_lines

FINE = ("seam", "edge", "doorway")
"""Kinds of place smaller than an area."""

LIKELY, RAISED = 0.1, 3.0
"""A callback stands out from this chance on, if it is this many times a sound job's."""


Told = Callable[[Place, int, int], None]
"""Told before each place: the place, its number from 1, and how many there are."""


def leave_site(
    rules: Rules, job: Job, place: Place | None = None, told: Told | None = None
) -> LeaveSite:
    """Return the check of a whole job, or of one place of it.

    In the whole job every symptom is forecast where it is at home: at seams,
    edges and doorways if the rules name one of these first, else at the area.
    At a single place all that show there are forecast.

    Raises
    ------
    NotFoundError
        The job has no such place.
    """
    whole = place is None or not place.name
    scope = WHOLE_JOB if whole or place is None else place
    few = with_few_questions(rules)
    spots = _homes(few, job, told) if whole else [at_place(few, job, scope)]
    asked = _ask(rules, job, scope)
    deviations = tuple(
        Deviation(check, rules.checks[check].name, str(part), result)
        for check, found in asked.items()
        for part, result in found
        if result.outcome is Outcome.DEVIATES
    )
    places = tuple(spot.forecast for spot in spots)
    hazards = _hazards(rules, spots)
    finished = job.dates.finished_at
    return LeaveSite(
        job=job.id,
        title=job.title or "",
        invented=bool(job.invented),
        at=str(scope),
        finished_at=finished.isoformat() if finished else "",
        hazards=hazards,
        cautions=caution_lines(
            rules,
            (c for h in hazards for c in h.callback.cautions),
            floor_of(job, scope, None),
        ),
        deviations=deviations,
        put_right=acts_of(rules, spots, asked),
        places=places,
        record_now=gaps_of(rules, spots, asked),
        in_order=_count(asked, Outcome.IN_ORDER),
        not_recorded=_count(asked, Outcome.NOT_RECORDED),
        edition=rules.edition,
    )


def _homes(rules: Rules, job: Job, told: Told | None) -> list[AtPlace]:
    """Return every place with the symptoms at home there; no symptom twice at one spot."""
    places = places_of(job)
    fine = [place for place in places if place.kind in FINE]
    areas = [place for place in places if place.kind == "area"]
    if not fine and not areas:
        return [at_place(rules, job, WHOLE_JOB)]
    doorways = {place.name for place in fine if place.kind == "doorway"}
    spots = []
    for number, place in enumerate(fine, start=1):
        if told is not None:
            told(place, number, len(fine) + len(areas))
        wanted = [
            s
            for s in symptoms_at(rules, place.kind)
            if not areas
            or rules.symptoms[s].shows_at[0] in FINE
            or "area" not in rules.symptoms[s].shows_at
        ]
        if place.kind == "edge" and place.name in doorways:
            wanted = [s for s in wanted if "doorway" not in rules.symptoms[s].shows_at]
        spots.append(at_place(rules, job, place, wanted))
    for number, place in enumerate(areas, start=len(fine) + 1):
        if told is not None:
            told(place, number, len(fine) + len(areas))
        inside = {each.kind for each in fine if _lies_in(job, each, place)}
        wanted = [
            s
            for s in symptoms_at(rules, "area")
            if rules.symptoms[s].shows_at[0] not in FINE
            or not inside & set(rules.symptoms[s].shows_at)
        ]
        spots.append(at_place(rules, job, place, wanted))
    return spots


def _lies_in(job: Job, place: Place, area: Place) -> bool:
    return any(each.id == area.name for each in parts_at(job, place).areas)


def _ask(rules: Rules, job: Job, scope: Place) -> Asked:
    """Ask every check of every part in scope that it applies to."""
    asked = {}
    for check in rules.checks.values():
        found = [
            (part, run_check(check, rules, job, part))
            for part in select_parts(job, scope, check.looks_at)
        ]
        asked[check.id] = [
            (part, result) for part, result in found if result.outcome is not Outcome.DOES_NOT_APPLY
        ]
    return asked


def _count(asked: Asked, outcome: Outcome) -> int:
    return sum(result.outcome is outcome for found in asked.values() for _, result in found)


def stands_out(callback: Callback) -> bool:
    """Return whether a callback is likely, and much likelier than on a sound job."""
    return callback.chance >= LIKELY and callback.times >= RAISED


def _hazards(rules: Rules, spots: Sequence[AtPlace]) -> tuple[Hazard, ...]:
    """Return the callbacks that stand out and can hurt someone."""
    return tuple(
        Hazard(place, callback, remedy_lines(rules, rules.symptoms[callback.symptom].make_safe))
        for place, callback in likeliest([spot.forecast for spot in spots])
        if callback.cautions and stands_out(callback)
    )
