"""Every calculation by the name that a rule calls it by."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from diagnose.checks.calculations import (
    adhesive,
    climate,
    conditioning,
    cutting,
    general,
    goods,
    handover,
    layout,
    lots,
    moisture,
    neighbours,
    perimeter,
    rolling,
    sealing,
    seam,
    subfloor,
)
from diagnose.checks.found import Found
from diagnose.checks.look import Look

Calculation = Callable[[Look], Found | None]
"""Looks at one part; None says that what it needs is not recorded."""

CALCULATIONS: Mapping[str, Calculation] = {
    **adhesive.CALCULATIONS,
    **climate.CALCULATIONS,
    **conditioning.CALCULATIONS,
    **cutting.CALCULATIONS,
    **general.CALCULATIONS,
    **goods.CALCULATIONS,
    **handover.CALCULATIONS,
    **layout.CALCULATIONS,
    **lots.CALCULATIONS,
    **moisture.CALCULATIONS,
    **neighbours.CALCULATIONS,
    **perimeter.CALCULATIONS,
    **rolling.CALCULATIONS,
    **sealing.CALCULATIONS,
    **seam.CALCULATIONS,
    **subfloor.CALCULATIONS,
}
