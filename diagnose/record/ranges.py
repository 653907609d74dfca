"""What a recorded number can be at all, and what is unlikely.

Outside `low` to `high` a value is refused: it cannot be true.  Outside the
second pair it is kept and queried.  Limits of good work are no business of
this table; they stand in the rules.  All of it is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

INF = float("inf")


@dataclass(frozen=True, slots=True)
class Bounds:
    """Possible from `low` to `high`; usual from `usual_low` to `usual_high`."""

    low: float = -INF
    high: float = INF
    usual_low: float = -INF
    usual_high: float = INF


BY_UNIT: Mapping[str, Bounds] = {
    "°C": Bounds(-40, 85, -10, 45),
    "°C per day": Bounds(0, 60, 0, 10),
    "%": Bounds(0, 100),
    "mm": Bounds(0, 200_000),
    "m": Bounds(0, 1_000, 0, 200),
    "m²": Bounds(0, 100_000, 0, 5_000),
    "kg": Bounds(0, 10_000, 0, 2_000),
    "g": Bounds(0, 100_000),
    "g/m²": Bounds(1, 20_000, 200, 8_000),
    "kg/m³": Bounds(1, 3_000, 50, 1_000),
    "l": Bounds(0, 10_000, 0, 1_000),
    "ml": Bounds(0, 100_000, 0, 10_000),
    "h": Bounds(0, 100_000, 0, 2_000),
    "min": Bounds(0, 10_000, 0, 240),
    "days": Bounds(0, 100_000, 0, 40_000),
    "ft²": Bounds(0.01, 10, 0.1, 2),
    "m²K/W": Bounds(0, 2, 0.01, 0.4),
    "°": Bounds(-360, 360),
    "": Bounds(0, 1_000_000),
}

BY_FIELD: Mapping[str, Bounds] = {
    "site.built_year": Bounds(1000, 2200, 1700, 2100),
    "product.thickness_mm": Bounds(0.5, 100, 2, 25),
    "product.width_mm": Bounds(100, 6_000, 400, 5_000),
    "product.tile_side_mm": Bounds(50, 2_000, 200, 1_000),
    "product.light_fastness": Bounds(1, 8),
    "product.dimensional_change_percent": Bounds(-20, 20, -2, 2),
    "areas.*.subfloor.thickness_mm": Bounds(1, 2_000, 3, 400),
    "areas.*.subfloor.smoothing_mm": Bounds(0, 200, 0, 30),
    "areas.*.heating.surface_max_c": Bounds(0, 85, 15, 35),
    "areas.*.heating.bond_line_max_c": Bounds(0, 85, 15, 35),
    "drops.*.pile_direction_deg": Bounds(-360, 360),
    "drops.*.tile_edge_fraction": Bounds(0, 1),
    "rolls.*.width_mm": Bounds(100, 6_000, 400, 5_000),
    "rolls.*.carried_by_people": Bounds(1, 50, 1, 12),
    "rolls.*.stack_height": Bounds(0, 50, 0, 6),
    "spreads.*.notch_width_mm": Bounds(0.1, 30, 0.5, 12),
    "spreads.*.notch_depth_mm": Bounds(0.1, 30, 0.5, 12),
    "spreads.*.notch_gap_mm": Bounds(0, 60, 0.5, 20),
    "spreads.*.roller_kg": Bounds(0, 500, 10, 100),
    "spreads.*.humidity_percent": Bounds(0, 100, 15, 95),
    "seams.*.edges_sealed": Bounds(0, 2),
    "seams.*.bead_mm": Bounds(0, 50, 0.5, 10),
    "seams.*.surplus_mm": Bounds(-100, 200, 0, 20),
    "seams.*.offset_mm": Bounds(-1_000, 1_000, -50, 50),
    "edges.*.step_mm": Bounds(-200, 200, -30, 30),
    "later.*.ph": Bounds(0, 14, 3, 12),
    "lots.*.tape_width_mm": Bounds(5, 500, 20, 200),
    "lots.*.underlay_mm": Bounds(1, 50, 3, 15),
    "product.limits.*.low": Bounds(),
    "product.limits.*.high": Bounds(),
    "lots.*.limits.*.low": Bounds(),
    "lots.*.limits.*.high": Bounds(),
    "readings.*.value": Bounds(),
    "completion.photos": Bounds(0, 100_000, 0, 2_000),
}

READING_BOUNDS: Mapping[str, Bounds] = {
    "air-temperature": Bounds(-40, 85, -10, 45),
    "floor-temperature": Bounds(-40, 85, -5, 40),
    "air-humidity": Bounds(0, 100, 15, 95),
    "moisture-humidity": Bounds(0, 100, 20, 100),
    "moisture-carbide": Bounds(0, 30, 0.1, 10),
    "moisture-emission": Bounds(0, 100, 0, 30),
    "moisture-hand-meter": Bounds(0, 1_000),
    "timber-moisture": Bounds(0, 200, 4, 30),
    "surface-ph": Bounds(0, 14, 6, 13),
    "porosity-drop": Bounds(0, 86_400),
    "flatness-gap": Bounds(0, 500, 0, 30),
    "step": Bounds(-500, 500, -30, 30),
    "pile-height": Bounds(0, 200, 1, 40),
    "pull": Bounds(0, 100_000),
    "gap": Bounds(0, 1_000, 0, 50),
}

READING_UNITS: Mapping[str, tuple[str, ...]] = {
    "air-temperature": ("°C",),
    "floor-temperature": ("°C",),
    "air-humidity": ("%", "% RH"),
    "moisture-humidity": ("%", "% RH"),
    "moisture-carbide": ("%", "% CM"),
    "moisture-emission": ("lb/1000 ft² 24 h", "lb", "g/m² h", "g/m²h"),
    "timber-moisture": ("%", "% MC"),
    "surface-ph": ("", "pH"),
    "porosity-drop": ("s", "min"),
    "flatness-gap": ("mm",),
    "step": ("mm",),
    "pile-height": ("mm",),
    "gap": ("mm",),
}


def bounds_of(pattern: str, unit: str) -> Bounds:
    """Return the bounds of a number field by its pattern, else by its unit."""
    return BY_FIELD.get(pattern) or BY_UNIT.get(unit) or Bounds()
