"""Prove many stored entries at once, the quick way: most of a verification's time is spent here.

A stored entry is in order when its text hashes to its hash, is canonical JSON,
and says what the columns beside it say.  The outline of a canonical text is
fixed: everything but the time and the body follows from the columns.  So the
end of the text is compared with what the columns give, the body is read alone,
and the bodies of many are written anew together and compared with what
stands there.  Whatever does not come out is left to `chain`, which reads the
entry whole and says what is wrong; nothing is excused here.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from datetime import datetime
from functools import lru_cache
from itertools import islice
from typing import Any, NamedTuple

from diagnose.store.chain import Proven, Row
from diagnose.store.engine import RowOf
from diagnose.store.entry import EntryError, hash_text, plain_json
from diagnose.store.parse import AT, quick_json
from diagnose.store.project import id_in

TOGETHER = 32
"""Bodies that are written anew at once; many more would be a text of awkward size."""

_START = '{"at":"'
_BODY = '","body":'
_PLAIN = re.compile(r"[0-9a-z-]+")


class _Apart(NamedTuple):
    """An entry taken apart: it is proven once its body is seen to be canonical."""

    proven: Proven
    body: dict[str, Any]
    text: str
    """The part of the text that is the body."""


def prove(rows: Iterable[RowOf]) -> Iterator[Row]:
    """Return the rows of `all_rows` for `chain.verify`, with what could be proven of each."""
    waiting = iter(rows)
    while page := list(islice(waiting, TOGETHER)):
        apart = [_take_apart(row) for row in page]
        found = [each for each in apart if each is not None]
        # The text of one object is never the beginning of another's, so that they are equal
        # one by one when they are equal end to end.
        together = _written([each.body for each in found])
        alike = together == f"[{','.join([each.text for each in found])}]"
        for row, each in zip(page, apart, strict=True):
            device, seq, hashed, text, *beside = row
            good = each is not None and (alike or _written([each.body]) == f"[{each.text}]")
            proven = each.proven if each is not None and good else None
            yield Row(str(device), int(seq), str(hashed), str(text), tuple(beside), proven)


def _written(bodies: list[dict[str, Any]]) -> str:
    try:
        return plain_json(bodies)
    except (ValueError, RecursionError):
        return ""


def _take_apart(row: RowOf) -> _Apart | None:
    device, seq, hashed, text, prev, wall, counter, kind, job, case = row
    if not type(device) is type(kind) is type(prev) is type(text) is str:
        return None
    if not type(seq) is type(wall) is type(counter) is int:
        return None
    end = (
        f',"device":"{device}","kind":"{kind}","lc":[{wall},{counter}],'
        f'"prev":"{prev}","seen":{{}},"seq":{seq},"v":1}}'
    )
    if not (text.startswith(_START) and text.endswith(end)):
        return None
    start = text.find(_BODY, len(_START))
    at_text = text[len(_START) : start]
    if start < 0 or not AT.fullmatch(at_text):
        return None
    if not (_is_plain(device) and _is_plain(kind) and prev.isalnum()):
        return None
    start += len(_BODY)
    try:
        at = datetime.fromisoformat(at_text)
        body, stop = quick_json(text, start)
        if hash_text(text.encode("utf-8")) != hashed:
            return None
    except (ValueError, EntryError, RecursionError):
        return None
    stands = len(text) - len(end)
    if stop != stands or type(body) is not dict:
        return None
    if id_in(body, "job") != job or id_in(body, "case") != case:
        return None
    return _Apart(Proven(prev, at_text, at, (wall, counter)), body, text[start:stands])


@lru_cache(maxsize=4096)
def _is_plain(text: str) -> bool:
    """Return whether a text stands in JSON as it is."""
    return _PLAIN.fullmatch(text) is not None
