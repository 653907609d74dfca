"""Photos and logger files, kept beside the casebook under the hash of their content.

The name a file had elsewhere is never used as a path.  A file is written
beside its place, synced and renamed, so that it is there whole or not at all.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import re
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from diagnose.errors import NotFoundError, StoreError
from diagnose.store import sql

if TYPE_CHECKING:
    from diagnose.store.engine import Engine

EXTENSIONS = ("jpg", "png", "webp", "csv", "txt", "pdf")
LARGEST = 64 * 1024 * 1024
"""Largest attachment in bytes."""
FILE_KEPT = "file-kept"
"""Kind of the entry that names a kept file other than a photo."""

_NAME = re.compile(r"([0-9a-f]{64})\.(" + "|".join(EXTENSIONS) + ")")
_HASH = re.compile(r"[0-9a-f]{64}")
_NAMED = re.compile(r'"photos\.[^".]+\.sha256":"([0-9a-f]{64})"')
_SINGLE = re.compile(r'"path":"photos\.[^".]+\.sha256".*"value":"([0-9a-f]{64})"')
_KEPT = re.compile(r'"sha256":"([0-9a-f]{64})"')


def folder_of(casebook: Path) -> Path:
    """Return the folder that holds the attachments of a casebook file."""
    return casebook.with_name(casebook.name + ".files")


def keep(folder: Path, data: bytes, extension: str) -> str:
    """Keep the content of a file and return its SHA-256, the name it goes by.

    Raises
    ------
    StoreError
        When the kind is not allowed, the file is too large, or the disk fails.
    """
    if extension not in EXTENSIONS:
        raise StoreError(
            f"a file of the kind {extension!r:.20} is not kept; allowed are {', '.join(EXTENSIONS)}"
        )
    if len(data) > LARGEST:
        raise StoreError(f"a file of {len(data)} bytes is too large; at most {LARGEST} are kept")
    digest = hashlib.sha256(data).hexdigest()
    place = folder / digest[:2] / f"{digest}.{extension}"
    if place.exists():
        return digest
    try:
        place.parent.mkdir(parents=True, exist_ok=True)
        _write(place, data)
    except OSError as error:
        raise StoreError(f"the file cannot be kept in {folder}: {error.strerror}") from error
    return digest


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


def find(folder: Path, digest: str) -> Path:
    """Return the place of an attachment by its SHA-256.

    Raises
    ------
    NotFoundError
        When it is not kept here.
    """
    if _HASH.fullmatch(digest):
        for extension in EXTENSIONS:
            place = folder / digest[:2] / f"{digest}.{extension}"
            if place.is_file():
                return place
    raise NotFoundError(f"no file with the hash {digest[:16]} is kept in {folder}")


def every(folder: Path) -> Iterator[tuple[str, Path]]:
    """Return hash and place of every attachment, by hash."""
    if not folder.is_dir():
        return
    for place in sorted(folder.glob("[0-9a-f][0-9a-f]/*")):
        found = _NAME.fullmatch(place.name)
        if found and place.is_file():
            yield found[1], place


def spoilt(folder: Path) -> tuple[str, ...]:
    """Return a sentence for every attachment whose content no longer fits its name."""
    found: list[str] = []
    for digest, place in every(folder):
        try:
            with place.open("rb") as file:
                now = hashlib.file_digest(file, "sha256").hexdigest()
        except OSError as error:
            found.append(f"the file {place.name} cannot be read: {error.strerror}")
            continue
        if now != digest:
            found.append(f"the file {place.name} was changed: its content has another hash")
    return tuple(found)


def missing(engine: Engine, folder: Path) -> tuple[str, ...]:
    """Return the hashes that entries name as photos or kept files, of which none is here."""
    here = {digest for digest, _ in every(folder)}
    named: set[str] = set()
    for (text,) in engine.rows(sql.TEXTS_LIKE, {"like": "%photos.%.sha256%"}):
        named.update(_NAMED.findall(str(text)), _SINGLE.findall(str(text)))
    for (text,) in engine.rows(sql.TEXTS_OF_KIND, {"kind": FILE_KEPT}):
        named.update(_KEPT.findall(str(text)))
    return tuple(sorted(named - here))
