"""Short questions on reading: a floor plan, or a log of the room, as plain characters.

The pictures are those of an invented job; what they show is read off by the checks,
so that the key is what the picture holds and nothing else.
"""

from __future__ import annotations

from collections.abc import Collection
from random import Random

from diagnose.practice.chance import pick, shuffled
from diagnose.practice.item import WRONG_OPTIONS, Item, ItemKind, Option, with_options
from diagnose.practice.job.pictures import Picture, damp_picture, pile_picture
from diagnose.rulebook.model import Rules

PLAN, LOG = "reading:plan", "reading:log"
TURNED, DAMP = "seam-pile-one-way", "climate-after-humidity"
"""Checks whose deviation is drawn into a job, and read off its plan or its log."""


def read_a_picture(rules: Rules, rng: Random, subjects: Collection[str]) -> Item | None:
    """Make: what does this plan or log show?"""
    wanted = [name for name in (PLAN, LOG) if not subjects or name in subjects]
    if not wanted:
        return None
    return _plan(rules, rng) if pick(rng, wanted) == PLAN else _log(rules, rng)


def _plan(rules: Rules, rng: Random) -> Item | None:
    """Show drops side by side with their pile; at which seam does it turn?"""
    seen = pile_picture(rules, TURNED, rng)
    if seen is None:
        return None
    picture = "\n".join(seen.rows)
    ask = (
        f"The drops of a room from left to right, with pile and roll:\n{picture}\n"
        "At which seam will the two sides look unlike each other from one end?"
    )
    why = f"The arrows turn at {seen.amiss}: {seen.found.summary}."
    return _item(rules, rng, seen, ask, why, PLAN)


def _log(rules: Rules, rng: Random) -> Item | None:
    """Show the days of a log; on which was it too damp?"""
    seen = damp_picture(rules, DAMP, rng)
    if seen is None:
        return None
    picture = "\n".join(seen.rows)
    ask = (
        f"Highest relative humidity of each day, from the log of an invented job:\n{picture}\n"
        f"On which day did it rise above {seen.edge:g} %?"
    )
    why = f"Only {seen.amiss} was above {seen.edge:g} %. The check says: {seen.found.summary}."
    return _item(rules, rng, seen, ask, why, LOG)


def _item(rules: Rules, rng: Random, seen: Picture, ask: str, why: str, subject: str) -> Item:
    wrong = shuffled(rng, [part for part in seen.parts if part != seen.amiss])[:WRONG_OPTIONS]
    options, key = with_options(rng, Option(seen.amiss), (Option(part) for part in wrong))
    check = rules.checks[seen.found.check]
    return Item(
        kind=ItemKind.READ_A_PICTURE,
        ask=ask,
        options=options,
        key=key,
        why=why,
        subject=subject,
        rules=(check.id,),
        sources=tuple(dict.fromkeys(cite.source for cite in check.sources)),
    )
