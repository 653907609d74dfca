"""Level changes underfoot, by height; always with a word of caution.

References
----------
.. [1] ADA and ABA 303 (US) and a Canadian guide, read as extracts: up to 6.4 mm
   upright, to 13 mm bevelled at most 1:2, above that a ramp.  In the United
   Kingdom no height was found in print: the law asks for a judgement.
"""

from __future__ import annotations

from diagnose.physics.guard import check_range

UPRIGHT_MM = 6.4
BEVEL_MM = 12.7

CAUTION = (
    "Someone can fall here. Mark or cover the place now; local law and an "
    "accessibility adviser have the last word on heights."
)


def level_change(height_mm: float) -> str:
    """Return `flush`, `upright`, `bevel` or `ramp` for a level change.

    Examples
    --------
    >>> [level_change(h) for h in (0, 5, 10, 20)]
    ['flush', 'upright', 'bevel', 'ramp']
    """
    check_range("height in mm", height_mm, at_least=0, up_to=2000)
    if height_mm == 0:
        return "flush"
    if height_mm <= UPRIGHT_MM:
        return "upright"
    return "bevel" if height_mm <= BEVEL_MM else "ramp"
