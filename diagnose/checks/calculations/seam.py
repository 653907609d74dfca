"""The seam itself: surplus width, gap, and the load before it has set.

References
----------
.. [1] Surplus width and peak height: geometry, `diagnose.physics.seam`.
.. [2] CRI 105 10.1 and 10.4: edges butt without gap or overlap.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from diagnose.checks.found import Found, against, deviates, in_order, not_for_this, silent
from diagnose.checks.look import Look, hours_between
from diagnose.checks.words import moment, num
from diagnose.physics.seam import peak_height_mm

FREE_HALF_WIDTH_MM = 40.0
"""Width either side of a join that a poor bond leaves free; an assumption."""


def surplus_width(look: Look) -> Found | None:
    """Surplus width of the two edges together, with the peak it can raise."""
    surplus = look.number(look.path("surplus_mm"))
    limit = look.limit("high")
    if surplus is None or limit is None:
        return None
    if surplus < 0:
        return in_order(f"no surplus: the edges were {num(-surplus, 'mm')} apart")
    if surplus > 200:
        return silent(f"a surplus of {num(surplus, 'mm')} is no seam")
    height = peak_height_mm(surplus, FREE_HALF_WIDTH_MM)
    half = num(FREE_HALF_WIDTH_MM)
    line = (
        f"peak at most = sqrt(({half} + {num(surplus)}/2)² - {half}²) = {num(height, 'mm', 1)}"
        f" if {half} mm either side are free"
    )
    return against(surplus, limit, "surplus width", line, side="high")


def gap_at_seam(look: Look) -> Found | None:
    """Widest gap read at the seam, or a negative surplus, within the limit."""
    gaps = []
    for reading in look.job.readings.values():
        if reading.kind == "gap" and reading.at_part == str(look.part):
            value = look.number(f"readings.{reading.id}.value", needed=False)
            if value is not None and value >= 0:
                look.also("reading", reading.id)
                gaps.append(value)
    surplus = look.number(look.path("surplus_mm"), needed=False)
    if surplus is not None:
        gaps.append(max(0.0, -surplus))
    limit = look.limit("high")
    if not gaps:
        look.lack(f"gap read at {look.part.words}")
        return None
    if limit is None:
        return None
    line = "gaps: " + ", ".join(num(gap, "mm") for gap in gaps)
    return against(max(gaps), limit, "widest gap", line, side="high")


def loaded_after_set(look: Look) -> Found | None:
    """Hours from closing the seam to its first load, else to the first traffic."""
    closed = look.time(look.path("closed_at"))
    loaded = look.time(look.path("loaded_at"), needed=False)
    loaded = loaded or look.time("completion.first_traffic_at", needed=False)
    loaded = loaded or look.time(look.path("loaded_at"))
    limit = look.limit("low")
    if closed is None or loaded is None or limit is None:
        return None
    hours = hours_between(closed, loaded)
    if hours is None:
        return silent("a time has no offset, so nothing can be counted")
    line = f"closed {moment(closed)}, loaded {moment(loaded)}: {num(hours, 'h', 1)}"
    if hours < 0:
        return deviates("loaded before it was closed", line, excess=1.0)
    return against(hours, limit, "loaded after", line, side="low", places=1)


def tape_width(look: Look) -> Found | None:
    """Adhesive width of the tape of a taped seam."""
    made_by = look.word(look.path("made_by"), needed=False)
    if made_by is not None and made_by != "taped":
        return not_for_this(f"the seam is {made_by}, not taped")
    lot = look.word(look.path("tape_lot"))
    limit = look.limit("low")
    if lot is None:
        return None
    look.also("lot", lot)
    width = look.number(f"lots.{lot}.tape_width_mm")
    if width is None or limit is None:
        return None
    return against(width, limit, f"tape of lot {lot}", side="low")


CALCULATIONS: Mapping[str, Callable[[Look], Found | None]] = {
    "surplus-width": surplus_width,
    "gap-at-seam": gap_at_seam,
    "loaded-after-set": loaded_after_set,
    "tape-width": tape_width,
}
