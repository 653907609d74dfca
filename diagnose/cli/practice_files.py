"""The learner's progress on this machine: where it lies, how it is kept safe."""

from __future__ import annotations

import os
import secrets
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from diagnose.cli.where import data_home, now
from diagnose.errors import InputError, Problem, StoreError

if TYPE_CHECKING:
    from diagnose.practice.progress import Progress

PROGRESS_VARIABLE = "DIAGNOSE_PRACTICE"
PUPIL_VARIABLE = "DIAGNOSE_PUPIL"
PROGRESS_HELP = f"Progress file; else the variable {PROGRESS_VARIABLE}, else your own data folder."
PUPIL_HELP = f"A made-up name for the learner; else the variable {PUPIL_VARIABLE}."
LARGEST = 50_000_000


def progress_path(given: Path | None) -> Path:
    """Return the progress file meant by option, environment or default."""
    if given is not None:
        return given
    named = os.environ.get(PROGRESS_VARIABLE)
    return Path(named) if named else data_home() / "practice.json"


def pupil_name(given: str | None) -> str:
    """Return the pseudonym meant by option or environment."""
    name = (given or os.environ.get(PUPIL_VARIABLE) or "learner").strip()
    if not name or len(name) > 60 or not name.isprintable():
        raise InputError([Problem(None, f"{name!r} is no name for a learner", "1 to 60 letters")])
    return name


def read_progress(path: Path) -> Progress:
    """Return the progress in a file; nothing yet if there is no file.

    Raises
    ------
    InputError
        It is not a progress file.
    StoreError
        It cannot be read.
    """
    from diagnose.practice.progress import Progress, from_text

    try:
        if path.stat().st_size > LARGEST:
            raise StoreError(f"{path} is larger than any progress file")
        text = path.read_text("utf-8")
    except FileNotFoundError:
        return Progress()
    except UnicodeDecodeError:
        raise InputError([Problem(None, f"{path} is not a progress file")]) from None
    except OSError as error:
        raise StoreError(f"{path} cannot be read: {error.strerror or error}") from None
    return from_text(text, str(path))


def change_progress(path: Path, change: Callable[[Progress], Progress]) -> Progress:
    """Read, change and write the progress in one go; a crash leaves the old file whole.

    Raises
    ------
    StoreError
        The file or its folder cannot be written.
    """
    from diagnose.practice.progress import to_text

    after = change(read_progress(path))
    beside = path.with_name(f"{path.name}.{secrets.token_hex(4)}.new")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with beside.open("w", encoding="utf-8", newline="\n") as file:
            file.write(to_text(after))
            file.flush()
            os.fsync(file.fileno())
        beside.replace(path)
    except OSError as error:
        beside.unlink(missing_ok=True)
        raise StoreError(f"{path} cannot be written: {error.strerror or error}") from None
    return after


def stamp() -> str:
    """Return the time now as the progress file writes it."""
    return now().astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")


def fresh_seed() -> int:
    """Return a seed that nobody has used, short enough to be read out."""
    return secrets.randbelow(900_000) + 100_000


def moment(at: str) -> datetime:
    """Return the time that a stamp names."""
    return datetime.fromisoformat(at)
