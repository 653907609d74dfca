"""Read entries from text that may come from anywhere."""

from __future__ import annotations

import json
import re
from datetime import datetime
from typing import Any

from diagnose.errors import StoreError
from diagnose.store.entry import (
    LARGEST_COUNTER,
    LARGEST_INTEGER,
    LATEST_WALL,
    LONGEST_TEXT,
    VERSION,
    Entry,
    EntryError,
    canonical,
    hash_text,
    tidy,
)

_DEVICE = re.compile(r"[a-z0-9][a-z0-9-]{0,63}")
_KIND = re.compile(r"[a-z][a-z0-9-]{0,63}")
_HASH = re.compile(r"[0-9a-f]{64}")
_SAFE_DIGITS = 16
"""An integer of fewer signs is never too large."""
AT = re.compile(r"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d(\.\d{1,6})?Z", re.ASCII)
"""How the time of an entry is written."""
_FIELDS = frozenset({"v", "device", "seq", "prev", "at", "lc", "kind", "body", "seen"})
_NO_ENTRY = (
    ValueError,
    OverflowError,
    RecursionError,
    KeyError,
    TypeError,
    IndexError,
    AttributeError,
)


def _no_duplicates(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    value = dict(pairs)
    if len(value) != len(pairs):
        raise EntryError("a key stands twice in one object")
    return value


def _no_float(text: str) -> Any:
    raise EntryError(f"the number {text[:40]} is not an integer; figures travel as text")


def _integer(text: str) -> int:
    if len(text) < _SAFE_DIGITS:
        return int(text)
    if len(text) > 17 or abs(int(text)) > LARGEST_INTEGER:
        raise EntryError(f"the integer {text[:40]} is too large")
    return int(text)


_DECODER = json.JSONDecoder(
    object_pairs_hook=_no_duplicates,
    parse_float=_no_float,
    parse_int=_integer,
    parse_constant=_no_float,
)
quick_json = json.JSONDecoder(
    parse_float=_no_float, parse_int=_integer, parse_constant=_no_float
).raw_decode
"""Reads the JSON that begins at a place of a text; returns it and where it ends.

Of two keys alike it keeps the last; a text that holds two is not canonical.
"""


def parse(text: str) -> Entry:
    """Read an entry from its canonical text; whatever else it is, say what is wrong.

    The text must be the canonical one to the byte, so that what is read is
    what was hashed.

    Raises
    ------
    EntryError
        When the text is not an entry.
    """
    entry = read(text)
    if canonical(entry).decode("utf-8") != text:
        raise EntryError("the entry is not in canonical form")
    return entry


def read(text: str) -> Entry:
    """Read an entry and check its fields, but not that the text is canonical."""
    if len(text) > LONGEST_TEXT:
        raise EntryError(f"the entry is longer than {LONGEST_TEXT} characters")
    try:
        raw = _DECODER.decode(text)
    except (ValueError, RecursionError) as error:
        raise EntryError("the entry is not JSON") from error
    return from_json(raw, hash_text(text.encode("utf-8", "surrogatepass")))


def skim(text: str, hashed: str) -> Entry:
    """Read an entry that was checked when it was stored; only its outline is looked at.

    Raises
    ------
    EntryError
        When the text has not the outline of an entry.
    """
    try:
        raw, end = quick_json(text)
        device, prev, at, kind = raw["device"], raw["prev"], raw["at"], raw["kind"]
        texts = {type(device), type(prev), type(at), type(kind)}
        if end != len(text) or texts != {str} or type(raw["v"]) is not int:
            raise TypeError
        return Entry(
            v=raw["v"],
            device=device,
            seq=int(raw["seq"]),
            prev=prev,
            at=at,
            lc=(int(raw["lc"][0]), int(raw["lc"][1])),
            kind=kind,
            body=dict(raw["body"]),
            seen={device: (int(head[0]), str(head[1])) for device, head in raw["seen"].items()},
            hash=hashed,
        )
    except _NO_ENTRY as error:
        raise EntryError("its text is no entry") from error


def stored(text: str, hashed: str) -> Entry:
    """Read a stored entry; a text that is none means the file was meddled with.

    Raises
    ------
    StoreError
        When the text has not the outline of an entry.
    """
    try:
        return skim(text, hashed)
    except EntryError as error:
        raise StoreError(
            f"the casebook holds an entry that cannot be read ({error}); verify it"
        ) from error


def check_kind(kind: str) -> None:
    """Refuse a kind that is not in the form of one."""
    _match(_KIND, kind, "kind")


def from_json(raw: Any, hashed: str = "") -> Entry:
    """Build an entry from decoded JSON, checking every field."""
    if not isinstance(raw, dict) or set(raw) != _FIELDS:
        raise EntryError(f"an entry has exactly the fields {', '.join(sorted(_FIELDS))}")
    if raw["v"] != VERSION or isinstance(raw["v"], bool):
        raise EntryError(
            f"the entry has form {raw['v']!r:.40}; this program knows form {VERSION} only"
        )
    _match(_DEVICE, raw["device"], "device")
    _match(_HASH, raw["prev"], "prev")
    _match(AT, raw["at"], "at")
    _match(_KIND, raw["kind"], "kind")
    try:
        datetime.fromisoformat(raw["at"].replace("Z", "+00:00"))
    except ValueError as error:
        raise EntryError(f"the time {raw['at']} does not exist") from error
    lc = raw["lc"]
    if not (isinstance(lc, list) and len(lc) == 2):
        raise EntryError("the logical clock of an entry is two integers")
    wall = _count(lc[0], "lc", 0, LATEST_WALL)
    counter = _count(lc[1], "lc", 0, LARGEST_COUNTER)
    if not isinstance(raw["body"], dict):
        raise EntryError("the body of an entry is an object")
    tidy(raw["body"])
    return Entry(
        device=raw["device"],
        seq=_count(raw["seq"], "seq", 1, LARGEST_COUNTER),
        prev=raw["prev"],
        at=raw["at"],
        lc=(wall, counter),
        kind=raw["kind"],
        body=raw["body"],
        seen=_seen(raw["seen"]),
        hash=hashed,
    )


def _seen(raw: Any) -> dict[str, tuple[int, str]]:
    if not isinstance(raw, dict) or len(raw) > 10_000:
        raise EntryError("`seen` of an entry is an object of heads")
    heads: dict[str, tuple[int, str]] = {}
    for device, head in raw.items():
        _match(_DEVICE, device, "seen")
        if not (isinstance(head, list) and len(head) == 2):
            raise EntryError("a head in `seen` is a number and a hash")
        _match(_HASH, head[1], "seen")
        heads[device] = (_count(head[0], "seen", 1, LARGEST_COUNTER), head[1])
    return heads


def _match(pattern: re.Pattern[str], value: Any, name: str) -> None:
    if not isinstance(value, str) or not pattern.fullmatch(value):
        raise EntryError(f"the field `{name}` of an entry is not as it must be: {value!r:.60}")


def _count(value: Any, name: str, low: int, high: int) -> int:
    if not isinstance(value, int) or isinstance(value, bool) or not low <= value <= high:
        raise EntryError(f"the field `{name}` holds {value!r:.40}; allowed is {low} to {high}")
    return value
