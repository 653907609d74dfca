"""Stretch of a carpet on gripper, in per cent.

References
----------
.. [1] Carpet Installation Standard (2011) 16.5.2: at least 1 % each way for a
   synthetic-backed tufted carpet where the maker is silent.  Read as page copy.
"""

from __future__ import annotations

from diagnose.physics.guard import check_range


def stretch_percent(before_mm: float, after_mm: float) -> float:
    """Return by how many per cent a length grew; negative when it shrank.

    Examples
    --------
    >>> stretch_percent(6000, 6060)
    1.0
    """
    check_range("length before in mm", before_mm, above=0, up_to=1e6)
    check_range("length after in mm", after_mm, above=0, up_to=1e6)
    return (after_mm - before_mm) / before_mm * 100
