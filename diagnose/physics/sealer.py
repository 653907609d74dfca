"""Seam sealer: how far a bottle goes and how much a seam needs.

References
----------
.. [1] A round bead of 1/8 in (3.2 mm); no published yield was found, the volume
   is geometry.  Computed.
"""

from __future__ import annotations

import math

from diagnose.physics.guard import check_range


def bead_ml_per_m(bead_mm: float, *, half_round: bool = False) -> float:
    """Return the volume of a bead in ml per m; a half round takes half.

    Examples
    --------
    >>> round(1000 / bead_ml_per_m(3.175))  # metres per litre
    126
    """
    check_range("bead in mm", bead_mm, above=0, up_to=20)
    area_mm2 = math.pi * bead_mm**2 / 4
    return area_mm2 / (2 if half_round else 1)


def sealer_needed_ml(
    seam_m: float, edges: int, bead_mm: float, *, half_round: bool = False, waste_percent: float = 0
) -> float:
    """Return ml of sealer for a seam with `edges` cut edges sealed.

    Examples
    --------
    >>> round(sealer_needed_ml(9, 1, 3.175))
    71
    """
    check_range("seam length in m", seam_m, at_least=0, up_to=1e5)
    check_range("edges sealed", edges, at_least=0, up_to=2)
    check_range("waste in %", waste_percent, at_least=0, up_to=100)
    per_m = bead_ml_per_m(bead_mm, half_round=half_round)
    return seam_m * edges * per_m * (1 + waste_percent / 100)
