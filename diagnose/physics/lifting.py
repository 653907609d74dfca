"""Mass of a roll, for deciding how it is carried.

References
----------
.. [1] Length times width times mass per m2.  Computed.  Guideline figures for
   one person (25 kg, 16 kg) are from memory, to be verified.
"""

from __future__ import annotations

from diagnose.physics.guard import check_range


def roll_mass_kg(length_m: float, width_m: float, mass_g_m2: float) -> float:
    """Return the mass of a roll in kg.

    Examples
    --------
    >>> roll_mass_kg(30, 4, 2200)
    264.0
    """
    check_range("length in m", length_m, at_least=0, up_to=1000)
    check_range("width in m", width_m, above=0, up_to=20)
    check_range("mass in g/m2", mass_g_m2, above=0, up_to=20_000)
    return length_m * width_m * mass_g_m2 / 1000


def kg_each(mass_kg: float, people: int) -> float:
    """Return the mass per person when `people` carry together.

    Examples
    --------
    >>> kg_each(264, 4)
    66.0
    """
    check_range("people", people, at_least=1, up_to=50)
    return mass_kg / people
