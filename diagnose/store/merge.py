"""Bring together the journals of devices that worked apart.

A merge is a union: an entry that is not here is added, one that is here is
passed over.  So it does not matter in which order, or how often, journals are
merged.  Where a device has two histories, `fork` says which one stands; the
other goes into quarantine.  It is kept and reported, and travels on with the
next bundle.  When a history stands that did not before, entries change places
with the quarantine, and what follows from the entries is filled afresh.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from diagnose.store import clock, people, project, sql
from diagnose.store.engine import Engine, RowOf, all_rows
from diagnose.store.entry import FIRST_PREV, Entry, EntryError
from diagnose.store.fork import Link, Order, standing
from diagnose.store.journal import Casebook
from diagnose.store.parse import parse, stored
from diagnose.store.person import Person

MOST_REASONS = 20
AHEAD = timedelta(hours=24)


@dataclass(frozen=True, slots=True)
class Merged:
    """What a merge did."""

    added: int
    known: int
    """Entries that were here already."""
    forks: tuple[str, ...] = ()
    """Entries newly put into quarantine, one sentence each."""
    refused: tuple[str, ...] = ()
    """Texts that are no entries, one sentence each; at most 20 are told."""
    refused_count: int = 0
    warnings: tuple[str, ...] = ()
    """Clocks that run ahead."""


def texts_of(casebook: Casebook) -> Iterable[str]:
    """Return the text of every entry, those in quarantine at the end."""
    for row in all_rows(casebook.engine):
        yield str(row[3])
    for _, _, _, text in casebook.quarantine():
        yield text


def merge(
    casebook: Casebook,
    texts: Iterable[str],
    *,
    persons: Iterable[Person] = (),
    now: datetime | None = None,
) -> Merged:
    """Add every entry among `texts` that is not here yet; all in one transaction.

    `now` is the wall clock, for the warning about clocks that run ahead.
    """
    entries, reasons = _read(texts)
    with casebook.engine.writing():
        change, known = _change(casebook.engine, entries)
        _make(casebook.engine, change)
        people.merge(casebook.engine, persons)
    return Merged(
        added=sum(not was_here for _, _, was_here in change.added),
        known=known,
        forks=tuple(
            [
                f"entry {entry.seq} of {entry.device} contradicts the one stored here; "
                "both are kept"
                for entry, _ in change.forked
            ]
            + [
                f"entry {link.seq} of {device} was set aside, as another history of this "
                "device stands; both are kept"
                for device, link in change.aside
            ]
        ),
        refused=tuple(reasons[:MOST_REASONS]),
        refused_count=len(reasons),
        warnings=_warnings([entry for entry, *_ in change.added], now),
    )


def copy_into(source: Casebook, target: Casebook) -> Merged:
    """Copy a whole casebook into another, which may be on a server."""
    with source.reading():
        return merge(target, texts_of(source), persons=people.everyone(source))


def _read(texts: Iterable[str]) -> tuple[list[tuple[Entry, str]], list[str]]:
    found: dict[tuple[str, int, str], tuple[Entry, str]] = {}
    reasons: list[str] = []
    for number, text in enumerate(texts, 1):
        try:
            entry = parse(text)
            if entry.seq == 1 and entry.prev != FIRST_PREV:
                raise EntryError("a first entry names one before it")
        except EntryError as error:
            reasons.append(f"item {number} was left out: {error}")
            continue
        found[(entry.device, entry.seq, entry.hash)] = (entry, text)
    return [found[key] for key in sorted(found)], reasons


@dataclass(slots=True)
class _Change:
    """What a merge is to do with the tables of entries."""

    added: list[tuple[Entry, str, bool]] = field(default_factory=list)
    """Entries that come to stand, with their text, and whether they were in quarantine."""
    forked: list[tuple[Entry, str]] = field(default_factory=list)
    """New entries that go into quarantine."""
    aside: list[tuple[str, Link]] = field(default_factory=list)
    """Stored entries, by device, that go into quarantine."""


def _change(engine: Engine, entries: list[tuple[Entry, str]]) -> tuple[_Change, int]:
    """Return what is to be done, and how many of the entries were known."""
    held = [(parse(str(row[3])), str(row[3])) for row in engine.rows(sql.GET_QUARANTINE)]
    names = {(entry.device, entry.seq, entry.hash) for entry, _ in held}
    troubled = {entry.device for entry, _ in held}
    links = _links(engine, entries)
    fresh: list[tuple[Entry, str]] = []
    for entry, text in entries:
        chain = links[entry.device]
        here = chain.get(entry.seq)
        if (entry.device, entry.seq, entry.hash) in names or (here and here.hash == entry.hash):
            continue
        fresh.append((entry, text))
        if _fits(entry, chain):
            chain[entry.seq] = Link(entry.seq, entry.hash, entry.prev)
        else:
            troubled.add(entry.device)
    change = _Change(
        [(entry, text, False) for entry, text in fresh if entry.device not in troubled]
    )
    for device in sorted(troubled):
        _settle(engine, device, fresh, held, change)
    return change, len(entries) - len(fresh)


def _fits(entry: Entry, chain: dict[int, Link]) -> bool:
    before, here, after = (chain.get(entry.seq + step) for step in (-1, 0, 1))
    return (
        here is None
        and (before is None or before.hash == entry.prev)
        and (after is None or after.prev == entry.hash)
    )


def _settle(
    engine: Engine,
    device: str,
    fresh: list[tuple[Entry, str]],
    held: list[tuple[Entry, str]],
    change: _Change,
) -> None:
    """Add to a change what is to be done about a device that has two histories."""
    stored_links = [Link(*row) for row in engine.rows(sql.LINKS_OF_DEVICE, {"device": device})]
    others = [
        (entry, text, new) for each, new in ((fresh, True), (held, False)) for entry, text in each
    ]
    links = [
        *stored_links,
        *(Link(e.seq, e.hash, e.prev) for e, _, _ in others if e.device == device),
    ]
    stands = standing(links, _named(engine, device, [entry for entry, *_ in others]))
    change.aside += [(device, link) for link in stored_links if stands.get(link.seq) != link.hash]
    for entry, text, new in others:
        if entry.device != device:
            continue
        if stands.get(entry.seq) == entry.hash:
            change.added.append((entry, text, not new))
        elif new:
            change.forked.append((entry, text))


def _named(engine: Engine, device: str, others: Iterable[Entry]) -> dict[str, Order]:
    """Return by hash which entries of a device another device named, and when first."""
    like = {"like": f'%"{device}":[%'}
    kept = (stored(str(text), str(hashed)) for text, hashed in engine.rows(sql.ENTRIES_LIKE, like))
    first: dict[str, Order] = {}
    for entry in (*kept, *others):
        if entry.device != device and device in entry.seen:
            hashed = entry.seen[device][1]
            first[hashed] = min(entry.order, first.get(hashed, entry.order))
    return first


def _links(engine: Engine, entries: list[tuple[Entry, str]]) -> dict[str, dict[int, Link]]:
    ranges: dict[str, tuple[int, int]] = {}
    for entry, _ in entries:
        low, high = ranges.get(entry.device, (entry.seq, entry.seq))
        ranges[entry.device] = (min(low, entry.seq), max(high, entry.seq))
    return {
        device: {
            int(seq): Link(int(seq), str(hashed), str(prev))
            for seq, hashed, prev in engine.rows(
                sql.LINKS, {"device": device, "low": low - 1, "high": high + 1}
            )
        }
        for device, (low, high) in ranges.items()
    }


def _make(engine: Engine, change: _Change) -> None:
    """Write a change into the tables, and what follows from it."""
    # Before an entry leaves the journal, what takes its place must be kept too.
    kept = [*change.forked, *((e, text) for e, text, _ in change.added if change.aside)]
    engine.run_many(
        sql.ADD_QUARANTINE,
        [
            {"device": entry.device, "seq": entry.seq, "hash": entry.hash, "text": text}
            for entry, text in kept
        ],
    )
    aside = [{"device": device, "seq": link.seq} for device, link in reversed(change.aside)]
    astray = engine.rows(sql.GET_HEADS_ASTRAY) if aside else []
    for one in aside:
        for statement in sql.SET_ASIDE[engine.name]:
            engine.run(statement, one)
    engine.run_many(sql.ADD_ENTRY, [project.row_of(entry, text) for entry, text, _ in change.added])
    entries = [entry for entry, *_ in change.added]
    own = engine.rows(sql.GET_META, {"name": "device"})
    if own and any(entry.device == own[0][0] for entry in entries):
        engine.run(sql.SET_META, {"name": sql.OWN_CAME_IN, "value": str(own[0][0])})
    if aside:
        project.rebuild(engine)
        _keep_astray(engine, astray)
    else:
        project.heads_of(engine, entries)
        project.entries_added(engine, entries)
    people.drop_forgotten(engine, [*entries, *(entry for entry, _ in change.forked)])


def _keep_astray(engine: Engine, heads: Iterable[RowOf]) -> None:
    """Put heads back that name a missing entry: they are the trace of a chain that was cut."""
    for device, seq, hashed, wall, counter in heads:
        head = {"device": device, "seq": seq, "hash": hashed, "wall": wall, "counter": counter}
        here = engine.rows(sql.HASH_AT, {"device": device, "seq": seq})
        if not here or here[0][0] != hashed:
            engine.run(sql.SET_HEAD, head)
            engine.run(sql.SET_HEAD_ASTRAY, head)


def _warnings(entries: Iterable[Entry], now: datetime | None) -> tuple[str, ...]:
    if now is None:
        return ()
    latest = clock.wall_ms(now + AHEAD)
    ahead = sorted({entry.device for entry in entries if entry.lc[0] > latest})
    return tuple(
        f"the clock of {device} runs more than 24 h ahead of the one here; one of the two is wrong"
        for device in ahead
    )
