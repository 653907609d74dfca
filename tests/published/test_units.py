"""Units against exact definitions and printed pairs."""

from __future__ import annotations

import pytest

from diagnose.physics.climate import Sample, largest_step_per_day
from diagnose.physics.trip import level_change
from diagnose.physics.units import convert

# Pairs as standards and guides print them side by side; tolerance is half the last digit printed.
PRINTED = [
    # CRI 105 7.2, read as page copy: 65-95 °F (18-35 °C), 50 °F (10 °C).
    (65, "F", 18, "C", 0.5),
    (95, "F", 35, "C", 0.5),
    (50, "F", 10, "C", 0.5),
    # CRI 105 8.5, read as page copy: 85 °F (29 °C).
    (85, "F", 29, "C", 0.5),
    # CRI 105 12.5, read as page copy: 75 lb (34 kg).
    (75, "lb", 34, "kg", 0.5),
    # CRI 105 10.3.1 and 11.1, read as page copies: 2 3/4 in (70 mm), 1 in (25 mm), 1/4 in (6 mm).
    (2.75, "in", 70, "mm", 0.5),
    (1, "in", 25, "mm", 0.5),
    (0.25, "in", 6, "mm", 0.5),
    # ASTM E1745 by way of the CRI standard (2011) 9: 0.010 in (0.25 mm).
    (0.010, "in", 0.25, "mm", 0.005),
    # ADA 303.2 in extract: 1/4 in (6.4 mm) upright, 1/2 in (13 mm) bevelled.
    (0.25, "in", 6.4, "mm", 0.06),
    (0.5, "in", 13, "mm", 0.5),
    # US housing minimum as reported: tuft bind 3 lbf (13.3 N), 6.25 lbf (27.8 N), 10 lbf (44.5 N).
    (3, "lbf", 13.3, "N", 0.06),
    (6.25, "lbf", 27.8, "N", 0.06),
    (10, "lbf", 44.5, "N", 0.06),
    # Test climate of ASTM F1869 as reported: 75 ± 10 °F (23.9 ± 5.5 °C).
    (75, "F", 23.9, "C", 0.05),
    (10, "F difference", 5.5, "K difference", 0.06),
]


@pytest.mark.parametrize(("value", "unit", "printed", "other", "tolerance"), PRINTED)
def test_pairs_printed_side_by_side(
    value: float, unit: str, printed: float, other: str, tolerance: float
) -> None:
    assert convert(value, unit, other) == pytest.approx(printed, abs=tolerance)


@pytest.mark.parametrize(
    ("height_mm", "word"),
    # ADA 303 in extract: to 6.4 mm upright, to 13 mm (1/2 in) bevelled, above that a ramp.
    [(6.4, "upright"), (6.5, "bevel"), (12.7, "bevel"), (13.5, "ramp")],
)
def test_level_changes(height_mm: float, word: str) -> None:
    assert level_change(height_mm) == word


def test_daily_step_of_a_printed_heating_schedule() -> None:
    # A timber guide's schedule: 20 °C on day 1, 5 °C more a day to 45 °C on day 6.  Its printed total
    # of days does not add up, so only the step is asserted.
    from datetime import UTC, datetime, timedelta

    start = datetime(2026, 3, 2, 12, tzinfo=UTC)
    log = [Sample(start + timedelta(days=day), 20 + 5 * day) for day in range(6)]
    found = largest_step_per_day(log)
    assert found is not None
    assert found[1] == pytest.approx(5)
