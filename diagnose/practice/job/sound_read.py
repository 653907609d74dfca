"""The readings of a sound job: moisture, pH, porosity, flatness, with their waits."""

from __future__ import annotations

from diagnose.model import Facet
from diagnose.physics.moisture import readings_needed
from diagnose.practice.job.draft import Draft
from diagnose.practice.job.plan import length_m, width_m

POSITIONS = ("corner", "edge", "field")
TIMBER = ("timber-boards", "timber-sheet")
MOISTURE = ("moisture-humidity", "timber-moisture")


def put_readings(draft: Draft) -> None:
    """Put the readings that were taken before the work began."""
    draft.spans["readings_before_h"] = draft.between(66, 69.5)
    timber = draft.facet(Facet.SUBFLOOR) in TIMBER
    need = max(3, readings_needed(length_m(draft) * width_m(draft), "astm-f2170"))
    for number in range(1, need + 1):
        name = f"M{number}"
        kind, method = ("timber-moisture", "") if timber else (MOISTURE[0], "surface-hygrometer")
        value = draft.between(10.5, 12.5) if timber else draft.between(58, 68, 0)
        put_reading(draft, name, kind, value, "% MC" if timber else "% RH")
        if method:
            draft.put(f"readings.{name}", method=method)
            draft.spans[f"{name}.stood_h"] = draft.between(72.5, 75)
        draft.put(f"readings.{name}", position=POSITIONS[(number - 1) % 3])
        draft.spans[f"{name}.calibrated_days"] = draft.between(20, 200, 0)
    for number in (1, 2):
        put_reading(draft, f"P{number}", "surface-ph", draft.between(8.6, 8.8), "pH")
        put_reading(draft, f"B{number}", "porosity-drop", draft.between(12, 45, 0), "s")
        put_reading(draft, f"G{number}", "flatness-gap", draft.between(0.8, 2.6), "mm")
        draft.put(f"readings.G{number}", straightedge_m=2)
        put_reading(draft, f"H{number}", "step", draft.between(0.2, 0.8), "mm")


def put_reading(draft: Draft, name: str, kind: str, value: float, unit: str) -> None:
    """Put one reading of the area."""
    draft.put(f"readings.{name}", kind=kind, value=value, unit=unit, area=draft.area)


def readings_of(draft: Draft, *kinds: str) -> list[str]:
    """Return the ids of the readings of some kinds."""
    return [name for name in draft.ids("readings") if draft.text(f"readings.{name}.kind") in kinds]
