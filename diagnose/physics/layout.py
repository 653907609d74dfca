"""Setting out with lines: seams against light, doors and traffic; pile, batch, rolls.

Plan coordinates and directions are those of `lines`; what needs areas is in
`shapes`.

References
----------
.. [1] Carpet Installation Standard (2011) 6.2, read as page copy: few seams, along
   the length of the area, main traffic along and not across them, light not
   across them, away from pivoting traffic, not perpendicular to a doorway.
.. [2] A model specification clause (NBS M50 cl. 720), read as extract: a joint in a
   doorway lies on the centre line of the door leaf.
.. [3] Pile one way in one visible area, neighbours in the order of the dye run:
   an inspection article and a trade glossary, second-hand.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from diagnose.physics.guard import check_range
from diagnose.physics.lines import (
    ON_LINE_M,
    Line,
    Point,
    angle_between_deg,
    angle_to_direction_deg,
    distance_to_point_m,
    heading_deg,
    length_m,
)


def seam_m_per_m2(seams: Iterable[Line], area_m2: float) -> float:
    """Return metres of seam per m2 of floor; fewer is better [1]_.

    Examples
    --------
    >>> seam_m_per_m2([((0, 0), (9, 0)), ((0, 4), (9, 4))], 90)
    0.2
    """
    check_range("area in m2", area_m2, above=0, up_to=1e6)
    return sum(length_m(seam) for seam in seams) / area_m2


def light_across_seam_deg(seam: Line, window: Line) -> float:
    """Return how far light strikes across a seam: 0 runs along it, 90 straight across.

    Light is taken square to the window, so a seam parallel to the window is
    struck across and shows every edge [1]_.

    Examples
    --------
    >>> light_across_seam_deg(((0, 2), (6, 2)), ((1, 0), (5, 0)))
    90.0
    """
    return angle_to_direction_deg(seam, heading_deg(window) + 90)


def seam_square_to_door_deg(seam: Line, opening: Line) -> float:
    """Return how square a seam stands to a door's opening: 90 is perpendicular [1]_.

    Examples
    --------
    >>> seam_square_to_door_deg(((3, 0), (3, 6)), ((2.6, 0), (3.4, 0)))
    90.0
    """
    return angle_between_deg(seam, opening)


def off_leaf_centre_mm(seam: Line, leaf_centre: Point) -> float:
    """Return how far a joint in a doorway lies off the centre of the door leaf, in mm [2]_.

    Examples
    --------
    >>> round(off_leaf_centre_mm(((0, 0.02), (0.9, 0.02)), (0.45, 0)), 6)
    20.0
    """
    return 1000 * distance_to_point_m(seam, leaf_centre)


def is_cross_join(seam: Line, pile_deg: float) -> bool:
    """Say whether a seam runs across the length of its drops and not along it.

    Examples
    --------
    >>> is_cross_join(((0, 0), (4, 0)), 90), is_cross_join(((0, 0), (0, 9)), 90)
    (True, False)
    """
    return angle_to_direction_deg(seam, pile_deg) > 45


@dataclass(frozen=True, slots=True)
class Meeting:
    """One seam ends on another: a T-joint at a point of the plan."""

    seam: str
    on: str
    at: Point


def t_joints(seams: Mapping[str, Line], within_m: float = ON_LINE_M) -> tuple[Meeting, ...]:
    """Return where seams end on the run of another seam.

    Two such ends at one point, one from either side, are cross-joins that are not
    staggered.

    Examples
    --------
    >>> t_joints({"S1": ((0, 4), (9, 4)), "S2": ((5, 0), (5, 4))})
    (Meeting(seam='S2', on='S1', at=(5, 4)),)
    """
    return tuple(
        Meeting(name, run, end)
        for name, line in seams.items()
        for end in (line[0], line[-1])
        for run, other in seams.items()
        if run != name
        and distance_to_point_m(other, end) <= within_m
        and min(math.dist(end, other[0]), math.dist(end, other[-1])) > within_m
    )


def pile_turn_deg(one_deg: float, other_deg: float) -> float:
    """Return by how much the pile of two drops is turned, 0 to 180.

    Examples
    --------
    >>> pile_turn_deg(90, 270), pile_turn_deg(350, 10)
    (180, 20)
    """
    for direction in (one_deg, other_deg):
        check_range("pile direction in degrees", direction, at_least=-360, up_to=360)
    turn = abs(one_deg - other_deg) % 360
    return min(turn, 360 - turn)


def pile_word(one_deg: float, other_deg: float) -> str:
    """Return `same`, `quarter-turn` or `reversed` for the pile of two neighbours [3]_.

    A plan is drawn by hand: within 45 degrees counts as the same.

    Examples
    --------
    >>> pile_word(90, 90), pile_word(90, 0), pile_word(90, 270)
    ('same', 'quarter-turn', 'reversed')
    """
    turn = pile_turn_deg(one_deg, other_deg)
    if turn < 45:
        return "same"
    return "quarter-turn" if turn <= 135 else "reversed"


def batch_changes(batches: Sequence[str]) -> tuple[int, ...]:
    """Return the joins, counted from 1, at which neighbours are of two batches.

    `batches` holds the batch of each drop in the order in which they lie.

    Examples
    --------
    >>> batch_changes(["0417", "0417", "0418", "0418"])
    (2,)
    """
    pairs = itertools.pairwise(batches)
    return tuple(join for join, (one, other) in enumerate(pairs, 1) if one != other)


def roll_gaps(sequence: Sequence[int]) -> tuple[int, ...]:
    """Return how far neighbours lie apart in the dye run, join by join; 1 is next [3]_.

    `sequence` holds each drop's place in the run, in the order in which they lie.

    Examples
    --------
    >>> roll_gaps([1, 1, 2, 15])
    (0, 1, 13)
    """
    return tuple(abs(one - other) for one, other in itertools.pairwise(sequence))
