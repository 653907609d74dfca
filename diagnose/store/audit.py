"""Verification of a whole casebook: the file, the chains and the columns beside them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from diagnose.errors import StoreError
from diagnose.store import chain, project, sql
from diagnose.store.chain import Flaw, Head, Row
from diagnose.store.engine import Engine, RowOf, all_rows
from diagnose.store.entry import Entry, EntryError
from diagnose.store.heads import heads_in, set_aside_in
from diagnose.store.parse import parse
from diagnose.store.person import persons_in
from diagnose.store.proof import prove


@dataclass(frozen=True, slots=True)
class Report:
    """What `verify` found."""

    entries: int
    heads: tuple[Head, ...]
    flaws: tuple[Flaw, ...]
    forks: int
    """Entries that are kept in quarantine."""
    damage: tuple[str, ...] = ()
    """What the database says is wrong with its own file."""

    @property
    def sound(self) -> bool:
        """True when nothing is wrong; warnings about clocks do not count."""
        return not self.damage and all(flaw.warning for flaw in self.flaws)

    @property
    def readable(self) -> bool:
        """True when every entry is as it was written, so that what follows from it can be told."""
        edited = any(flaw.kind == "edited" and flaw.device for flaw in self.flaws)
        return not self.damage and not edited

    @property
    def sentences(self) -> tuple[str, ...]:
        """Every flaw as one plain sentence."""
        damage = tuple(f"the file is damaged: {line}" for line in self.damage)
        return damage + tuple(flaw.sentence for flaw in self.flaws)


def audit(engine: Engine, heads: Iterable[Head]) -> Report:
    """Check a casebook and report every flaw; `heads` are ones that were kept elsewhere."""
    damage = engine.sound()
    counted = 0

    def rows() -> Iterator[Row]:
        nonlocal counted
        for row in prove(all_rows(engine)):
            counted += 1
            yield row

    try:
        with engine.reading():
            table = heads_in(engine)
            flaws = chain.verify(rows(), (*table, *heads), _beside)
            forks = set_aside_in(engine)
            aside = tuple(_aside(engine.rows(sql.ALL_QUARANTINE)))
            spoilt = [person for person in persons_in(engine) if not person.sound]
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
