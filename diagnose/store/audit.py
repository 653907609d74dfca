"""Verification of a whole casebook: the file, the chains and the columns beside them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from diagnose.errors import StoreError
from diagnose.store import chain, people, project, sql
from diagnose.store.chain import Flaw, Head, Row
from diagnose.store.engine import RowOf, all_rows
from diagnose.store.entry import Entry, EntryError
from diagnose.store.parse import parse
from diagnose.store.proof import prove

if TYPE_CHECKING:
    from diagnose.store.journal import Casebook, Report


def audit(casebook: Casebook, heads: Iterable[Head]) -> Report:
    """Check a casebook and report every flaw."""
    from diagnose.store.journal import Report

    damage = casebook.engine.sound()
    counted = 0

    def rows() -> Iterator[Row]:
        nonlocal counted
        for row in prove(all_rows(casebook.engine)):
            counted += 1
            yield row

    try:
        with casebook.reading():
            table = casebook.heads()
            flaws = chain.verify(rows(), (*table, *heads), _beside)
            forks = casebook.quarantine()
            aside = tuple(_aside(casebook.engine.rows(sql.ALL_QUARANTINE)))
            spoilt = [person for person in people.everyone(casebook) if not person.sound]
    except StoreError as error:
        if not damage:
            raise
        return Report(counted, (), (), 0, (*damage, str(error)))
    forked = tuple(
        Flaw("fork", device, seq, f"entry {seq} of {device} exists in two versions; both are kept")
        for device, seq, _, _ in forks
    )
    named = tuple(
        Flaw("edited", "", 0, f"the personal text behind {person.mark[:23]} was changed")
        for person in spoilt
    )
    return Report(counted, table, (*flaws, *forked, *aside, *named), len(forks), damage)


def _aside(rows: Iterable[RowOf]) -> Iterator[Flaw]:
    """Return a flaw for each entry in quarantine that is not as it was put there."""
    for device, seq, hashed, text in rows:
        try:
            entry = parse(str(text))
        except EntryError:
            entry = None
        if entry is None or (entry.device, entry.seq, entry.hash) != (device, seq, hashed):
            sentence = f"entry {seq} of {device}, kept in quarantine, was edited after it was kept"
            yield Flaw("edited-aside", str(device), int(seq), sentence)


def _beside(row: Row, entry: Entry) -> str:
    """Compare the columns that are kept beside a text with what the text says."""
    wanted = (entry.prev, *entry.lc, entry.kind, *project.columns_of(entry))
    return "" if wanted == row.beside else "the columns beside it say something else"
