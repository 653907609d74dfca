"""Short questions made from the rules: what they are.

Nobody writes them: each kind of question is a way of turning rules into one
right option and wrong ones that are plausible but, by the rules, not right.
`diagnose.practice.items_proof` proves the last for every item.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from random import Random

from diagnose.practice.chance import shuffled
from diagnose.rulebook.model import Cite, Rules

WRONG_OPTIONS = 3


class ItemKind(StrEnum):
    """The kinds of short question."""

    WHICH_CAUSE = "which-cause"
    WHAT_SEPARATES = "what-separates"
    WHAT_TO_RECORD = "what-to-record"
    WHICH_CAUTION = "which-caution"
    STEPS_IN_ORDER = "steps-in-order"
    HEARD_ON_SITE = "heard-on-site"
    WHERE_ON_RECORD = "where-on-record"
    WHICH_LIMIT = "which-limit"
    WHAT_FIRST = "what-first"
    READ_A_PICTURE = "read-a-picture"


@dataclass(frozen=True, slots=True)
class Option:
    """One option: its words, and the id of the rule that it is made from."""

    text: str
    rule: str = ""


@dataclass(frozen=True, slots=True)
class Item:
    """One short question with its key."""

    kind: ItemKind
    ask: str
    options: tuple[Option, ...]
    key: tuple[int, ...]
    """Number of the right option, from 0; for steps, all numbers in their order."""
    why: str
    """Shown after the answer: why the key is right."""
    subject: str
    """What is practised, such as `cause:strip-missed`."""
    rules: tuple[str, ...]
    """Ids of the rules it is made from."""
    sources: tuple[str, ...]
    stage: str = ""
    shown: tuple[tuple[str, str], ...] = ()
    """Pairs of question and answer that the picture in words shows."""

    @property
    def id(self) -> str:
        """Short name that is the same for the same question on every machine."""
        words = "\n".join([self.kind.value, self.ask, *sorted(each.text for each in self.options)])
        return f"{self.kind.value}-{hashlib.sha256(words.encode('utf-8')).hexdigest()[:8]}"

    @property
    def key_text(self) -> str:
        """The right answer in words."""
        return " / ".join(self.options[number].text for number in self.key)


Maker = Callable[[Rules, Random, Collection[str]], Item | None]
"""Makes an item of one kind about one of the subjects, or about any if there are none."""


def is_right(item: Item, answer: Sequence[int]) -> bool:
    """Return whether an answer, as numbers of options from 0, is the key."""
    return tuple(answer) == item.key


def with_options(
    rng: Random, right: Option, wrong: Iterable[Option]
) -> tuple[tuple[Option, ...], tuple[int, ...]]:
    """Return the options in a drawn order, and the key."""
    order = shuffled(rng, [right, *wrong])
    return tuple(order), (order.index(right),)


def source_ids(cites: Iterable[Cite]) -> tuple[str, ...]:
    """Return the ids of the sources cited, each once."""
    return tuple(dict.fromkeys(cite.source for cite in cites))
