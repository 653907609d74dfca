"""The casebook: entries are added, read, checked and copied, never changed.

The entries are the truth.  Every other table but the personal data follows
from them and can be filled again (`Casebook.rebuild`).  The clock is passed
in; the only chance here is the random name of a new chain.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable, Iterable, Mapping
from contextlib import AbstractContextManager
from dataclasses import replace
from datetime import datetime
from pathlib import Path
from types import TracebackType
from typing import TYPE_CHECKING, Any

from diagnose.errors import StoreError
from diagnose.store import clock, project, sql
from diagnose.store.chain import Head
from diagnose.store.engine import Engine
from diagnose.store.entry import (
    CHAIN_STARTED,
    FIRST_PREV,
    Entry,
    canonical,
    hash_text,
    tidy_body,
    utc_text,
)
from diagnose.store.heads import heads_in, set_aside_in
from diagnose.store.parse import check_kind, stored
from diagnose.store.token import Token

if TYPE_CHECKING:
    from diagnose.store.audit import Report
    from diagnose.store.derived import Difference


class Casebook:
    """An open casebook; use it as a context manager."""

    def __init__(self, engine: Engine, token: Path | None = None) -> None:
        self.engine = engine
        self._token = Token(token) if token else None

    @classmethod
    def open(
        cls,
        path: Path,
        *,
        create: bool = False,
        token: Path | None = None,
        wait: float | None = None,
    ) -> Casebook:
        """Open the casebook in a file, or make it where `create` is given.

        `token` is a small file kept apart from the casebook, in which the
        newest own entry is noted.  It shows when the casebook was replaced by
        an older copy; the next entry then starts a new chain.  `wait` is how
        many seconds to wait for another writer.

        Raises
        ------
        NotFoundError
            When there is no such file.
        StoreError
            When it is no casebook, is damaged, too new, or cannot be written.
        """
        from diagnose.store.sqlite import WAIT_SECONDS, SqliteEngine

        return cls(
            SqliteEngine(path, create=create, wait=WAIT_SECONDS if wait is None else wait), token
        )

    def __enter__(self) -> Casebook:
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self.close()

    def close(self) -> None:
        """Close the connection; nothing is pending, every entry was committed."""
        self.engine.close()

    def reading(self) -> AbstractContextManager[None]:
        """Hold one unchanging view over several reads."""
        return self.engine.reading()

    def append(self, kind: str, body: Mapping[str, Any], *, at: datetime) -> Entry:
        """Add one entry; when this returns, it is on the disk.

        `at` is the wall clock now, with its offset.
        """
        return self.append_many([(kind, body)], at=at)[0]

    def append_many(
        self,
        items: Iterable[tuple[str, Mapping[str, Any]]],
        *,
        at: datetime,
        then: Callable[[Iterable[Entry]], None] | None = None,
    ) -> tuple[Entry, ...]:
        """Add entries in one transaction: all of them or none.

        `then` is what goes with them, in the same transaction.
        """
        ready = [(kind, tidy_body(body)) for kind, body in items]
        for kind, _ in ready:
            check_kind(kind)
        stamp = utc_text(at)
        wall = clock.wall_ms(at)
        with self.engine.writing():
            start = self._new_chain()
            added = self._add([*start, *ready], stamp, wall)
            project.entries_added(self.engine, added)
            if then:
                then(added)
        if self._token and added:
            newest = added[-1]
            self._token.write(newest.device, newest.seq, newest.hash)
        return tuple(added[len(start) :])

    def _device(self) -> str | None:
        found = self.engine.rows(sql.GET_META, {"name": "device"})
        return str(found[0][0]) if found else None

    def _new_chain(self) -> list[tuple[str, dict[str, Any]]]:
        """Start a new chain where this copy may not go on; return what its first entry tells."""
        device = self._device()
        if device is None:
            self._new_device()
            return []
        reason = self._token.objection(device, self._hash_at) if self._token else ""
        heads = self.engine.rows(sql.GET_HEAD, {"device": device})
        if not reason and heads and self._written_elsewhere(device, str(heads[0][1])):
            # Another copy goes on with this chain as well; a third history helps nobody.
            reason = "two-histories"
        if not (reason and heads):
            return []
        self._new_device()
        return [(CHAIN_STARTED, {"old": [device, heads[0][0], heads[0][1]], "reason": reason})]

    def _written_elsewhere(self, device: str, newest: str) -> bool:
        """Return whether entries of the own chain came from another copy of this casebook."""
        if self.engine.rows(sql.HAS_TWO_HISTORIES, {"device": device}):
            return True
        came_in = self.engine.rows(sql.GET_META, {"name": sql.OWN_CAME_IN})
        noted = bool(came_in) and str(came_in[0][0]) == device
        # After a backup was restored, what comes in again is what this copy itself wrote.
        return noted and not (self._token and self._token.names(device, newest))

    def _new_device(self) -> None:
        self.engine.run(sql.SET_META, {"name": "device", "value": str(uuid.uuid4())})

    def _hash_at(self, device: str, seq: int) -> str | None:
        found = self.engine.rows(sql.HASH_AT, {"device": device, "seq": seq})
        return str(found[0][0]) if found else None

    def _add(
        self, items: Iterable[tuple[str, Mapping[str, Any]]], stamp: str, wall: int
    ) -> list[Entry]:
        """Build the next entries of the own chain and store them."""
        engine = self.engine
        device = self._device()
        assert device is not None
        head = engine.rows(sql.GET_HEAD, {"device": device})
        seq, prev = (int(head[0][0]), str(head[0][1])) if head else (0, FIRST_PREV)
        last = engine.rows(sql.LATEST_STAMP)
        lc = (int(last[0][0]), int(last[0][1])) if last else None
        seen = {
            str(other): (int(number), str(hashed))
            for other, number, hashed in engine.rows(sql.NOT_CITED, {"device": device})
        }
        added: list[Entry] = []
        rows: list[dict[str, Any]] = []
        for kind, body in items:
            seq, lc = seq + 1, clock.tick(lc, wall)
            entry = Entry(
                device=device, seq=seq, prev=prev, at=stamp, lc=lc, kind=kind, body=body, seen=seen
            )
            text = canonical(entry)
            prev, seen = hash_text(text), {}
            added.append(replace(entry, hash=prev))
            rows.append(project.row_of(added[-1], text.decode("utf-8")))
        engine.run_many(sql.ADD_ENTRY, rows)
        project.heads_of(engine, added)
        return added

    def entries(
        self, *, job: str | None = None, kind: str | None = None, case: str | None = None
    ) -> tuple[Entry, ...]:
        """Return entries in the order that every copy agrees on, filtered by what is given."""
        wanted = {"job": job, "kind": kind, "case": case}
        given = {name: value for name, value in wanted.items() if value is not None}
        where = " and ".join(sql.FILTERS[name] for name in given)
        query = sql.SELECT_ENTRIES + (f" where {where}" if where else "") + sql.ORDER_ENTRIES
        return tuple(stored(text, hashed) for text, hashed in self.engine.rows(query, given))

    def entry_at(self, device: str, seq: int) -> Entry | None:
        """Return one entry by its chain and number; None if it is not there."""
        found = self.engine.rows(sql.TEXT_AT, {"device": device, "seq": seq})
        return stored(*found[0]) if found else None

    def count(self) -> int:
        """Return how many entries there are."""
        return int(self.engine.rows(sql.COUNT_ENTRIES)[0][0])

    def heads(self) -> tuple[Head, ...]:
        """Return the newest entry of every chain, to be printed or sent."""
        return heads_in(self.engine)

    def own_head(self) -> Head | None:
        """Return the newest entry of this copy's own chain; None before the first."""
        device = self._device()
        return next((head for head in self.heads() if head.device == device), None)

    def quarantine(self) -> tuple[tuple[str, int, str, str], ...]:
        """Return entries that contradict a stored one: device, number, hash, text."""
        return set_aside_in(self.engine)

    def verify(self, heads: Iterable[Head] = ()) -> Report:
        """Check the file and every chain; `heads` are ones that were kept elsewhere."""
        from diagnose.store.audit import audit

        return audit(self.engine, heads)

    def differences(self) -> tuple[Difference, ...]:
        """Return every derived table that does not say what the entries say.

        This folds every job and case anew, so it takes longer than `verify`.

        Raises
        ------
        StoreError
            When an entry cannot be read; `verify` names it.
        """
        from diagnose.store.derived import differences, index_differs

        with self.reading():
            found = differences(self.engine)
        return found + index_differs(self.engine)

    def rebuild(self) -> int:
        """Fill every derived table afresh from the entries; return how many entries.

        Raises
        ------
        StoreError
            When an entry is missing that the table of heads still names: the
            trace of a cut chain would be lost.
        """
        with self.engine.writing():
            for head in self.heads():
                if self._hash_at(head.device, head.seq) != head.hash:
                    raise StoreError(
                        f"entry {head.seq} of {head.device} is missing or was changed; "
                        "verify the casebook before anything is rebuilt"
                    )
            return project.rebuild(self.engine)

    def backup(self, to: Path) -> Report:
        """Write a whole copy to a new file and check that copy from end to end.

        Raises
        ------
        StoreError
            When the file is there already, or holds flaws that are not here.
        """
        heads = self.heads()
        self.engine.backup(to)
        with Casebook.open(to) as copy:
            report = copy.verify(heads)
        if not report.sound:
            # What is wrong here is wrong in a true copy as well.
            here = self.verify(heads)
            new = [text for text in report.sentences if text not in here.sentences]
            if new:
                raise StoreError(f"the backup {to} does not verify: {new[0]}")
        return report
