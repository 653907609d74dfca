"""Each broken sheet gives exactly the message that stands beside it."""

from __future__ import annotations

from pathlib import Path
from time import process_time

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from diagnose.errors import InputError
from diagnose.record.sheet import read_sheet

BROKEN = Path(__file__).parents[1] / "broken" / "sheets"
LARCH = Path(__file__).parents[2] / "casebook" / "larch-house" / "job.yaml"


@pytest.mark.parametrize("path", sorted(BROKEN.glob("*.yaml")), ids=lambda path: path.stem)
def test_a_broken_sheet_says_what_is_wrong(path: Path) -> None:
    expected = path.with_suffix(".expected.txt").read_text("utf-8")
    with pytest.raises(InputError) as caught:
        read_sheet(path.read_bytes(), path.name)
    assert f"{caught.value}\n" == expected


def test_every_expectation_has_its_sheet() -> None:
    sheets = {path.stem for path in BROKEN.glob("*.yaml")}
    assert sheets == {path.name.removesuffix(".expected.txt") for path in BROKEN.glob("*.txt")}
    assert len(sheets) >= 12


HOSTILE = {
    "nothing": b"",
    "only-noughts": b"\x00" * 1000,
    "utf-16": "id: a-job".encode("utf-16"),
    "not-utf-8": b"id: caf\xe9",
    "alias-bomb": b"a: &a [x, x]\nb: &b [*a, *a]\nid: *b\n",
    "merge-key": b"id: a\n<<: {b: c}\n",
    "python-tag": b"id: !!python/object/apply:os.system ['true']\n",
    "deep": b"id: a\nareas: " + b"[" * 5000,
    "deep-maps": b"id: a\nareas: " + b"{a: " * 30 + b"1" + b"}" * 30,
    "two-documents": b"id: a\n---\nid: b\n",
    "huge-number": b"id: a\nproduct: {width_mm: " + b"9" * 5000 + b"}\n",
    "huge-power": b"id: a\nproduct: {width_mm: 1e99}\n",
    "tiny-power": b"id: a\nproduct: {width_mm: 1e-99}\n",
    "long-key": b"id: a\n" + b"k" * 1000 + b": 1\n",
    "escape": b'id: a\nproduct: {pile: "\\e]0;x\\a"}\n',
    "zone-path": b"id: a\nzone: ../../etc/passwd\n",
    "zone-folder": b"id: a\nzone: Europe\n",
    "far-offset": b"id: a\ndates: {started_at: 2026-03-02 08:00+99:00}\n",
}


@pytest.mark.parametrize("name", HOSTILE)
def test_hostile_bytes_are_refused_in_words(name: str) -> None:
    with pytest.raises(InputError) as caught:
        read_sheet(HOSTILE[name], "sheet.yaml")
    assert str(caught.value)


def test_many_problems_are_counted_not_listed() -> None:
    data = b"id: a\n" + b"".join(b"unknown-%d: 1\n" % n for n in range(5000))
    with pytest.raises(InputError) as caught:
        read_sheet(data, "sheet.yaml")
    assert len(caught.value.problems) == 201
    assert caught.value.problems[-1].text == "4800 further problems are not listed"


HUGE = {
    "unknown-fields": b"id: a\n" + b"".join(b"k%d: 1\n" % n for n in range(60_000)),
    "missing-parts": b"id: a\nedges:\n"
    + b"".join(b"  E%d: {door: X%d}\n" % (n, n) for n in range(20_000))
    + b"areas:\n"
    + b"".join(b"  a%d: {doors: {D%d: }}\n" % (n, n) for n in range(10_000)),
    "long-number": b'id: a\nproduct: {width_mm: "' + b"1," * 400_000 + b'"}\n',
    "long-time": b'id: a\ndates: {started_at: "2026-03-02' + b" " * 900_000 + b'x"}\n',
    "long-word": b'id: a\nmethod: "' + b"ab " * 300_000 + b'"\n',
}


@pytest.mark.parametrize("name", HUGE)
def test_a_huge_sheet_costs_little(name: str) -> None:
    before = process_time()
    with pytest.raises(InputError) as caught:
        read_sheet(HUGE[name], "sheet.yaml")
    assert process_time() - before < 10, "about 1 s is usual"
    assert len(str(caught.value)) < 100_000


@given(st.binary(max_size=300))
def test_no_bytes_give_a_traceback(data: bytes) -> None:
    _read_or_refuse(data)


@settings(max_examples=300, suppress_health_check=[HealthCheck.too_slow], deadline=None)
@given(st.data())
def test_no_damaged_sheet_gives_a_traceback(data: st.DataObject) -> None:
    sheet = bytearray(LARCH.read_bytes())
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(sheet) - 1))
        patch = data.draw(
            st.sampled_from([b"", b"[", b"}", b": ", b"\n", b"-", b"9", b"\xff", b"x"])
        )
        sheet[at : at + data.draw(st.integers(0, 3))] = patch
    _read_or_refuse(bytes(sheet))


def _read_or_refuse(data: bytes) -> None:
    try:
        sheet = read_sheet(data, "sheet.yaml")
    except InputError:
        return
    assert sheet.job_id
