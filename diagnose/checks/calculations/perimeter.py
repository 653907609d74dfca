"""Walls, gripper, stretch and doorways.

References
----------
.. [1] CRI 105 11.1: gully slightly less than the carpet and at most 9 mm; a wider
   strip or two where more than 9.1 m are stretched.
.. [2] CRI Standard (2011) 16.5: power stretcher; at least 1 % each way.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from diagnose.checks.found import Found, against, deviates, in_order, judged, not_for_this, silent
from diagnose.checks.look import Look
from diagnose.checks.words import num
from diagnose.physics.perimeter import gully_limit_mm
from diagnose.physics.stretch import stretch_percent
from diagnose.physics.trip import level_change


def gully(look: Look) -> Found | None:
    """Gully at the gripper: less than the carpet and never wider than the limit."""
    width = look.number(look.path("gully_mm"))
    thick = look.number("product.thickness_mm")
    limit = look.limit("high")
    if width is None or thick is None or limit is None or limit.high is None:
        return None
    widest = gully_limit_mm(thick, limit.high)
    line = f"smaller of carpet {num(thick, 'mm')} and {num(limit.high, 'mm')} = {num(widest, 'mm')}"
    words = f"gully {num(width, 'mm')}; at most {num(widest, 'mm')}"
    excess = max(0.0, (width - widest) / widest)
    return judged(0 <= width <= widest, words, line, excess=excess)


def gripper_rows(look: Look) -> Found | None:
    """Rows of pins: three where the span is wider than one strip can hold."""
    rows = look.number(look.path("gripper_rows"))
    span = look.number(look.path("span_m"))
    limit = look.limit("high")
    if rows is None or span is None or limit is None or limit.high is None:
        return None
    wanted = 3 if span > limit.high else 2
    line = f"span {num(span, 'm')}; three rows beyond {num(limit.high, 'm')}"
    words = f"{num(rows)} rows of pins for a span of {num(span, 'm')}; {wanted} wanted"
    return judged(rows >= wanted, words, line, excess=wanted - rows)


def gripper_stuck(look: Look) -> Found | None:
    """On a heated floor gripper is stuck, not nailed, unless pipes are located."""
    stuck = look.flag(look.path("gripper_stuck"))
    area = look.area
    if stuck is None or area is None:
        return None
    located = look.flag(f"areas.{area.id}.heating.services_located", needed=not stuck)
    line = f"gripper stuck: {'yes' if stuck else 'no'}"
    if stuck:
        return in_order("gripper stuck on the heated floor", line)
    if located:
        return in_order("gripper nailed, pipes located", line, "pipes located: yes")
    return deviates("gripper nailed into a heated floor, pipes not located", line, excess=1.0)


def stretched(look: Look) -> Found | None:
    """Stretch in length and width against the least wanted."""
    found = _stretches(look)
    limit = look.limit("low")
    if not found or limit is None:
        return None
    least, which = min((percent, name) for name, (percent, _) in found.items())
    lines = [line for _, line in found.values()]
    return against(least, limit, f"stretch in {which}", *lines, side="low")


def stretched_evenly(look: Look) -> Found | None:
    """Difference between the stretch in length and in width."""
    found = _stretches(look)
    limit = look.limit("high")
    if len(found) < 2 or limit is None:
        return None
    one, other = (percent for percent, _ in found.values())
    lines = [line for _, line in found.values()]
    lines.append(f"difference {num(abs(one - other), '%')}")
    return against(abs(one - other), limit, "stretch differs by", *lines, side="high")


def _stretches(look: Look) -> dict[str, tuple[float, str]]:
    found = {}
    for name in ("length", "width"):
        before = look.number(look.path(f"{name}_before_mm"))
        after = look.number(look.path(f"{name}_after_mm"))
        if before is not None and after is not None:
            percent = stretch_percent(before, after)
            line = f"{name}: ({num(after)} - {num(before)}) / {num(before)} × 100 = {num(percent, '%')}"
            found[name] = (percent, line)
    return found


def edge_secured(look: Look) -> Found | None:
    """A doorway or step has a profile, or its edge is sealed and stuck to the very end."""
    kind = look.word(look.path("kind"), needed=False)
    if kind not in ("doorway", "step", None):
        return not_for_this(f"the edge is a {kind}")
    profile = look.word(look.path("profile"))
    if profile is None:
        return None
    if profile != "none":
        return in_order(f"secured by {profile.replace('-', ' ')}", f"profile: {profile}")
    sealed = look.flag(look.path("sealed"))
    stuck = look.flag(look.path("adhesive_to_edge"))
    line = f"profile: none, sealed: {_said(sealed)}, adhesive to the edge: {_said(stuck)}"
    if sealed is False or stuck is False:
        return deviates("no profile, and the edge is not sealed and stuck", line, excess=1.0)
    return in_order("edge sealed and stuck", line) if sealed and stuck else None


def step_at_edge(look: Look) -> Found | None:
    """Height of the neighbouring floor above the carpet, where no profile covers it."""
    kind = look.word(look.path("kind"), needed=False)
    if kind in ("wall", "column"):
        return not_for_this(f"the edge is at a {kind}")
    step = look.number(look.path("step_mm"))
    profile = look.word(look.path("profile"), needed=False)
    limit = look.limit("high")
    if step is None or limit is None:
        return None
    height = abs(step)
    if height > 2000:
        return silent(f"a step of {num(step, 'mm')} is no doorway")
    line = f"underfoot {num(height, 'mm')} is: {level_change(height)}"
    if profile not in (None, "none"):
        return in_order(f"step {num(step, 'mm')} under a {profile.replace('-', ' ')}", line)
    return against(height, limit, "step", line, side="high")


def _said(value: bool | None) -> str:
    return "not recorded" if value is None else "yes" if value else "no"


CALCULATIONS: Mapping[str, Callable[[Look], Found | None]] = {
    "gully": gully,
    "gripper-rows": gripper_rows,
    "gripper-stuck": gripper_stuck,
    "stretched": stretched,
    "stretched-evenly": stretched_evenly,
    "edge-secured": edge_secured,
    "step-at-edge": step_at_edge,
}
