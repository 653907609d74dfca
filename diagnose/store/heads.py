"""The newest entry of every chain, and the entries that were set aside."""

from __future__ import annotations

from diagnose.store import sql
from diagnose.store.chain import Head
from diagnose.store.engine import Engine, whole


def heads_in(engine: Engine) -> tuple[Head, ...]:
    """Return the newest entry of every chain, as the table of heads names it."""
    return tuple(
        Head(str(row[0]), whole(engine, row[1]), str(row[2]), "table")
        for row in engine.rows(sql.GET_HEADS)
    )


def set_aside_in(engine: Engine) -> tuple[tuple[str, int, str, str], ...]:
    """Return entries that contradict a stored one: device, number, hash, text."""
    return tuple(
        (str(row[0]), whole(engine, row[1]), str(row[2]), str(row[3]))
        for row in engine.rows(sql.GET_QUARANTINE)
    )
