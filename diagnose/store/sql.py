"""Every statement of the casebook, in the words that SQLite and PostgreSQL share.

Parameters are written `:name`.  The schema differs in the two type names and
in the triggers only; `migrations` returns it for either engine.
"""

from __future__ import annotations

APPLICATION_ID = 0x43_50_54_31
"""Marks an SQLite file as a casebook ("CPT1")."""
SCHEMA_VERSION = 1

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

_WORDS = {
    "sqlite": {"integer": "integer", "strict": " strict", "c": ""},
    "postgres": {"integer": "bigint", "strict": "", "c": ' collate "C"'},
}


def migrations(engine: str) -> tuple[tuple[str, ...], ...]:
    """Return the steps from an empty store to the present form, oldest first."""
    words = _WORDS[engine]
    triggers = _SQLITE_TRIGGERS if engine == "sqlite" else _POSTGRES_TRIGGERS
    return ((*(table.format(**words) for table in _TABLES), *triggers),)


GET_META = "select value from meta where name = :name"
SET_META = """insert into meta (name, value) values (:name, :value)
    on conflict (name) do update set value = excluded.value"""

ADD_ENTRY = """insert into entries
    (device, seq, hash, prev, wall, counter, kind, job, case_id, text)
    values (:device, :seq, :hash, :prev, :wall, :counter, :kind, :job, :case_id, :text)"""
HASH_AT = "select hash from entries where device = :device and seq = :seq"
TEXT_AT = "select text, hash from entries where device = :device and seq = :seq"
ROWS_AFTER = """select device, seq, hash, text, prev, wall, counter, kind, job, case_id
    from entries where (device, seq) > (:device, :seq) order by device, seq limit :limit"""
LINKS = """select seq, hash, prev from entries
    where device = :device and seq between :low and :high"""
COUNT_ENTRIES = "select count(*) from entries"
SELECT_ENTRIES = "select text, hash from entries"
ORDER_ENTRIES = " order by wall, counter, device, seq"
TEXTS_OF_KIND = "select text from entries where kind = :kind order by device, seq"
FILTERS = {"job": "job = :job", "kind": "kind = :kind", "case": "case_id = :case"}

SEARCH = """select text, hash from entries where lower(text) like :like escape '!'
    order by wall desc, counter desc, device desc limit :limit"""

TEXTS_LIKE = "select text from entries where text like :like order by device, seq"
JOB_TEXTS_LIKE = """select job, text from entries
    where job is not null and text like :like order by job"""

GET_HEADS = "select device, seq, hash, wall, counter from heads order by device"
GET_HEAD = "select seq, hash, wall, counter from heads where device = :device"
SET_HEAD = """insert into heads (device, seq, hash, wall, counter)
    values (:device, :seq, :hash, :wall, :counter)
    on conflict (device) do update set seq = excluded.seq, hash = excluded.hash,
        wall = excluded.wall, counter = excluded.counter
    where excluded.seq > heads.seq"""
LATEST_STAMP = "select wall, counter from heads order by wall desc, counter desc limit 1"
NOT_CITED = """select heads.device, heads.seq, heads.hash from heads
    left join cited on cited.other = heads.device and cited.device = :device
    where heads.device <> :device and heads.seq > coalesce(cited.seq, 0)
    order by heads.device"""
SET_CITED = """insert into cited (device, other, seq) values (:device, :other, :seq)
    on conflict (device, other) do update set seq = excluded.seq
    where excluded.seq > cited.seq"""

ADD_QUARANTINE = """insert into quarantine (device, seq, hash, text)
    values (:device, :seq, :hash, :text) on conflict (device, seq, hash) do nothing"""
GET_QUARANTINE = "select device, seq, hash, text from quarantine order by device, seq, hash"

ADD_PERSON = """insert into people (mark, salt, value) values (:mark, :salt, :value)
    on conflict (mark) do nothing"""
GET_PERSON = "select salt, value from people where mark = :mark"
GET_PEOPLE = "select mark, salt, value from people order by mark"
MARKS_OF_VALUE = "select mark from people where value = :value order by mark"
FORGET_PERSON = "delete from people where mark = :mark"

SET_JOB_HEAD = """insert into job_heads (job, title, method, product, finished_at)
    values (:job, :title, :method, :product, :finished_at)
    on conflict (job) do update set title = excluded.title, method = excluded.method,
        product = excluded.product, finished_at = excluded.finished_at"""
GET_JOB_HEADS = "select job, title, method, product, finished_at from job_heads order by job"
DROP_MARKS = "delete from marks where job = :job"
ADD_MARK = "insert into marks (job, path, mark) values (:job, :path, :mark)"
JOBS_OF_MARK = "select job, path from marks where mark = :mark order by job, path"
GET_MARKS = "select job, path, mark from marks order by job, path"
LIKE_MARKS = """select distinct mark from marks where mark >= :low and mark < :high
    order by mark limit :limit"""

SET_CASE_HEAD = """insert into case_heads (case_id, job, status, symptoms, place, opened_at)
    values (:case_id, :job, :status, :symptoms, :place, :opened_at)
    on conflict (case_id) do update set job = excluded.job, status = excluded.status,
        symptoms = excluded.symptoms, place = excluded.place, opened_at = excluded.opened_at"""
SELECT_CASE_HEADS = "select case_id, job, status, symptoms, place, opened_at from case_heads"
CASE_FILTERS = {"job": "job = :job", "status": "status = :status", "case": "case_id = :case"}
ORDER_CASE_HEADS = " order by opened_at, case_id"

PROJECTIONS = ("heads", "cited", "job_heads", "marks", "case_heads")
"""Tables that `rebuild` empties and fills again from the entries."""
