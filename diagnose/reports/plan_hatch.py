"""Hatches and letters that tell batches apart without colour."""

from __future__ import annotations

from collections.abc import Mapping

from diagnose.record.model import Drop, Job
from diagnose.reports.svg import Shape, group, shape

HATCHES: tuple[tuple[str, ...], ...] = (
    (),
    ("M0 8 L8 0",),
    ("M4 4 h0.1",),
    ("M0 4 H8",),
    ("M0 0 L8 8",),
    ("M4 0 V8",),
    ("M0 8 L8 0", "M0 0 L8 8"),
    ("M0 4 H8", "M4 0 V8"),
)
"""Path data in a tile of 8 units; the first batch stays plain."""


def batch_letters(job: Job, area_id: str) -> Mapping[str, str]:
    """Return the batches laid in an area, each with a letter, in order of rolls.

    Letters count over the whole job, so that a batch keeps its letter and
    hatch from one area to the next.
    """
    order = dict.fromkeys(roll.batch for roll in job.rolls.values() if roll.batch)
    letters = {batch: _letter(index) for index, batch in enumerate(order)}
    used = {
        job.rolls[drop.roll].batch
        for drop in job.drops.values()
        if drop.area == area_id and drop.roll and drop.roll in job.rolls
    }
    return {batch: letter for batch, letter in letters.items() if batch in used}


def _letter(index: int) -> str:
    letter = chr(ord("A") + index % 26)
    return letter if index < 26 else f"{letter}{index // 26 + 1}"


def hatch_number(letter: str) -> int:
    """Return which hatch a batch letter has."""
    return (ord(letter[0]) - ord("A")) % len(HATCHES)


def hatch_id(name: str, letter: str) -> str:
    """Return the id of a batch's hatch within the picture `name`."""
    return f"{name}-batch-{letter}"


def hatch_fill(job: Job, drop: Drop, letters: Mapping[str, str], name: str) -> str:
    """Return the fill of a drop: the hatch of its batch, or none if unknown."""
    roll = job.rolls.get(drop.roll or "")
    letter = letters.get((roll.batch or "") if roll else "")
    return f"url(#{hatch_id(name, letter)})" if letter else "none"


def hatch_patterns(letters: Mapping[str, str], name: str) -> Shape:
    """Return the `defs` with one pattern for each batch of the picture."""
    return Shape("defs", children=tuple(_pattern(letter, name) for letter in letters.values()))


def _pattern(letter: str, name: str) -> Shape:
    paths = HATCHES[hatch_number(letter)]
    wide = 3.0 if letter and paths == HATCHES[2] else 1.0
    lines = [
        shape("path", "hatch", d=path, stroke_width=wide, stroke_linecap="round") for path in paths
    ]
    frame = shape(
        "pattern", id=hatch_id(name, letter), width=8.0, height=8.0, patternUnits="userSpaceOnUse"
    )
    return Shape(frame.name, frame.attributes, children=(group(lines),))
