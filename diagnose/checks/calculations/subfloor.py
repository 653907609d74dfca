"""The subfloor: pH, porosity, flatness, temperature.

References
----------
.. [1] CRI Standard (2011) 9.5 and CRI 105 6.3 on pH and residue.
.. [2] ASTM F3191 (second-hand): a drop absorbed within a minute is porous.
.. [3] BS 8204 classes under a 2 m straightedge, second-hand.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from diagnose.checks.found import Found, against, beyond, in_order, judged
from diagnose.checks.limits import Chosen
from diagnose.checks.look import Look
from diagnose.checks.parts import readings_in
from diagnose.checks.words import num
from diagnose.physics.flatness import regularity_class
from diagnose.record.model import Reading


def worst_reading(look: Look) -> Found | None:
    """The worst reading of one kind in the area against one side of the limit."""
    side = look.option("side")
    values = _values(look, look.option("kind"))
    limit = look.limit(side)
    if not values or limit is None:
        return None
    worst = max(values, key=lambda pair: _badness(pair[1], limit, side))
    line = f"{look.option('kind')}: " + ", ".join(f"{r.id} {num(v)}" for r, v in values)
    return against(worst[1], limit, look.option("what"), line, side=side)


def flat_enough(look: Look) -> Found | None:
    """Widest gap under the straightedge; the limit belongs to its length."""
    values = _values(look, "flatness-gap")
    if not values:
        return None
    found: list[tuple[float, float, Chosen, str]] = []
    for reading, value in values:
        long = look.number(f"readings.{reading.id}.straightedge_m", needed=False)
        limit = look.limit("high", straightedge=num(long) if long else "2")
        if limit is not None:
            edge = num(long, "m") if long else "a length not recorded"
            found.append((beyond(value, limit, "high"), value, limit, edge))
    if not found:
        return None
    _, value, limit, edge = max(found, key=lambda each: (each[0], each[1]))
    look.used = limit.used
    gaps = [v for _, v in values]
    lines = (
        "gaps: " + ", ".join(f"{r.id} {num(v, 'mm')}" for r, v in values),
        f"class of all gaps: {regularity_class(gaps)} (SR1 3 mm, SR2 5 mm, SR3 10 mm under 2 m)",
    )
    return against(value, limit, f"gap under a straightedge of {edge}:", *lines, side="high")


def floor_temperature(look: Look) -> Found | None:
    """Floor temperature of the spread, else the coldest read in its area."""
    value = look.number(look.path("floor_c"), needed=False)
    limit = look.limit("low")
    line = "read at the spread"
    area = look.area
    if value is None and area is not None:
        read = _values(look, "floor-temperature", area.id)
        value = min((v for _, v in read), default=None)
        line = "coldest reading of the area"
    if value is None:
        look.number(look.path("floor_c"))
    if value is None or limit is None:
        return None
    return against(value, limit, "floor at", line, side="low")


def paint_abraded(look: Look) -> Found | None:
    """A painted floor is abraded before anything is stuck to it."""
    painted = look.flag(look.path("subfloor.painted"))
    if painted is None:
        return None
    if not painted:
        return in_order("the floor is not painted", "painted: no")
    abraded = look.flag(look.path("subfloor.painted_abraded"))
    if abraded is None:
        return None
    words = "abraded" if abraded else "not abraded"
    return judged(abraded, f"the painted floor was {words}", f"painted: yes; {words}")


def _values(look: Look, kind: str, area: str = "") -> list[tuple[Reading, float]]:
    found = []
    for reading in readings_in(look.job, area or look.part.id, kind):
        value = look.number(f"readings.{reading.id}.value", needed=False)
        if value is not None and value >= (-100 if kind == "floor-temperature" else 0):
            look.also("reading", reading.id)
            found.append((reading, value))
    if not found and not area:
        look.lack(f"{kind.replace('-', ' ')} reading of {look.part.words}")
    return found


def _badness(value: float, limit: Chosen, side: str) -> float:
    """Order values towards the forbidden side, also inside the limit."""
    if side == "high":
        return value
    return -value if side == "low" else beyond(value, limit)


CALCULATIONS: Mapping[str, Callable[[Look], Found | None]] = {
    "worst-reading": worst_reading,
    "flat-enough": flat_enough,
    "floor-temperature": floor_temperature,
    "paint-abraded": paint_abraded,
}
