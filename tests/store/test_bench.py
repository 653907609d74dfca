"""A million jobs: what a person waits for, on a file and on a server, in one run."""

from __future__ import annotations

import os
import time
import tracemalloc
from pathlib import Path

import pytest

from diagnose.store.journal import Casebook
from tests.bench.million import JOBS, ROWS, VERIFIED, fill, measure, missed, table


@pytest.mark.bench
@pytest.mark.shared
def test_a_million_jobs_in_a_file_and_on_a_server(
    tmp_path: Path, server: str, capsys: pytest.CaptureFixture[str]
) -> None:
    found = measure(tmp_path, server.split(" ")[0], JOBS, VERIFIED)
    with capsys.disabled():
        print("\n" + "\n".join(table(found, JOBS, VERIFIED)))
    assert {place: missed(figures) for place, figures in found.items() if missed(figures)} == {}


def test_the_measurement_itself_works_on_a_small_casebook(tmp_path: Path) -> None:
    """On a server as well where there is one; the figures themselves say nothing here."""
    found = measure(tmp_path, os.environ.get("CASEBOOK_TEST_DSN", ""), jobs=400, verified=50)
    for figures in found.values():
        assert set(figures) == {row.name for row in ROWS}
        assert all(0 < each.median_ms <= each.slowest_ms for each in figures.values())
    lines = list(table(found, 400, 50))
    assert len(lines) == len(ROWS) + 4
    assert all(line.count("|") == lines[2].count("|") for line in lines[2:])


@pytest.mark.bench
def test_the_lists_of_a_hundred_thousand_entries_are_compared_in_little_memory(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    fill(tmp_path / "casebook.db", VERIFIED)
    with Casebook.open(tmp_path / "casebook.db") as casebook:
        start_s = time.process_time()
        assert casebook.differences() == ()
        spent_s = time.process_time() - start_s
        tracemalloc.start()
        assert casebook.differences() == ()
        peak_mb = tracemalloc.get_traced_memory()[1] / 1e6
        tracemalloc.stop()
    with capsys.disabled():
        print(f"\nlists of {VERIFIED} entries: {spent_s:.1f} s, {peak_mb:.0f} MB at most")
    assert spent_s < 12.0
    assert peak_mb < 60.0
