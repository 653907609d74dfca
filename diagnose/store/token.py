"""The token that shows a restored or copied casebook.

Two copies of a casebook that both go on with the same chain would give it two
histories.  The token is a small file outside the casebook that names the
newest own entry.  A casebook that lacks that entry, or that has no token on
this machine, is a copy: it starts a chain of its own.  A token older than the
casebook is in order: it is written after the commit.
"""

from __future__ import annotations

import contextlib
import json
import os
import tempfile
from collections.abc import Callable
from pathlib import Path

from diagnose.errors import StoreError

LONGEST = 4_096


class Token:
    """The token file of one casebook on this machine."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def objection(self, device: str, hash_at: Callable[[str, int], str | None]) -> str:
        """Return why the chain `device` may not go on here; empty when it may.

        `hash_at` gives the hash of a stored entry, or None.
        """
        kept = self._read()
        if kept is None:
            return "copied"
        kept_device, seq, hashed = kept
        if kept_device != device:
            return "copied"
        return "" if hash_at(device, seq) == hashed else "restored-backup"

    def names(self, device: str, hashed: str) -> bool:
        """Return whether an entry is the newest that was written here."""
        kept = self._read()
        return kept is not None and (kept[0], kept[2]) == (device, hashed)

    def _read(self) -> tuple[str, int, str] | None:
        try:
            with self.path.open("rb") as file:
                raw = json.loads(file.read(LONGEST))
            return str(raw["device"]), int(raw["seq"]), str(raw["hash"])
        except FileNotFoundError:
            return None
        except OSError as error:
            raise StoreError(f"the token file {self.path} cannot be read") from error
        except (ValueError, KeyError, TypeError, RecursionError):
            return None

    def write(self, device: str, seq: int, hashed: str) -> None:
        """Note the newest own entry; the file is replaced whole.

        Raises
        ------
        StoreError
            When the file cannot be written.  The entry itself is stored.
        """
        text = json.dumps({"device": device, "seq": seq, "hash": hashed})
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            handle, name = tempfile.mkstemp(dir=self.path.parent, prefix=".token-")
            try:
                with os.fdopen(handle, "w", encoding="utf-8") as file:
                    file.write(text)
                os.replace(name, self.path)
            except BaseException:
                with contextlib.suppress(OSError):
                    os.unlink(name)
                raise
        except OSError as error:
            raise StoreError(
                f"the entry was stored, but the token file {self.path} cannot be written"
            ) from error
