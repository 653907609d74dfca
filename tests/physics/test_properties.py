"""What physics demands of every value: it rises where it must, returns by its inverse, keeps units."""

from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from diagnose.physics import (
    adhesive,
    air,
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
from diagnose.physics.units import UNITS, convert


def numbers(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False, allow_infinity=False)


room_c = numbers(-10, 50)
humidity = numbers(1, 100)
PAIRS = sorted(
    (one, other)
    for one in UNITS
    for other in UNITS
    if one != other and UNITS[one].kind == UNITS[other].kind
)
STRANGERS = sorted(
    (one, other) for one in UNITS for other in UNITS if UNITS[one].kind != UNITS[other].kind
)


@pytest.mark.parametrize(("unit", "other"), PAIRS)
@given(value=numbers(-1e6, 1e6))
def test_units_round_trip(unit: str, other: str, value: float) -> None:
    back = convert(convert(value, unit, other), other, unit)
    # An offset in one unit is lost in the last bits of the other: 1e-9 of the offset too.
    assert back == pytest.approx(value, rel=1e-9, abs=1e-6)


@given(pair=st.sampled_from(STRANGERS), value=numbers(-1e3, 1e3))
def test_units_of_two_kinds_never_convert(pair: tuple[str, str], value: float) -> None:
    with pytest.raises(OutOfRangeError, match="cannot become"):
        convert(value, *pair)


@given(air_c=room_c, rh=humidity)
def test_dew_point_returns_the_vapour_pressure(air_c: float, rh: float) -> None:
    dew = air.dew_point_c(air_c, rh)
    assume(dew >= -40)
    vapour = air.vapour_pressure_pa(air_c, rh)
    assert air.saturation_pressure_pa(dew) == pytest.approx(vapour, rel=1e-9)
    assert dew <= air_c + 1e-9


@given(air_c=room_c, low=humidity, high=humidity)
def test_wetter_air_has_the_higher_dew_point_and_less_margin(
    air_c: float, low: float, high: float
) -> None:
    assume(high - low > 1e-6)
    assert air.dew_point_c(air_c, high) > air.dew_point_c(air_c, low)
    assert air.mixing_ratio(air_c, high) > air.mixing_ratio(air_c, low)
    assert air.margin_over_dew_point_k(18, air_c, high) < air.margin_over_dew_point_k(
        18, air_c, low
    )


@given(low=numbers(-40, 60), high=numbers(-40, 60))
def test_warmer_air_holds_more(low: float, high: float) -> None:
    assume(high - low > 1e-6)
    assert air.saturation_pressure_pa(high) > air.saturation_pressure_pa(low)


@given(surplus=numbers(0, 200), half=numbers(1, 1000), model=st.sampled_from(seam.MODELS))
def test_peak_and_surplus_are_inverse(surplus: float, half: float, model: str) -> None:
    height = seam.peak_height_mm(surplus, half, model)
    assume(height <= 500)
    assert seam.surplus_mm(height, half, model) == pytest.approx(surplus, rel=1e-6, abs=1e-9)


@given(
    low=numbers(0, 100),
    more=numbers(0.01, 100),
    half=numbers(1, 500),
    model=st.sampled_from(seam.MODELS),
)
def test_more_surplus_stands_higher(low: float, more: float, half: float, model: str) -> None:
    assert seam.peak_height_mm(low + more, half, model) > seam.peak_height_mm(low, half, model)


@given(surplus=numbers(0.01, 5), half=numbers(20, 500))
def test_a_tent_stands_higher_than_an_arch(surplus: float, half: float) -> None:
    assert seam.peak_height_mm(surplus, half) > seam.peak_height_mm(surplus, half, "arch")


@given(width=numbers(100, 5000), percent=numbers(-5, 5))
def test_width_change_and_stretch_are_inverse(width: float, percent: float) -> None:
    grown = width + seam.width_change_mm(width, percent)
    assert stretch.stretch_percent(width, grown) == pytest.approx(percent, abs=1e-9)


@given(rate=numbers(0, 1), then=numbers(0, 100), now=numbers(0, 100))
def test_a_climate_there_and_back_changes_nothing(rate: float, then: float, now: float) -> None:
    away = seam.climate_width_change_mm(4000, rate, then, now)
    back = seam.climate_width_change_mm(4000, rate, now, then)
    assert away + back == pytest.approx(0, abs=1e-9)


@given(gain=numbers(0, 100), more=numbers(0.01, 50), hours=numbers(1, 200), area=numbers(0.1, 1))
def test_more_gain_is_more_emission(gain: float, more: float, hours: float, area: float) -> None:
    little = moisture.emission_rate(gain, hours, area)
    assert moisture.emission_rate(gain + more, hours, area).rate_lb > little.rate_lb
    assert moisture.emission_rate(gain, hours * 2, area).rate_lb == pytest.approx(
        little.rate_lb / 2
    )
    assert moisture.emission_rate(gain, hours, area * 2).rate_lb == pytest.approx(
        little.rate_lb / 2
    )


@given(readings=st.lists(numbers(0, 100), min_size=1), limit=numbers(0, 100))
def test_the_highest_reading_decides(readings: list[float], limit: float) -> None:
    passes = moisture.every_reading_at_most(readings, limit)
    assert passes is all(reading <= limit for reading in readings)
    assert moisture.every_reading_at_most([*readings, limit + 0.1], limit) is False


@given(
    rule=st.sampled_from(sorted(moisture.READING_RULES)),
    small=numbers(1, 9e5),
    more=numbers(0, 1e4),
)
def test_a_larger_area_never_needs_fewer_readings(rule: str, small: float, more: float) -> None:
    count = moisture.readings_needed(small, rule)
    assert 1 <= count <= moisture.readings_needed(small + more, rule)


@given(
    kind=st.sampled_from(sorted(moisture.BREAK_MM)), thin=numbers(1, 400), more=numbers(0.01, 400)
)
def test_a_thicker_screed_dries_longer_and_two_faces_sooner(
    kind: str, thin: float, more: float
) -> None:
    one = moisture.drying_days_at_least(kind, thin)
    assert one >= thin
    assert moisture.drying_days_at_least(kind, thin + more) > one
    assert moisture.drying_days_at_least(kind, thin, faces=2) < one


@given(
    width=numbers(0.5, 10),
    deeper=numbers(0, 10),
    gap=numbers(0, 10),
    shape=st.sampled_from(adhesive.SHAPES),
)
def test_notches_keep_their_order(width: float, deeper: float, gap: float, shape: str) -> None:
    notch = adhesive.notch(width, width + deeper, gap, shape)
    low, high = notch.likely_l_m2
    assert 0 < low < high < notch.full_l_m2
    v, u, square = (
        adhesive.notch(width, width + deeper, gap, name).groove_mm2 for name in ("v", "u", "square")
    )
    assert v < u < square
    assert adhesive.notch(width, width + deeper, gap + 1, shape).full_l_m2 < notch.full_l_m2


@given(
    width=numbers(0.5, 10), depth=numbers(5, 10), gap=numbers(0, 10), shape=st.sampled_from("vu")
)
def test_a_written_notch_is_read_back(width: float, depth: float, gap: float, shape: str) -> None:
    sizes = [round(value, 3) for value in (width, depth, gap)]
    read = adhesive.parse_notch(" x ".join(f"{size:.3f}" for size in sizes) + f" mm {shape}")
    assert [read.width_mm, read.depth_mm, read.gap_mm] == pytest.approx(sizes)
    assert read.shape == shape


@given(area=numbers(0.1, 1e4), rate=numbers(0.01, 10))
def test_needed_and_used_are_inverse(area: float, rate: float) -> None:
    assert adhesive.used_per_m2(adhesive.needed(area, rate), area) == pytest.approx(rate)
    assert adhesive.needed(area, rate, 5) > adhesive.needed(area, rate)


@given(
    early=numbers(0, 60),
    late=numbers(60, 240),
    factor=numbers(1, 3),
    air_c=numbers(5, 40),
    per_k=numbers(0, 5),
)
def test_windows_move_as_the_sheet_says(
    early: float, late: float, factor: float, air_c: float, per_k: float
) -> None:
    window = adhesive.Window(early, late)
    closed = adhesive.adjusted_window(window, base="closed", closed_base_factor=factor)
    assert closed.latest_min is not None
    assert closed.latest_min >= late
    assert adhesive.adjusted_window(window, base="porous", closed_base_factor=factor) == window
    warm = adhesive.adjusted_window(
        window, air_c=air_c, reference_c=20, percent_shorter_per_k=per_k
    )
    assert warm.latest_min is not None
    assert (warm.latest_min <= late) if air_c >= 20 else (warm.latest_min >= late)
    assert adhesive.adjusted_window(window, air_c=air_c, reference_c=20) == window


@given(metres=numbers(0, 1000), bead=numbers(0.5, 10), edges=st.integers(0, 2))
def test_sealer_for_half_and_round_beads(metres: float, bead: float, edges: int) -> None:
    whole = sealer.sealer_needed_ml(metres, edges, bead)
    assert sealer.sealer_needed_ml(metres, edges, bead, half_round=True) == pytest.approx(whole / 2)
    assert sealer.sealer_needed_ml(metres * 2, edges, bead) == pytest.approx(whole * 2)


@given(repeat=numbers(10, 2000), need=numbers(100, 30_000), allowance=numbers(0, 200))
def test_a_cut_holds_whole_repeats_and_one_over(
    repeat: float, need: float, allowance: float
) -> None:
    cut = pattern.cut_length_mm(need, repeat, allowance)
    assert need + allowance + repeat * (1 - 1e-6) <= cut <= need + allowance + 2 * repeat + 1e-6
    repeats = (cut - allowance) / repeat
    assert repeats == pytest.approx(round(repeats), abs=1e-6)


@given(width=numbers(100, 5000), repeat=numbers(10, 5000))
def test_what_is_trimmed_is_less_than_a_repeat(width: float, repeat: float) -> None:
    repeats, trim = pattern.width_to_trim_mm(width, repeat)
    assert 0 <= trim < repeat
    assert repeats * repeat + trim == pytest.approx(width)


@given(gaps=st.lists(numbers(0, 30), min_size=1))
def test_a_class_keeps_every_gap(gaps: list[float]) -> None:
    name = flatness.regularity_class(gaps)
    if name == "none":
        assert max(gaps) > max(flatness.CLASSES_MM.values())
    else:
        assert max(gaps) <= flatness.CLASSES_MM[name]


@given(room=numbers(1000, 1e5), side=st.sampled_from([250.0, 480.0, 500.0, 600.0, 1000.0]))
def test_edge_tiles_are_over_half_and_fill_the_row(room: float, side: float) -> None:
    edge = tile.edge_fraction(room, side)
    assert 0.5 <= edge <= 1
    full = (room - 2 * edge * side) / side
    assert full == pytest.approx(round(full), abs=1e-4)


@given(length=numbers(0, 100), width=numbers(0.5, 5), mass=numbers(100, 5000))
def test_carriers_share_a_roll(length: float, width: float, mass: float) -> None:
    roll = lifting.roll_mass_kg(length, width, mass)
    assert lifting.kg_each(roll, 4) * 4 == pytest.approx(roll)
    assert perimeter.gully_limit_mm(width) <= width


@given(low=numbers(0, 100), high=numbers(0, 100))
def test_a_higher_step_is_never_judged_milder(low: float, high: float) -> None:
    order = ("flush", "upright", "bevel", "ramp")
    low, high = sorted((low, high))
    assert order.index(trip.level_change(low)) <= order.index(trip.level_change(high))
