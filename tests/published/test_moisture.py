"""Moisture of a floor against published worked examples and rules.

The texts of ASTM F1869, F2170, F3191 and of BS 8203 were not read; their numbers
come second-hand through kit suppliers, testing firms and contractors.  AS 2455.2
and CRI clauses were read as extracts.
"""

from __future__ import annotations

import pytest

from diagnose.physics import moisture
from diagnose.physics.units import convert


def test_emission_example_with_the_dish_taken_off_the_dome() -> None:
    # Kit supplier's page showing ASTM F1869-16a: 3.0 g in 72 h on (70 - 5.94) in2; 4.9555 is printed.
    found = moisture.emission_rate(3.0, 72, (70 - 5.94) / 144)
    assert found.rate_lb == pytest.approx(4.9555, abs=5e-5)


def test_emission_example_in_the_older_form() -> None:
    # Same page, whole dome: 4.54 is printed, reckoned with the area rounded to 0.486 ft2, hence 0.006.
    assert moisture.emission_rate(3.0, 72, 70 / 144).rate_lb == pytest.approx(4.54, abs=0.006)


def test_emission_example_of_another_kit() -> None:
    # Another kit's leaflet: 33.0 to 38.0 g in 72 h with its constant 117.909; 8.19 is printed.
    # Its constant stands for a dome of 24000 / (453.612 * 117.909) ft2.
    area_ft2 = 24000 / (453.612 * 117.909)
    assert moisture.emission_rate(38.0 - 33.0, 72, area_ft2).rate_lb == pytest.approx(
        8.19, abs=0.005
    )


@pytest.mark.parametrize(
    ("area_ft2", "printed"),
    # Constants printed by kits for gain over hours; the older one was reckoned with 0.486 ft2.
    [((70 - 5.94) / 144, 118.93), (0.486, 108.9)],
)
def test_constants_of_the_kits(area_ft2: float, printed: float) -> None:
    per_gram_hour = moisture.emission_rate(1.0, 1.0, area_ft2).rate_lb
    assert per_gram_hour == pytest.approx(printed, rel=4e-4)


def test_dome_area_printed_for_the_method() -> None:
    # 0.44486 ft2 on the same kit supplier's page.
    assert pytest.approx(0.44486, abs=5e-6) == moisture.DOME_AREA_FT2


def test_step_of_the_balance_in_the_rate() -> None:
    # Computed, not published: 0.1 g is 0.165 lb at 72 h.
    assert moisture.emission_rate(3.0, 72).resolution_lb == pytest.approx(0.165, abs=5e-4)


@pytest.mark.parametrize(("pounds", "grams"), [(1, 4.882), (3, 14.65), (5, 24.41)])
def test_emission_in_both_units(pounds: float, grams: float) -> None:
    # Computed from the exact pound and foot; the digits given.
    converted = convert(pounds, "lb per 1000 ft2 per 24 h", "g/m2 per 24 h")
    assert converted == pytest.approx(grams, abs=0.005)
    assert moisture.Emission(pounds, 0.1).rate_g_m2 == pytest.approx(converted, rel=1e-12)


DRYING = [
    # Contractor's extract of BS commentary: 1 day a mm to 50 mm, "about 2 months" for 50 mm.
    ("cement-screed", 50, 50),
    # Trade guide: 75 to 100 days for 75 mm sand-cement; 2 days a mm above 50 gives its upper end.
    ("cement-screed", 75, 100),
    # Trade guide: calcium sulfate, 1 mm a day to 40 mm, then 2 days a mm; 75 to 110 for 75 mm.
    ("calcium-sulfate-screed", 75, 110),
    ("calcium-sulfate-screed", 40, 40),
    # Computed by the same rule.
    ("cement-screed", 65, 80),
]


@pytest.mark.parametrize(("kind", "thickness_mm", "days"), DRYING)
def test_drying_by_the_trade_rule(kind: str, thickness_mm: float, days: float) -> None:
    assert moisture.drying_days_at_least(kind, thickness_mm) == pytest.approx(days)


def test_drying_is_a_lower_bound_of_the_printed_ranges() -> None:
    # "About 2 months" for 50 mm: the rule must not promise more than the commentary does.
    assert moisture.drying_days_at_least("cement-screed", 50) <= 61


def test_two_drying_faces_count_half_the_thickness() -> None:
    # Contractor's extract of BS commentary: half the thickness is taken as drying downward.
    both = moisture.drying_days_at_least("cement-screed", 150, faces=2)
    assert both == moisture.drying_days_at_least("cement-screed", 75)


COUNTS = [
    # 3 for the first 1000 ft2, 1 more per further 1000 ft2 or part (ASTM F1869-11, F2170 as reported).
    (92.9, "astm-f1869", 3),
    (92.95, "astm-f1869", 4),
    (250, "astm-f1869", 5),
    (250, "astm-f2170", 5),
    # AS 2455.2:2019 B: indicative at least 4 and 1 per 500 m2; definitive 1 per 100 m2 (read as extract).
    (250, "as-2455-indicative", 4),
    (2600, "as-2455-indicative", 6),
    (250, "as-2455-definitive", 3),
    # AS 1884 as reported by a testing laboratory: 3 in the first 100 m2, then 1 per 100 m2.
    (100, "as-1884", 3),
    (101, "as-1884", 4),
    (250, "as-1884", 5),
    # ASTM F3191 as reported by a supplier: 3 for the first 2000 ft2, 1 more per further 3000 ft2.
    (185, "astm-f3191", 3),
    (250, "astm-f3191", 4),
    # A testing firm's minimum for the straightedge: area / 20.
    (250, "straightedge", 13),
    (20, "straightedge", 1),
]


@pytest.mark.parametrize(("area_m2", "rule", "count"), COUNTS)
def test_readings_by_code(area_m2: float, rule: str, count: int) -> None:
    assert moisture.readings_needed(area_m2, rule) == count


@pytest.mark.parametrize(
    ("slab_mm", "faces", "depth_mm"), [(100, 1, 40), (100, 2, 20), (150, 1, 60)]
)
def test_depth_of_an_in_slab_probe(slab_mm: float, faces: int, depth_mm: float) -> None:
    # ASTM F2170 as reported: 40 % drying from one face, 20 % from both.
    assert moisture.probe_depth_mm(slab_mm, faces) == pytest.approx(depth_mm)


@pytest.mark.parametrize(
    ("edition", "hours"), [(2009, 72), (2011, 72), (2016, 72), (2018, 24), (2019, 24)]
)
def test_wait_of_an_in_slab_probe_by_edition(edition: int, hours: float) -> None:
    # Press notice on ASTM F2170-18: 72 h in editions to 2016, 24 h since early 2018.  A record
    # that names 2017 is not published either way, so it is not asserted here.
    assert moisture.in_slab_wait_h(edition) == hours


@pytest.mark.parametrize(
    ("readings", "passes"),
    # NBS M50 cl. 430 (read as extract): every reading at 75 % RH or less; the mean does not decide.
    [([74, 75, 76], False), ([74, 75, 75], True), ([60, 60, 60, 90], False), ([75.0], True)],
)
def test_every_reading_counts(readings: list[float], passes: bool) -> None:
    assert moisture.every_reading_at_most(readings, 75) is passes


@pytest.mark.parametrize(
    ("first", "second", "hours", "settled"),
    # A testing firm's practice: repeated at least 24 h later until two consecutive readings agree.
    [(78, 78, 24, True), (78, 78, 23.9, False), (80, 77, 48, False), (77, 76, 24, True)],
)
def test_two_readings_agree(first: float, second: float, hours: float, settled: bool) -> None:
    assert moisture.at_equilibrium(first, second, hours) is settled
