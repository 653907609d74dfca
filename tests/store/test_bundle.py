"""Bundles travel whole or not at all, and a hostile one does nothing."""

from __future__ import annotations

import contextlib
import io
import json
import random
import stat
import zipfile
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from diagnose.errors import DiagnoseError, InputError, NotFoundError, StoreError
from diagnose.store import bundle, lines
from diagnose.store.attachments import FolderFiles
from diagnose.store.bundle import JOURNAL, export, take_in
from diagnose.store.entry import canonical
from diagnose.store.jobs import import_changes, set_value, values_of
from diagnose.store.journal import Casebook
from diagnose.store.merge import merge, texts_of
from diagnose.store.parse import parse

PHOTO = b"\xff\xd8\xff invented photo"
MUTATED = pytest.mark.parametrize("trials", [1_000, pytest.param(20_000, marks=pytest.mark.bench)])
"""How many bundles are spoilt; the long form is run apart (see tests/bench/README.md)."""


@pytest.fixture
def sent(file_casebook: Casebook, tmp_path: Path, now: datetime) -> Path:
    """A good bundle with two entries, a name and a photo."""
    files = FolderFiles(tmp_path / "files")
    files.keep(PHOTO, "jpg")
    import_changes(
        file_casebook,
        "larch",
        {"title": "L", "contract.client": "A (invented)"},
        said_by="AB",
        at=now,
    )
    set_value(file_casebook, "larch", "method", "tile", said_by="AB", at=now)
    export(file_casebook, tmp_path / "good.bundle", files=files)
    return tmp_path / "good.bundle"


@pytest.fixture
def other(tmp_path: Path) -> Casebook:
    """The casebook of another device."""
    return Casebook.open(tmp_path / "other.db", create=True)


def test_a_bundle_brings_entries_names_and_photos(
    sent: Path, other: Casebook, tmp_path: Path, file_casebook: Casebook
) -> None:
    there = FolderFiles(tmp_path / "there")
    taken = take_in(other, sent, files=there)
    assert (taken.merged.added, taken.files) == (2, 1)
    assert values_of(other, "larch") == values_of(file_casebook, "larch")
    ((digest, extension),) = there.kinds().items()
    assert (there.read(digest), extension) == (PHOTO, "jpg")
    again = take_in(other, sent, files=there)
    assert (again.merged.added, again.files) == (0, 0)
    assert list(texts_of(other)) == list(texts_of(file_casebook))


def test_a_bundle_can_hold_only_what_is_newer(
    sent: Path, other: Casebook, tmp_path: Path, file_casebook: Casebook, now: datetime
) -> None:
    take_in(other, sent)
    set_value(file_casebook, "larch", "method", "adhered", said_by="AB", at=now + timedelta(1))
    assert export(file_casebook, tmp_path / "newer.bundle", since=other.heads()).entries == 1
    assert take_in(other, tmp_path / "newer.bundle").merged.added == 1
    assert other.verify().sound


@pytest.mark.parametrize("it_stands", [True, False])
def test_what_is_newer_goes_with_what_was_set_aside(
    sent: Path, other: Casebook, tmp_path: Path, file_casebook: Casebook, it_stands: bool
) -> None:
    take_in(other, sent)
    first = parse(next(iter(texts_of(file_casebook))))
    histories = (
        canonical(replace(first, body={"job": "larch", "note": f"another {number}"})).decode()
        for number in range(1_000)
    )
    wanted = next(text for text in histories if (parse(text).hash < first.hash) == it_stands)
    assert merge(file_casebook, [wanted]).forks
    export(file_casebook, tmp_path / "newer.bundle", since=other.heads())
    assert take_in(other, tmp_path / "newer.bundle").merged.forks
    assert list(texts_of(other)) == list(texts_of(file_casebook))


def test_a_bundle_that_nobody_would_take_in_is_not_written(
    file_casebook: Casebook, tmp_path: Path, now: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    set_value(file_casebook, "larch", "title", "L", said_by="AB", at=now)
    monkeypatch.setattr(bundle, "LARGEST_JOURNAL", 200)
    with pytest.raises(StoreError, match="more than a bundle may hold \\(200 bytes"):
        export(file_casebook, tmp_path / "large.bundle")
    assert not (tmp_path / "large.bundle").exists()


def test_a_bundle_can_leave_the_names_out(
    sent: Path, other: Casebook, tmp_path: Path, file_casebook: Casebook
) -> None:
    export(file_casebook, tmp_path / "nameless.bundle", with_people=False)
    take_in(other, tmp_path / "nameless.bundle")
    assert values_of(other, "larch")[0]["contract.client"] == "(removed on request)"
    with zipfile.ZipFile(tmp_path / "nameless.bundle") as archive:
        assert b"invented" not in archive.read(JOURNAL)


def test_a_bundle_is_never_written_over_a_file(sent: Path, file_casebook: Casebook) -> None:
    with pytest.raises(StoreError, match="there already"):
        export(file_casebook, sent)


def test_a_bundle_that_is_not_there_says_so(other: Casebook, tmp_path: Path) -> None:
    with pytest.raises(NotFoundError, match="no bundle at"):
        take_in(other, tmp_path / "none.bundle")


Writer = Callable[[zipfile.ZipFile, dict[str, bytes]], None]
GOOD_NAME = "files/ab/" + "ab" * 32 + ".jpg"


def plain(archive: zipfile.ZipFile, members: dict[str, bytes]) -> None:
    for name, data in members.items():
        archive.writestr(name, data)


def with_member(name: str, data: bytes = b"x", **attributes: int) -> Writer:
    def write(archive: zipfile.ZipFile, members: dict[str, bytes]) -> None:
        plain(archive, members)
        info = zipfile.ZipInfo(name)
        for attribute, value in attributes.items():
            setattr(info, attribute, value)
        archive.writestr(info, data)

    return write


def without_journal(archive: zipfile.ZipFile, members: dict[str, bytes]) -> None:
    members.pop(JOURNAL)
    plain(archive, members)


def swelling(archive: zipfile.ZipFile, members: dict[str, bytes]) -> None:
    members[JOURNAL] = b"{}\n" + b" " * 30_000_000
    for name, data in members.items():
        archive.writestr(name, data, compress_type=zipfile.ZIP_DEFLATED)


HOSTILE: dict[str, tuple[Writer, str]] = {
    "a path that climbs out": (with_member("../../evil.txt"), "does not belong"),
    "a path from the root": (with_member("/etc/evil"), "does not belong"),
    "a path of another system": (with_member("..\\evil.txt"), "does not belong"),
    "a drive letter": (with_member("C:\\evil.txt"), "does not belong"),
    "a program": (with_member("files/ab/" + "ab" * 32 + ".exe"), "does not belong"),
    "a name in capitals": (with_member(JOURNAL.upper()), "does not belong"),
    "a folder": (with_member("files/"), "does not belong"),
    "a name with a new line": (with_member(GOOD_NAME + "\n"), "does not belong"),
    "a link": (
        with_member(GOOD_NAME, b"/etc/passwd", external_attr=(stat.S_IFLNK | 0o777) << 16),
        "a link or a device",
    ),
    "a photo with another content": (with_member(GOOD_NAME), "does not hash"),
    "a photo in the wrong folder": (
        with_member("files/cd/" + "ab" * 32 + ".jpg"),
        "does not belong",
    ),
    "a name twice": (with_member(JOURNAL), "stands in it twice"),
    "another way of packing": (
        with_member(GOOD_NAME, compress_type=zipfile.ZIP_BZIP2),
        "packed in a way",
    ),
    "a swelling journal": (swelling, "swells more than 200 times"),
    "no journal": (without_journal, "has no journal.jsonl"),
}


def untouched(other: Casebook, folder: Path) -> None:
    assert other.entries() == ()
    assert not FolderFiles(folder).kinds()
    assert not list(folder.parent.rglob("*evil*"))


@pytest.mark.filterwarnings("ignore:Duplicate name")
@pytest.mark.parametrize("kind", HOSTILE)
def test_a_hostile_archive_does_nothing(
    sent: Path, other: Casebook, tmp_path: Path, kind: str
) -> None:
    write, words = HOSTILE[kind]
    with zipfile.ZipFile(sent) as archive:
        members = {name: archive.read(name) for name in archive.namelist()}
    hostile = tmp_path / "hostile.bundle"
    with zipfile.ZipFile(hostile, "w") as archive:
        write(archive, members)
    with pytest.raises(InputError, match=words):
        take_in(other, hostile, files=FolderFiles(tmp_path / "there"))
    untouched(other, tmp_path / "there")


def test_an_archive_whose_header_lies_does_nothing(
    sent: Path, other: Casebook, tmp_path: Path
) -> None:
    raw = bytearray(sent.read_bytes())
    entry = raw.rindex(b"PK\x01\x02")
    for lie in (b"\x05\x00\x00\x00", b"\xff\xff\xff\x0f"):
        raw[entry + 24 : entry + 28] = lie
        (tmp_path / "lie.bundle").write_bytes(raw)
        with pytest.raises(InputError):
            take_in(other, tmp_path / "lie.bundle", files=FolderFiles(tmp_path / "there"))
    untouched(other, tmp_path / "there")


def test_an_encrypted_member_is_refused(sent: Path, other: Casebook, tmp_path: Path) -> None:
    raw = bytearray(sent.read_bytes())
    raw[raw.index(b"PK\x01\x02") + 8] |= 1
    (tmp_path / "locked.bundle").write_bytes(raw)
    with pytest.raises(InputError, match="encrypted"):
        take_in(other, tmp_path / "locked.bundle")


@pytest.mark.parametrize("data", [b"", b"PK", b"not a zip at all" * 99])
def test_what_is_no_archive_is_refused(other: Casebook, tmp_path: Path, data: bytes) -> None:
    (tmp_path / "x.bundle").write_bytes(data)
    with pytest.raises(InputError, match="no bundle, or was damaged"):
        take_in(other, tmp_path / "x.bundle")
    with pytest.raises(InputError, match="no bundle, or was damaged"):
        take_in(other, tmp_path)


def mutate(chance: random.Random, raw: bytes) -> bytes:
    data = bytearray(raw)
    for _ in range(chance.randint(1, 4)):
        place = chance.randrange(len(data))
        kind = chance.randrange(4)
        if kind == 0:
            data[place] ^= 1 << chance.randrange(8)
        elif kind == 1:
            data[place : place + chance.randint(1, 40)] = b""
        elif kind == 2:
            data[place:place] = chance.randbytes(chance.randint(1, 9))
        else:
            data[place : place + 4] = b"\xff" * 4
        if not data:
            break
    return bytes(data)


@MUTATED
def test_mutated_bundles_raise_no_error_but_ours(
    sent: Path, other: Casebook, tmp_path: Path, trials: int
) -> None:
    chance = random.Random(6)
    raw = sent.read_bytes()
    refused = 0
    for _ in range(trials):
        mutated = tmp_path / "mutated.bundle"
        mutated.write_bytes(mutate(chance, raw))
        try:
            take_in(other, mutated)
        except DiagnoseError:
            refused += 1
    assert refused > trials // 2
    assert set(texts_of(other)) <= set(lines_of(sent))
    assert other.verify().sound


def lines_of(path: Path) -> tuple[str, ...]:
    with zipfile.ZipFile(path) as archive:
        return lines.read(archive.read(JOURNAL), "x").entries


@MUTATED
def test_mutated_entries_that_are_sealed_anew_raise_no_error_but_ours(
    sent: Path, other: Casebook, tmp_path: Path, trials: int
) -> None:
    chance = random.Random(7)
    good = lines_of(sent)
    for _ in range(trials):
        texts = [mutate(chance, text.encode()).decode("utf-8", "replace") for text in good]
        hostile = tmp_path / "hostile.bundle"
        with zipfile.ZipFile(hostile, "w") as archive:
            archive.writestr(JOURNAL, b"".join(lines.write(texts, [])))
        with contextlib.suppress(DiagnoseError):
            take_in(other, hostile)
    stored = other.entries()
    assert stored
    assert all(parse(text).hash for text in texts_of(other))
    assert {flaw.kind for flaw in other.verify().flaws} <= {"gap", "fork", "truncated", "clock"}


GOOD_TEXT = b"".join(lines.write(["{}"], []))


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "cut short"),
        (b"\n", "not JSON"),
        (GOOD_TEXT[:-1], "cut short"),
        (GOOD_TEXT[: GOOD_TEXT.index(b'{"end"')], "cut short"),
        (GOOD_TEXT.replace(b"{}", b"{ }"), "changed on its way"),
        (GOOD_TEXT.replace(b'"v":1', b'"v":9'), "knows form 1 only"),
        (GOOD_TEXT.replace(b"casebook-bundle", b"other"), "no bundle of a casebook"),
        (b"[" * 200_000 + b"\n", "not JSON"),
        (b"9" * 9_000 + b"\n", "not JSON"),
        (b"[]\n", "not an object"),
        (b'{"form":"casebook-bundle","v":1}\n', "cut short"),
        (b"".join(lines.write(['{"person":["a","b","c"]}'], [])), "does not fit its mark"),
        (b"".join(lines.write(['{"person"'], [])), "not JSON"),
    ],
)
def test_text_that_is_no_bundle_is_refused(data: bytes, words: str) -> None:
    with pytest.raises(InputError, match=words) as caught:
        lines.read(data, "x.bundle")
    assert "x.bundle" in str(caught.value)


def test_lines_that_are_too_long_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(lines, "LONGEST_TEXT", 200)
    with pytest.raises(InputError, match="line 2: the line is longer than 200"):
        lines.read(b"".join(lines.write(["x" * 201], [])), "x")
    monkeypatch.setattr(lines, "MOST_LINES", 2)
    with pytest.raises(InputError, match="more than 2 lines"):
        lines.read(GOOD_TEXT, "x")


def test_a_line_that_is_not_utf_8_is_refused() -> None:
    import hashlib

    body = b'{"form":"casebook-bundle","v":1}\n\xff\n'
    end = {"end": {"lines": 2, "sha256": hashlib.sha256(body).hexdigest()}}
    with pytest.raises(InputError, match="line 2: the line is not UTF-8"):
        lines.read(body + json.dumps(end).encode() + b"\n", "x")


def test_caps_on_number_and_size_hold(
    sent: Path, other: Casebook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name, value, words in (
        ("MOST_MEMBERS", 1, "at most 1 may be"),
        ("LARGEST_TOTAL", 10, "more than 10 bytes"),
        ("LARGEST_JOURNAL", 10, "at most 10 may be"),
    ):
        with monkeypatch.context() as patch:
            patch.setattr(bundle, name, value)
            with pytest.raises(InputError, match=words):
                take_in(other, sent)
    untouched(other, tmp_path / "there")


def test_overlapping_members_are_refused(other: Casebook, tmp_path: Path) -> None:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w") as archive:
        archive.writestr(JOURNAL, b"x" * 50)
        archive.writestr(GOOD_NAME, b"y" * 50)
    raw = bytearray(buffer.getvalue())
    second = raw.rindex(b"PK\x01\x02")
    raw[second + 42 : second + 46] = b"\x01\x00\x00\x00"
    (tmp_path / "overlap.bundle").write_bytes(raw)
    with pytest.raises(InputError, match="overlaps another"):
        take_in(other, tmp_path / "overlap.bundle")
