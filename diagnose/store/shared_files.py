"""Photos and files of a shared casebook: on the server, with copies on each machine.

The server keeps each file once, under its hash, and lets nobody change or take
it out; it refuses content that does not hash to its name.  The folder on a
machine is a cache: it may be emptied at any time, and what lies in it counts
only when its hash is right.  A file is checked here, never by the server's
word alone.
"""

from __future__ import annotations

import contextlib
import hashlib
from collections.abc import Iterator, Mapping
from pathlib import Path

from diagnose.errors import DiagnoseError, NotFoundError, StoreError
from diagnose.store import sql
from diagnose.store.attachments import CHANGED, FolderFiles, Spoilt, SpoiltError, digest_of
from diagnose.store.engine import Engine

PIECE = 4 * 1024 * 1024
"""Bytes that are asked of the server at a time."""


class SharedFiles:
    """Files on the server of a shared casebook, through a folder of this machine."""

    nowhere = "neither on the server nor on this machine"

    def __init__(self, engine: Engine, folder: Path) -> None:
        self.engine = engine
        self.cache = FolderFiles(folder)

    def keep(self, data: bytes, extension: str) -> str:
        """Keep the content of a file on the server; when this returns, it is there.

        Any number of writers may keep the same file at once: it is there once.

        Raises
        ------
        SpoiltError
            When the server holds this file already, but altered.
        StoreError
            When the kind is not allowed, the file is too large, or the server fails.
        """
        digest = digest_of(data, extension)
        if not self.holds(digest):
            self.engine.run(sql.ADD_FILE, {"hash": digest, "extension": extension, "data": data})
        elif self._digest_there(digest) != digest:
            raise SpoiltError(f"the file {digest[:16]} {self._altered}")
        self._copy_here(data, extension)
        return digest

    def holds(self, digest: str) -> bool:
        """Return whether the server has a file of that hash."""
        return bool(self.engine.rows(sql.HAS_FILE, {"hash": digest}))

    def kinds(self) -> Mapping[str, str]:
        """Return the extension of every file by hash: those of the server and those only here."""
        there = {str(digest): str(kind) for digest, kind in self.engine.rows(sql.GET_FILES)}
        return dict(sorted({**self.cache.kinds(), **there}.items()))

    def only_here(self) -> tuple[str, ...]:
        """Return the hashes of sound files on this machine that the server lacks."""
        there = {str(digest) for digest, _ in self.engine.rows(sql.GET_FILES)}
        return tuple(
            digest
            for digest in self.cache.kinds()
            if digest not in there and self.cache.holds(digest)
        )

    def place(self, digest: str) -> Path:
        """Return where a sound copy lies on this machine, fetched where need be."""
        try:
            return self.cache.place(digest)
        except (NotFoundError, StoreError) as error:
            self.cache.keep(*self._fetch(digest, error))
        return self.cache.place(digest)

    def read(self, digest: str) -> bytes:
        """Return the content of a file, from a sound copy here or else from the server."""
        try:
            return self.cache.read(digest)
        except (NotFoundError, StoreError) as error:
            data, extension = self._fetch(digest, error)
        self._copy_here(data, extension)
        return data

    def spoilt(self) -> tuple[Spoilt, ...]:
        """Return every file that was altered on the server, or is only here and was changed."""
        there = [str(digest) for digest, _ in self.engine.rows(sql.GET_FILES)]
        altered = (digest for digest in there if self._digest_there(digest) != digest)
        lonely = set(self.cache.kinds()) - set(there)
        return (
            *(Spoilt(digest, self._altered) for digest in altered),
            *(spoilt for spoilt in self.cache.spoilt() if spoilt.digest in lonely),
        )

    @property
    def _altered(self) -> str:
        return f"{CHANGED}, in {self.engine.where}"

    def _fetch(self, digest: str, here: DiagnoseError) -> tuple[bytes, str]:
        """Return content and extension from the server; `here` is why the copy here will not do."""
        found = self.engine.rows(sql.HAS_FILE, {"hash": digest})
        if not found:
            if isinstance(here, SpoiltError):
                raise here
            raise NotFoundError(f"the file {digest[:16]} is {self.nowhere}")
        data = b"".join(self._pieces(digest))
        if hashlib.sha256(data).hexdigest() != digest:
            raise SpoiltError(f"the file {digest[:16]} {self._altered}")
        return data, str(found[0][0])

    def _digest_there(self, digest: str) -> str:
        """Return the hash of what the server holds under a hash, worked out here."""
        hashed = hashlib.sha256()
        for piece in self._pieces(digest):
            hashed.update(piece)
        return hashed.hexdigest()

    def _pieces(self, digest: str) -> Iterator[bytes]:
        start = 1
        while True:
            asked = {"hash": digest, "start": start, "size": PIECE}
            found = self.engine.rows(sql.PIECE_OF_FILE, asked)
            piece = bytes(found[0][0]) if found else b""
            yield piece
            if len(piece) < PIECE:
                return
            start += PIECE

    def _copy_here(self, data: bytes, extension: str) -> None:
        """Put a copy into the folder; the file is safe on the server where that fails."""
        with contextlib.suppress(StoreError):
            self.cache.keep(data, extension)
