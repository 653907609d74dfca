"""Perimeter: gap to the wall, gully of the gripper, step to the next floor.

References
----------
.. [1] CRI 105 11.1: gully slightly less than the carpet, at most 3/8 in (9 mm).
   Read as page copy.
"""

from __future__ import annotations

from diagnose.physics.guard import check_range

GULLY_HIGH_MM = 9.0


def gully_limit_mm(thickness_mm: float, high_mm: float = GULLY_HIGH_MM) -> float:
    """Return the widest gully for a carpet: its thickness, and never over `high_mm`.

    Examples
    --------
    >>> gully_limit_mm(7), gully_limit_mm(12)
    (7, 9.0)
    """
    check_range("thickness in mm", thickness_mm, above=0, up_to=100)
    return min(thickness_mm, high_mm)
