"""Options of a command turned into the order of a case."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from diagnose.errors import InputError, Problem

if TYPE_CHECKING:
    from diagnose.practice.draw import Order


def order_of(
    seed: int,
    difficulty: str,
    stages: Sequence[str],
    causes: Sequence[str],
    weak: tuple[str, ...] = (),
) -> Order:
    """Return the order of a case; a slip in the difficulty is answered in one sentence."""
    from diagnose.practice.draw import Order
    from diagnose.practice.fault import Curriculum, Difficulty

    allowed = [each.value for each in Difficulty]
    if difficulty not in allowed:
        hint = f"allowed: {', '.join(allowed)}"
        raise InputError([Problem(None, f"{difficulty} is no difficulty", hint)])
    return Order(seed, Difficulty(difficulty), Curriculum(tuple(stages), tuple(causes), weak))
