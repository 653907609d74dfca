"""One entry of the journal: its form, its canonical bytes and its hash.

An entry is canonical JSON (RFC 8785) and is stored as exactly the text that
was hashed.  The hash is SHA-256 over a zero byte and that text; the zero byte
is the leaf prefix of RFC 6962, section 2.1, so that an entry can never be read
as an inner node of a hash tree.  Bodies hold no floating-point numbers:
canonical JSON would write 61.50 as 61.5, so figures travel as text.
"""

from __future__ import annotations

import hashlib
import json
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

import rfc8785

from diagnose.errors import StoreError

VERSION = 1
"""Version of the entry form, in every entry as `v`."""
FIRST_PREV = "0" * 64
"""`prev` of the first entry of a chain."""
LEAF = b"\x00"

JOB_VALUE = "job-value"
JOB_VALUES = "job-values"
CORRECTION = "correction"
WITHDRAWAL = "withdrawal"
COMPLAINT = "complaint"
WALK_STEP = "walk-step"
FINDING = "finding"
CASE_CLOSED = "case-closed"
CASE_REOPENED = "case-reopened"
CHAIN_STARTED = "chain-started"

VALUE_KINDS = frozenset({JOB_VALUE, JOB_VALUES, CORRECTION})
"""Kinds that set values of a job."""

LONGEST_TEXT = 4_000_000
"""Longest canonical text of one entry, in bytes."""
DEEPEST = 24
LARGEST_INTEGER = 2**53 - 1
LATEST_WALL = 7_258_118_400_000
"""The year 2200 in milliseconds: a clock beyond it would block every later entry."""
LARGEST_COUNTER = 2**31 - 1


plain_json = json.JSONEncoder(ensure_ascii=False, separators=(",", ":"), sort_keys=True).encode
"""Writes what canonical JSON writes, if there are no floats and no keys beyond U+FFFF."""


class EntryError(StoreError):
    """Text that is not an entry, or a body that an entry cannot hold."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One recorded act, as the journal keeps it."""

    device: str
    """Chain that the entry belongs to."""
    seq: int
    """Place in that chain, from 1."""
    prev: str
    """Hash of the entry before; 64 noughts for the first."""
    at: str
    """Wall clock at entering, UTC, ISO 8601 ending in Z."""
    lc: tuple[int, int]
    """Hybrid logical clock: wall milliseconds and counter."""
    kind: str
    body: Mapping[str, Any]
    seen: Mapping[str, tuple[int, str]] = field(default_factory=dict)
    """Heads of other chains, as far as this chain had not yet cited them."""
    v: int = VERSION
    hash: str = field(default="", compare=False)
    """Hash as stored; empty for an entry not yet stored."""

    @property
    def order(self) -> tuple[int, int, str, int]:
        """Key for the order that every copy of the journal agrees on."""
        return (*self.lc, self.device, self.seq)

    @property
    def entered_at(self) -> datetime:
        """`at` as an aware time."""
        return datetime.fromisoformat(self.at)


def canonical(entry: Entry) -> bytes:
    """Return the canonical JSON of an entry, without its hash.

    Raises
    ------
    EntryError
        When the body holds what canonical JSON or the journal cannot carry.
    """
    try:
        text = rfc8785.dumps(_value(entry))
    except (rfc8785.CanonicalizationError, UnicodeError, RecursionError) as error:
        raise EntryError(f"the entry cannot be written as canonical JSON: {error}") from error
    if len(text) > LONGEST_TEXT:
        raise EntryError(
            f"an entry of {len(text)} bytes is too long; at most {LONGEST_TEXT} are allowed"
        )
    return text


def is_canonical(entry: Entry, text: str) -> bool:
    """Return whether a text is the canonical one of the entry read from it, to the byte.

    The fields stand in one known order, and Python's own JSON, which is quick,
    writes the same for what they may hold: no floats, and keys that sort alike
    by code points and in UTF-16.  Where this differs from the text, canonical
    JSON itself decides.
    """
    wall, counter = entry.lc
    seen = plain_json(entry.seen) if entry.seen else "{}"
    plain = (
        f'{{"at":"{entry.at}","body":{plain_json(entry.body)},"device":"{entry.device}",'
        f'"kind":"{entry.kind}","lc":[{wall},{counter}],"prev":"{entry.prev}","seen":{seen},'
        f'"seq":{entry.seq},"v":{entry.v}}}'
    )
    # A quote in a field would have ended it when the text was read: it cannot hide here.
    if plain == text:
        return True
    try:
        return canonical(entry).decode("utf-8") == text
    except EntryError:
        return False


def _value(entry: Entry) -> Any:
    return {
        "v": entry.v,
        "device": entry.device,
        "seq": entry.seq,
        "prev": entry.prev,
        "at": entry.at,
        "lc": list(entry.lc),
        "kind": entry.kind,
        "body": dict(entry.body),
        "seen": {device: list(head) for device, head in entry.seen.items()},
    }


def hash_text(text: bytes) -> str:
    """Return the hash of an entry's canonical text, as 64 hexadecimal digits."""
    return hashlib.sha256(LEAF + text).hexdigest()


def hash_of(entry: Entry) -> str:
    """Return the hash of an entry, computed afresh from its content."""
    return hash_text(canonical(entry))


def utc_text(at: datetime) -> str:
    """Return an aware time as UTC with milliseconds and a Z.

    Raises
    ------
    EntryError
        When the time has no offset: a bare clock face is no moment.
    """
    if at.tzinfo is None:
        raise EntryError("the time of an entry needs its offset from UTC")
    return at.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def tidy_body(body: Mapping[str, Any]) -> dict[str, Any]:
    """Return a body ready for an entry: text in Unicode form NFC, checked.

    Raises
    ------
    EntryError
        On floats, integers beyond 2^53-1, deep nesting or other kinds of value.
    """
    tidied = tidy(body)
    assert isinstance(tidied, dict)
    return tidied


def tidy(value: Any, depth: int = 1) -> Any:
    """Return one value of a body in Unicode form NFC; refuse what `tidy_body` refuses."""
    _check_scalar(value)
    if depth > DEEPEST:
        raise EntryError(f"the body is nested more than {DEEPEST} deep")
    if isinstance(value, str):
        return unicodedata.normalize("NFC", value)
    if isinstance(value, Mapping):
        pairs = {_tidy_key(key): tidy(item, depth + 1) for key, item in value.items()}
        if len(pairs) != len(value):
            raise EntryError("two keys of the body are the same text")
        return pairs
    if isinstance(value, list | tuple):
        return [tidy(item, depth + 1) for item in value]
    return value


def _tidy_key(key: Any) -> str:
    if not isinstance(key, str):
        raise EntryError(f"a key of the body is {type(key).__name__}; only text is allowed")
    _check_scalar(key)
    return unicodedata.normalize("NFC", key)


def _check_scalar(value: Any) -> None:
    if isinstance(value, float):
        raise EntryError(f"the body holds the number {value!r}; write figures as text")
    if isinstance(value, int) and not isinstance(value, bool) and abs(value) > LARGEST_INTEGER:
        raise EntryError(f"the integer {value} is too large; write it as text")
    if isinstance(value, str):
        try:
            value.encode("utf-8")
        except UnicodeEncodeError as error:
            raise EntryError("the body holds half of a character (a lone surrogate)") from error
    elif not (value is None or isinstance(value, bool | int | Mapping | list | tuple)):
        raise EntryError(f"the body holds {type(value).__name__}, which JSON does not have")
