"""What a job's entries say now, and what they said before (pure).

Entries are taken in the order of the logical clock.  The last one to set a
path decides its value; what it replaced stays in the history.  A withdrawal
strikes an entry, and the value before it counts again.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from diagnose.store.entry import CORRECTION, JOB_VALUE, JOB_VALUES, WITHDRAWAL, Entry

LONGEST_PATH = 300
_WHOLE = ""
"""Stands for every path of an entry; no path is empty."""


@dataclass(frozen=True, slots=True)
class Step:
    """One value that a path once had."""

    entry: Entry
    value: str | None
    """None: the value was taken out."""
    withdrawal: Entry | None = None
    """The entry that withdrew it, if one did."""

    @property
    def struck(self) -> bool:
        """True when the value was withdrawn."""
        return self.withdrawal is not None


@dataclass(frozen=True, slots=True)
class Folded:
    """The present values of a job and the way to them."""

    values: Mapping[str, str] = field(default_factory=dict)
    setters: Mapping[str, Entry] = field(default_factory=dict)
    """Path to the entry that set it last."""
    history: Mapping[str, tuple[Step, ...]] = field(default_factory=dict)
    """Every step of every path, oldest first."""


def fold_values(entries: Iterable[Entry]) -> Folded:
    """Fold the entries of one job; kinds that set no value are passed over."""
    ordered = sorted(entries, key=lambda entry: entry.order)
    struck = _struck(ordered)
    history: dict[str, list[Step]] = {}
    for entry in ordered:
        gone = struck.get((entry.device, entry.seq, entry.hash), {})
        for path, value in values_in(entry).items():
            history.setdefault(path, []).append(
                Step(entry, value, gone.get(path) or gone.get(_WHOLE))
            )
    values: dict[str, str] = {}
    setters: dict[str, Entry] = {}
    for path, steps in history.items():
        last = next((step for step in reversed(steps) if not step.struck), None)
        if last is not None and last.value is not None:
            values[path] = last.value
            setters[path] = last.entry
    return Folded(values, setters, {path: tuple(steps) for path, steps in history.items()})


def values_in(entry: Entry) -> dict[str, str | None]:
    """Return path and value of everything that an entry sets; nothing for other kinds."""
    body = entry.body
    pairs: Any = {}
    if entry.kind in (JOB_VALUE, CORRECTION):
        pairs = {text_in(entry, "path"): body.get("value")}
    elif entry.kind == JOB_VALUES:
        pairs = body.get("values")
    if not isinstance(pairs, Mapping):
        return {}
    return {
        path: value
        for path, value in pairs.items()
        if isinstance(path, str)
        and 0 < len(path) <= LONGEST_PATH
        and path.isprintable()
        and (value is None or isinstance(value, str))
    }


def _struck(entries: Iterable[Entry]) -> dict[tuple[str, int, str], dict[str, Entry]]:
    """Return, by withdrawn entry and path, the first entry that withdrew it."""
    struck: dict[tuple[str, int, str], dict[str, Entry]] = {}
    for entry in entries:
        name = named(entry.body.get("withdraws")) if entry.kind == WITHDRAWAL else None
        if name is not None:
            path = entry.body.get("path")
            own = struck.setdefault(name, {})
            own.setdefault(path if isinstance(path, str) else _WHOLE, entry)
    return struck


def named(value: Any) -> tuple[str, int, str] | None:
    """Read the name of an entry, `[device, number, hash]`; None if it is none."""
    if not (isinstance(value, list | tuple) and len(value) == 3):
        return None
    device, seq, hashed = value
    if isinstance(device, str) and isinstance(seq, int) and isinstance(hashed, str):
        return device, seq, hashed
    return None


def text_in(entry: Entry, name: str) -> str:
    """Return a text of an entry's body; empty when it has none of that name."""
    value = entry.body.get(name)
    return value if isinstance(value, str) else ""


def happened_at(entry: Entry) -> datetime | None:
    """Return when what the entry tells happened, if it says so with an offset."""
    try:
        at = datetime.fromisoformat(text_in(entry, "happened_at").replace("Z", "+00:00"))
    except ValueError:
        return None
    return at if at.tzinfo else None
