"""Setting out: only the join that is wrong is named, and impossible plans are refused."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.physics import layout, lines, shapes
from diagnose.physics.guard import OutOfRangeError

plan = st.floats(-50, 50).map(lambda value: round(value, 3))
points = st.tuples(plan, plan)
straight = st.tuples(points, points).filter(lambda line: line[0] != line[1])
degrees = st.floats(-360, 360)


def rectangle(x: float, y: float, wide: float, deep: float) -> lines.Line:
    return ((x, y), (x + wide, y), (x + wide, y + deep), (x, y + deep))


def test_light_across_and_along() -> None:
    window = ((0, 0), (6, 0))
    assert layout.light_across_seam_deg(((0, 4), (6, 4)), window) == 90
    assert layout.light_across_seam_deg(((4, 0), (4, 9)), window) == pytest.approx(0, abs=1e-9)
    assert layout.light_across_seam_deg(((0, 0), (5, 5)), window) == pytest.approx(45)


def test_a_seam_through_a_doorway_stands_square_and_one_under_the_leaf_does_not() -> None:
    opening = ((2.6, 0), (3.4, 0))
    assert layout.seam_square_to_door_deg(((3, -2), (3, 6)), opening) == 90
    assert layout.seam_square_to_door_deg(((2.6, 0.02), (3.4, 0.02)), opening) == 0
    assert layout.off_leaf_centre_mm(((2.6, 0.02), (3.4, 0.02)), (3.0, 0)) == pytest.approx(20)


def test_only_the_turned_drop_is_found_among_its_neighbours() -> None:
    piles = [90, 90, 270, 90]
    words = [layout.pile_word(one, other) for one, other in itertools.pairwise(piles)]
    assert words == ["same", "reversed", "reversed"]
    assert layout.pile_word(90, 60) == "same"
    assert layout.pile_word(90, 0) == "quarter-turn"


def test_a_batch_change_is_found_at_its_join() -> None:
    assert layout.batch_changes(["0417", "0417", "0418", "0417"]) == (2, 3)
    assert layout.batch_changes(["0417"]) == ()
    assert layout.batch_changes(["417", "0417"]) == (1,)


def test_roll_order() -> None:
    assert layout.roll_gaps([3, 2, 1]) == (1, 1)
    assert layout.roll_gaps([1, 15, 2]) == (14, 13)


def test_cross_joins() -> None:
    seams = {
        "S1": ((4, 0), (4, 12)),
        "S2": ((0, 5), (4, 5)),
        "S3": ((4, 5.6), (8, 5.6)),
    }
    assert layout.is_cross_join(seams["S2"], 90)
    assert not layout.is_cross_join(seams["S1"], 90)
    one, other = layout.t_joints(seams)
    assert (one.seam, one.on, other.seam, other.on) == ("S2", "S1", "S3", "S1")


def test_seams_that_only_meet_end_to_end_are_no_t_joint() -> None:
    assert layout.t_joints({"S1": ((0, 0), (4, 0)), "S2": ((4, 0), (9, 0))}) == ()


def test_joins_name_neighbours_and_no_corners() -> None:
    drops = {
        "D1": rectangle(0, 0, 4, 9),
        "D2": rectangle(4.01, 0, 4, 9),
        "D3": rectangle(8.01, 9, 4, 9),
        "D4": rectangle(20, 0, 4, 9),
    }
    assert [(join.one, join.other) for join in shapes.joins(drops)] == [("D1", "D2")]


def test_a_seam_at_the_wrong_drops_is_far_off() -> None:
    one, other = rectangle(0, 0, 4, 9), rectangle(4, 0, 4, 9)
    assert shapes.seam_off_join_m(((4.01, 0), (4.01, 9)), one, other) == pytest.approx(0.01)
    assert shapes.seam_off_join_m(((6, 0), (6, 9)), one, other) == pytest.approx(2)


def test_carpet_over_a_moving_joint() -> None:
    joint = ((0, 5), (12, 5))
    assert shapes.covered_by_line_m(rectangle(0, 0, 4, 9), joint) == 4
    assert shapes.covered_by_line_m(rectangle(0, 5.2, 4, 9), joint) == 0


def test_bare_floor_and_overlap() -> None:
    room = rectangle(0, 0, 8, 9)
    drops = [rectangle(0, 0, 4, 9), rectangle(3.5, 0, 4, 9)]
    assert shapes.overlap_m2(*drops) == pytest.approx(4.5)
    assert shapes.uncovered_m2(room, drops) == pytest.approx(4.5)


def test_no_panel_joints_and_nearest_pivot() -> None:
    assert shapes.edge_to_panel_joint_mm(((0, 0), (6, 0)), []) is None
    assert lines.nearest_m(((0, 0), (6, 0)), []) is None


@pytest.mark.parametrize("outline", [((0, 0), (4, 0)), ((0, 0), (4, 4), (4, 0), (0, 4))])
def test_an_outline_that_encloses_nothing_is_refused(outline: lines.Line) -> None:
    with pytest.raises(OutOfRangeError, match="outline"):
        shapes.area_m2(outline)


@pytest.mark.parametrize("line", [(), ((1, 1),), ((1, 1), (1, 1)), ((0, 0), (float("nan"), 1))])
def test_a_line_without_length_is_refused(line: lines.Line) -> None:
    with pytest.raises(OutOfRangeError):
        lines.length_m(line)


@pytest.mark.parametrize("window", [(), ((1, 1),), ((0, 0), (3, 0), (0, 0))])
def test_a_window_without_direction_is_refused(window: lines.Line) -> None:
    with pytest.raises(OutOfRangeError, match="a line"):
        layout.light_across_seam_deg(((0, 4), (9, 4)), window)


def test_a_point_drawn_twice_changes_no_angle() -> None:
    twice = ((0, 0), (3, 3), (3, 3), (6, 6))
    assert lines.angle_to_direction_deg(twice, 0) == pytest.approx(45)


@given(straight, straight)
def test_angles_are_acute_and_mutual(one: lines.Line, other: lines.Line) -> None:
    angle = lines.angle_between_deg(one, other)
    assert 0 <= angle <= 90
    assert angle == pytest.approx(lines.angle_between_deg(other, one), abs=1e-9)
    assert angle == pytest.approx(lines.angle_between_deg(one[::-1], other), abs=1e-9)


@given(straight, straight)
def test_distance_is_mutual_and_zero_where_they_cross(one: lines.Line, other: lines.Line) -> None:
    apart = lines.distance_m(one, other)
    assert apart == pytest.approx(lines.distance_m(other, one), abs=1e-9)
    assert (apart == 0) or not lines.crossings(one, other)


@given(degrees, degrees)
def test_pile_turn_is_mutual_and_blind_to_whole_turns(one: float, other: float) -> None:
    turn = layout.pile_turn_deg(one, other)
    assert 0 <= turn <= 180
    assert turn == layout.pile_turn_deg(other, one)
    around = one - 360 if one > 0 else one + 360
    assert layout.pile_turn_deg(around, other) == pytest.approx(turn, abs=1e-9)


@given(straight, straight)
def test_light_across_is_the_rest_of_the_angle_to_the_window(
    seam: lines.Line, window: lines.Line
) -> None:
    across = layout.light_across_seam_deg(seam, window)
    assert across + lines.angle_between_deg(seam, window) == pytest.approx(90, abs=1e-6)
