"""Verification of a whole casebook: the file, the chains and the columns beside them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from diagnose.errors import StoreError
from diagnose.store import chain, people, project
from diagnose.store.chain import Flaw, Head, Row
from diagnose.store.engine import all_rows
from diagnose.store.entry import Entry
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
    return Report(counted, table, (*flaws, *forked, *named), len(forks), damage)


def _beside(row: Row, entry: Entry) -> str:
    """Compare the columns that are kept beside a text with what the text says."""
    wanted = (entry.prev, *entry.lc, entry.kind, *project.columns_of(entry))
    return "" if wanted == row.beside else "the columns beside it say something else"
