"""Which photos and files the entries name, and what is wrong with those that are kept."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from diagnose.errors import StoreError
from diagnose.store import sql
from diagnose.store.attachments import Files
from diagnose.store.engine import Engine
from diagnose.store.entry import Entry
from diagnose.store.fold import values_in
from diagnose.store.parse import stored
from diagnose.store.project import columns_of

FILE_KEPT = "file-kept"
"""Kind of the entry that names a kept file other than a photo."""

ONLY_HERE = (
    "is on this machine only, not on the server; a bundle made here and merged here puts it there"
)

_HASH = re.compile(r"[0-9a-f]{64}")
_PHOTO = re.compile(r"photos\.([^.]+)\.sha256")


@dataclass(frozen=True, slots=True, order=True)
class Named:
    """One mention of a file: the job, and what the job calls it."""

    job: str
    name: str
    """`photo P1`, or the name the file had."""

    def __str__(self) -> str:
        return f"{self.name} of the job {self.job}"


def named_files(engine: Engine) -> Mapping[str, tuple[Named, ...]]:
    """Return every hash that entries name as a photo or kept file, with who names it.

    Entries that cannot be read are passed over; `verify` names them.
    """
    found: dict[str, set[Named]] = {}
    queries = (
        (sql.ENTRIES_LIKE, {"like": "%photos.%.sha256%"}),
        (sql.ENTRIES_OF_KIND, {"kind": FILE_KEPT}),
    )
    for query, asked in queries:
        for text, hashed in engine.rows(query, asked):
            try:
                entry = stored(str(text), str(hashed))
            except StoreError:
                continue
            for digest, name in _names(entry):
                found.setdefault(digest, set()).add(Named(columns_of(entry).job or "", name))
    return {digest: tuple(sorted(found[digest])) for digest in sorted(found)}


def _names(entry: Entry) -> Iterator[tuple[str, str]]:
    if entry.kind == FILE_KEPT:
        file = entry.body.get("file")
        if isinstance(file, Mapping) and _is_hash(file.get("sha256")):
            yield str(file["sha256"]), str(file.get("name", ""))
        return
    for path, value in values_in(entry).items():
        photo = _PHOTO.fullmatch(path)
        if photo and _is_hash(value):
            yield str(value), f"photo {photo[1]}"


def _is_hash(value: object) -> bool:
    return isinstance(value, str) and _HASH.fullmatch(value) is not None


@dataclass(frozen=True, slots=True)
class FileFlaw:
    """One file that was changed or is not where it should be."""

    digest: str
    named: tuple[Named, ...]
    what: str

    def __str__(self) -> str:
        names = ", ".join(str(each) for each in self.named)
        return f"{names or 'a file that no entry names'} ({self.digest[:16]}) {self.what}"


@dataclass(frozen=True, slots=True)
class FileFlaws:
    """What a check of the kept files found."""

    spoilt: tuple[FileFlaw, ...]
    """Files whose content was changed: the casebook is not sound."""
    missing: tuple[FileFlaw, ...]
    """Files that entries name and that are not kept; they may be elsewhere."""


def check_files(engine: Engine, files: Files) -> FileFlaws:
    """Read every kept file, compare it with its hash, and look for those that entries name."""
    named = named_files(engine)
    kept = files.kinds()
    spoilt = {spoilt.digest: spoilt.why for spoilt in files.spoilt()}
    missing = {digest: f"is {files.nowhere}" for digest in named if digest not in kept}
    missing |= dict.fromkeys(files.only_here(), ONLY_HERE)
    return FileFlaws(_flaws(spoilt, named), _flaws(missing, named))


def _flaws(
    found: Mapping[str, str], named: Mapping[str, tuple[Named, ...]]
) -> tuple[FileFlaw, ...]:
    return tuple(FileFlaw(digest, named.get(digest, ()), what) for digest, what in found.items())
