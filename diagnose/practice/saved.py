"""A round, an order and a finding as plain data that a file can hold, and back.

Nothing in it is a floating-point number, so that every machine writes the same
bytes.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Any, TypeVar

from diagnose.errors import InputError, Problem
from diagnose.practice.draw import Order, PracticeCase
from diagnose.practice.fault import Curriculum, Difficulty
from diagnose.practice.play import Allowed, Asked, Round, Stated

VERSION = 2
"""Counts the ways of drawing too: the same seed gave another case before."""

Thing = TypeVar("Thing")


def round_data(round_: Round) -> dict[str, Any]:
    """Return a round as plain data: its order and its moves."""
    return {
        "v": VERSION,
        "edition": round_.case.edition,
        "order": order_data(round_.case.order),
        "allowed": {"minutes": round_.allowed.minutes, "harm": round_.allowed.harm},
        "moves": [[move.question, move.caution_read] for move in round_.moves],
        "stated": stated_data(round_.stated) if round_.stated else None,
    }


def order_data(order: Order) -> dict[str, Any]:
    """Return an order as plain data."""
    return {
        "seed": order.seed,
        "difficulty": order.difficulty.value,
        "stages": list(order.curriculum.stages),
        "causes": list(order.curriculum.causes),
        "weak": list(order.curriculum.weak),
    }


def stated_data(stated: Stated) -> dict[str, Any]:
    """Return a stated finding as plain data."""
    return {"causes": list(stated.causes), "percent": stated.percent, "remedy": stated.remedy}


def read_round(data: Any, draw: Callable[[Order], PracticeCase]) -> Round:
    """Return the round that plain data stand for; `draw` draws its case again.

    Raises
    ------
    InputError
        The data are not a round, or belong to another edition of the rules,
        in which the same seed is another case.
    """
    order = _read("a saved round", lambda: _order(data["order"]))
    case = draw(order)
    if (data.get("v"), data.get("edition")) != (VERSION, case.edition):
        raise InputError(
            [
                Problem(
                    None,
                    f"the round {case.name} was played with another edition of the rules or of this program",
                    "start a new round; the finished ones keep their marks",
                )
            ]
        )
    return _read("a saved round", lambda: _round(data, case))


def _order(data: Any) -> Order:
    curriculum = Curriculum(_texts(data["stages"]), _texts(data["causes"]), _texts(data["weak"]))
    return Order(_whole(data["seed"]), Difficulty(data["difficulty"]), curriculum)


def _round(data: Mapping[str, Any], case: PracticeCase) -> Round:
    allowed = Allowed(_whole(data["allowed"]["minutes"]), _whole(data["allowed"]["harm"]))
    moves = tuple(Asked(str(question), bool(read)) for question, read in data["moves"])
    stated = data["stated"]
    return Round(
        case,
        allowed,
        moves,
        None
        if stated is None
        else Stated(_texts(stated["causes"]), _whole(stated["percent"]), str(stated["remedy"])),
    )


def _texts(data: Sequence[Any]) -> tuple[str, ...]:
    if isinstance(data, str) or not all(isinstance(each, str) for each in data):
        raise TypeError
    return tuple(data)


def _whole(data: Any) -> int:
    if isinstance(data, bool) or not isinstance(data, int):
        raise TypeError
    return data


def _read(what: str, read: Callable[[], Thing]) -> Thing:
    try:
        return read()
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise InputError([Problem(None, f"this is not {what} ({error})")]) from None
