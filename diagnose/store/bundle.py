"""Bundles: a casebook's entries and files in one zip, to carry to another device.

A bundle that comes in is hostile until shown otherwise.  Nothing is ever
extracted by the names inside it: names are matched against a short list,
sizes are capped before and while reading, and files must hash to their name.
"""

from __future__ import annotations

import hashlib
import re
import stat
import struct
import zipfile
import zlib
from collections.abc import Iterable, Iterator, Set
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from diagnose.errors import InputError, NotFoundError, Position, Problem, StoreError
from diagnose.store import attachments, lines, people
from diagnose.store.attachments import Files, SpoiltError
from diagnose.store.chain import Head
from diagnose.store.journal import Casebook
from diagnose.store.merge import Merged, merge, texts_of

JOURNAL = "journal.jsonl"
LARGEST_JOURNAL = 256 * 1024 * 1024
LARGEST_TOTAL = 1024 * 1024 * 1024
MOST_MEMBERS = 20_000
HIGHEST_RATIO = 200
"""Bytes out for each byte in; text of entries packs by 5 to 20."""
STEP = 64 * 1024

_ATTACHMENT = re.compile(
    r"files/([0-9a-f]{2})/(\1[0-9a-f]{62})\.(" + "|".join(attachments.EXTENSIONS) + ")"
)
_HASH = re.compile(r"[0-9a-f]{64}")
_BROKEN = (
    zipfile.BadZipFile,
    zlib.error,
    struct.error,
    ValueError,
    EOFError,
    OSError,
    NotImplementedError,
    RuntimeError,
    OverflowError,
    IndexError,
    KeyError,
)
"""What the zip module was seen to raise on mutated archives."""


@dataclass(frozen=True, slots=True)
class Sent:
    """What went into a bundle."""

    entries: int
    files: int
    left_out: tuple[str, ...] = ()
    """Hashes of files whose content was changed; nobody would take them in."""


@dataclass(frozen=True, slots=True)
class Taken:
    """What taking in a bundle did."""

    merged: Merged
    files: int
    """Attachments that were not here before."""


def export(
    casebook: Casebook,
    to: Path,
    *,
    files: Files | None = None,
    since: Iterable[Head] = (),
    with_people: bool = True,
) -> Sent:
    """Write a bundle to a new file.

    `files` is where the casebook keeps its photos and files; `since` are heads
    that the other side has already, so that only what is newer is sent, with
    the files that it names.

    Raises
    ------
    StoreError
        When the file is there already, cannot be written, or would be larger
        than anybody takes in; nothing is left behind then.
    """
    if to.exists():
        raise StoreError(f"{to} is there already; a bundle is never written over a file")
    with casebook.reading():
        aside = casebook.quarantine()
        have = {head.device: head.seq for head in since if not _names_one(head, aside)}
        texts = [text for text in texts_of(casebook) if _newer(text, have)]
        if have:
            # The other side can have the entries that stand without those that do not.
            had = set(texts)
            texts += [text for *_, text in aside if text not in had]
        persons = people.everyone(casebook) if with_people else ()
    wanted = {found for text in texts for found in _HASH.findall(text)} if have else None
    try:
        archive = zipfile.ZipFile(to, "x", zipfile.ZIP_DEFLATED)
    except OSError as error:
        raise _unwritable(to, error) from error
    try:
        with archive:
            with archive.open(JOURNAL, "w") as member:
                for line in lines.write(texts, persons):
                    member.write(line)
            _check_journal(archive.getinfo(JOURNAL), len(texts) + len(persons) + 2)
            kept, left_out = _write_files(archive, files, wanted) if files else (0, ())
    except BaseException as error:
        to.unlink(missing_ok=True)
        if isinstance(error, OSError):
            raise _unwritable(to, error) from error
        raise
    return Sent(len(texts), kept, left_out)


def _names_one(head: Head, aside: Iterable[tuple[str, int, str, str]]) -> bool:
    """Return whether a head is of a history that does not stand here."""
    return any(
        (device, seq) == (head.device, head.seq) and hashed.startswith(head.hash)
        for device, seq, hashed, _ in aside
    )


def _check_journal(info: zipfile.ZipInfo, count: int) -> None:
    """Refuse to send entries that nobody would take in."""
    if info.file_size > LARGEST_JOURNAL or count > lines.MOST_LINES:
        raise StoreError(
            f"the entries come to more than a bundle may hold ({LARGEST_JOURNAL} bytes or "
            f"{lines.MOST_LINES} lines); send only what is newer, or merge the casebook itself"
        )


def _unwritable(to: Path, error: OSError) -> StoreError:
    return StoreError(f"the bundle {to} cannot be written: {error.strerror}")


def _write_files(
    archive: zipfile.ZipFile, files: Files, wanted: Set[str] | None
) -> tuple[int, tuple[str, ...]]:
    kept = 0
    total = sum(info.file_size for info in archive.infolist())
    left_out: list[str] = []
    for digest, extension in files.kinds().items():
        if wanted is not None and digest not in wanted:
            continue
        try:
            data = files.read(digest)
        except SpoiltError:
            left_out.append(digest)
            continue
        total += len(data)
        if total > LARGEST_TOTAL or kept + 2 > MOST_MEMBERS:
            raise StoreError(
                f"the photos and files come to more than a bundle may hold ({LARGEST_TOTAL} bytes "
                f"or {MOST_MEMBERS} files); send only what is newer, or leave the files out"
            )
        name = f"files/{digest[:2]}/{digest}.{extension}"
        archive.writestr(name, data, compress_type=zipfile.ZIP_STORED)
        kept += 1
    return kept, tuple(left_out)


def _newer(text: str, have: dict[str, int]) -> bool:
    if not have:
        return True
    from diagnose.store.parse import read

    entry = read(text)
    return entry.seq > have.get(entry.device, 0)


def take_in(
    casebook: Casebook, path: Path, *, files: Files | None = None, now: datetime | None = None
) -> Taken:
    """Merge a bundle into a casebook, and its attachments into `files`.

    Raises
    ------
    InputError
        When the bundle is not one, is damaged or tries something; nothing of it is kept then.
    NotFoundError
        When there is no such file.
    """
    name = path.name
    with _opened(path) as archive:
        members = _checked(archive, name)
        journal = _bytes(archive, members[JOURNAL], LARGEST_JOURNAL, name)
        found = lines.read(journal, f"{name}, {JOURNAL}")
        wanted = [info for member, info in sorted(members.items()) if member != JOURNAL]
        for info in wanted:
            _attachment(archive, info, name)
        fresh = 0
        if files is not None:
            for info in wanted:
                fresh += _keep(files, info, _attachment(archive, info, name))
    merged = merge(casebook, found.entries, persons=found.persons, now=now)
    return Taken(merged, fresh)


@contextmanager
def _opened(path: Path) -> Iterator[zipfile.ZipFile]:
    name = path.name
    if not path.exists():
        raise NotFoundError(f"there is no bundle at {path}")
    try:
        with zipfile.ZipFile(path) as archive:
            yield archive
    except _BROKEN as error:
        raise _wrong(name, "the file is no bundle, or was damaged on its way") from error


def _checked(archive: zipfile.ZipFile, name: str) -> dict[str, zipfile.ZipInfo]:
    """Return the members by name, after everything that can be told without reading them."""
    infos = archive.infolist()
    if len(infos) > MOST_MEMBERS:
        raise _wrong(name, f"the bundle holds {len(infos)} files; at most {MOST_MEMBERS} may be")
    members: dict[str, zipfile.ZipInfo] = {}
    total = 0
    end = -1
    for info in sorted(infos, key=lambda info: info.header_offset):
        _check_member(info, name)
        if info.filename in members:
            raise _wrong(name, f"the file {info.filename} stands in it twice")
        if info.header_offset < end:
            raise _wrong(name, f"the file {info.filename} overlaps another")
        end = info.header_offset + 30 + len(info.filename) + info.compress_size
        total += info.file_size
        members[info.filename] = info
    if total > LARGEST_TOTAL:
        raise _wrong(name, f"the bundle unpacks to more than {LARGEST_TOTAL} bytes")
    if JOURNAL not in members:
        raise _wrong(name, f"the bundle has no {JOURNAL}")
    return members


def _check_member(info: zipfile.ZipInfo, name: str) -> None:
    shown = ascii(info.filename)[:80]
    if info.orig_filename != info.filename or (
        info.filename != JOURNAL and not _ATTACHMENT.fullmatch(info.filename)
    ):
        raise _wrong(name, f"a file of the name {shown} does not belong in a bundle")
    kind = stat.S_IFMT(info.external_attr >> 16)
    if kind not in (0, stat.S_IFREG):
        raise _wrong(name, f"{shown} is a link or a device, not a file")
    if info.flag_bits & 0x1:
        raise _wrong(name, f"{shown} is encrypted")
    if info.compress_type not in (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED):
        raise _wrong(name, f"{shown} is packed in a way that is not allowed")
    largest = LARGEST_JOURNAL if info.filename == JOURNAL else attachments.LARGEST
    if info.file_size > largest:
        raise _wrong(name, f"{shown} unpacks to {info.file_size} bytes; at most {largest} may be")
    if info.file_size > STEP and info.file_size > HIGHEST_RATIO * max(info.compress_size, 1):
        raise _wrong(name, f"{shown} swells more than {HIGHEST_RATIO} times")


def _bytes(archive: zipfile.ZipFile, info: zipfile.ZipInfo, largest: int, name: str) -> bytes:
    """Read a member in steps, never more than it said and never more than is allowed."""
    allowed = min(largest, info.file_size)
    parts: list[bytes] = []
    size = 0
    with archive.open(info) as member:
        while part := member.read(STEP):
            size += len(part)
            if size > allowed:
                raise _wrong(name, f"{info.filename} is larger than it says")
            parts.append(part)
    return b"".join(parts)


def _attachment(archive: zipfile.ZipFile, info: zipfile.ZipInfo, name: str) -> bytes:
    data = _bytes(archive, info, attachments.LARGEST, name)
    if hashlib.sha256(data).hexdigest() not in info.filename:
        raise _wrong(name, f"the content of {info.filename} does not hash to its name")
    return data


def _keep(files: Files, info: zipfile.ZipInfo, data: bytes) -> int:
    name = info.filename.rsplit("/", 1)[1]
    digest, extension = name.split(".")
    if files.holds(digest):
        return 0
    files.keep(data, extension)
    return 1


def _wrong(name: str, text: str) -> InputError:
    return InputError([Problem(Position(name), text, "nothing of it was taken in")])
