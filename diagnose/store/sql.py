"""Every statement of the casebook, in the words that SQLite and PostgreSQL share.

Parameters are written `:name`.  The tables themselves are in `forms`.
"""

from __future__ import annotations

from collections.abc import Iterable

GET_META = "select value from meta where name = :name"
SET_META = """insert into meta (name, value) values (:name, :value)
    on conflict (name) do update set value = excluded.value"""

OWN_CAME_IN = "own_came_in"
"""Name in `meta`: the own chain, once entries of it came in by a merge."""

ADD_ENTRY = """insert into entries
    (device, seq, hash, prev, wall, counter, kind, job, case_id, text)
    values (:device, :seq, :hash, :prev, :wall, :counter, :kind, :job, :case_id, :text)"""
HASH_AT = "select hash from entries where device = :device and seq = :seq"
TEXT_AT = "select text, hash from entries where device = :device and seq = :seq"
ROWS_AFTER = """select device, seq, hash, text, prev, wall, counter, kind, job, case_id
    from entries where (device, seq) > (:device, :seq) order by device, seq limit :limit"""
LINKS_OF_DEVICE = "select seq, hash, prev from entries where device = :device order by seq"
LINKS = """select seq, hash, prev from entries
    where device = :device and seq between :low and :high"""
ROWS_BY_JOB = """select job, device, seq, hash, text from entries
    where job is not null and (job, device, seq) > (:name, :device, :seq)
    order by job, device, seq limit :limit"""
ROWS_BY_CASE = """select case_id, device, seq, hash, text from entries
    where case_id is not null and (case_id, device, seq) > (:name, :device, :seq)
    order by case_id, device, seq limit :limit"""
ROWS_WITHOUT_JOB = """select '' as name, device, seq, hash, text from entries
    where job is null and '' = :name and (device, seq) > (:device, :seq)
    order by device, seq limit :limit"""
COUNT_ENTRIES = "select count(*) from entries"
SELECT_ENTRIES = "select text, hash from entries"
ORDER_ENTRIES = " order by wall, counter, device, seq"
TEXTS_OF_KIND = "select text from entries where kind = :kind order by device, seq"
ENTRIES_OF_KIND = "select text, hash from entries where kind = :kind"
ENTRIES_OF_KIND_LIKE = f"{ENTRIES_OF_KIND} and text like :like"
LATEST_OF_KIND_LIKE = f"""{ENTRIES_OF_KIND_LIKE}
    order by wall desc, counter desc, device desc, seq desc limit 1"""
FILTERS = {"job": "job = :job", "kind": "kind = :kind", "case": "case_id = :case"}

ADD_WORDS = """insert into entry_words (device, seq, wall, counter, words)
    values (:device, :seq, :wall, :counter, :words)"""


def search(conditions: Iterable[str]) -> str:
    """Return the query for entries whose row `w` of `entry_words` meets conditions, newest first.

    The rows are put in order before their texts, which are far longer, are read.
    """
    return f"""select e.text, e.hash from (
            select device, seq, wall, counter from entry_words w
            where {" and ".join(conditions)}
            order by wall desc, counter desc, device desc, seq desc limit :limit
        ) as n join entries e on e.device = n.device and e.seq = n.seq
        order by n.wall desc, n.counter desc, n.device desc, n.seq desc"""


ENTRIES_LIKE = "select text, hash from entries where text like :like order by device, seq"
JOB_TEXTS_LIKE = """select job, text from entries
    where job is not null and text like :like order by job"""

ADD_FILE = """insert into files (hash, extension, data) values (:hash, :extension, :data)
    on conflict (hash) do nothing"""
HAS_FILE = "select extension from files where hash = :hash"
GET_FILES = "select hash, extension from files order by hash"
PIECE_OF_FILE = "select substr(data, :start, :size) from files where hash = :hash"

GET_HEADS = "select device, seq, hash, wall, counter from heads order by device"
GET_HEAD = "select seq, hash, wall, counter from heads where device = :device"
SET_HEAD = """insert into heads (device, seq, hash, wall, counter)
    values (:device, :seq, :hash, :wall, :counter)
    on conflict (device) do update set seq = excluded.seq, hash = excluded.hash,
        wall = excluded.wall, counter = excluded.counter
    where excluded.seq > heads.seq"""
HEADS_ASTRAY = """select 1 from heads h where not exists (select 1 from entries e
    where e.device = h.device and e.seq = h.seq and e.hash = h.hash) limit 1"""
GET_HEADS_ASTRAY = """select device, seq, hash, wall, counter from heads h
    where not exists (select 1 from entries e
        where e.device = h.device and e.seq = h.seq and e.hash = h.hash)
    and not exists (select 1 from quarantine q
        where q.device = h.device and q.seq = h.seq and q.hash = h.hash)"""
SET_HEAD_ASTRAY = """update heads set seq = :seq, hash = :hash, wall = :wall, counter = :counter
    where device = :device and seq <= :seq"""
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
GET_QUARANTINE = """select q.device, q.seq, q.hash, q.text from quarantine q
    where not exists (select 1 from entries e
        where e.device = q.device and e.seq = q.seq and e.hash = q.hash)
    order by q.device, q.seq, q.hash"""
ALL_QUARANTINE = "select device, seq, hash, text from quarantine order by device, seq, hash"
HAS_TWO_HISTORIES = """select 1 from quarantine q where q.device = :device
    and not exists (select 1 from entries e
        where e.device = q.device and e.seq = q.seq and e.hash = q.hash) limit 1"""
SET_ASIDE = {
    "sqlite": (
        """insert into quarantine (device, seq, hash, text)
            select device, seq, hash, text from entries where device = :device and seq = :seq
            on conflict (device, seq, hash) do nothing""",
        "delete from entries where device = :device and seq = :seq",
    ),
    "postgres": ("select journal_set_aside(:device, :seq)",),
}
"""Statements, by engine, that move an entry from the journal into quarantine."""

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

PROJECTIONS = {
    "heads": "device, seq, hash, wall, counter",
    "cited": "device, other, seq",
    "job_heads": "job, title, method, product, finished_at",
    "marks": "job, path, mark",
    "case_heads": "case_id, job, status, symptoms, place, opened_at",
    "entry_words": "device, seq, wall, counter, words",
}
"""Tables that `rebuild` empties and fills again from the entries, with what it fills in."""
KEY_COLUMNS = {
    "heads": 1,
    "cited": 2,
    "job_heads": 1,
    "marks": 2,
    "case_heads": 1,
    "entry_words": 2,
}
"""How many of those columns, from the first, name a row."""
