"""Say what a sheet changes in the record, value by value."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from diagnose.errors import Position
from diagnose.record.codec import decode
from diagnose.record.fields import field_of
from diagnose.record.sheet import Sheet

FROM_FILES = "climate."
"""Logs come from files of their own; a sheet without them removes none."""


@dataclass(frozen=True, slots=True)
class Change:
    """One value that the sheet adds, alters or no longer holds."""

    path: str
    old: str | None
    """None when the record holds no such value yet."""
    new: str | None
    """None when the line was removed from the sheet."""
    at: Position


def differences(old: Mapping[str, str], sheet: Sheet) -> tuple[Change, ...]:
    """Return what `sheet` changes, in the order of its lines, removals last.

    `old` holds the values that the sheet answers for: whatever stands there
    and not in the sheet counts as removed.  Values that other commands logged
    after the sheet was written belong in `old` only if the sheet was written
    anew from them.  Two texts for one value, `61.5` and `61.50`, are no change.
    """
    changed = [
        Change(path, old.get(path), value.text, value.at)
        for path, value in sheet.values.items()
        if not _same(path, old.get(path), value.text)
    ]
    changed.sort(key=lambda change: change.at.line)
    removed = [
        Change(path, text, None, Position(sheet.file))
        for path, text in old.items()
        if path not in sheet.values and not path.startswith(FROM_FILES)
    ]
    return (*changed, *removed)


def _same(path: str, old: str | None, new: str) -> bool:
    if old is None or old == new:
        return old == new
    rule = field_of(path)
    if rule is None:
        return False
    try:
        return bool(decode(rule, old) == decode(rule, new))
    except ValueError:
        return False
