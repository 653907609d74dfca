"""Seam sealing: how many edges, closed while it transfers, how much was used.

References
----------
.. [1] CRI 105 10.2: all seams sealed; both edges, or on direct glue a bead on one
   side that does for both; the seam closed while it still transfers.
.. [2] Volume of a bead: geometry, `diagnose.physics.sealer`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from diagnose.checks.found import Found, against, deviates, in_order, not_for_this, silent
from diagnose.checks.geometry import length_m
from diagnose.checks.look import Look, hours_between
from diagnose.checks.words import moment, num
from diagnose.physics.sealer import bead_ml_per_m, sealer_needed_ml

USUAL_BEAD_MM = 3.2


def sealed_at_all(look: Look) -> Found | None:
    """At least one cut edge of the seam sealed."""
    edges = look.number(look.path("edges_sealed"))
    if edges is None:
        return None
    if not 0 <= edges <= 2:
        return silent(f"{num(edges)} edges sealed cannot be: a seam has two")
    line = f"edges sealed: {num(edges)} of 2"
    if edges == 0:
        return deviates("neither cut edge was sealed", line, excess=1.0)
    return in_order(f"{num(edges)} of 2 cut edges sealed", line)


def edges_sealed(look: Look) -> Found | None:
    """As many edges sealed as the limit asks for this method."""
    edges = look.number(look.path("edges_sealed"))
    limit = look.limit("low")
    if edges is None or limit is None:
        return None
    if not 0 <= edges <= 2:
        return silent(f"{num(edges)} edges sealed cannot be: a seam has two")
    if edges == 0:
        return not_for_this("no edge was sealed, which is a matter of its own")
    return against(edges, limit, "sealed", side="low")


def closed_while_wet(look: Look) -> Found | None:
    """Minutes from the bead to closing the seam within the sealer's open time."""
    bead, closed = look.time(look.path("bead_at")), look.time(look.path("closed_at"))
    limit = look.limit("high")
    if bead is None or closed is None or limit is None:
        return None
    hours = hours_between(bead, closed)
    if hours is None:
        return silent("a time has no offset, so nothing can be counted")
    if hours < 0:
        return silent("the seam was closed before the bead was laid: the times do not fit")
    minutes = hours * 60
    line = f"bead {moment(bead)}, closed {moment(closed)}: {num(minutes, 'min', 0)}"
    return against(minutes, limit, "closed after", line, side="high", places=0)


def sealer_used(look: Look) -> Found | None:
    """Sealer used as a share of a full round bead on the edges sealed."""
    used = look.number(look.path("sealer_used_ml"))
    edges = look.number(look.path("edges_sealed"))
    bead = look.number(look.path("bead_mm"), needed=False) or USUAL_BEAD_MM
    length = seam_length_m(look)
    side = look.option("side", "low")
    limit = look.limit(side)
    if used is None or edges is None or length is None or limit is None:
        return None
    if length <= 0 or used < 0 or edges not in (1, 2):
        return silent(
            f"{num(used, 'ml')} on {num(edges)} edges of {num(length, 'm')}: nothing to compare"
        )
    need = sealer_needed_ml(length, int(edges), bead)
    if need <= 0:
        return silent("a bead of no width cannot be compared")
    lines = (
        f"bead {num(bead, 'mm')} round = {num(bead_ml_per_m(bead), 'ml/m')}",
        f"{num(length, 'm')} × {num(edges)} edges = {num(need, 'ml', 0)}",
        f"used / full bead = {num(used, 'ml')} / {num(need, 'ml', 0)} = {num(used / need)}",
    )
    words = f"{num(used, 'ml')} on {num(length, 'm')} and {num(edges)} edges, times a full bead:"
    return against(used / need, limit, words, *lines, side=side)


def seam_length_m(look: Look) -> float | None:
    """Return the length of the seam's line, noting it as read; None and a gap without one."""
    path = look.path("line_m")
    seam = look.job.seams.get(look.part.id)
    if seam is None or len(seam.line_m) < 2:
        look.lack(f"line of seam {look.part.id} on the plan")
        return None
    length = length_m(seam.line_m)
    look.note(path, f"line of seam {look.part.id}", num(length, "m"))
    return length


CALCULATIONS: Mapping[str, Callable[[Look], Found | None]] = {
    "sealed-at-all": sealed_at_all,
    "edges-sealed": edges_sealed,
    "closed-while-wet": closed_while_wet,
    "sealer-used": sealer_used,
}
