"""Size of an area: its outline decides, else what was stated."""

from __future__ import annotations

from diagnose.checks.geometry import area_m2
from diagnose.checks.look import Look
from diagnose.checks.words import num


def area_size_m2(look: Look) -> float | None:
    """Return the size of the area looked at, or None and a gap."""
    area = look.area
    if area is not None and len(area.outline_m) >= 3:
        size = area_m2(area.outline_m)
        look.note(f"areas.{area.id}.outline_m", f"outline of area {area.id}", num(size, "m²"))
        return size if size > 0 else None
    path = f"areas.{area.id}.area_m2" if area else look.path("area_m2")
    stated = look.number(path)
    return stated if stated is not None and stated > 0 else None
