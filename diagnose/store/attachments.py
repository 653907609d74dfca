"""Photos and logger files, kept under the hash of their content.

A casebook in a file keeps them in a folder beside it; a shared one keeps them
on the server, and the folder is only a copy for this machine (`shared_files`).
The name a file had elsewhere is never used as a path.  A file is written
beside its place, synced and renamed, so that it is there whole or not at all.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
import tempfile
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from diagnose.errors import NotFoundError, StoreError

EXTENSIONS = ("jpg", "png", "webp", "csv", "txt", "pdf")
LARGEST = 64 * 1024 * 1024
"""Largest attachment in bytes."""

_NAME = re.compile(r"([0-9a-f]{64})\.(" + "|".join(EXTENSIONS) + ")")
_HASH = re.compile(r"[0-9a-f]{64}")


class SpoiltError(StoreError):
    """A file is there, but its content no longer hashes to its name."""


@dataclass(frozen=True, slots=True)
class Spoilt:
    """One file that cannot be trusted or read."""

    digest: str
    why: str
    """What is wrong, to be read after the name of the file."""


class Files(Protocol):
    """Where the photos and files of one casebook are kept."""

    nowhere: str
    """What a message says of a file that is not kept."""

    def keep(self, data: bytes, extension: str) -> str:
        """Keep the content of a file for good and return its SHA-256, the name it goes by."""

    def holds(self, digest: str) -> bool:
        """Return whether a file need not be brought here again."""

    def kinds(self) -> Mapping[str, str]:
        """Return the extension of every file that is kept, by hash."""

    def place(self, digest: str) -> Path:
        """Return where a file lies on this machine, its content checked against its hash.

        Raises
        ------
        NotFoundError
            When no such file is kept.
        SpoiltError
            When its content was changed.
        """

    def read(self, digest: str) -> bytes:
        """Return the content of a file, checked; errors as for `place`."""

    def spoilt(self) -> tuple[Spoilt, ...]:
        """Read every file that is kept and return those whose content was changed."""

    def only_here(self) -> tuple[str, ...]:
        """Return the hashes of sound files on this machine that should be shared but are not."""


def folder_of(casebook: Path) -> Path:
    """Return the folder that holds the attachments of a casebook file."""
    return casebook.with_name(casebook.name + ".files")


def digest_of(data: bytes, extension: str) -> str:
    """Return the SHA-256 of a file that may be kept.

    Raises
    ------
    StoreError
        When the kind is not allowed or the file is too large.
    """
    if extension not in EXTENSIONS:
        raise StoreError(
            f"a file of the kind {extension!r:.20} is not kept; allowed are {', '.join(EXTENSIONS)}"
        )
    if len(data) > LARGEST:
        raise StoreError(f"a file of {len(data)} bytes is too large; at most {LARGEST} are kept")
    return hashlib.sha256(data).hexdigest()


class FolderFiles:
    """Files in a folder of this machine."""

    nowhere = "not on this machine"

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.where = str(folder)

    def keep(self, data: bytes, extension: str) -> str:
        """Keep the content of a file; one that is there but was spoilt is put right.

        Raises
        ------
        StoreError
            When the kind is not allowed, the file is too large, or the disk fails.
        """
        digest = digest_of(data, extension)
        if self.holds(digest):
            return digest
        place = self._find(digest) or self.folder / digest[:2] / f"{digest}.{extension}"
        try:
            place.parent.mkdir(parents=True, exist_ok=True)
            _write(place, data)
        except OSError as error:
            raise StoreError(
                f"the file cannot be kept in {self.where}: {error.strerror}"
            ) from error
        return digest

    def holds(self, digest: str) -> bool:
        """Return whether a sound copy is here."""
        place = self._find(digest)
        return place is not None and not _trouble(place, digest)

    def kinds(self) -> Mapping[str, str]:
        """Return the extension of every file by hash, spoilt ones too."""
        return {digest: place.suffix.removeprefix(".") for digest, place in self._every()}

    def place(self, digest: str) -> Path:
        """Return where a file lies; see `Files`."""
        place = self._find(digest)
        if place is None:
            raise NotFoundError(f"no file with the hash {digest[:16]} is kept in {self.where}")
        if trouble := _trouble(place, digest):
            raise SpoiltError(f"the file {digest[:16]} {trouble}")
        return place

    def read(self, digest: str) -> bytes:
        """Return the content of a file; see `Files`."""
        place = self.place(digest)
        try:
            data = place.read_bytes()
        except OSError as error:
            raise StoreError(f"the file {place} cannot be read: {error.strerror}") from error
        if hashlib.sha256(data).hexdigest() != digest:
            raise SpoiltError(f"the file {digest[:16]} {CHANGED}")
        return data

    def spoilt(self) -> tuple[Spoilt, ...]:
        """Return every file whose content no longer fits its name."""
        found = ((digest, _trouble(place, digest)) for digest, place in self._every())
        return tuple(Spoilt(digest, trouble) for digest, trouble in found if trouble)

    def only_here(self) -> tuple[str, ...]:
        """Return nothing: this folder is the place where they belong."""
        return ()

    def _find(self, digest: str) -> Path | None:
        if _HASH.fullmatch(digest):
            for extension in EXTENSIONS:
                place = self.folder / digest[:2] / f"{digest}.{extension}"
                if place.is_file():
                    return place
        return None

    def _every(self) -> Iterator[tuple[str, Path]]:
        if not self.folder.is_dir():
            return
        for place in sorted(self.folder.glob("[0-9a-f][0-9a-f]/*")):
            found = _NAME.fullmatch(place.name)
            if found and place.parent.name == found[1][:2] and place.is_file():
                yield found[1], place


CHANGED = "was changed: its content has another hash"


def _trouble(place: Path, digest: str) -> str:
    """Return what is wrong with a file, or nothing."""
    try:
        with place.open("rb") as file:
            now = hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as error:
        return f"cannot be read: {error.strerror}"
    return "" if now == digest else CHANGED


def _write(place: Path, data: bytes) -> None:
    handle, name = tempfile.mkstemp(dir=place.parent, prefix=".new-")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.replace(name, place)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(name)
        raise
    if os.name != "nt":
        folder = os.open(place.parent, os.O_RDONLY)
        try:
            os.fsync(folder)
        finally:
            os.close(folder)
