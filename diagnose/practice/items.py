"""How a set of short questions is drawn, each of them proved fair first."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from difflib import get_close_matches

from diagnose.errors import NotFoundError
from diagnose.model import STAGES
from diagnose.practice.chance import pick, stream
from diagnose.practice.item import Item, ItemKind
from diagnose.practice.items_proof import doubts
from diagnose.practice.makers import MAKERS
from diagnose.rulebook.model import Rules

MOST_MISSES = 400
"""Tries in a row that give nothing new, after which there is nothing new to be had."""


def draw_items(
    rules: Rules,
    seed: int,
    count: int,
    *,
    kinds: Sequence[ItemKind] = (),
    subjects: Collection[str] = (),
    stages: Collection[str] = (),
    avoid: Collection[str] = (),
) -> tuple[Item, ...]:
    """Draw a set of short questions, no two the same.

    Parameters
    ----------
    rules : Rules
    seed : int
        The same rules, seed and wishes give the same set.
    count : int
    kinds : kinds of question, all by default
    subjects : subjects to practise, such as those that are due; all by default
    stages : stages of the work that the questions are about; all by default
    avoid : ids of items that must not come again

    Raises
    ------
    NotFoundError
        The rules do not give as many different questions of this description.
    """
    for stage in stages:
        if stage not in STAGES:
            near = get_close_matches(stage, STAGES, n=3)
            all_ = "" if near else f"; the stages are {', '.join(STAGES)}"
            raise NotFoundError(f"no stage is called {stage}{all_}", near)
    rng = stream("items", seed, sorted(kinds), sorted(stages))
    wanted = list(kinds) or list(ItemKind)
    found: dict[str, Item] = {}
    prompts: set[tuple[str, str]] = set()
    misses = 0
    while len(found) < count and misses < MOST_MISSES:
        item = MAKERS[wanted[len(found) % len(wanted)] if misses == 0 else pick(rng, wanted)](
            rules, rng, subjects
        )
        fresh = (
            item is not None
            and item.id not in found
            and item.id not in avoid
            and (item.ask, item.key_text) not in prompts
            and (not stages or item.stage in stages)
            and not doubts(rules, item)
        )
        if item is None or not fresh:
            misses += 1
            continue
        misses = 0
        found[item.id] = item
        prompts.add((item.ask, item.key_text))
    if len(found) < count:
        raise NotFoundError(
            f"the rules give {len(found)} different questions of this description, not {count}"
        )
    return tuple(found.values())
