"""What a surface pH says: in order, too high, or a hint of residue.

References
----------
.. [1] Carpet Installation Standard (2011) 9.5 and CRI 105 (2015, 2019) 6.3, read
   as page copies: a low value may mean residue on the surface, a cleaned slab
   can read above 12.
"""

from __future__ import annotations

from diagnose.physics.guard import check_range


def alkalinity_word(ph: float, high: float, residue_below: float) -> str:
    """Return `too-high`, `residue-hint` or `in-order` for a surface pH.

    Examples
    --------
    >>> alkalinity_word(9.8, 9, 8.5), alkalinity_word(7.2, 9, 8.5), alkalinity_word(8.8, 9, 8.5)
    ('too-high', 'residue-hint', 'in-order')
    """
    check_range("pH", ph, at_least=0, up_to=14)
    if ph > high:
        return "too-high"
    return "residue-hint" if ph < residue_below else "in-order"
