"""Air and floor moisture with the working shown: dew point, emission, drying, counts.

The arithmetic is that of `air`, `moisture`, `alkalinity` and `flatness`, whose
docstrings name the methods.
"""

from __future__ import annotations

from typing import Annotated, Literal

from diagnose.physics import air, alkalinity, flatness, moisture
from diagnose.physics.guard import OutOfRangeError, check_range
from diagnose.physics.units import FOOT_M, POUND_KG
from diagnose.physics.working import Bound, Step, Worked, counted, most, plain, put

Faces = Literal["1", "2"]
ScreedKind = Literal["cement-screed", "calcium-sulfate-screed"]
CountRule = Literal[
    "astm-f1869",
    "astm-f2170",
    "as-2455-indicative",
    "as-2455-definitive",
    "as-1884",
    "astm-f3191",
    "straightedge",
]
HumidityMethod = Literal["surface-hygrometer", "sleeve", "in-slab-probe", "insulated-hood"]
PER_LB = "lb per 1000 ft2 per 24 h"


def dew_point(
    air_c: Annotated[float, "air temperature"],
    humidity_percent: Annotated[float, "relative humidity"],
    floor_c: Annotated[float | None, "surface temperature of the floor"] = None,
) -> Worked:
    """Dew point of the room's air, and the floor's margin over it."""
    dew = air.dew_point_c(air_c, humidity_percent)
    gamma = dew * air.MAGNUS_FACTOR / (air.MAGNUS_C + dew)
    t = put(air_c)
    steps = [
        Step("g", f"ln({put(humidity_percent)} / 100) + 17.62 × {t} / (243.12 + {t})", gamma),
        Step("dew point", f"243.12 × {put(gamma)} / (17.62 − {put(gamma)})", dew, "°C"),
    ]
    words = f"dew point {dew:.1f} °C"
    if floor_c is not None:
        check_range("floor temperature in °C", floor_c, at_least=-40, up_to=60)
        margin = air.margin_over_dew_point_k(floor_c, air_c, humidity_percent)
        steps.append(Step("margin", f"{put(floor_c)} − {put(dew)}", margin, "K"))
        words += (
            f"; the floor is {plain(abs(margin), 3)} K {'above' if margin >= 0 else 'below'} it"
        )
    formula = (
        "g = ln(RH / 100) + 17.62 × T / (243.12 + T)",
        "dew point = 243.12 × g / (17.62 − g)",
    )
    limits = () if floor_c is None else ("dew-point-margin",)
    return Worked(formula, tuple(steps), dew, "°C", words, limits=limits)


def air_moisture(
    air_c: Annotated[float, "air temperature"],
    humidity_percent: Annotated[float, "relative humidity"],
    height_m: Annotated[float, "height above the sea"] = 0.0,
) -> Worked:
    """Water in the air, in grams a kilogram of dry air."""
    pressure = air.standard_pressure_pa(height_m)
    ratio = 1000 * air.mixing_ratio(air_c, humidity_percent, pressure)
    factor = air.enhancement_factor(pressure)
    vapour = factor * air.vapour_pressure_pa(air_c, humidity_percent)
    t, rh = put(air_c), put(humidity_percent)
    steps = (
        Step("P", f"101325 × (1 − 0.0000225577 × {put(height_m)}) ^ 5.2559", pressure, "Pa"),
        Step("f", f"1.0007 + 0.0000000346 × {put(pressure)}", factor),
        Step(
            "e",
            f"{put(factor)} × 611.2 × exp(17.62 × {t} / (243.12 + {t})) × {rh} / 100",
            vapour,
            "Pa",
        ),
        Step(
            "water",
            f"1000 × 0.621945 × {put(vapour)} / ({put(pressure)} − {put(vapour)})",
            ratio,
            "g/kg",
        ),
    )
    formula = (
        "P = 101325 × (1 − 0.0000225577 × height) ^ 5.2559",
        "f = 1.0007 + 0.0000000346 × P",
        "e = f × 611.2 × exp(17.62 × T / (243.12 + T)) × RH / 100",
        "water = 1000 × 0.621945 × e / (P − e)",
    )
    return Worked(formula, steps, ratio, "g/kg", f"{ratio:.2f} g of water in a kg of dry air")


def highest_reading(
    readings_percent: Annotated[tuple[float, ...], "readings", "one after the other"],
    limit_percent: Annotated[float | None, "limit to hold them against"] = None,
    method: Annotated[HumidityMethod, "how it was read"] = "surface-hygrometer",
) -> Worked:
    """The hygrometer reading that decides: the highest, not the mean."""
    for reading in readings_percent:
        check_range("relative humidity in %", reading, at_least=0, up_to=100)
    if not readings_percent:
        raise OutOfRangeError("there is no reading")
    highest = max(readings_percent)
    step = Step("highest", most(readings_percent), highest, "% RH")
    words = f"highest {plain(highest)} % RH"
    if limit_percent is not None:
        check_range("limit in %", limit_percent, at_least=0, up_to=100)
        passes = moisture.every_reading_at_most(readings_percent, limit_percent)
        words += f", {'at most' if passes else 'above'} {plain(limit_percent)} % RH: " + (
            "every reading passes" if passes else "does not pass"
        )
    formula = ("highest = max(readings)",)
    limits, when = ("moisture-humidity",), (("reading", method),)
    return Worked(formula, (step,), highest, "% RH", words, limits=limits, when=when)


def emission_rate(
    gain_g: Annotated[float, "mass gained by the dish"],
    exposure_h: Annotated[float, "time under the dome"],
    dome_ft2: Annotated[float, "area under the dome less the dish"] = moisture.DOME_AREA_FT2,
    balance_g: Annotated[float, "smallest step of the balance"] = 0.1,
) -> Worked:
    """Moisture emission rate from a dish of calcium chloride."""
    check_range("step of the balance in g", balance_g, at_least=0, up_to=100)
    found = moisture.emission_rate(gain_g, exposure_h, dome_ft2, balance_g)
    below = f"(453.612 × {put(dome_ft2)} × {put(exposure_h)})"
    steps = (
        Step("rate", f"24000 × {put(gain_g)} / {below}", found.rate_lb, PER_LB),
        Step(
            "open by the balance",
            f"24000 × {put(balance_g)} / {below}",
            found.resolution_lb,
            PER_LB,
        ),
        Step(
            "rate in g",
            f"{put(found.rate_lb)} × {POUND_KG * 1000} / (1000 × {FOOT_M} ^ 2)",
            found.rate_g_m2,
            "g/m² per 24 h",
        ),
    )
    bound = Bound("60 to 72 h under the dome", "ASTM F1869 as reported", "second-hand")
    notes = () if 60 <= exposure_h <= 72 else (f"{plain(exposure_h)} h is outside 60 to 72 h.",)
    words = f"{found.rate_lb:.2f} lb per 1000 ft² per 24 h ({found.rate_g_m2:.1f} g/m²)"
    formula = ("rate = 24000 × gain / (453.612 × area × hours)",)
    limits = ("moisture-emission",)
    return Worked(formula, steps, found.rate_lb, PER_LB, words, (bound,), notes, limits)


def drying_time(
    kind: Annotated[ScreedKind, "kind of screed"],
    thickness_mm: Annotated[float, "thickness"],
    faces: Annotated[Faces, "faces that can dry"] = "1",
) -> Worked:
    """Least drying time of a screed; a reading decides, not the calendar."""
    days = moisture.drying_days_at_least(kind, thickness_mm, int(faces))
    knee = moisture.BREAK_MM[kind]
    drying_mm = thickness_mm / int(faces)
    expression = plain(drying_mm)
    if drying_mm > knee:
        expression = f"{plain(knee)} + 2 × ({put(drying_mm)} − {plain(knee)})"
    steps = (
        Step("counted", f"{put(thickness_mm)} / {faces}", drying_mm, "mm"),
        Step("days", expression, days, "days"),
    )
    formula = (
        f"1 day a mm up to {plain(knee)} mm, 2 days a mm above; half the thickness for 2 faces",
    )
    source = "BS 8203/8204 commentary and trade guides as reported"
    notes = (f"A lower bound only ({source}; second-hand). Let a hygrometer decide.",)
    return Worked(formula, steps, days, "days", f"at least {plain(days)} days", (), notes)


def readings_needed(
    area_m2: Annotated[float, "area"], rule: Annotated[CountRule, "rule of a code"]
) -> Worked:
    """How many readings a code asks for on an area."""
    count = moisture.readings_needed(area_m2, rule)
    words, formula, source, sure = _COUNTS[rule]
    area_ft2 = area_m2 / FOOT_M**2
    steps: tuple[Step, ...] = (
        Step("readings", words.format(m2=put(area_m2), ft2=put(area_ft2)), count),
    )
    if "{ft2}" in words:
        steps = (Step("area", f"{put(area_m2)} / {FOOT_M} ^ 2", area_ft2, "ft²"), *steps)
    return Worked(
        (formula,), steps, count, "", counted(count, "reading"), (Bound(formula, source, sure),)
    )


def probe(
    slab_mm: Annotated[float, "thickness of the slab"],
    faces: Annotated[Faces, "faces that can dry"] = "1",
    edition: Annotated[int, "year of the edition of ASTM F2170"] = 2018,
) -> Worked:
    """Depth of an in-slab probe and the wait before its reading."""
    check_range("year of the edition", edition, at_least=2000, up_to=2100)
    depth = moisture.probe_depth_mm(slab_mm, int(faces))
    wait = moisture.in_slab_wait_h(edition)
    steps = (Step("depth", f"{'0.4' if faces == '1' else '0.2'} × {put(slab_mm)}", depth, "mm"),)
    bounds = (
        Bound("40 % of the slab drying from one face, 20 % from both", "ASTM F2170", "second-hand"),
        Bound(
            "72 h in editions to 2016, 24 h since 2018", "notice on ASTM F2170-18", "second-hand"
        ),
    )
    notes = (
        ("That 24 h hold for an edition named 2017 is an assumption.",) if edition == 2017 else ()
    )
    words = f"drill to {plain(depth)} mm, read {plain(wait)} h or more after"
    formula = ("depth = 0.4 × slab, or 0.2 × slab for 2 faces",)
    limits, when = ("moisture-humidity",), (("reading", "in-slab-probe"),)
    return Worked(formula, steps, depth, "mm", words, bounds, notes, limits, when)


def alkalinity_of_surface(
    ph: Annotated[float, "pH of the surface"],
    high: Annotated[float, "highest pH allowed"] = 9.0,
    residue_below: Annotated[float, "pH below which residue is likely"] = 8.5,
) -> Worked:
    """What the pH of a surface says before carpet is stuck to it."""
    word = alkalinity.alkalinity_word(ph, high, residue_below)
    says = {
        "too-high": f"above {plain(high)}: put right before sticking",
        "residue-hint": f"below {plain(residue_below)}: residue on the surface is possible",
        "in-order": "in order",
    }[word]
    limits = ("surface-ph", "surface-ph-residue")
    words = f"pH {plain(ph)} is {says}"
    return Worked(("pH against its limits",), (), word, "", words, limits=limits)


def flatness_class(
    gaps_mm: Annotated[tuple[float, ...], "gaps under a 2 m straightedge", "one after the other"],
) -> Worked:
    """Class of regularity of a base from the gaps under a straightedge."""
    name = flatness.regularity_class(gaps_mm)
    step = Step("largest", most(gaps_mm), max(gaps_mm), "mm")
    words = "outside every class" if name == "none" else f"class {name}"
    bound = Bound("SR1 3 mm, SR2 5 mm, SR3 10 mm under 2 m", "BS 8204 as reported", "second-hand")
    formula = ("largest = max(gaps)",)
    limits, when = ("flatness-gap",), (("straightedge", "2"),)
    return Worked(formula, (step,), name, "", words, (bound,), (), limits, when)


_F2170 = (
    "3 + ceil(max(0, {ft2} − 1000) / 1000)",
    "3 for the first 1000 ft², 1 more per further 1000 ft²",
)
_COUNTS = {
    "astm-f1869": (*_F2170, "ASTM F1869-11 as reported", "second-hand"),
    "astm-f2170": (*_F2170, "ASTM F2170", "second-hand"),
    "as-2455-indicative": (
        "max(4, ceil({m2} / 500))",
        "at least 4, and 1 per 500 m²",
        "AS 2455.2:2019 B",
        "seen",
    ),
    "as-2455-definitive": ("ceil({m2} / 100)", "1 per 100 m²", "AS 2455.2:2019 B", "seen"),
    "as-1884": (
        "3 + ceil(max(0, {m2} − 100) / 100)",
        "3 in the first 100 m², then 1 per 100 m²",
        "AS 1884",
        "second-hand",
    ),
    "astm-f3191": (
        "3 + ceil(max(0, {ft2} − 2000) / 3000)",
        "3 for the first 2000 ft², 1 more per further 3000 ft²",
        "ASTM F3191 as reported",
        "second-hand",
    ),
    "straightedge": ("max(1, ceil({m2} / 20))", "area in m² / 20", "a testing firm", "second-hand"),
}
