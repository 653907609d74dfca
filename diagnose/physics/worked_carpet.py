"""Carpet itself with the working shown: peaks, widths, stretch, pattern, tiles, rolls.

The arithmetic is that of `seam`, `stretch`, `pattern`, `tile`, `perimeter`, `trip`
and `lifting`, whose docstrings name the methods.
"""

from __future__ import annotations

import math
from typing import Annotated, Literal

from diagnose.physics import lifting, pattern, perimeter, seam, stretch, tile, trip
from diagnose.physics.guard import OutOfRangeError, check_range
from diagnose.physics.working import Bound, Step, Worked, counted, plain, put

Model = Literal["tent", "arch"]
UPPER = "An upper estimate: a stiff back flattens the peak. Computed from geometry, not published."
LEAST = (
    "A lower estimate: a stiff back flattens the peak, so there may be more surplus. "
    "Computed from geometry, not published."
)


def peak_height(
    surplus_mm: Annotated[float, "width too much at the seam"],
    half_width_mm: Annotated[float, "free width on either side of the join"] = 40.0,
    model: Annotated[Model, "shape of the peak"] = "tent",
) -> Worked:
    """How high a surplus of width can lift a seam."""
    height = seam.peak_height_mm(surplus_mm, half_width_mm, model)
    s, a = put(surplus_mm), put(half_width_mm)
    if model == "tent":
        formula, text = "√((a + s / 2) ^ 2 − a ^ 2)", f"√(({a} + {s} / 2) ^ 2 − {a} ^ 2)"
    else:
        formula, text = "√(3 × s × 2 × a / 8)", f"√(3 × {s} × 2 × {a} / 8)"
    steps = (Step("height", text, height, "mm"),)
    words = f"up to {height:.1f} mm high"
    limits = ("seam-surplus",)
    return Worked((f"height = {formula}",), steps, height, "mm", words, (), (UPPER,), limits)


def peak_surplus(
    height_mm: Annotated[float, "height of the peak"],
    half_width_mm: Annotated[float, "free width on either side of the join"] = 40.0,
    model: Annotated[Model, "shape of the peak"] = "tent",
) -> Worked:
    """What surplus of width a peak of a height needs at least."""
    surplus = seam.surplus_mm(height_mm, half_width_mm, model)
    h, a = put(height_mm), put(half_width_mm)
    if model == "tent":
        formula, text = "2 × (√(a ^ 2 + h ^ 2) − a)", f"2 × (√({a} ^ 2 + {h} ^ 2) − {a})"
    else:
        formula, text = "8 × h ^ 2 / (3 × 2 × a)", f"8 × {h} ^ 2 / (3 × 2 × {a})"
    steps = (Step("surplus", text, surplus, "mm"),)
    words = f"at least {surplus:.2f} mm too much width"
    limits = ("seam-surplus",)
    return Worked((f"surplus = {formula}",), steps, surplus, "mm", words, (), (LEAST,), limits)


def width_change(
    width_mm: Annotated[float, "width of the drop"],
    change_percent: Annotated[float, "dimensional change of the laboratory test"],
) -> Worked:
    """How much a drop can grow or shrink, from its dimensional change."""
    change = seam.width_change_mm(width_mm, change_percent)
    step = Step("change", f"{put(width_mm)} × {put(change_percent)} / 100", change, "mm")
    notes = ("The laboratory test is harsher than a room: an upper bound.",)
    words = f"{plain(abs(change), 3)} mm {'wider' if change > 0 else 'narrower' if change < 0 else 'of change'}"
    formula = ("change = width × per cent / 100",)
    limits = ("dimensional-change",)
    return Worked(formula, (step,), change, "mm", words, (), notes, limits)


def stretch_percent(
    before_mm: Annotated[float, "length before stretching"],
    after_mm: Annotated[float, "length after stretching"],
) -> Worked:
    """Stretch of a carpet on gripper, in per cent."""
    value = stretch.stretch_percent(before_mm, after_mm)
    expression = f"({put(after_mm)} − {put(before_mm)}) / {put(before_mm)} × 100"
    step = Step("stretch", expression, value, "%")
    formula = ("stretch = (after − before) / before × 100",)
    return Worked(formula, (step,), value, "%", f"{value:.2f} %", limits=("stretch-least",))


def bow_and_skew(
    breadth_mm: Annotated[float, "breadth measured across"],
    bow_mm: Annotated[float | None, "bow: farthest from the dry line"] = None,
    skew_mm: Annotated[float | None, "skew: one selvedge before the other"] = None,
) -> Worked:
    """Bow and skew of a pattern, per metre of breadth."""
    given = [(name, off) for name, off in (("bow", bow_mm), ("skew", skew_mm)) if off is not None]
    if not given:
        raise OutOfRangeError("neither bow nor skew is given; give one of them or both")
    steps = tuple(
        Step(
            name,
            f"{put(abs(off))} / {put(breadth_mm)} × 1000",
            pattern.per_breadth_mm_m(off, breadth_mm),
            "mm/m",
        )
        for name, off in given
    )
    words = ", ".join(f"{step.name} {step.value:.1f} mm/m" for step in steps)
    formula = ("per metre = off the line / breadth × 1000",)
    limits = tuple(name for name, _ in given)
    return Worked(formula, steps, steps[0].value, "mm/m", words, limits=limits)


def repeat_gain(
    found_mm: Annotated[float, "repeat as measured"],
    nominal_mm: Annotated[float, "repeat as ordered, or of the neighbour"],
    length_m: Annotated[float, "length of the seam"],
) -> Worked:
    """How far a pattern runs off over a seam, and what is left when the drift is split."""
    gain = pattern.repeat_gain_mm(found_mm, nominal_mm, length_m)
    split = pattern.split_drift_mm(abs(gain))
    found, nominal = put(found_mm), put(nominal_mm)
    steps = (
        Step("drift", f"({found} − {nominal}) × {put(length_m)} × 1000 / {nominal}", gain, "mm"),
        Step("at either end", f"{put(abs(gain))} / 2", split, "mm"),
    )
    words = (
        f"{plain(abs(gain), 3)} mm over the seam; {plain(split, 3)} mm at either end from mid-room"
    )
    formula = ("drift = (found − nominal) × length × 1000 / nominal", "at either end = drift / 2")
    return Worked(formula, steps, gain, "mm", words, limits=("pattern-offset",))


def cut_length(
    needed_mm: Annotated[float, "length needed"],
    repeat_mm: Annotated[float, "pattern repeat, 0 for none"] = 0.0,
    allowance_mm: Annotated[float, "allowance for trimming"] = 75.0,
) -> Worked:
    """Length to cut a drop: whole repeats, one more, and an allowance."""
    check_range("allowance in mm", allowance_mm, at_least=0, up_to=5000)
    cut = pattern.cut_length_mm(needed_mm, repeat_mm, allowance_mm)
    need, repeat, more = put(needed_mm), put(repeat_mm), put(allowance_mm)
    expression = f"{need} + {more}"
    if repeat_mm:
        expression = f"ceil({need} / {repeat}) × {repeat} + {repeat} + {more}"
    formula = ("cut = ceil(needed / repeat) × repeat + repeat + allowance",)
    step = Step("cut", expression, cut, "mm")
    return Worked(formula, (step,), cut, "mm", f"{plain(cut)} mm", limits=("cut-allowance",))


def width_to_trim(
    width_mm: Annotated[float, "breadth as delivered"],
    repeat_mm: Annotated[float, "pattern repeat across"],
) -> Worked:
    """Whole repeats in a breadth, and what to trim for the match."""
    repeats, trim = pattern.width_to_trim_mm(width_mm, repeat_mm)
    steps = (
        Step("repeats", f"floor({put(width_mm)} / {put(repeat_mm)})", repeats),
        Step("trim", f"{put(width_mm)} − {repeats} × {put(repeat_mm)}", trim, "mm"),
    )
    words = f"{counted(repeats, 'whole repeat')}; {plain(trim)} mm to trim, {plain(trim / 2)} mm an edge"
    formula = ("repeats = floor(breadth / repeat)", "trim = breadth − repeats × repeat")
    return Worked(formula, steps, trim, "mm", words)


def ten_tiles(
    measured_mm: Annotated[float, "ten tiles in a row as laid"],
    side_mm: Annotated[float, "nominal side of a tile"],
) -> Worked:
    """Ten laid tiles against ten nominal sides."""
    off = tile.ten_tile_deviation_mm(measured_mm, side_mm)
    step = Step("off", f"{put(measured_mm)} − 10 × {put(side_mm)}", off, "mm")
    says = "longer" if off > 0 else "shorter" if off < 0 else "off"
    notes = ("Ten in a row is common practice; no standard gives a limit.",)
    formula = ("off = measured − 10 × side",)
    words = f"{plain(abs(off))} mm {says}"
    return Worked(formula, (step,), off, "mm", words, (), notes, ("ten-tile-deviation",))


def edge_tiles(
    room_mm: Annotated[float, "room across the row"],
    side_mm: Annotated[float, "side of a tile"],
) -> Worked:
    """Width of the cut tiles at either wall of a row set out for the best."""
    share = tile.edge_fraction(room_mm, side_mm)
    room, side = put(room_mm), put(side_mm)
    left = room_mm / side_mm - math.floor(room_mm / side_mm + 1e-9)
    if left < 1e-9:
        steps: tuple[Step, ...] = (
            Step("left over", f"{room} / {side} − floor({room} / {side})", 0.0, "tile"),
        )
    else:
        edge = f"(1 + {put(left)}) / 2" if room_mm > side_mm else put(left)
        steps = (
            Step("left over", f"{room} / {side} − floor({room} / {side})", left, "tile"),
            Step("edge", edge, share, "tile"),
        )
    words = f"{plain(share * side_mm, 4)} mm at either wall ({plain(share * 100, 3)} % of a tile)"
    formula = ("left over = room / side − whole tiles", "edge = (1 + left over) / 2")
    return Worked(formula, steps, share, "tile", words, limits=("tile-edge-fraction",))


def gully(thickness_mm: Annotated[float, "thickness of the carpet"]) -> Worked:
    """Widest gully between gripper and wall."""
    limit = perimeter.gully_limit_mm(thickness_mm)
    step = Step("gully", f"min({put(thickness_mm)}, {plain(perimeter.GULLY_HIGH_MM)})", limit, "mm")
    words = f"less than {plain(limit)} mm"
    formula = ("gully = the lesser of thickness and 9 mm",)
    return Worked(formula, (step,), limit, "mm", words, limits=("gully-width",))


def trip_height(height_mm: Annotated[float, "height of the step"]) -> Worked:
    """What a change of level underfoot calls for."""
    word = trip.level_change(height_mm)
    says = {
        "flush": "flush",
        "upright": "may stand upright",
        "bevel": "is to be bevelled, at most 1 in 2",
        "ramp": "calls for a ramp",
    }[word]
    bound = Bound(
        "upright to 6.4 mm, bevelled to 13 mm, above that a ramp; no figure for the UK was found",
        "ADA/ABA 303 (US)",
        "seen",
    )
    words = f"{plain(height_mm)} mm: {says}"
    notes = () if word == "flush" else (trip.CAUTION,)
    return Worked(("height against the steps of the rule",), (), word, "", words, (bound,), notes)


def roll_mass(
    length_m: Annotated[float, "length of the roll"],
    width_m: Annotated[float, "width of the roll"],
    mass_g_m2: Annotated[float, "mass of the carpet"],
    people: Annotated[int, "people who carry"] = 2,
) -> Worked:
    """Mass of a roll, and what each of the carriers has to bear."""
    whole = lifting.roll_mass_kg(length_m, width_m, mass_g_m2)
    each = lifting.kg_each(whole, people)
    steps = (
        Step("roll", f"{put(length_m)} × {put(width_m)} × {put(mass_g_m2)} / 1000", whole, "kg"),
        Step("each", f"{put(whole)} / {people}", each, "kg"),
    )
    notes = ("The law names no safe weight; above what people can carry use a machine.",)
    words = f"{plain(whole, 4)} kg, {plain(each, 3)} kg each"
    formula = ("roll = length × width × mass / 1000", "each = roll / people")
    return Worked(formula, steps, whole, "kg", words, (), notes)
