"""Where things are kept on this machine, who is at the keyboard, what time it is."""

from __future__ import annotations

import contextlib
import os
import re
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from diagnose.errors import InputError, NotFoundError, Problem

if TYPE_CHECKING:
    from diagnose.rulebook.model import Rules
    from diagnose.store.attachments import Files
    from diagnose.store.journal import Casebook

MOST_BYTES = 200_000_000
"""Largest file that is read; a logger's file of years stays far below."""
CASEBOOK_VARIABLE = "DIAGNOSE_CASEBOOK"
WHO_VARIABLE = "DIAGNOSE_WHO"
CASEBOOK_HELP = (
    "Casebook file, or the address postgresql://... of a shared one; "
    f"else the variable {CASEBOOK_VARIABLE}, else your own data folder."
)

_SHARED = re.compile(r"postgres(?:ql)?:/")


def data_home() -> Path:
    """Return the per-user folder for this program's data."""
    if sys.platform == "win32":
        return Path(os.environ.get("LOCALAPPDATA", Path.home())) / "carpet-diagnose"
    if sys.platform == "darwin":
        return Path.home() / "Library" / "Application Support" / "carpet-diagnose"
    base = os.environ.get("XDG_DATA_HOME") or str(Path.home() / ".local" / "share")
    return Path(base) / "carpet-diagnose"


def cache_home() -> Path:
    """Return the per-user folder for what can be made anew."""
    base = os.environ.get("XDG_CACHE_HOME")
    if base:
        return Path(base) / "carpet-diagnose"
    if sys.platform in ("win32", "darwin"):
        return data_home() / "cache"
    return Path.home() / ".cache" / "carpet-diagnose"


def casebook_path(given: Path | None) -> Path:
    """Return the casebook file meant by option, environment or default."""
    if given is not None:
        return given
    named = os.environ.get(CASEBOOK_VARIABLE)
    return Path(named) if named else data_home() / "casebook.db"


def shared_address(given: Path | str | None) -> str | None:
    """Return the address of the shared casebook that is meant; None when a file is meant.

    Examples
    --------
    >>> shared_address(Path("postgresql://office/jobs"))
    'postgresql://office/jobs'
    """
    named = given if given is not None else os.environ.get(CASEBOOK_VARIABLE, "")
    text = named.as_posix() if isinstance(named, Path) else named
    found = _SHARED.match(text)
    if not found:
        return None
    # A path keeps one stroke of two: an address that came as a path lost the other.
    return text if text.startswith("/", found.end()) else _SHARED.sub("postgresql://", text, 1)


def files_folder(given: Path | str | None) -> Path:
    """Return the folder for the photos and files of the casebook that is meant.

    For a shared casebook it holds copies of what the server keeps.
    """
    from hashlib import sha256
    from urllib.parse import urlsplit

    from diagnose.store.attachments import folder_of

    address = shared_address(given)
    if address is None:
        return folder_of(casebook_path(Path(given) if given is not None else None))
    try:
        parts = urlsplit(address)
        server = f"{(parts.hostname or '').lower()}:{parts.port or 5432}{parts.path}"
    except ValueError:
        server = address
    return data_home() / "shared" / f"{sha256(server.encode()).hexdigest()[:16]}.files"


def files_of(book: Casebook, given: Path | str | None) -> Files:
    """Return where an open casebook keeps its photos and files; `given` is how it was named."""
    from diagnose.store import files

    return files.files_of(book.engine, files_folder(given))


@contextmanager
def open_casebook(given: Path | str | None, *, create: bool = False) -> Iterator[Casebook]:
    """Open the casebook that is meant; with `create`, make it where there is none.

    Raises
    ------
    NotFoundError
        There is no casebook there yet.
    StoreError
        It cannot be read or written.
    """
    from diagnose.store.journal import Casebook

    address = shared_address(given)
    if address is not None:
        from diagnose.store.postgres import open_shared

        with open_shared(address, create=create) as casebook:
            yield casebook
        return
    path = casebook_path(Path(given) if given is not None else None)
    if not path.exists() and not create:
        raise NotFoundError(
            f"there is no casebook at {path}; `diagnose job sheet FILE` or `diagnose demo` makes one"
        )
    if create:
        path.parent.mkdir(parents=True, exist_ok=True)
    token = data_home() / "tokens" / f"{_name(path)}.json"
    # without a place for it a casebook can still be read; writing then says why it cannot
    with contextlib.suppress(OSError):
        token.parent.mkdir(parents=True, exist_ok=True)
    with Casebook.open(path, create=create, token=token) as casebook:
        yield casebook


def _name(path: Path) -> str:
    from hashlib import sha256

    return sha256(str(path.resolve()).encode("utf-8", "surrogateescape")).hexdigest()[:16]


def now() -> datetime:
    """Return the time now, with the offset of this machine."""
    return datetime.now().astimezone()


def who(given: str | None) -> str:
    """Return who is said to make the entry: option, environment or the login name."""
    import getpass

    if given:
        return given
    named = os.environ.get(WHO_VARIABLE)
    if named:
        return named
    try:
        return getpass.getuser()
    except (OSError, KeyError):
        return "unknown"


def the_rules(folder: Path | None = None) -> Rules:
    """Load the rules that ship with the program, or those of a folder."""
    from diagnose.data import data_folder
    from diagnose.rulebook.load import load_rules

    return load_rules(folder or data_folder("rules"), cache=cache_home() / "rules")


def read_file(path: Path) -> bytes:
    """Return the bytes of a file a person named; at most `MOST_BYTES`.

    Raises
    ------
    InputError
        It is not there, is no file, is too large, or cannot be read.
    """
    try:
        if path.exists() and not path.is_file():
            raise InputError([Problem(None, f"{path} is no file", "name a file")])
        with path.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except OSError as error:
        raise InputError([Problem(None, f"{path}: {error.strerror or error}")]) from None
    if len(data) > MOST_BYTES:
        raise InputError([Problem(None, f"{path} is larger than {MOST_BYTES // 10**6} MB")])
    return data
