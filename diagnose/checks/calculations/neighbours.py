"""The two drops of a seam compared: batch, place in the dyeing, pile direction.

References
----------
.. [1] A specifier handbook as quoted: no side-match claims between dye lots.
.. [2] A trade glossary: join neighbours of the dye run.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from diagnose.checks.found import Found, against, judged, not_for_this, silent
from diagnose.checks.geometry import turn_deg
from diagnose.checks.look import Look
from diagnose.checks.words import num


def same_batch(look: Look) -> Found | None:
    """Both drops of a seam cut from one dye batch."""
    rolls = _rolls(look)
    if rolls is None:
        return None
    batches = [look.word(f"rolls.{roll}.batch") for roll in rolls]
    if None in batches:
        return None
    one, other = batches
    line = f"{rolls[0]}: batch {one}; {rolls[1]}: batch {other}"
    words = f"both sides of batch {one}" if one == other else f"batch {one} joined to batch {other}"
    return judged(one == other, words, line, excess=1.0)


def rolls_in_order(look: Look) -> Found | None:
    """Rolls that meet are neighbours in the dyeing, or one roll."""
    rolls = _rolls(look)
    limit = look.limit("high")
    if rolls is None or limit is None:
        return None
    if rolls[0] == rolls[1]:
        return judged(True, f"both drops from roll {rolls[0]}", f"{rolls[0]} = {rolls[1]}")
    batches = [look.word(f"rolls.{roll}.batch", needed=False) for roll in rolls]
    if None not in batches and batches[0] != batches[1]:
        return not_for_this(f"batches {batches[0]} and {batches[1]} were dyed apart")
    places = []
    for roll in rolls:
        place = look.number(f"rolls.{roll}.order_in_dyeing", needed=False)
        places.append(place if place is not None else look.number(f"rolls.{roll}.roll_number"))
    one, other = places
    if one is None or other is None:
        return None
    line = f"roll {num(one)} beside roll {num(other)}: {num(abs(one - other))} apart"
    return against(abs(one - other), limit, "apart in the order of dyeing", line, side="high")


def pile_one_way(look: Look) -> Found | None:
    """Pile of both drops of a seam lies the same way."""
    drops = _drops(look)
    limit = look.limit("high")
    if drops is None or limit is None:
        return None
    turns = [look.number(f"drops.{drop}.pile_direction_deg") for drop in drops]
    one, other = turns
    if one is None or other is None:
        return None
    turn = turn_deg(one, other)
    line = f"{drops[0]} {num(one)}°, {drops[1]} {num(other)}°: turned by {num(turn)}°"
    return against(turn, limit, "pile of the neighbours turned by", line, side="high")


def _drops(look: Look) -> tuple[str, str] | None:
    names = look.words(look.path("drops"))
    if len(names) == 2:
        return names[0], names[1]
    if names:
        look.lack(f"the two drops of {look.part.words}")
    return None


def _rolls(look: Look) -> tuple[str, str] | None:
    drops = _drops(look)
    if drops is None:
        return None
    rolls = [look.word(f"drops.{drop}.roll") for drop in drops]
    for drop, roll in zip(drops, rolls, strict=True):
        look.also("drop", drop)
        look.also("roll", roll)
    one, other = rolls
    return (one, other) if one is not None and other is not None else None


def pattern_offset(look: Look) -> Found | None:
    """Offset of the pattern found when the seam was closed."""
    offset = look.number(look.path("offset_mm"))
    limit = look.limit("high")
    if offset is None or limit is None:
        return None
    if abs(offset) > 10_000:
        return silent(f"an offset of {num(offset, 'mm')} cannot be")
    return against(abs(offset), limit, "pattern offset", side="high")


CALCULATIONS: Mapping[str, Callable[[Look], Found | None]] = {
    "same-batch": same_batch,
    "rolls-in-order": rolls_in_order,
    "pile-one-way": pile_one_way,
    "pattern-offset": pattern_offset,
}
