"""The form of an entry: canonical bytes, hash, and what is refused."""

from __future__ import annotations

import hashlib
import json
import struct
import unicodedata
from datetime import UTC, datetime
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from diagnose.store.clock import tick
from diagnose.store.entry import (
    FIRST_PREV,
    LARGEST_INTEGER,
    Entry,
    EntryError,
    canonical,
    hash_of,
    hash_text,
    tidy_body,
    utc_text,
)
from diagnose.store.parse import parse

DATA = Path(__file__).parent / "data"
VECTORS = json.loads((DATA / "rfc8785.json").read_text("utf-8"))
JCS = json.loads((DATA / "jcs.json").read_text("utf-8"))["cases"]
NIST = json.loads((DATA / "nist-sha256.json").read_text("utf-8"))["pairs"]

ENTRY = Entry(
    device="phone-a",
    seq=1,
    prev=FIRST_PREV,
    at="2026-03-02T08:00:00.000Z",
    lc=(1772438400000, 0),
    kind="job-value",
    body={"job": "larch", "path": "title", "value": "Lärche"},
    seen={"phone-b": (2, "ab" * 32)},
)

SCALARS = st.none() | st.booleans() | st.integers(-LARGEST_INTEGER, LARGEST_INTEGER) | st.text()
KEYS = st.text().map(lambda key: unicodedata.normalize("NFC", key))
BODIES = st.dictionaries(
    KEYS,
    st.recursive(
        SCALARS,
        lambda inner: st.lists(inner, max_size=4) | st.dictionaries(KEYS, inner, max_size=4),
        max_leaves=12,
    ),
    max_size=5,
)


def test_the_rfc_sample_becomes_the_bytes_of_the_rfc() -> None:
    sample = VECTORS["sample"]
    assert rfc8785.dumps(json.loads(sample["input"])) == bytes.fromhex(sample["output_hex"])


def test_keys_sort_as_in_the_rfc() -> None:
    sorting = VECTORS["sorting"]
    written = rfc8785.dumps(json.loads(sorting["input"])).decode("utf-8")
    assert list(json.loads(written).values()) == sorting["order"]


@pytest.mark.parametrize(("bits", "text"), VECTORS["numbers"])
def test_numbers_are_written_as_in_the_rfc(bits: str, text: str) -> None:
    (number,) = struct.unpack(">d", bytes.fromhex(bits))
    assert rfc8785.dumps(number) == text.encode()


@pytest.mark.parametrize("name", JCS)
def test_the_reference_files_become_the_bytes_of_the_reference(name: str) -> None:
    assert rfc8785.dumps(json.loads(JCS[name]["input"])) == bytes.fromhex(JCS[name]["output_hex"])


def test_short_messages_have_the_digests_of_nist() -> None:
    assert len(NIST) == 65
    for message, digest in NIST:
        assert hashlib.sha256(bytes.fromhex(message)).hexdigest() == digest


def nist(name: str) -> list[tuple[bytes, str]]:
    """Message and digest of one NIST CAVP file, as the package cryptography-vectors ships it."""
    text = files("cryptography_vectors").joinpath("hashes", "SHA2", name).read_text("utf-8")
    pairs: list[tuple[bytes, str]] = []
    length, message = 0, b""
    for line in text.splitlines():
        key, _, value = line.partition(" = ")
        if key == "Len":
            length = int(value) // 8
        elif key == "Msg":
            message = bytes.fromhex(value)[:length]
        elif key == "MD":
            pairs.append((message, value))
    return pairs


@pytest.mark.parametrize(("name", "count"), [("SHA256ShortMsg.rsp", 65), ("SHA256LongMsg.rsp", 64)])
def test_sha_256_agrees_with_nist(name: str, count: int) -> None:
    pairs = nist(name)
    assert len(pairs) == count
    for message, digest in pairs:
        assert hashlib.sha256(message).hexdigest() == digest


@pytest.mark.parametrize(
    ("leaf", "digest"),
    [
        (b"", "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d"),
        (b"L123456", "395aa064aa4c29f7010acfe3f25db9485bbd4b91897b6ad7ad547639252b4d56"),
    ],
)
def test_the_leaf_hash_is_that_of_rfc_6962(leaf: bytes, digest: str) -> None:
    # The empty leaf is MTH of one empty entry in RFC 6962 test trees; both digests stand in
    # the tests of the reference log implementation (transparency-dev/merkle, rfc6962_test.go).
    assert hash_text(leaf) == digest


def test_an_entry_has_one_canonical_text() -> None:
    text = canonical(ENTRY).decode("utf-8")
    assert text == (
        '{"at":"2026-03-02T08:00:00.000Z","body":{"job":"larch","path":"title","value":"Lärche"},'
        '"device":"phone-a","kind":"job-value","lc":[1772438400000,0],"prev":"'
        + FIRST_PREV
        + '","seen":{"phone-b":[2,"'
        + "ab" * 32
        + '"]},"seq":1,"v":1}'
    )
    assert hash_of(ENTRY) == hashlib.sha256(b"\x00" + text.encode("utf-8")).hexdigest()


@given(BODIES)
def test_what_is_written_is_read_again(body: dict[str, Any]) -> None:
    tidied = tidy_body(body)
    entry = Entry(
        device="a",
        seq=3,
        prev="0f" * 32,
        at="2026-03-02T08:00:00Z",
        lc=(1, 2),
        kind="x",
        body=tidied,
    )
    again = parse(canonical(entry).decode("utf-8"))
    assert again == entry
    assert again.hash == hash_of(entry)


@pytest.mark.parametrize(
    ("body", "words"),
    [
        ({"value": 61.5}, "figures as text"),
        ({"value": [1, {"deep": 9007199254740992.0}]}, "figures as text"),
        ({"value": 2**53}, "too large"),
        ({"value": float("nan")}, "figures as text"),
        ({"value": "\ud800"}, "lone surrogate"),
        ({1: "x"}, "only text"),
        ({"value": b"x"}, "bytes"),
        ({"\u00e9": "1", "e\u0301": "2"}, "same text"),
    ],
)
def test_a_body_the_journal_cannot_carry_is_refused(body: Any, words: str) -> None:
    with pytest.raises(EntryError, match=words):
        tidy_body(body)


def test_nesting_has_an_end() -> None:
    deep: Any = "x"
    for _ in range(30):
        deep = [deep]
    with pytest.raises(EntryError, match="24 deep"):
        tidy_body({"deep": deep})


def test_text_is_kept_in_one_unicode_form() -> None:
    assert tidy_body({"e\u0301": "e\u0301"}) == {"\u00e9": "\u00e9"}


def changed(**fields: Any) -> str:
    raw = json.loads(canonical(ENTRY))
    raw.update(fields)
    return rfc8785.dumps(raw).decode("utf-8")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "not JSON"),
        ("[" * 100_000, "not JSON"),
        ("[]", "exactly the fields"),
        (changed(extra=1), "exactly the fields"),
        (changed(v=2), "form 2"),
        (changed(v=True), "form True"),
        (changed(device="../etc"), "device"),
        (changed(device="a" * 65), "device"),
        (changed(seq=0), "seq"),
        (changed(seq=True), "seq"),
        (changed(prev="AB" * 32), "prev"),
        (changed(at="2026-03-02 08:00"), "at"),
        (changed(at="2026-13-02T08:00:00Z"), "does not exist"),
        (changed(lc=[2**52, 0]), "lc"),
        (changed(lc=[1]), "two integers"),
        (changed(kind="Job Value"), "kind"),
        (changed(body=[]), "object"),
        (changed(seen={"b": [1]}), "head"),
        (changed(seen={"b": [1, "x"]}), "seen"),
        (canonical(ENTRY).decode("utf-8").replace(":", ": ", 1), "canonical"),
        (canonical(ENTRY).decode("utf-8").replace('"v":1', '"v":1.0'), "not an integer"),
        (canonical(ENTRY).decode("utf-8").replace('"v":1', '"v":1e0'), "not an integer"),
        (canonical(ENTRY).decode("utf-8").replace('"v":1', '"v":1,"v":1'), "twice"),
        (canonical(ENTRY).decode("utf-8").replace('"v":1', '"v":NaN'), "not an integer"),
        (canonical(ENTRY).decode("utf-8").replace('"v":1', '"v":' + "9" * 5_000), "too large"),
    ],
)
def test_text_that_is_no_entry_is_refused(text: str, words: str) -> None:
    with pytest.raises(EntryError, match=words):
        parse(text)


def test_a_time_needs_its_offset() -> None:
    with pytest.raises(EntryError, match="offset"):
        utc_text(datetime(2026, 3, 2, 8, 0))
    assert utc_text(datetime(2026, 3, 2, 8, 0, tzinfo=UTC)) == "2026-03-02T08:00:00.000Z"


@given(st.lists(st.integers(0, 10_000), min_size=1, max_size=40))
def test_the_clock_never_runs_backwards(walls: list[int]) -> None:
    last = None
    for wall in walls:
        stamp = tick(last, wall)
        assert last is None or stamp > last
        assert stamp[0] >= wall
        last = stamp


def test_a_clock_far_off_is_refused() -> None:
    with pytest.raises(EntryError, match="far off"):
        tick(None, 10**14)
