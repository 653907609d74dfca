"""Where a seam lies: to the light, to traffic, to turning feet, to doors.

References
----------
.. [1] CRI Standard (2011) 6.2: seams along the traffic, light not across them,
   away from pivoting traffic, not at right angles to a door opening.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from diagnose.checks.found import Found, against, deviates, in_order, not_for_this
from diagnose.checks.geometry import (
    angle_between_deg,
    crosses,
    direction_deg,
    length_m,
    lines_apart_m,
    to_line_m,
)
from diagnose.checks.look import Look
from diagnose.checks.words import num
from diagnose.record.model import Line

NEAR_DOOR_M = 0.3
"""A seam that ends this close to an opening runs into it; a judgement."""
STEEP_DEG = 60.0
"""From this angle a seam counts as at right angles to an opening; a judgement."""


def across_light(look: Look) -> Found | None:
    """Angle between a seam and the windows: along the glass the light falls across it."""
    line, limit = _line(look), look.limit("low")
    area = look.area
    windows = [each for each in area.windows if len(each.line_m) > 1] if area else []
    if area is None or not windows:
        look.lack("windows of the area on the plan")
    seam_at = direction_deg(line) if line else None
    if seam_at is None or area is None or not windows or limit is None:
        return None
    angles = []
    for window in windows:
        glass = direction_deg(window.line_m)
        if glass is not None:
            words = f"direction of window {window.id}"
            look.note(f"areas.{area.id}.windows.{window.id}.line_m", words, num(glass, "°", 0))
            angles.append((angle_between_deg(seam_at, glass), window.id))
    if not angles:
        return None
    angle, name = min(angles)
    text = f"seam at {num(seam_at, '°', 0)}, nearest to window {name}: {num(angle, '°', 0)} apart"
    return against(angle, limit, "angle between seam and window", text, side="low", places=0)


def near_pivot(look: Look) -> Found | None:
    """Distance of a seam from the places where feet turn."""
    line, limit = _line(look), look.limit("low")
    area = look.area
    if area is None or not area.pivots_m:
        look.lack("places where feet turn, on the plan")
    if line is None or area is None or not area.pivots_m or limit is None:
        return None
    look.note(f"areas.{area.id}.pivots_m", "places where feet turn", f"{len(area.pivots_m)} points")
    apart = [distance for p in area.pivots_m if (distance := to_line_m(p, line)) is not None]
    text = "distances: " + ", ".join(num(each, "m") for each in apart)
    return against(min(apart), limit, "distance to where feet turn", text, side="low")


def across_traffic(look: Look) -> Found | None:
    """A seam that the line of traffic crosses is crossed at a small angle only."""
    line, limit = _line(look), look.limit("high")
    area = look.area
    if area is None or len(area.traffic_m) < 2:
        look.lack("line of traffic on the plan")
    if line is None or area is None or len(area.traffic_m) < 2 or limit is None:
        return None
    look.note(f"areas.{area.id}.traffic_m", "line of traffic", num(length_m(area.traffic_m), "m"))
    if not crosses(line, area.traffic_m):
        return in_order("the line of traffic does not cross the seam", "no crossing")
    seam_at = direction_deg(line)
    angles = [
        angle_between_deg(seam_at, way)
        for start, end in zip(area.traffic_m, area.traffic_m[1:], strict=False)
        if seam_at is not None
        and crosses(line, (start, end))
        and (way := direction_deg((start, end))) is not None
    ]
    if not angles:
        return None
    text = f"traffic crosses the seam at {num(max(angles), '°', 0)}"
    return against(max(angles), limit, "crossed by traffic at", text, side="high", places=0)


def into_doorway(look: Look) -> Found | None:
    """A seam does not run into a door opening at right angles."""
    line = _line(look)
    area = look.area
    doors = [each for each in area.doors if len(each.line_m) > 1] if area else []
    if not doors:
        look.lack("doors of the area on the plan")
    seam_at = direction_deg(line) if line else None
    if line is None or area is None or not doors or seam_at is None:
        return None
    texts, into = [], []
    for door in doors:
        apart, across = lines_apart_m(line, door.line_m), direction_deg(door.line_m)
        if apart is None or across is None:
            continue
        words = f"opening of door {door.id}"
        look.note(f"areas.{area.id}.doors.{door.id}.line_m", words, f"{num(apart, 'm')} away")
        angle = angle_between_deg(seam_at, across)
        texts.append(f"door {door.id}: {num(apart, 'm')} away, at {num(angle, '°', 0)}")
        if apart <= NEAR_DOOR_M and angle >= STEEP_DEG:
            into.append(door.id)
    if not texts:
        return None
    if into:
        return deviates(
            f"the seam runs into the opening of door {', '.join(into)}", *texts, excess=1
        )
    return in_order("the seam runs into no door opening", *texts)


def door_joint(look: Look) -> Found | None:
    """A joint in a doorway lies below the centre line of the door leaf."""
    offset = look.number(look.path("joint_offset_mm"))
    limit = look.limit("high")
    if offset is None or limit is None:
        return None
    return against(abs(offset), limit, "joint off the centre of the leaf by", side="high")


def over_moving_joint(look: Look) -> Found | None:
    """No expansion joint of the area runs below the drop."""
    area, drop = look.area, look.job.drops.get(look.part.id)
    if area is None or drop is None or len(drop.outline_m) < 3:
        look.lack(f"outline of {look.part.words}")
        return None
    if not area.expansion_joints_m:
        return not_for_this("no expansion joint is drawn in the area")
    ring: Line = (*drop.outline_m, drop.outline_m[0])
    below = [joint for joint in area.expansion_joints_m if crosses(joint, ring)]
    look.note(
        f"areas.{area.id}.expansion_joints_m",
        "expansion joints",
        f"{len(area.expansion_joints_m)} drawn",
    )
    text = f"{len(below)} of {len(area.expansion_joints_m)} expansion joints below the drop"
    if below:
        return deviates("an expansion joint runs below the drop", text, excess=1.0)
    return in_order("no expansion joint runs below the drop", text)


def _line(look: Look) -> Line | None:
    seam = look.job.seams.get(look.part.id)
    if seam is None or len(seam.line_m) < 2:
        look.lack(f"line of {look.part.words} on the plan")
        return None
    words = f"line of {look.part.words}"
    look.note(look.path("line_m"), words, num(length_m(seam.line_m), "m"))
    return seam.line_m


CALCULATIONS: Mapping[str, Callable[[Look], Found | None]] = {
    "across-light": across_light,
    "near-pivot": near_pivot,
    "across-traffic": across_traffic,
    "into-doorway": into_doorway,
    "door-joint": door_joint,
    "over-moving-joint": over_moving_joint,
}
