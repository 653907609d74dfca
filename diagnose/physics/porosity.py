"""Porosity of a base from a drop of water.

References
----------
.. [1] ASTM F3191, second-hand: a drop about 1 in (25 mm) across; taken up within
   one minute the base is porous, later it is not.
"""

from __future__ import annotations

from diagnose.physics.guard import check_range

POROUS_WITHIN_S = 60.0


def porosity_word(taken_up_s: float) -> str:
    """Return `porous` or `closed` from the seconds in which a drop is taken up.

    Examples
    --------
    >>> porosity_word(20), porosity_word(300)
    ('porous', 'closed')
    """
    check_range("time in s", taken_up_s, at_least=0, up_to=86_400)
    return "porous" if taken_up_s <= POROUS_WITHIN_S else "closed"
