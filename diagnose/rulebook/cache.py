"""Keep read rules beside the program, so that the next start need not parse them.

One JSON file for each folder of rules.  It is used only when format, model,
folder name and edition agree and its content has the checksum it names;
whatever else stands there is ignored and written anew.
"""

from __future__ import annotations

import hashlib
import json
import os
from contextlib import suppress
from functools import cache
from pathlib import Path

from diagnose.rulebook.codec import Codec
from diagnose.rulebook.model import Rules

FORMAT = 1
"""Raised when the meaning of what is kept changes."""
MOST_BYTES = 50_000_000
_BROKEN = (OSError, ValueError, TypeError, KeyError, IndexError, AttributeError, RecursionError)


def cache_file(cache: Path, folder: Path) -> Path:
    """Return the file in the folder `cache` that keeps the rules of `folder`."""
    name = hashlib.sha256(str(folder.resolve()).encode("utf-8", "surrogateescape")).hexdigest()
    return cache / f"{folder.name or 'rules'}-{name[:16]}.json"


def read_cache(cache: Path, folder: Path, edition: str) -> Rules | None:
    """Return the kept rules of that edition, or None if there is nothing usable."""
    path = cache_file(cache, folder)
    try:
        if path.stat().st_size > MOST_BYTES:
            return None
        head, _, body = path.read_bytes().partition(b"\n")
        if head != _head(folder, edition, body):
            return None
        rules = _codec().rules(json.loads(body))
    except _BROKEN:
        return None
    return rules if rules.edition == edition else None


def write_cache(cache: Path, folder: Path, rules: Rules) -> None:
    """Keep rules for the next start; a place that cannot be written is no error."""
    path = cache_file(cache, folder)
    body = json.dumps(_codec().plain(rules), ensure_ascii=False, separators=(",", ":")).encode()
    half = path.with_name(f"{path.name}.{os.getpid()}.part")
    try:
        cache.mkdir(parents=True, exist_ok=True)
        half.write_bytes(_head(folder, rules.edition, body) + b"\n" + body)
        half.replace(path)
    except OSError:
        with suppress(OSError):
            half.unlink(missing_ok=True)


@cache
def _codec() -> Codec:
    return Codec()


def _head(folder: Path, edition: str, body: bytes) -> bytes:
    """Return the first line of a cache file: everything that has to agree."""
    said = {
        "format": FORMAT,
        "model": _codec().shape,
        "folder": folder.name,
        "edition": edition,
        "sha256": hashlib.sha256(body).hexdigest(),
    }
    return json.dumps(said, sort_keys=True).encode()
