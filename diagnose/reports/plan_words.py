"""Say in words what a floor plan shows, for those who do not see it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from diagnose.model import Place
from diagnose.record.model import Area, Drop, Job, Reading

COMPASS = (
    "right",
    "up and right",
    "up",
    "up and left",
    "left",
    "down and left",
    "down",
    "down and right",
)


def pile_words(degrees: float) -> str:
    """Return a pile direction in words, as seen on the plan before turning.

    Examples
    --------
    >>> pile_words(0), pile_words(90), pile_words(-90)
    ('right', 'up', 'down')
    """
    return COMPASS[round(degrees / 45) % 8]


def reading_text(reading: Reading) -> str:
    """Return a reading's id with its value and unit, or that none is recorded."""
    if reading.value is None:
        return f"{reading.id}: no value"
    return f"{reading.id} {reading.value:g} {reading.unit or ''}".rstrip()


def describe(
    job: Job, area: Area, letters: Mapping[str, str], pins: Sequence[tuple[str, Place]]
) -> str:
    """Return every drawn thing of an area in one paragraph."""
    sentences = [
        *_drops(job, area, letters),
        *_seams(job, area),
        *(f"Door {door.id}." for door in area.doors),
        *(
            f"Window {window.id}" + (f", faces {window.faces}." if window.faces else ".")
            for window in area.windows
        ),
        *(
            f"Reading {reading_text(reading)}."
            for reading in job.readings.values()
            if reading.area == area.id
        ),
        *(f"Pinned: {text} at {place}." for text, place in pins),
    ]
    return " ".join(sentences) or "Nothing but the outline is recorded."


def _drops(job: Job, area: Area, letters: Mapping[str, str]) -> Iterable[str]:
    for drop in job.drops.values():
        if drop.area == area.id:
            yield f"Drop {drop.id}: {_roll_words(job, drop, letters)}, {_pile(drop)}."


def _roll_words(job: Job, drop: Drop, letters: Mapping[str, str]) -> str:
    roll = job.rolls.get(drop.roll or "")
    if roll is None:
        return "roll not recorded"
    if not roll.batch:
        return f"roll {roll.id}, batch not recorded"
    return f"roll {roll.id}, batch {letters.get(roll.batch, '?')} ({roll.batch})"


def _pile(drop: Drop) -> str:
    if drop.pile_direction_deg is None:
        return "pile direction not recorded"
    return f"pile runs {pile_words(drop.pile_direction_deg)} on the plan"


def _seams(job: Job, area: Area) -> Iterable[str]:
    for seam in job.seams.values():
        if seam.area == area.id:
            between = " and ".join(seam.drops) or "drops that are not recorded"
            drawn = "" if seam.line_m else ", line not recorded"
            yield f"Seam {seam.id} between {between}{drawn}."
