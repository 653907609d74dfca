"""What a person sees: plain signs in any encoding, one sentence for what the system refuses."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

from diagnose.cli.app import system_message
from diagnose.text import SPELLED, spelling

FULL = Path("/dev/full")


def said(root: Path, *args: str | bytes, encoding: str = "utf-8", **more: Any) -> Any:
    """Run the program in a process of its own and return what it wrote, as bytes."""
    command: Sequence[str | bytes] = [sys.executable, "-m", "diagnose", *args]
    env = {**os.environ, "PYTHONIOENCODING": encoding}
    return subprocess.run(
        command, cwd=root, env=env, timeout=120, check=False, **{"capture_output": True, **more}
    )


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp437", "utf-8"])
@pytest.mark.parametrize(
    "args",
    [
        ("calc", "emission-rate", "--gain", "3", "--exposure", "72"),
        ("calc", "dew-point", "--air", "20", "--humidity", "60", "--floor", "14"),
        ("explain", "moisture-emission"),
        ("explain", "sources"),
        ("explain", "limits"),
    ],
    ids=lambda args: " ".join(args[:2]),
)
def test_every_encoding_is_served(root: Path, args: tuple[str, ...], encoding: str) -> None:
    done = said(root, *args, encoding=encoding)
    assert (done.returncode, done.stderr) == (0, b"")
    text = done.stdout.decode(encoding)
    if encoding == "ascii":
        whole = said(root, *args).stdout.decode("utf-8")
        assert text.count("?") == whole.count("?"), "every sign of the program has a spelling"


def test_an_area_keeps_its_square(root: Path) -> None:
    args = ("calc", "emission-rate", "--gain", "3", "--exposure", "72")
    assert b"g/m^2" in said(root, *args, encoding="ascii").stdout
    assert "g/m²".encode("latin-1") in said(root, *args, encoding="latin-1").stdout


def test_a_refusal_is_spelled_too(root: Path) -> None:
    done = said(root, "calc", "dew-point", "--air", "2kg", "--humidity", "6", encoding="ascii")
    assert done.returncode == 2
    assert b"allowed is deg C" in done.stderr


@pytest.mark.parametrize(
    ("text", "plain"),
    [
        ("5 m² × 3 – √(2) ≤ 4 ≥ 1", b"5 m^2 x 3 - sqrt(2) <= 4 >= 1"),
        ("‘so’ “so”", b"'so' \"so\""),
        ("20 °C, 90°, 5 ° off", b"20 deg C, 90 deg, 5 deg off"),
        ("café", b"cafe"),
        ("\u4e2d", b"?"),
        ("caf\udce9", b"caf?"),
    ],
)
def test_signs_are_spelled(text: str, plain: bytes) -> None:
    assert text.encode("ascii", SPELLED) == plain
    assert text.encode(spelling("ascii"), "strict") == plain
    assert text.encode(spelling("ascii"), "replace") == plain


def test_a_spelling_codec_is_not_wrapped_again() -> None:
    once = spelling("latin-1")
    assert spelling(once) == once
    assert b"\xb2".decode(once) == "²"


@pytest.mark.parametrize(
    "args",
    [
        ("explain", b"caf\xe9"),
        ("calc", "gully", "--thickness", b"\xff"),
        ("job", "show", b"\xff", "--casebook", b"/nowhere/\xff.db"),
    ],
    ids=["explain", "calc", "job"],
)
def test_broken_bytes_in_a_word_end_in_one_message(
    root: Path, args: tuple[str | bytes, ...]
) -> None:
    done = said(root, *args)
    assert done.returncode in (1, 2, 3, 5)
    assert b"rror" in done.stderr
    assert b"unexpectedly" not in done.stderr
    assert b"Traceback" not in done.stderr


@pytest.mark.skipif(not FULL.exists(), reason="this system has no device that is always full")
@pytest.mark.parametrize("args", [("explain", "bond-loss"), ("calc", "gully", "--thickness", "8")])
def test_a_full_disk_is_told_in_one_sentence(root: Path, args: tuple[str, ...]) -> None:
    with FULL.open("wb") as full:
        done = said(root, *args, capture_output=False, stdout=full, stderr=subprocess.PIPE)
    assert done.returncode == 1
    assert done.stderr == b"error: the output cannot be written: the disk is full\n"


def test_a_reader_who_leaves_is_not_answered(root: Path) -> None:
    reading, writing = os.pipe()
    os.close(reading)
    with open(writing, "wb") as gone:
        done = said(
            root, "explain", "bond-loss", capture_output=False, stdout=gone, stderr=subprocess.PIPE
        )
    assert done.stderr == b""


@pytest.mark.skipif(not FULL.exists(), reason="this system has no device that is always full")
def test_the_file_that_could_not_be_written_is_named() -> None:
    with pytest.raises(OSError) as failed:
        FULL.write_text("x", "utf-8")
    assert failed.value.filename is None
    assert system_message(failed.value) == "error: /dev/full cannot be used: the disk is full"


def test_a_long_name_is_told_shortly(tmp_path: Path) -> None:
    with pytest.raises(OSError) as failed:
        (tmp_path / ("n" * 3000)).read_bytes()
    told = system_message(failed.value)
    assert told.endswith("cannot be used: the name is too long")
    assert len(told) < 300


@pytest.mark.parametrize(
    ("code", "reason"),
    [(errno.EACCES, "there is no permission"), (errno.EROFS, "the disk is read-only")],
)
def test_a_refusal_of_the_system_has_file_and_reason(code: int, reason: str) -> None:
    assert system_message(OSError(code, os.strerror(code), "a\x1b.db")) == (
        f"error: a\\u001b.db cannot be used: {reason}"
    )


@pytest.mark.parametrize("group", ["job", "case", "casebook"])
def test_no_command_is_cut_short_in_a_list_on_a_narrow_screen(diagnose, monkeypatch, group):
    monkeypatch.setenv("COLUMNS", "60")
    seen = diagnose(group, "--help")
    assert seen.code == 0
    cut = [line for line in seen.out.split("Commands:")[1].splitlines() if line.endswith("...")]
    assert cut == []
