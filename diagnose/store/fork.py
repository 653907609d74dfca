"""Which history of a device stands, where it has two (pure).

Two copies of one casebook that both went on with its chain make a fork.  What
stands follows from the entries alone, so that every copy that holds the same
entries comes to the same answer, in whatever order they came in:

1. At a fork that branch stands which an entry of another device named first,
   by the order of the logical clock, itself or in what follows from it: others
   have built on it.
2. Where nobody named either, the branch whose first entry has the smaller
   hash stands.  That is no judgement; it only has to be the same everywhere.

A part of a chain whose beginning is missing stands as far as it does not
contradict what stands already; parts that were named come first, then those
that begin earlier.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import NamedTuple

Order = tuple[int, int, str, int]
"""Place of an entry in the order that all copies agree on, as `Entry.order`."""


class Link(NamedTuple):
    """One known entry of the device."""

    seq: int
    hash: str
    prev: str


def standing(links: Iterable[Link], named: Mapping[str, Order]) -> dict[int, str]:
    """Return number and hash of the entries that stand.

    `links` are all known entries of one device, `named` tells by hash which of
    them another device named, and when first.
    """
    known = {link.hash: link for link in links}
    after: dict[str, list[Link]] = {}
    begins: list[Link] = []
    for link in known.values():
        before = known.get(link.prev)
        if before is not None and before.seq == link.seq - 1:
            after.setdefault(before.hash, []).append(link)
        else:
            begins.append(link)
    first = _first_named(known, after, named)

    def weight(link: Link) -> tuple[bool, Order, str]:
        at = first.get(link.hash)
        return (at is None, at or (0, 0, "", 0), link.hash)

    def weight_of_part(link: Link) -> tuple[bool, Order, int, str]:
        unnamed, at, hashed = weight(link)
        return (unnamed, at, link.seq, hashed)

    chosen: dict[int, Link] = {}
    for begin in sorted(begins, key=weight_of_part):
        here: Link | None = begin
        while here is not None and _fits(here, chosen):
            chosen[here.seq] = here
            here = min(after.get(here.hash, ()), key=weight, default=None)
    return {seq: link.hash for seq, link in chosen.items()}


def _first_named(
    known: Mapping[str, Link], after: Mapping[str, list[Link]], named: Mapping[str, Order]
) -> dict[str, Order]:
    """Return by hash when an entry, or one that follows from it, was first named."""
    first = {hashed: at for hashed, at in named.items() if hashed in known}
    for link in sorted(known.values(), reverse=True):
        times = [first[each.hash] for each in after.get(link.hash, ()) if each.hash in first]
        own = first.get(link.hash)
        if times or own:
            first[link.hash] = min([*times, *([own] if own else [])])
    return first


def _fits(link: Link, chosen: Mapping[int, Link]) -> bool:
    before, here, then = (chosen.get(link.seq + step) for step in (-1, 0, 1))
    return (
        here is None
        and (before is None or before.hash == link.prev)
        and (then is None or then.prev == link.hash)
    )
