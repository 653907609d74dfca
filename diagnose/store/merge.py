"""Bring together the journals of devices that worked apart.

A merge is a union: an entry that is not here is added, one that is here is
passed over.  So it does not matter in which order, or how often, journals are
merged, as long as no device has two histories.  An entry that contradicts a
stored one goes into quarantine, with all that follows from it; it is kept and
reported, and travels on with the next bundle.  Which of the two histories
stands in the journal then depends on which came first; together with the
quarantine, all copies hold the same.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import NamedTuple

from diagnose.store import clock, people, project, sql
from diagnose.store.engine import Engine, all_rows
from diagnose.store.entry import FIRST_PREV, Entry, EntryError
from diagnose.store.journal import Casebook
from diagnose.store.parse import parse

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


class _Link(NamedTuple):
    hash: str
    prev: str


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
    persons: Iterable[people.Person] = (),
    now: datetime | None = None,
) -> Merged:
    """Add every entry among `texts` that is not here yet; all in one transaction.

    `now` is the wall clock, for the warning about clocks that run ahead.
    """
    entries, reasons = _read(texts)
    with casebook.engine.writing():
        added, known, forked = _sort(casebook.engine, entries)
        _store(casebook.engine, added, forked)
        people.merge(casebook.engine, persons)
    return Merged(
        added=len(added),
        known=known,
        forks=tuple(
            f"entry {entry.seq} of {entry.device} contradicts the one stored here; both are kept"
            for entry, _ in forked
        ),
        refused=tuple(reasons[:MOST_REASONS]),
        refused_count=len(reasons),
        warnings=_warnings([entry for entry, _ in added], now),
    )


def copy_into(source: Casebook, target: Casebook) -> Merged:
    """Copy a whole casebook into another, which may be on a server."""
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


def _sort(
    engine: Engine, entries: list[tuple[Entry, str]]
) -> tuple[list[tuple[Entry, str]], int, list[tuple[Entry, str]]]:
    """Return what is to be added, how many were known, and what is to go into quarantine."""
    links = _links(engine, entries)
    quarantined = {(row[0], row[1], row[2]) for row in engine.rows(sql.GET_QUARANTINE)}
    added: list[tuple[Entry, str]] = []
    forked: list[tuple[Entry, str]] = []
    known = 0
    for entry, text in entries:
        chain = links[entry.device]
        here = chain.get(entry.seq)
        if here is not None and here.hash == entry.hash:
            known += 1
        elif here is None and _fits(entry, chain):
            chain[entry.seq] = _Link(entry.hash, entry.prev)
            added.append((entry, text))
        elif (entry.device, entry.seq, entry.hash) in quarantined:
            known += 1
        else:
            forked.append((entry, text))
    return added, known, forked


def _fits(entry: Entry, chain: dict[int, _Link]) -> bool:
    before, after = chain.get(entry.seq - 1), chain.get(entry.seq + 1)
    return (before is None or before.hash == entry.prev) and (
        after is None or after.prev == entry.hash
    )


def _links(engine: Engine, entries: list[tuple[Entry, str]]) -> dict[str, dict[int, _Link]]:
    ranges: dict[str, tuple[int, int]] = {}
    for entry, _ in entries:
        low, high = ranges.get(entry.device, (entry.seq, entry.seq))
        ranges[entry.device] = (min(low, entry.seq), max(high, entry.seq))
    return {
        device: {
            int(seq): _Link(str(hashed), str(prev))
            for seq, hashed, prev in engine.rows(
                sql.LINKS, {"device": device, "low": low - 1, "high": high + 1}
            )
        }
        for device, (low, high) in ranges.items()
    }


def _store(engine: Engine, added: list[tuple[Entry, str]], forked: list[tuple[Entry, str]]) -> None:
    engine.run_many(sql.ADD_ENTRY, [project.row_of(entry, text) for entry, text in added])
    engine.run_many(
        sql.ADD_QUARANTINE,
        [
            {"device": entry.device, "seq": entry.seq, "hash": entry.hash, "text": text}
            for entry, text in forked
        ],
    )
    entries = [entry for entry, _ in added]
    project.heads_of(engine, entries)
    project.entries_added(engine, entries)
    people.drop_forgotten(engine, entries)


def _warnings(entries: Iterable[Entry], now: datetime | None) -> tuple[str, ...]:
    if now is None:
        return ()
    latest = clock.wall_ms(now + AHEAD)
    ahead = sorted({entry.device for entry in entries if entry.lc[0] > latest})
    return tuple(
        f"the clock of {device} runs more than 24 h ahead of the one here; one of the two is wrong"
        for device in ahead
    )
