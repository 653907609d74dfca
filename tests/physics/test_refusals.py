"""A number that nature or the formula does not allow is refused in plain words."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest

from diagnose.physics import (
    adhesive,
    air,
    alkalinity,
    colour,
    flatness,
    lifting,
    moisture,
    pattern,
    perimeter,
    sealer,
    seam,
    stretch,
    tile,
    trip,
)
from diagnose.physics.guard import OutOfRangeError

REFUSED: list[tuple[Callable[[], object], str]] = [
    (lambda: air.saturation_pressure_pa(80), "air temperature in °C is 80; allowed is"),
    (lambda: air.dew_point_c(20, 0), "relative humidity in % is 0; allowed is above 0"),
    (lambda: air.dew_point_c(20, 640), "relative humidity in % is 640"),
    (lambda: air.mixing_ratio(20, 50, 1013), "air pressure in Pa is 1013"),
    (lambda: air.standard_pressure_pa(20_000), "height in m"),
    (lambda: moisture.every_reading_at_most([], 75), "there is no reading"),
    (lambda: moisture.probe_depth_mm(100, 3), "1 or 2 faces, not 3"),
    (lambda: moisture.probe_depth_mm(0), "slab thickness in mm is 0"),
    (lambda: moisture.emission_rate(-1, 72), "mass gain in g is -1"),
    (lambda: moisture.emission_rate(1, 0), "exposure in h is 0"),
    (lambda: moisture.readings_needed(100, "guess"), "rule 'guess' is not known; known are astm"),
    (lambda: moisture.readings_needed(0, "as-1884"), "area in m2 is 0"),
    (lambda: moisture.drying_days_at_least("mud", 50), "no drying rule for 'mud'"),
    (lambda: moisture.drying_days_at_least("cement-screed", 50, 0), "1 or 2 faces, not 0"),
    (lambda: alkalinity.alkalinity_word(15, 9, 7), "pH is 15"),
    (lambda: flatness.regularity_class([]), "there is no reading"),
    (lambda: flatness.regularity_class([-1]), "gap in mm is -1"),
    (lambda: adhesive.notch(3, 1, 3, "u"), "at least half as deep"),
    (lambda: adhesive.notch(3, 3, 3, "w"), "notch shape is 'w'; allowed is v, square, u"),
    (lambda: adhesive.parse_notch("3 by 3"), "not readable"),
    (lambda: adhesive.parse_notch("3 x 3 x 3 mm"), "names no shape"),
    (lambda: adhesive.used_per_m2(1, 0), "area in m2 is 0"),
    (lambda: adhesive.needed(1, 0.3, 900), "waste in % is 900"),
    (lambda: sealer.bead_ml_per_m(0), "bead in mm is 0"),
    (lambda: sealer.sealer_needed_ml(1, 3, 3), "edges sealed is 3"),
    (lambda: seam.peak_height_mm(1, 40, "wave"), "model is 'wave'; allowed is tent, arch"),
    (lambda: seam.peak_height_mm(1, 0), "free half width in mm is 0"),
    (lambda: seam.climate_width_change_mm(4000, 1, 50, 101), "relative humidity in % is 101"),
    (lambda: stretch.stretch_percent(0, 1), "length before in mm is 0"),
    (lambda: pattern.per_breadth_mm_m(1, 0), "breadth in mm is 0"),
    (lambda: pattern.cut_length_mm(1000, -1), "repeat in mm is -1"),
    (lambda: perimeter.gully_limit_mm(0), "thickness in mm is 0"),
    (lambda: tile.ten_tile_deviation_mm(5000, 0), "tile side in mm is 0"),
    (lambda: lifting.kg_each(100, 0), "people is 0"),
    (lambda: trip.level_change(-1), "height in mm is -1"),
    (lambda: colour.lab(101, 0, 0), "lightness L* is 101"),
    (lambda: colour.grey_scale_grade(-1), "colour difference is -1"),
    (lambda: colour.lab_from_xyz(20, -1, 20), "Y is -1"),
]


@pytest.mark.parametrize(("call", "words"), REFUSED)
def test_refused_in_plain_words(call: Callable[[], object], words: str) -> None:
    with pytest.raises(OutOfRangeError) as caught:
        call()
    assert words in str(caught.value)


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_no_number_at_all_is_refused_everywhere(value: float) -> None:
    calls: list[Callable[[], object]] = [
        lambda: air.dew_point_c(value, 50),
        lambda: air.vapour_pressure_pa(20, value),
        lambda: moisture.emission_rate(value, 72),
        lambda: moisture.drying_days_at_least("cement-screed", value),
        lambda: seam.peak_height_mm(value, 40),
        lambda: pattern.per_breadth_mm_m(value, 4000),
        lambda: colour.lab(50, value, 0),
        lambda: sealer.sealer_needed_ml(value, 1, 3),
    ]
    for call in calls:
        with pytest.raises(OutOfRangeError):
            call()
