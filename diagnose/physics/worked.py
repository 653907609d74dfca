"""Every calculation that shows its working, by the name a person asks for it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Annotated

from diagnose.physics import porosity, units, worked_air, worked_bonding, worked_carpet, worked_view
from diagnose.physics.working import Step, Worked, plain, put


def porosity_of_base(seconds: Annotated[float, "time until a drop is taken up", "in s"]) -> Worked:
    """Whether a base is porous, from a drop of water about 25 mm across."""
    word = porosity.porosity_word(seconds)
    words = f"{plain(seconds)} s: {word}"
    return Worked(("seconds against 60",), (), word, "", words, limits=("porosity-drop",))


def converted(
    value: Annotated[float, "number"],
    unit: Annotated[str, "its unit", "such as ft2"],
    to: Annotated[str, "unit wanted", "such as m2"],
) -> Worked:
    """A number in another unit of the same quantity; moisture scales never convert."""
    result = units.convert(value, unit, to)
    one, other = units.UNITS[unit], units.UNITS[to]
    factor, divisor = plain(one.factor, 12), plain(other.factor, 12)
    offset = plain(one.offset - other.offset, 12)
    text = f"({put(value)} × {factor} + {offset}) / {divisor}"
    steps = (Step(to, text, result),)
    formula = ("result = (value × factor + offset) / factor of the other unit",)
    return Worked(formula, steps, result, to, f"{plain(value)} {unit} is {plain(result)} {to}")


CALCULATIONS: Mapping[str, Callable[..., Worked]] = {
    "dew-point": worked_air.dew_point,
    "air-moisture": worked_air.air_moisture,
    "highest-reading": worked_air.highest_reading,
    "emission-rate": worked_air.emission_rate,
    "drying-time": worked_air.drying_time,
    "readings-needed": worked_air.readings_needed,
    "probe": worked_air.probe,
    "alkalinity": worked_air.alkalinity_of_surface,
    "porosity": porosity_of_base,
    "flatness": worked_air.flatness_class,
    "notch-spread-rate": worked_bonding.notch_spread_rate,
    "adhesive-needed": worked_bonding.adhesive_needed,
    "adhesive-used": worked_bonding.adhesive_used,
    "open-time": worked_bonding.open_time,
    "sealer-needed": worked_bonding.sealer_needed,
    "peak-height": worked_carpet.peak_height,
    "peak-surplus": worked_carpet.peak_surplus,
    "width-change": worked_carpet.width_change,
    "stretch": worked_carpet.stretch_percent,
    "bow-and-skew": worked_carpet.bow_and_skew,
    "repeat-gain": worked_carpet.repeat_gain,
    "cut-length": worked_carpet.cut_length,
    "width-to-trim": worked_carpet.width_to_trim,
    "ten-tiles": worked_carpet.ten_tiles,
    "edge-tiles": worked_carpet.edge_tiles,
    "gully": worked_carpet.gully,
    "trip-height": worked_carpet.trip_height,
    "roll-mass": worked_carpet.roll_mass,
    "colour-difference": worked_view.colour_difference,
    "grey-scale-grade": worked_view.grey_scale_grade,
    "two-ends": worked_view.two_ends,
    "light-reflectance": worked_view.light_reflectance,
    "seam-to-light": worked_view.seam_to_light,
    "pile-turn": worked_view.pile_turn,
    "convert": converted,
}
"""Name to function; its annotations say what each input is, its docstring what it does."""
