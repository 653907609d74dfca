"""Short questions on reading: a floor plan, or a log of the room, as plain characters.

The pictures are invented; what they show is counted off, so that the key is
what the picture holds and nothing else.
"""

from __future__ import annotations

from collections.abc import Collection
from random import Random

from diagnose.practice.chance import pick, shuffled
from diagnose.practice.item import WRONG_OPTIONS, Item, ItemKind, Option, with_options
from diagnose.rulebook.model import LimitValue, Rules

BARS = "▁▂▃▄▅▆▇█"
DAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
READINGS = 14
PLAN, LOG = "reading:plan", "reading:log"


def read_a_picture(rules: Rules, rng: Random, subjects: Collection[str]) -> Item | None:
    """Make: what does this plan or log show?"""
    wanted = [name for name in (PLAN, LOG) if not subjects or name in subjects]
    if not wanted:
        return None
    return _plan(rng) if pick(rng, wanted) == PLAN else _log(rules, rng)


def _plan(rng: Random) -> Item:
    """Draw drops side by side with their pile; at which seam does it turn?"""
    drops = 5 + int(rng.random() * 3)
    turned = 1 + int(rng.random() * (drops - 1))
    up = rng.random() < 0.5
    arrows = ["↑" if up == (drop < turned) else "↓" for drop in range(drops)]
    rolls = [f"R{1 + (drop + int(rng.random() * 2)) // 3}" for drop in range(drops)]
    rows = [
        " | ".join(f"D{n}" for n in range(1, drops + 1)),
        " | ".join(f" {arrow}" for arrow in arrows),
        " | ".join(rolls),
    ]
    names = [f"S{n}, between D{n} and D{n + 1}" for n in range(1, drops)]
    right = names[turned - 1]
    wrong = shuffled(rng, [name for name in names if name != right])[:WRONG_OPTIONS]
    options, key = with_options(rng, Option(right), (Option(name) for name in wrong))
    picture = "\n".join(f"| {row} |" for row in rows)
    return Item(
        kind=ItemKind.READ_A_PICTURE,
        ask=f"The drops of a room from left to right, with pile and roll:\n{picture}\n"
        "At which seam will the two sides look unlike each other from one end?",
        options=options,
        key=key,
        why=f"The arrows turn at {right}: the pile of the two drops lies opposite ways.",
        subject=PLAN,
        rules=(),
        sources=(),
    )


def _log(rules: Rules, rng: Random) -> Item | None:
    """Draw a fortnight of humidity; on which day was it outside the band?"""
    bands = [
        (limit.name, value)
        for limit in rules.limits.values()
        for value in limit.values
        if limit.unit.startswith("%") and "RH" in limit.unit
        if value.low is not None and value.high is not None and value.high - value.low >= 10
    ]
    if not bands:
        return None
    name, band = pick(rng, bands)
    low, high = _edges(band)
    values = [low + 2 + int(rng.random() * max(1, high - low - 3)) for _ in range(READINGS)]
    out = int(rng.random() * READINGS)
    above = rng.random() < 0.5 and high <= 88
    step = 4 + int(rng.random() * 6)
    values[out] = high + step if above else max(5, low - step)
    days = [f"{DAYS[n % 7]} {n + 1:>2}" for n in range(READINGS)]
    least, most = min(values), max(values)
    lines = [
        f"{day} {BARS[(value - least) * (len(BARS) - 1) // max(1, most - least)]} {value} %"
        for day, value in zip(days, values, strict=True)
    ]
    wrong = [days[n] for n in shuffled(rng, range(READINGS)) if n != out][:WRONG_OPTIONS]
    options, key = with_options(rng, Option(days[out]), (Option(day) for day in wrong))
    picture = "\n".join(lines)
    return Item(
        kind=ItemKind.READ_A_PICTURE,
        ask=f"Relative humidity in the room, an invented log:\n{picture}\n"
        f"On which day was it outside {low} to {high} %?",
        options=options,
        key=key,
        why=f"{days[out]} had {values[out]} %; {name} is {low} to {high} %.",
        subject=LOG,
        rules=(),
        sources=(band.cite.source,),
    )


def _edges(band: LimitValue) -> tuple[int, int]:
    """Return the edges of a band in whole per cent, the narrower way."""
    low, high = band.low or 0.0, band.high or 100.0
    return -int(-low // 1), int(high // 1)
