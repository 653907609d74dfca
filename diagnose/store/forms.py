"""The tables of the casebook, form by form, for SQLite and PostgreSQL.

A store is brought from its form to the present one by the steps in between;
there is no way back.  The two engines differ in the names of types and in the
triggers.
"""

from __future__ import annotations

APPLICATION_ID = 0x43_50_54_31
"""Marks an SQLite file as a casebook ("CPT1")."""
SCHEMA_VERSION = 5

_TABLES = (
    """create table meta (
        name text not null primary key,
        value text not null
    ){strict}""",
    """create table entries (
        device text{c} not null,
        seq {integer} not null,
        hash text not null,
        prev text not null,
        wall {integer} not null,
        counter {integer} not null,
        kind text not null,
        job text,
        case_id text,
        text text not null,
        primary key (device, seq)
    ){strict}""",
    "create index entries_of_job on entries (job) where job is not null",
    "create index entries_of_case on entries (case_id) where case_id is not null",
    "create index entries_of_kind on entries (kind)",
    """create table quarantine (
        device text{c} not null,
        seq {integer} not null,
        hash text not null,
        text text not null,
        primary key (device, seq, hash)
    ){strict}""",
    """create table people (
        mark text{c} not null primary key,
        salt text not null,
        value text not null
    ){strict}""",
    """create table heads (
        device text{c} not null primary key,
        seq {integer} not null,
        hash text not null,
        wall {integer} not null,
        counter {integer} not null
    ){strict}""",
    """create table cited (
        device text{c} not null,
        other text{c} not null,
        seq {integer} not null,
        primary key (device, other)
    ){strict}""",
    """create table job_heads (
        job text{c} not null primary key,
        title text,
        method text,
        product text,
        finished_at text
    ){strict}""",
    """create table marks (
        job text{c} not null,
        path text{c} not null,
        mark text{c} not null,
        primary key (job, path)
    ){strict}""",
    "create index marks_by_mark on marks (mark)",
    """create table case_heads (
        case_id text{c} not null primary key,
        job text,
        status text not null,
        symptoms text not null,
        place text,
        opened_at text not null
    ){strict}""",
    "create index case_heads_of_job on case_heads (job)",
)

_SQLITE_TRIGGERS = tuple(
    f"""create trigger {table}_no_{act} before {act} on {table} begin
        select raise(abort, 'the journal is append-only');
    end"""
    for table in ("entries", "quarantine")
    for act in ("update", "delete")
)
_POSTGRES_TRIGGERS = (
    """create function journal_is_append_only() returns trigger language plpgsql as $body$
    begin
        raise exception 'the journal is append-only';
    end $body$""",
    *(
        f"""create trigger {table}_append_only before update or delete or truncate on {table}
        for each statement execute function journal_is_append_only()"""
        for table in ("entries", "quarantine")
    ),
)

_POSTGRES_FILES = (
    # The server itself refuses content that does not hash to its name.
    """create table files (
        hash text collate "C" not null primary key,
        extension text not null,
        data bytea not null,
        check (hash = encode(pg_catalog.sha256(data), 'hex')),
        check (octet_length(data) <= 67108864)
    )""",
    # Photos are packed already; stored as they are, a piece can be read without the rest.
    "alter table files alter column data set storage external",
    """create trigger files_append_only before update or delete or truncate on files
    for each statement execute function journal_is_append_only()""",
)
"""Photos and files of a shared casebook; one in a file keeps them in the folder beside it."""

_SEARCH_TABLES = (
    """create table entry_words (
        {id}device text{c} not null,
        seq {integer} not null,
        wall {integer} not null,
        counter {integer} not null,
        words text not null,
        {key} (device, seq)
    ){strict}""",
)
"""Words of every entry as they are looked for; the row number is what a full-text index needs."""

_KEPT_ASIDE = """exists (
        select 1 from quarantine q where q.device = old.device and q.seq = old.seq
            and q.hash = old.hash and q.text = old.text)
    and exists (
        select 1 from quarantine o where o.device = old.device and o.seq <= old.seq + 1
            and not exists (select 1 from entries e where e.device = o.device and e.seq = o.seq
                and e.hash = o.hash))"""
"""True of an entry that is kept in quarantine, of a device of which another history is known."""

_SQLITE_SET_ASIDE = (
    "drop trigger entries_no_delete",
    f"""create trigger entries_no_delete before delete on entries
    when not ({_KEPT_ASIDE}) begin
        select raise(abort, 'the journal is append-only');
    end""",
)
_POSTGRES_SET_ASIDE = (
    "drop trigger entries_append_only on entries",
    """create trigger entries_append_only before update or truncate on entries
    for each statement execute function journal_is_append_only()""",
    f"""create function journal_keeps_both() returns trigger language plpgsql
    set search_path from current as $body$
    begin
        if {_KEPT_ASIDE} then
            return old;
        end if;
        raise exception 'the journal is append-only';
    end $body$""",
    """create trigger entries_keep_both before delete on entries
    for each row execute function journal_keeps_both()""",
    # Accounts that may only add have no right to delete; this is the one way for them.
    """create function journal_set_aside(of_device text, number bigint) returns void
    language plpgsql security definer set search_path from current as $body$
    begin
        insert into quarantine (device, seq, hash, text)
            select device, seq, hash, text from entries
            where device = of_device and seq = number
            on conflict (device, seq, hash) do nothing;
        delete from entries where device = of_device and seq = number;
    end $body$""",
)
"""An entry may leave the journal for the quarantine only, and only for another history."""

_POSTGRES_PATHS = (
    "alter function journal_keeps_both() set search_path from current",
    "alter function journal_set_aside(text, bigint) set search_path from current",
)
"""The owner of a casebook runs these; they may find no table that the caller made for itself."""

_WORDS = {
    "sqlite": {
        "integer": "integer",
        "strict": " strict",
        "c": "",
        "id": "id integer primary key, ",
        "key": "unique",
    },
    "postgres": {
        "integer": "bigint",
        "strict": "",
        "c": ' collate "C"',
        "id": "",
        "key": "primary key",
    },
}


def migrations(engine: str) -> tuple[tuple[str, ...], ...]:
    """Return the steps from an empty store to the present form, oldest first."""
    words = _WORDS[engine]
    triggers = _SQLITE_TRIGGERS if engine == "sqlite" else _POSTGRES_TRIGGERS
    return (
        (*(table.format(**words) for table in _TABLES), *triggers),
        () if engine == "sqlite" else _POSTGRES_FILES,
        tuple(table.format(**words) for table in _SEARCH_TABLES),
        _SQLITE_SET_ASIDE if engine == "sqlite" else _POSTGRES_SET_ASIDE,
        () if engine == "sqlite" else _POSTGRES_PATHS,
    )
