"""Short questions made from the rules: what they are.

Nobody writes them: each kind of question is a way of turning rules into one
right option and wrong ones that are plausible but, by the rules, not right.
`diagnose.practice.items_proof` proves the last for every item.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from random import Random

from diagnose.practice.chance import shuffled
from diagnose.rulebook.model import Cite, Rules

WRONG_OPTIONS = 3
ALIKE = 0.6
"""Share of words in common from which two options can be taken for each other."""
SMALL_WORDS = frozenset(
    {"a", "an", "and", "are", "as", "at", "by", "each", "for", "how", "in", "is", "it", "its"}
    | {"of", "on", "or", "that", "the", "to", "was", "were", "what", "when", "where", "which"}
    | {"with"}
)


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


def alike(first: str, second: str) -> bool:
    """Return whether two texts say so nearly the same that either could be defended.

    >>> alike("How many cut edges were sealed.", "How many cut edges were sealed, with which lot.")
    True
    >>> alike("Time of the first rolling.", "Mass of the roller.")
    False
    """
    one, other = ({*re.findall(r"[a-z0-9]+", t.lower())} - SMALL_WORDS for t in (first, second))
    shared = len(one & other)
    return shared >= ALIKE * len(one | other) or shared == min(len(one), len(other))


def kin(rules: Rules, cause: str) -> frozenset[str]:
    """Return a cause with the wider one, the narrower ones, and those nothing tells from it.

    What tells of one of them may be said to tell of the other.
    """
    wider = {rules.causes[cause].kind_of} & {*rules.causes}
    narrower = {other.id for other in rules.causes.values() if other.kind_of == cause}
    bound = {each for pair in rules.inseparable if cause in pair.causes for each in pair.causes}
    return frozenset({cause, *wider, *narrower, *bound})
