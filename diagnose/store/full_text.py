"""SQLite's full-text index over the words of the entries, where SQLite has one.

It only makes a search quicker: it names the entries that can hold what is
looked for, and what is stored in `entry_words` decides.  So a search without
it, and one on a server, give the same answers.  A program whose SQLite lacks
FTS5 leaves the index behind as it is; the note in `meta` tells how far it
goes, and the next program that has FTS5 carries it on.
"""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.errors import StoreError
from diagnose.store import sql
from diagnose.store.engine import Engine

TABLE = "entry_search"
_NOTE = "indexed_to"
"""Name in `meta`: the last row of `entry_words` that is in the index."""

_MAKE = f"""create virtual table if not exists {TABLE} using fts5(
    words, content='entry_words', content_rowid='id', tokenize='ascii', detail='none')"""
_REFILL = f"insert into {TABLE} ({TABLE}) values ('rebuild')"
_COMPARE = f"insert into {TABLE} ({TABLE}, rank) values ('integrity-check', 1)"
_CARRY_ON = f"""insert into {TABLE} (rowid, words)
    select id, words from entry_words where id > :upto order by id"""
_LAST = "select coalesce(max(id), 0) from entry_words"
_FORGET_NOTE = "delete from meta where name = :name"
AMONG = f"w.id in (select rowid from {TABLE} where {TABLE} match :match)"
"""Condition on a row `w` of `entry_words`; `:match` comes from `match_of`."""


def able(engine: Engine) -> bool:
    """Return whether this program's database has a full-text index of its own."""
    return engine.name == "sqlite" and bool(
        engine.rows("select 1 from pragma_module_list where name = 'fts5'")
    )


def carry_on(engine: Engine) -> None:
    """Bring the index up to the last row; the caller holds the right to write."""
    if not able(engine):
        return
    upto = _indexed_to(engine) if _made(engine) else None
    if upto is None:
        engine.run(_MAKE)
        engine.run(_REFILL)
    else:
        engine.run(_CARRY_ON, {"upto": upto})
    engine.run(sql.SET_META, {"name": _NOTE, "value": str(engine.rows(_LAST)[0][0])})


def begin_anew(engine: Engine) -> None:
    """Give the index up; the next `carry_on` fills it afresh."""
    if able(engine):
        engine.run(f"drop table if exists {TABLE}")
    engine.run(_FORGET_NOTE, {"name": _NOTE})


def ready(engine: Engine) -> bool:
    """Return whether the index is there and goes up to the last row."""
    return able(engine) and _made(engine) and _indexed_to(engine) == int(engine.rows(_LAST)[0][0])


def agrees(engine: Engine) -> bool:
    """Return whether the index fits the words; true where there is none that is used.

    SQLite can only look where it may write, though it changes nothing.
    """
    if getattr(engine, "read_only", False) or not ready(engine):
        return True
    try:
        with engine.writing():
            engine.run(_COMPARE)
    except StoreError as error:
        if getattr(error.__cause__, "sqlite_errorname", "").startswith("SQLITE_CORRUPT"):
            return False
        raise
    return True


def match_of(words: Sequence[str], prefix: bool) -> str:
    """Return what asks the index for entries with all the words, the last as a beginning.

    Words come from `words.fold`: none holds a quote or a blank.
    """
    asked = [f'"{word}"' for word in words]
    return " ".join(asked) + ("*" if prefix else "")


def _made(engine: Engine) -> bool:
    return bool(engine.rows("select 1 from sqlite_schema where name = :name", {"name": TABLE}))


def _indexed_to(engine: Engine) -> int | None:
    found = engine.rows(sql.GET_META, {"name": _NOTE})
    return int(found[0][0]) if found and str(found[0][0]).isdecimal() else None
