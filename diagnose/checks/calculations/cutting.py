"""How the two edges of a seam were cut, and how long drops were cut.

Left and right are seen along the pile direction.  Which edge of a drop lies at
a seam follows from the plan; where the plan does not tell, a drop with one
recorded edge is taken by that edge, and one with two settles nothing unless
both were cut alike.

References
----------
.. [1] CRI 105 10.1: row-cutting both edges preferred; some constructions do not
   allow it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

from diagnose.checks.found import Found, against, deviates, in_order
from diagnose.checks.look import Look
from diagnose.checks.words import listed, num
from diagnose.record.model import Drop, Seam


def edges_cut(look: Look) -> Found | None:
    """Neither edge at the seam was cut in one of the refused ways."""
    edges = seam_edges(look)
    refused = [word.strip() for word in look.option("refused").split(",")]
    cuts = [(path, cut) for path in edges if (cut := look.word(f"{path}.cut"))]
    if not cuts:
        return None
    lines = [f"{_name(path)}: {cut}" for path, cut in cuts]
    bad = sorted({cut for _, cut in cuts if cut in refused})
    if bad:
        where = [path for path, cut in cuts if cut in refused]
        names = listed([cut.replace("-", " ") for cut in bad])
        words = f"{listed([_name(path) for path in where])}: {names}"
        return deviates(words, *lines, excess=float(len(where)))
    if len(cuts) < 2:
        return None
    return in_order("cut: " + listed([cut.replace("-", " ") for _, cut in cuts]), *lines)


def edges_yes(look: Look) -> Found | None:
    """A yes-or-no field of both edges at the seam is as wanted."""
    edges, field = seam_edges(look), look.option("field")
    said = [(path, flag) for path in edges if (flag := look.flag(f"{path}.{field}")) is not None]
    if not said:
        return None
    lines = [f"{_name(path)}: {'yes' if flag else 'no'}" for path, flag in said]
    if any(flag is False for _, flag in said):
        return deviates(look.option("bad"), *lines, excess=1.0)
    return in_order(look.option("good"), *lines) if len(said) > 1 else None


def trimmed_enough(look: Look) -> Found | None:
    """Width trimmed off both edges at the seam."""
    limit = look.limit("low")
    widths = [
        (mm, path)
        for path in seam_edges(look)
        if (mm := look.number(f"{path}.trimmed_mm")) is not None
    ]
    if not widths or limit is None:
        return None
    least, path = min(widths)
    lines = [f"{_name(each)}: {num(mm, 'mm')}" for mm, each in widths]
    found = against(least, limit, f"trimmed off {_name(path)}", *lines, side="low")
    return found if len(widths) > 1 or not limit.holds(least, "low") else None


def cut_allowance(look: Look) -> Found | None:
    """Length cut beyond the length needed."""
    cut = look.number(look.path("cut_length_mm"))
    need = look.number(look.path("needed_length_mm"))
    limit = look.limit("low")
    if cut is None or need is None or limit is None:
        return None
    line = f"{num(cut, 'mm')} - {num(need, 'mm')} = {num(cut - need, 'mm')}"
    return against(cut - need, limit, "cut longer by", line, side="low")


def seam_edges(look: Look) -> list[str]:
    """Return the paths of the drop edges that lie at the seam, as far as known."""
    seam = look.job.seams.get(look.part.id)
    if seam is None or not seam.drops:
        look.lack(f"the two drops of {look.part.words}")
        return []
    found = []
    for name in seam.drops[:2]:
        drop = look.job.drops.get(name)
        side = _side(drop, seam) if drop else None
        if side is None:
            look.lack(f"which edge of drop {name} lies at {look.part.words}")
            continue
        look.also("drop", name)
        found.append(f"drops.{name}.edges.{side}")
    return found


def _side(drop: Drop, seam: Seam) -> str | None:
    there = {edge.side: edge.cut for edge in drop.edges}
    side = _side_on_plan(drop, seam)
    if side is not None and (side in there or len(there) != 1):
        return side
    if len(there) == 1 or (there and len(set(there.values())) == 1):
        return next(iter(there))
    return None


def _side_on_plan(drop: Drop, seam: Seam) -> str | None:
    if drop.pile_direction_deg is None or len(drop.outline_m) < 3 or len(seam.line_m) < 2:
        return None
    middle = [sum(p[axis] for p in seam.line_m) / len(seam.line_m) for axis in (0, 1)]
    centre = [sum(p[axis] for p in drop.outline_m) / len(drop.outline_m) for axis in (0, 1)]
    turn = math.radians(drop.pile_direction_deg)
    across = math.cos(turn) * (middle[1] - centre[1]) - math.sin(turn) * (middle[0] - centre[0])
    if abs(across) < 0.05:
        return None
    return "left" if across > 0 else "right"


def _name(path: str) -> str:
    _, drop, _, side = path.split(".")[:4]
    return f"{side} edge of drop {drop}"


CALCULATIONS: Mapping[str, Callable[[Look], Found | None]] = {
    "edges-cut": edges_cut,
    "edges-yes": edges_yes,
    "trimmed-enough": trimmed_enough,
    "cut-allowance": cut_allowance,
}
