"""Carpet tiles: ten in a row, squareness, and the cut tiles at the walls.

References
----------
.. [1] Ten tiles in a row as a check of size and of tight or loose laying: common
   practice, no source.
.. [2] A model specification clause (NBS M50 cl. 610): equal edge tiles on
   opposite sides, each over half a tile where possible.
"""

from __future__ import annotations

import math

from diagnose.physics.guard import check_range


def ten_tile_deviation_mm(measured_mm: float, side_mm: float) -> float:
    """Return by how much ten laid tiles differ from ten nominal sides.

    Examples
    --------
    >>> ten_tile_deviation_mm(5004, 500)
    4
    """
    check_range("ten tiles in mm", measured_mm, above=0, up_to=20_000)
    check_range("tile side in mm", side_mm, above=0, up_to=2000)
    return measured_mm - 10 * side_mm


def out_of_square_percent(diagonal_mm: float, other_mm: float) -> float:
    """Return the difference of a tile's diagonals in per cent of their mean.

    Examples
    --------
    >>> round(out_of_square_percent(708, 706), 3)
    0.283
    """
    for value in (diagonal_mm, other_mm):
        check_range("diagonal in mm", value, above=0, up_to=5000)
    return abs(diagonal_mm - other_mm) / ((diagonal_mm + other_mm) / 2) * 100


def edge_fraction(room_mm: float, side_mm: float) -> float:
    """Return the fraction of a tile at either wall of a row centred for the best.

    Either a tile or a joint lies on the centre line; the larger edge tile wins.

    Examples
    --------
    >>> edge_fraction(5200, 500), edge_fraction(5000, 500)
    (0.7, 1.0)
    """
    check_range("room in mm", room_mm, above=0, up_to=1e6)
    check_range("tile side in mm", side_mm, above=0, up_to=2000)
    left = room_mm / side_mm - math.floor(room_mm / side_mm + 1e-9)
    if left < 1e-9:
        return 1.0
    return round((1 + left) / 2, 9) if room_mm > side_mm else round(left, 9)
