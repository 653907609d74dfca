"""Adhesive and seam sealer with the working shown: rates, amounts, times.

The arithmetic is that of `adhesive` and `sealer`, whose docstrings name the
methods.
"""

from __future__ import annotations

import math
from typing import Annotated, Literal

from diagnose.physics import adhesive, sealer
from diagnose.physics.guard import check_range
from diagnose.physics.working import Bound, Step, Worked, counted, plain, put

Shape = Literal["v", "square", "u"]
Base = Literal["porous", "closed"]


def notch_spread_rate(
    notch: Annotated[str, "notch", "width x depth x gap, such as 1/8 x 1/8 x 1/16 V"],
    shape: Annotated[Shape | None, "shape, where the notch does not name it"] = None,
) -> Worked:
    """What a notched trowel can spread, from the geometry of its notch."""
    found = adhesive.parse_notch(notch, shape)
    width, depth, gap = put(found.width_mm), put(found.depth_mm), put(found.gap_mm)
    formula, expression = {
        "v": ("width × depth / 2", f"{width} × {depth} / 2"),
        "square": ("width × depth", f"{width} × {depth}"),
        "u": (
            "width × (depth − width / 2) + π × width ^ 2 / 8",
            f"{width} × ({depth} − {width} / 2) + π × {width} ^ 2 / 8",
        ),
    }[found.shape]
    low, high = found.likely_l_m2
    full = put(found.full_l_m2)
    steps = (
        Step("groove", expression, found.groove_mm2, "mm²"),
        Step(
            "full groove", f"{put(found.groove_mm2)} / ({width} + {gap})", found.full_l_m2, "L/m²"
        ),
        Step("likely from", f"{adhesive.REAL_SHARE_LOW} × {full}", low, "L/m²"),
        Step("likely to", f"{adhesive.REAL_SHARE_HIGH} × {full}", high, "L/m²"),
    )
    notes = (
        "A full groove is a ceiling: trowel angle and squeeze-out leave a third to over half of it.",
        "The data sheet's rate decides; a worn notch spreads less.",
    )
    words = f"likely {low:.2f} to {high:.2f} L/m²; a full groove would be {found.full_l_m2:.2f}"
    rule = (f"groove = {formula}", "full groove = groove / (width + gap)")
    limits = ("adhesive-volume",)
    return Worked(rule, steps, found.full_l_m2, "L/m²", words, (), notes, limits)


def adhesive_needed(
    area_m2: Annotated[float, "area to be stuck"],
    rate_g_m2: Annotated[float, "rate of the data sheet"],
    waste_percent: Annotated[float, "waste on top"] = 0.0,
    pack_kg: Annotated[float | None, "adhesive in one container"] = None,
) -> Worked:
    """How much adhesive an area takes."""
    need = adhesive.needed(area_m2, rate_g_m2 / 1000, waste_percent)
    formula = "adhesive = area × rate / 1000 × (1 + waste / 100)"
    expression = f"{put(area_m2)} × {put(rate_g_m2)} / 1000 × (1 + {put(waste_percent)} / 100)"
    steps = [Step("adhesive", expression, need, "kg")]
    words = f"{plain(need, 4)} kg"
    if pack_kg is not None:
        check_range("adhesive in one container in kg", pack_kg, above=0, up_to=10_000)
        packs = math.ceil(round(need / pack_kg, 9))
        steps.append(Step("containers", f"ceil({put(need)} / {put(pack_kg)})", packs))
        words += f", so {counted(packs, 'container')} of {plain(pack_kg)} kg"
    return Worked((formula,), tuple(steps), need, "kg", words, limits=("adhesive-mass",))


def adhesive_used(
    used_kg: Annotated[float, "adhesive used"],
    area_m2: Annotated[float, "area stuck with it"],
    sheet_low_g_m2: Annotated[float | None, "lowest rate of the data sheet"] = None,
    sheet_high_g_m2: Annotated[float | None, "highest rate of the data sheet"] = None,
) -> Worked:
    """Adhesive used per m², against the data sheet."""
    rate = 1000 * adhesive.used_per_m2(used_kg, area_m2)
    step = Step("rate", f"1000 × {put(used_kg)} / {put(area_m2)}", rate, "g/m²")
    words = f"{plain(rate, 4)} g/m²"
    if sheet_low_g_m2 is not None and rate < sheet_low_g_m2:
        words += f", below the sheet's {plain(sheet_low_g_m2)} g/m²"
    elif sheet_high_g_m2 is not None and rate > sheet_high_g_m2:
        words += f", above the sheet's {plain(sheet_high_g_m2)} g/m²"
    elif sheet_low_g_m2 is not None or sheet_high_g_m2 is not None:
        words += ", as the sheet asks"
    formula = ("rate = 1000 × used / area",)
    return Worked(formula, (step,), rate, "g/m²", words, limits=("adhesive-mass",))


def open_time(
    latest_min: Annotated[float, "latest laying after spreading, by the data sheet"],
    earliest_min: Annotated[float, "earliest laying after spreading, by the data sheet"] = 0.0,
    laid_min: Annotated[float | None, "when the carpet was laid in, after spreading"] = None,
    base: Annotated[Base, "base"] = "porous",
    closed_base_factor: Annotated[float | None, "sheet's factor for a closed base"] = None,
    air_c: Annotated[float | None, "air temperature"] = None,
    reference_c: Annotated[float | None, "temperature for which the sheet's times hold"] = None,
    percent_shorter_per_k: Annotated[float | None, "sheet's shortening per K, in %"] = None,
) -> Worked:
    """Window for laying into a spread, changed only as far as its data sheet says."""
    for name, value in (
        ("latest", latest_min),
        ("earliest", earliest_min),
        ("laid", laid_min or 0),
    ):
        check_range(f"{name} in min", value, at_least=0, up_to=10_000)
    check_range("closed base factor", closed_base_factor or 1, at_least=0.1, up_to=10)
    check_range("shortening per K in %", percent_shorter_per_k or 0, at_least=0, up_to=50)
    check_range("earliest in min", earliest_min, at_least=0, up_to=latest_min)
    window = adhesive.adjusted_window(
        adhesive.Window(earliest_min, latest_min),
        base=base,
        closed_base_factor=closed_base_factor,
        air_c=air_c,
        reference_c=reference_c,
        percent_shorter_per_k=percent_shorter_per_k,
    )
    factors = []
    if base == "closed" and closed_base_factor is not None:
        factors.append(put(closed_base_factor))
    if air_c is not None and reference_c is not None and percent_shorter_per_k is not None:
        warmer = f"({put(air_c)} − {put(reference_c)})"
        factors.append(f"max(0.1, 1 − {put(percent_shorter_per_k)} / 100 × {warmer})")
    tail = "".join(f" × {factor}" for factor in factors)
    early, late = window.earliest_min or 0.0, window.latest_min or 0.0
    steps = (
        Step("earliest", f"{put(earliest_min)}{tail}", early, "min"),
        Step("latest", f"{put(latest_min)}{tail}", late, "min"),
    )
    words = f"lay in from {plain(early, 3)} to {plain(late, 3)} min after spreading"
    if laid_min is not None:
        place = "too soon" if laid_min < early else "too late" if laid_min > late else "in time"
        words += f"; laid after {plain(laid_min)} min: {place}"
    notes = () if factors else ("Nothing was changed: the sheet's own factors were not given.",)
    formula = ("time = sheet's time × factor for a closed base × (1 − % per K / 100 × K warmer)",)
    return Worked(formula, steps, late, "min", words, (), notes, ("open-time",))


def sealer_needed(
    seam_m: Annotated[float, "length of seam"],
    edges: Annotated[Literal["1", "2"], "cut edges sealed"] = "1",
    bead_mm: Annotated[float, "diameter of the bead"] = 3.175,
    half_round: Annotated[bool, "the bead is half round"] = False,
    waste_percent: Annotated[float, "waste on top"] = 0.0,
    bottle_ml: Annotated[float | None, "sealer in one bottle"] = None,
) -> Worked:
    """How much seam sealer a seam takes."""
    per_m = sealer.bead_ml_per_m(bead_mm, half_round=half_round)
    need = sealer.sealer_needed_ml(
        seam_m, int(edges), bead_mm, half_round=half_round, waste_percent=waste_percent
    )
    half = " / 2" if half_round else ""
    need_text = f"{put(seam_m)} × {edges} × {put(per_m)} × (1 + {put(waste_percent)} / 100)"
    steps = [
        Step("per metre", f"π × {put(bead_mm)} ^ 2 / 4{half}", per_m, "ml/m"),
        Step("sealer", need_text, need, "ml"),
    ]
    words = f"{plain(need, 3)} ml"
    if bottle_ml is not None:
        check_range("sealer in one bottle in ml", bottle_ml, above=0, up_to=100_000)
        bottles = math.ceil(round(need / bottle_ml, 9))
        steps.append(Step("bottles", f"ceil({put(need)} / {put(bottle_ml)})", bottles))
        words += f", so {counted(bottles, 'bottle')} of {plain(bottle_ml)} ml"
    bound = Bound("a bead of 1/8 in (3.2 mm)", "CRI standard (2011) 6.3", "seen")
    notes = ("No yield is published; this is the volume of the bead alone.",)
    formula = (
        "per metre = π × bead ^ 2 / 4",
        "sealer = seam × edges × per metre × (1 + waste / 100)",
    )
    limits = ("sealed-edges", "sealer-share")
    return Worked(formula, tuple(steps), need, "ml", words, (bound,), notes, limits)
