"""Colour: differences are mutual, grades fall, and two viewpoints part dye from lie."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.physics import colour


def numbers(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False, allow_infinity=False)


labs = st.builds(colour.Lab, numbers(0, 100), numbers(-100, 100), numbers(-100, 100))


@given(one=labs, other=labs)
def test_colour_differences_are_mutual_and_nought_for_the_same(
    one: colour.Lab, other: colour.Lab
) -> None:
    for measure in (colour.delta_e_76, colour.delta_e_2000, colour.grey_scale_difference):
        found = measure(one, other)
        assert math.isfinite(found)
        assert found >= 0
        assert measure(one, one) == 0
    assert colour.delta_e_2000(one, other) == pytest.approx(
        colour.delta_e_2000(other, one), abs=1e-9
    )


@given(low=numbers(0, 60), high=numbers(0, 60))
def test_a_larger_difference_never_grades_better(low: float, high: float) -> None:
    low, high = sorted((low, high))
    assert 1 <= colour.grey_scale_grade(high) <= colour.grey_scale_grade(low) <= 5


@given(steady=numbers(-5, 5), turning=numbers(-5, 5), ground=numbers(30, 60))
def test_two_ends_tell_dye_from_lie(steady: float, turning: float, ground: float) -> None:
    found = colour.from_two_ends(
        colour.Lab(ground, 0, 0),
        colour.Lab(ground + steady + turning, 0, 0),
        colour.Lab(ground, 0, 0),
        colour.Lab(ground + steady - turning, 0, 0),
    )
    assert found.steady == pytest.approx(abs(steady), abs=1e-9)
    assert found.turning == pytest.approx(abs(turning), abs=1e-9)


@given(low=numbers(0, 100), high=numbers(0, 100))
def test_lighter_floors_reflect_more(low: float, high: float) -> None:
    low, high = sorted((low, high))
    one, other = (colour.light_reflectance_percent(value) for value in (low, high))
    assert 0 <= one <= other <= 100
    assert colour.light_reflectance_difference(one, other) == pytest.approx(other - one)


def test_a_drop_turned_round_swaps_light_and_dark() -> None:
    # Invented: the turned drop is 4 lighter from one end and 4 darker from the other.
    dark, light = colour.Lab(40, 2, 5), colour.Lab(44, 2, 5)
    assert colour.from_two_ends(dark, light, light, dark).word == "direction"


def test_another_batch_is_the_same_from_both_ends() -> None:
    # Invented: the whole room looks lighter from the far end, the difference stays.
    near = (colour.Lab(40, 2, 5), colour.Lab(42, 3, 5))
    far = (colour.Lab(46, 2, 5), colour.Lab(48, 3, 5))
    assert colour.from_two_ends(*near, *far).word == "colour"
    assert colour.from_two_ends(*near, *far, least=3).word == "none"


@pytest.mark.parametrize(
    ("grade", "word"),
    [(5, "5"), (4.75, "4-5"), (4.76, "5"), (4.25, "4"), (1.25, "1"), (1.26, "1-2"), (1, "1")],
)
def test_a_tie_between_steps_goes_to_the_worse(grade: float, word: str) -> None:
    assert colour.grade_word(grade) == word


def test_hues_on_either_side_of_red_are_near() -> None:
    one, other = colour.Lab(50, 40, 1), colour.Lab(50, 40, -1)
    assert colour.grey_scale_difference(one, other) < 2
    assert colour.delta_e_2000(one, other) < 2
