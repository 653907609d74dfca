"""Surface regularity: the gap under a straightedge and its class.

References
----------
.. [1] BS 8204 classes SR1 3 mm, SR2 5 mm, SR3 10 mm under a 2 m straightedge,
   second-hand through the Concrete Society.
.. [2] 3/16 in under 10 ft, tile guides quoting ASTM F710, second-hand.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from diagnose.physics.guard import OutOfRangeError, check_range

CLASSES_MM: Mapping[str, float] = {"SR1": 3.0, "SR2": 5.0, "SR3": 10.0}


def regularity_class(gaps_mm: Sequence[float]) -> str:
    """Return the best class that every gap keeps; `none` when all are exceeded.

    Examples
    --------
    >>> regularity_class([1.5, 4.0]), regularity_class([12])
    ('SR2', 'none')
    """
    if not gaps_mm:
        raise OutOfRangeError("there is no reading")
    for gap in gaps_mm:
        check_range("gap in mm", gap, at_least=0, up_to=500)
    worst = max(gaps_mm)
    return next((name for name, limit in CLASSES_MM.items() if worst <= limit), "none")
