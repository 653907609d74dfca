"""Kept rules are the same rules; whatever else stands in the cache is ignored."""

from __future__ import annotations

import hashlib
import json
import shutil
from collections.abc import Callable
from pathlib import Path
from time import perf_counter

import pytest

from diagnose.data import data_folder
from diagnose.errors import InputError
from diagnose.rulebook import load
from diagnose.rulebook.cache import cache_file
from diagnose.rulebook.codec import Codec
from diagnose.rulebook.load import load_rules

SOUND = Path(__file__).parents[1] / "broken" / "rules" / "sound"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return Path(shutil.copytree(SOUND, tmp_path / "rules"))


@pytest.fixture
def parses(monkeypatch: pytest.MonkeyPatch) -> list[Path]:
    """Folders that were parsed, one entry each time."""
    done: list[Path] = []
    parsed = load._parsed

    def noted(folder, files):
        done.append(folder)
        return parsed(folder, files)

    monkeypatch.setattr(load, "_parsed", noted)
    return done


def test_the_shipped_rules_come_back_as_they_went_in(tmp_path: Path) -> None:
    fresh = load_rules(data_folder("rules"))
    load_rules(data_folder("rules"), cache=tmp_path)
    kept = load_rules(data_folder("rules"), cache=tmp_path)
    assert kept == fresh
    lines = [answer.at for each in kept.questions.values() for answer in each.answers]
    assert lines == [answer.at for each in fresh.questions.values() for answer in each.answers]


def test_kept_rules_are_not_parsed_again(folder: Path, tmp_path: Path, parses: list[Path]) -> None:
    first = load_rules(folder, cache=tmp_path / "kept")
    assert load_rules(folder, cache=tmp_path / "kept") == first
    assert len(parses) == 1


def test_a_changed_rule_is_read_anew(folder: Path, tmp_path: Path, parses: list[Path]) -> None:
    load_rules(folder, cache=tmp_path / "kept")
    teaching = folder / "teaching.yaml"
    teaching.write_text(teaching.read_text("utf-8").replace("It will not.", "Never."), "utf-8")
    rules = load_rules(folder, cache=tmp_path / "kept")
    assert rules.teaching["fuller-is-safer"].better == "Never."
    assert len(parses) == 2


def test_a_mistake_is_told_although_the_last_edition_is_kept(folder: Path, tmp_path: Path) -> None:
    load_rules(folder, cache=tmp_path / "kept")
    (folder / "teaching.yaml").write_text("teaching: [{id: x}]", "utf-8")
    with pytest.raises(InputError):
        load_rules(folder, cache=tmp_path / "kept")


def head_and_body(path: Path) -> tuple[dict[str, object], list[object]]:
    head, _, body = path.read_bytes().partition(b"\n")
    return json.loads(head), json.loads(body)


def written(path: Path, head: dict[str, object], body: bytes) -> None:
    path.write_bytes(json.dumps(head, sort_keys=True).encode() + b"\n" + body)


def checked(head: dict[str, object], body: bytes) -> dict[str, object]:
    return head | {"sha256": hashlib.sha256(body).hexdigest()}


def damaged_files(path: Path) -> dict[str, bytes]:
    head, value = head_and_body(path)
    whole = path.read_bytes()
    found = {
        "empty": b"",
        "cut short": whole[: len(whole) // 2],
        "one byte": whole[:-20] + b"#" + whole[-19:],
        "no json": b"\x80\x04\x95pickle",
        "deep": b"[" * 100_000,
    }
    for name, body in {
        "too few values": json.dumps([value[0], value[1][:3]]).encode(),
        "another shape": b'{"a": 1}',
        "null": b"null",
        "no file names": json.dumps([None, value[1]]).encode(),
        "nested": b"[" * 100_000,
    }.items():
        found[name] = json.dumps(checked(head, body), sort_keys=True).encode() + b"\n" + body
    body = json.dumps(value, ensure_ascii=False, separators=(",", ":")).encode()
    for key, other in {"format": 0, "model": "x", "folder": "others", "edition": "0"}.items():
        found[f"foreign {key}"] = (
            json.dumps(head | {key: other}, sort_keys=True).encode() + b"\n" + body
        )
    return found


def test_a_broken_or_foreign_cache_is_ignored_and_replaced(
    folder: Path, tmp_path: Path, parses: list[Path]
) -> None:
    cache = tmp_path / "kept"
    fresh = load_rules(folder, cache=cache)
    path = cache_file(cache, folder)
    good = path.read_bytes()
    for name, data in damaged_files(path).items():
        path.write_bytes(data)
        parses.clear()
        assert load_rules(folder, cache=cache) == fresh, name
        assert len(parses) == 1, name
        assert path.read_bytes() == good, name


def test_a_cache_that_cannot_be_written_is_no_error(folder: Path, tmp_path: Path) -> None:
    (tmp_path / "kept").write_text("a file where a folder should be", "utf-8")
    assert load_rules(folder, cache=tmp_path / "kept").causes


def test_nothing_but_the_file_is_left_behind(folder: Path, tmp_path: Path) -> None:
    load_rules(folder, cache=tmp_path / "kept")
    assert [path.name for path in (tmp_path / "kept").iterdir()] == [
        cache_file(tmp_path / "kept", folder).name
    ]


def test_the_shape_of_the_model_is_part_of_the_key() -> None:
    assert Codec().shape == Codec().shape
    assert len(Codec().shape) == 64


@pytest.mark.bench
def test_kept_rules_load_three_times_as_fast_as_parsed_ones(tmp_path: Path) -> None:
    folder = data_folder("rules")
    load_rules(folder, cache=tmp_path)
    parsed = best(lambda: load_rules(folder))
    kept = best(lambda: load_rules(folder, cache=tmp_path))
    assert parsed > 3 * kept, f"{parsed / kept:.1f} times as fast"


def best(call: Callable[[], object]) -> float:
    times = []
    for _ in range(7):
        start = perf_counter()
        call()
        times.append(perf_counter() - start)
    return min(times)
