"""Every kind of tampering is named; what cannot be seen without a witness is seen with one."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from diagnose.store.chain import Head, Row, parse_head, verify
from diagnose.store.clock import tick
from diagnose.store.entry import FIRST_PREV, Entry, EntryError, canonical, hash_of, hash_text

START = datetime(2026, 3, 2, 8, tzinfo=UTC)


def entry(device: str, before: Entry | None, value: str, **fields: object) -> Entry:
    seq = before.seq + 1 if before else 1
    at = START + timedelta(minutes=seq)
    made = Entry(
        device=device,
        seq=seq,
        prev=before.hash if before else FIRST_PREV,
        at=at.isoformat().replace("+00:00", "Z"),
        lc=tick(before.lc if before else None, int(at.timestamp() * 1000)),
        kind="job-value",
        body={"value": value},
    )
    made = replace(made, **fields)  # type: ignore[arg-type]
    return replace(made, hash=hash_of(made))


def chain(device: str, length: int) -> list[Entry]:
    entries: list[Entry] = []
    for number in range(length):
        entries.append(entry(device, entries[-1] if entries else None, f"v{number}"))
    return entries


def row(made: Entry) -> Row:
    return Row(made.device, made.seq, made.hash, canonical(made).decode("utf-8"))


def rows(*chains: list[Entry]) -> list[Row]:
    return [
        row(made)
        for made in sorted((e for c in chains for e in c), key=lambda e: (e.device, e.seq))
    ]


def kinds(found: tuple[object, ...]) -> list[str]:
    return [f"{flaw.kind} {flaw.device}/{flaw.seq}" for flaw in found]  # type: ignore[attr-defined]


def test_a_whole_chain_has_no_flaw() -> None:
    assert verify(rows(chain("a", 6), chain("b", 3))) == ()
    assert verify([]) == ()


def test_an_edited_entry_is_named() -> None:
    stored = rows(chain("a", 6))
    stored[2] = replace(stored[2], text=stored[2].text.replace("v2", "v9"))
    found = verify(stored)
    assert kinds(found) == ["edited a/3"]
    assert "entry 3 of a was edited" in found[0].sentence


def test_an_edited_and_rehashed_entry_breaks_the_next_link() -> None:
    entries = chain("a", 6)
    forged = replace(entries[2], body={"value": "v9"})
    entries[2] = replace(forged, hash=hash_of(forged))
    assert kinds(verify(rows(entries))) == ["broken-link a/4"]


def test_text_that_is_no_entry_is_named() -> None:
    stored = rows(chain("a", 3))
    stored[1] = replace(stored[1], text="{}")
    assert kinds(verify(stored)) == ["edited a/2"]


@pytest.mark.parametrize(("gone", "name"), [(0, "gap a/1"), (2, "gap a/3")])
def test_a_deleted_entry_leaves_a_gap(gone: int, name: str) -> None:
    stored = rows(chain("a", 6))
    del stored[gone]
    found = verify(stored)
    assert kinds(found) == [name]
    assert found[0].sentence == f"entry {gone + 1} of a missing"


def test_several_deleted_entries_are_one_gap() -> None:
    stored = rows(chain("a", 6))
    del stored[1:4]
    assert verify(stored)[0].sentence == "entries 2 to 4 of a missing"


def test_exchanged_entries_are_named() -> None:
    stored = rows(chain("a", 6))
    stored[1], stored[2] = (
        replace(stored[1], hash=stored[2].hash, text=stored[2].text),
        replace(stored[2], hash=stored[1].hash, text=stored[1].text),
    )
    assert {"edited a/2", "edited a/3"} <= set(kinds(verify(stored)))


def test_two_versions_of_one_entry_are_a_fork() -> None:
    entries = chain("a", 3)
    other = entry("a", entries[1], "another story")
    stored = rows(entries)
    stored.append(row(other))
    assert kinds(verify(stored)) == ["fork a/3"]


def test_a_cut_tail_is_seen_only_with_a_witness() -> None:
    entries = chain("a", 6)
    cut = rows(entries[:4])
    assert verify(cut) == ()
    found = verify(cut, [Head("a", 6, entries[5].hash[:16])])
    assert kinds(found) == ["truncated a/5"]
    assert "entries 5 to 6 missing" in found[0].sentence


def test_a_cut_tail_is_seen_when_a_peer_cites_it() -> None:
    entries = chain("a", 6)
    peer = entry("b", None, "x", seen={"a": (6, entries[5].hash)})
    assert kinds(verify(rows(entries[:4], [peer]))) == ["truncated a/5"]
    assert kinds(verify(rows([peer]))) == ["truncated a/1"]


def test_a_chain_written_anew_is_seen_only_with_a_witness() -> None:
    entries = chain("a", 4)
    anew = [entry("a", None, "better")]
    for number in range(3):
        anew.append(entry("a", anew[-1], f"better {number}"))
    assert verify(rows(anew)) == ()
    assert kinds(verify(rows(anew), [Head("a", 3, entries[2].hash)])) == ["contradicted a/3"]


def test_a_first_entry_that_names_another_is_named() -> None:
    assert kinds(verify(rows([entry("a", None, "x", prev="ab" * 32)]))) == ["broken-link a/1"]


def test_a_logical_clock_that_runs_backwards_is_named() -> None:
    first = entry("a", None, "x")
    second = entry("a", first, "y", lc=(0, 0))
    assert "order a/2" in kinds(verify(rows([first, second])))


def test_a_wall_clock_set_back_is_a_warning() -> None:
    first = entry("a", None, "x")
    second = entry("a", first, "y", at="2026-03-01T08:00:00Z")
    found = verify(rows([first, second]))
    assert kinds(found) == ["clock a/2"]
    assert found[0].warning


def test_a_clock_a_day_off_from_what_it_saw_is_a_warning() -> None:
    first = entry("a", None, "x")
    second = entry("a", first, "y", lc=(first.lc[0] + 3 * 86_400_000, 0))
    assert kinds(verify(rows([first, second]))) == ["clock a/2"]


def test_a_printed_head_is_read_again() -> None:
    head = Head("larch-phone", 12, "0123456789abcdef" * 4)
    assert parse_head(f" {str(head).upper()} ") == Head("larch-phone", 12, "0123456789abcdef")
    for wrong in ("", "a/1", "a/1/xyz", "a/x/0123456789abcdef", "a/1/0123"):
        with pytest.raises(EntryError, match="printed head"):
            parse_head(wrong)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ('{"at"', '{ "at"'),
        ('"v":1}', '"v":1,"w":1}'),
        ('"v":1}', '"v":1.0}'),
        ('"v":1}', '"v":true}'),
        ('"value":"v1"', '"value":"\\u00761"'),
        ('"value":"v1"', '"value":"good","value":"v1"'),
        ('"value":"v1"', '"value":1.5'),
        ('"value":"v1"', '"value":9007199254740993'),
        ('"value":"v1"', '"value":NaN'),
        ('"value":"v1"', '"value":"v1","also":"1"'),
        ('"seen":{}', '"seen":{},"seen":{}'),
        ('"kind":"job-value"', '"kind":"job-value" '),
    ],
)
def test_a_text_in_another_form_is_named_though_its_hash_was_made_to_fit(
    old: str, new: str
) -> None:
    entries = chain("a", 2)
    text = row(entries[1]).text
    assert text.count(old) == 1
    text = text.replace(old, new)
    forged = Row("a", 2, hash_text(text.encode()), text)
    assert kinds(verify([row(entries[0]), forged])) == ["edited a/2"]


def test_a_text_whose_keys_sort_in_utf_16_is_in_order() -> None:
    """Canonical JSON puts a picture sign before U+FF5E; plain sorting would not."""
    made = entry("a", None, "x", body={"\uff5e": "1", "\U0001f600": "2", "\x7f\u2028": '\\"\n\x01'})
    assert verify([row(made)]) == ()
