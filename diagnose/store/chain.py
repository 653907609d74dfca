"""What is wrong with a journal's chains, each flaw named in a plain sentence.

A chain by itself shows an entry that was edited, moved or taken out.  It
cannot show that its newest entries were cut off, nor that its owner wrote the
whole of it anew: for that a head is needed that somebody else kept, printed
on a report or cited by another device.  `verify` takes such heads.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import NamedTuple

from diagnose.store import clock
from diagnose.store.entry import FIRST_PREV, Entry, EntryError, hash_text, is_canonical
from diagnose.store.parse import AT, skim

AHEAD_MS = 24 * 3_600_000
"""A device whose clock is further than this behind what it has seen is reported."""

_PRINTED = re.compile(r"([a-z0-9][a-z0-9-]{0,63})/([0-9]{1,10})/([0-9a-f]{16,64})")


@dataclass(frozen=True, slots=True)
class Head:
    """The newest entry of a chain, as a witness keeps it.

    `hash` may be shortened to its first 16 digits or more, as on paper.
    """

    device: str
    seq: int
    hash: str
    kept_by: str = "outside"
    """Who kept it: `outside`, `table`, or the device that cites it."""

    def __str__(self) -> str:
        return f"{self.device}/{self.seq}/{self.hash[:16]}"


def parse_head(text: str) -> Head:
    """Read a head as it is printed: device, number and 16 digits or more, with strokes.

    Raises
    ------
    EntryError
        When the text is no head.
    """
    found = _PRINTED.fullmatch(text.strip().lower())
    if not found:
        raise EntryError(
            f"{text[:90]!r} is not a printed head; it reads like larch-phone/12/0123456789abcdef"
        )
    return Head(found[1], int(found[2]), found[3])


class Proven(NamedTuple):
    """What a chain needs of an entry whose text, hash and columns are in order."""

    prev: str
    at_text: str
    at: datetime
    lc: tuple[int, int]


@dataclass(frozen=True, slots=True)
class Row:
    """One stored entry, as it stands in the table."""

    device: str
    seq: int
    hash: str
    text: str
    beside: tuple[object, ...] = ()
    """Columns kept beside the text, for whoever compares them."""
    proven: Proven | None = None
    """Given when text, hash and columns were proven already: the rest of the row is in order."""


@dataclass(frozen=True, slots=True)
class Flaw:
    """One thing that is wrong with a chain."""

    kind: str
    """edited, edited-aside, broken-link, gap, fork, truncated, contradicted, order; or the warning clock."""
    device: str
    seq: int
    sentence: str

    @property
    def warning(self) -> bool:
        """True for what is odd but no sign of tampering."""
        return self.kind == "clock"

    def __str__(self) -> str:
        return self.sentence


Look = Callable[[Row, Entry], str]
"""Returns what is wrong with a row beside its entry, or nothing."""


def verify(
    rows: Iterable[Row], heads: Iterable[Head] = (), look: Look | None = None
) -> tuple[Flaw, ...]:
    """Check every chain, given all rows in order of device and number.

    `heads` are heads that somebody kept apart from the rows; `look` checks
    what else there is of a row.
    """
    check = _Check(look)
    for row in rows:
        check.row(row)
    check.against(check.cited.values())
    check.against(heads)
    return tuple(sorted(check.flaws.values(), key=lambda flaw: (flaw.device, flaw.seq, flaw.kind)))


class _Check:
    """The running state of one verification."""

    def __init__(self, look: Look | None) -> None:
        self.look = look
        self.flaws: dict[tuple[str, str, int], Flaw] = {}
        self.hashes: dict[str, dict[int, str]] = {}
        self.cited: dict[tuple[str, int, str], Head] = {}
        self.last: Row | None = None
        self.before: Proven | None = None
        """Of the entry before in the same chain."""

    def flaw(self, kind: str, device: str, seq: int, sentence: str) -> None:
        self.flaws.setdefault((kind, device, seq), Flaw(kind, device, seq, sentence))

    def row(self, row: Row) -> None:
        name = f"entry {row.seq} of {row.device}"
        last = self.last
        fresh = last is None or last.device != row.device
        if fresh:
            self.before = None
        if not fresh and last is not None and last.seq == row.seq:
            self.flaw("fork", row.device, row.seq, f"{name} exists in two versions")
            return
        if row.seq < 1:
            self.flaw("order", row.device, row.seq, f"{name} has no place: numbers begin with 1")
            return
        read = row.proven or self._read(row, name)
        previous = None if fresh else last
        expected = 1 if previous is None else previous.seq + 1
        if row.seq != expected:
            missing = (
                f"entry {expected}"
                if row.seq == expected + 1
                else f"entries {expected} to {row.seq - 1}"
            )
            self.flaw("gap", row.device, expected, f"{missing} of {row.device} missing")
        elif read is not None:
            self._link(row, read, previous, name)
        if read is not None:
            self._times(row, read, name)
            self.before = read
        self.hashes.setdefault(row.device, {})[row.seq] = row.hash
        self.last = row

    def _read(self, row: Row, name: str) -> Proven | None:
        computed = hash_text(row.text.encode("utf-8", "surrogatepass"))
        try:
            entry = skim(row.text, row.hash)
            at = entry.entered_at
            if not AT.fullmatch(entry.at):
                raise EntryError(f"its time {entry.at!r:.60} is not written as it must be")
        except (EntryError, ValueError) as error:
            self.flaw("edited", row.device, row.seq, f"{name} was edited: {error}")
            return None
        wrong = ""
        if computed != row.hash or (entry.device, entry.seq) != (row.device, row.seq):
            wrong = "its text no longer fits its hash"
        elif not is_canonical(entry, row.text):
            wrong = "its text is not in canonical form"
        elif self.look:
            wrong = self.look(row, entry)
        if wrong:
            self.flaw(
                "edited",
                row.device,
                row.seq,
                f"{name} was edited after it was written: {wrong}",
            )
        for device, (seq, hashed) in entry.seen.items():
            head = Head(device, seq, hashed, row.device)
            self.cited.setdefault((device, seq, hashed), head)
        return Proven(entry.prev, entry.at, at, entry.lc)

    def _link(self, row: Row, read: Proven, previous: Row | None, name: str) -> None:
        wanted = FIRST_PREV if previous is None else previous.hash
        if read.prev == wanted:
            return
        sentence = (
            f"{name} names an entry before it, but a first entry has none"
            if previous is None
            else f"{name} names another entry {row.seq - 1} than the one stored before it: "
            f"entry {row.seq - 1} was changed or exchanged"
        )
        self.flaw("broken-link", row.device, row.seq, sentence)

    def _times(self, row: Row, read: Proven, name: str) -> None:
        before = self.before
        if before is None:
            return
        if read.lc < before.lc or before.lc == read.lc != clock.LAST:
            self.flaw("order", row.device, row.seq, f"the logical clock of {name} runs backwards")
        if read.at < before.at:
            self.flaw(
                "clock",
                row.device,
                row.seq,
                f"the wall clock of {row.device} was set back: {name} says {read.at_text}, "
                f"the one before it {before.at_text}",
            )
        elif read.lc[0] - read.at.timestamp() * 1000 > AHEAD_MS:
            self.flaw(
                "clock",
                row.device,
                row.seq,
                f"the wall clock of {name} is more than 24 h behind what it had seen; "
                "one of the two clocks is wrong",
            )

    def against(self, heads: Iterable[Head]) -> None:
        for head in heads:
            chain: Mapping[int, str] = self.hashes.get(head.device, {})
            here = chain.get(head.seq)
            who = {
                "outside": "a head kept outside",
                "table": "the table of heads",
            }.get(head.kept_by, f"an entry of {head.kept_by}")
            if here is None:
                newest = max(chain, default=0)
                if head.seq < newest:
                    continue
                missing = (
                    f"entry {newest + 1}"
                    if head.seq == newest + 1
                    else f"entries {newest + 1} to {head.seq}"
                )
                self.flaw(
                    "truncated",
                    head.device,
                    newest + 1,
                    f"the chain of {head.device} was cut short: {missing} missing, "
                    f"though {who} names entry {head.seq}",
                )
            elif not here.startswith(head.hash):
                self.flaw(
                    "contradicted",
                    head.device,
                    head.seq,
                    f"entry {head.seq} of {head.device} is not the one that {who} names: "
                    "it was written anew, or the device has two histories",
                )
