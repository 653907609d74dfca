"""Carry a casebook: back it up, bundle it, merge it, move it to a server."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import typer

from diagnose.cli.where import (
    CASEBOOK_HELP,
    casebook_path,
    files_of,
    now,
    open_casebook,
    shared_address,
)
from diagnose.errors import InputError, NotFoundError, Problem, StoreError

if TYPE_CHECKING:
    from diagnose.cli.screen import Screen
    from diagnose.store.chain import Head
    from diagnose.store.journal import Casebook
    from diagnose.store.merge import Merged

app = typer.Typer(rich_markup_mode=None, add_completion=False)

NOT_WHOLE = 5
"""Exit code when a copy is not sound, or something of a merge was set aside."""

_CASEBOOK = typer.Option(None, "--casebook", help=CASEBOOK_HELP)
_DATABASE = b"SQLite format 3\x00"
_ZIP = b"PK"


@app.command(short_help="Write a whole copy and check it.")
def backup(
    to: Path = typer.Argument(..., help="New file, or a folder to put one in."),
    casebook: Path | None = _CASEBOOK,
) -> None:
    """Write a whole copy, with photos and files, and check the copy from end to end.

    Never copy the casebook's file by hand while the program runs: the newest
    entries would be missing from the copy.
    """
    from diagnose.cli.casebook_words import count, put_heads
    from diagnose.cli.screen import Screen
    from diagnose.store.attachments import FolderFiles, folder_of
    from diagnose.store.files import copy_all
    from diagnose.store.named_files import check_files

    target = to / f"casebook-{now():%Y-%m-%d-%H%M%S}.db" if to.is_dir() else to
    copy = FolderFiles(folder_of(target))
    with open_casebook(casebook) as book:
        report = book.backup(target)
        files = copy_all(files_of(book, casebook), copy)
        found = check_files(book.engine, files_of(book, casebook))
    wrong = [
        *(flaw.sentence for flaw in report.flaws if not flaw.warning),
        *(str(flaw) for flaw in found.spoilt),
        *(f"of the copy, the file {each.digest[:16]} {each.why}" for each in copy.spoilt()),
    ]
    screen = Screen()
    kept = f" and {count(files, 'file')}" if files else ""
    screen.text(f"{target} holds {count(report.entries, 'entry', 'entries')}{kept}.")
    if wrong:
        screen.strong("The copy is a true one, but what was copied is not sound:")
        for text in wrong:
            screen.text(text, mark="-")
        raise typer.Exit(NOT_WHOLE)
    screen.text("The copy was checked from end to end. Its newest entries:")
    put_heads(screen, report.heads)


@app.command(short_help="Write a file to carry to another device.")
def bundle(
    to: Path = typer.Argument(..., help="New file, such as site.zip."),
    since: list[str] = typer.Option(
        [],
        "--since",
        help="A head the other side has; only what is newer goes in, with its files. Repeatable.",
    ),
    people: bool = typer.Option(
        True, "--people/--no-people", help="Take names and addresses along."
    ),
    files: bool = typer.Option(True, "--files/--no-files", help="Take photos and files along."),
    casebook: Path | None = _CASEBOOK,
) -> None:
    """Write entries and files into one file to carry to another device.

    The other side prints what it has with `diagnose casebook heads`.
    """
    from diagnose.cli.casebook_words import count
    from diagnose.cli.screen import Screen
    from diagnose.store.bundle import export

    with open_casebook(casebook) as book:
        sent = export(
            book,
            to,
            files=files_of(book, casebook) if files else None,
            since=_had(book, since),
            with_people=people,
        )
    screen = Screen()
    more = "" if sent.entries else "; the other side has them all"
    kept = f" and {count(sent.files, 'file')}" if sent.files else ""
    screen.text(f"{to} holds {count(sent.entries, 'entry', 'entries')}{kept}{more}.")
    if sent.left_out:
        screen.text(
            f"{count(len(sent.left_out), 'file')} whose content was changed "
            "stayed behind; `diagnose casebook verify` names what is wrong."
        )
    if people:
        screen.text("Names and addresses are in it; hand it to nobody outside the firm.")


def _had(book: Casebook, since: list[str]) -> tuple[Head, ...]:
    """Read the heads the other side has, and see that they are of the same history."""
    from diagnose.cli.casebook_words import read_heads

    had = read_heads([("--since", text) for text in since])
    problems: list[Problem] = []
    for head in had:
        entry = book.entry_at(head.device, head.seq)
        if entry is not None and not entry.hash.startswith(head.hash):
            problems.append(
                Problem(
                    None,
                    f"--since {head}: entry {head.seq} is another one here",
                    "leave --since out, so that the other side gets everything and can compare",
                )
            )
    if problems:
        raise InputError(problems)
    return had


@app.command(short_help="Take in what other devices entered.")
def merge(
    files: list[str] = typer.Argument(..., help="Bundles, or other casebooks."),
    casebook: Path | None = _CASEBOOK,
) -> None:
    """Take in what other devices entered; nothing here is ever overwritten.

    The order does not matter, nor how often the same file is merged. Two
    histories of one device are both kept and reported.
    """
    from diagnose.cli.screen import Screen

    screen = Screen()
    problems: list[Problem] = []
    whole = True
    if shared_address(casebook) is None and not casebook_path(casebook).exists():
        screen.text(f"{casebook_path(casebook)} is new.")
    with open_casebook(casebook, create=True) as book:
        for file in files:
            try:
                merged, fresh = _merge_one(book, file, casebook)
            except InputError as error:
                problems += error.problems
            except (NotFoundError, StoreError) as error:
                problems.append(Problem(None, str(error)))
            else:
                whole = _tell(screen, _shown(file), merged, fresh) and whole
    if problems:
        raise InputError(problems)
    if not whole:
        raise typer.Exit(NOT_WHOLE)


def _merge_one(book: Casebook, file: str, casebook: Path | None) -> tuple[Merged, int]:
    from diagnose.store.bundle import take_in
    from diagnose.store.files import copy_all
    from diagnose.store.merge import copy_into

    if shared_address(file) is None:
        path = Path(file)
        start = _start_of(path)
        if start.startswith(_ZIP):
            taken = take_in(book, path, files=files_of(book, casebook), now=now())
            return taken.merged, taken.files
        if start != _DATABASE:
            raise InputError(
                [
                    Problem(
                        None,
                        f"{file} is neither a bundle nor a casebook",
                        "nothing of it was taken in",
                    )
                ]
            )
        if shared_address(casebook) is None and path.samefile(casebook_path(casebook)):
            raise InputError([Problem(None, f"{file} is the casebook itself", "name another one")])
    with open_casebook(file) as other:
        merged = copy_into(other, book)
        return merged, copy_all(files_of(other, file), files_of(book, casebook))


def _start_of(path: Path) -> bytes:
    if not path.exists():
        raise NotFoundError(f"there is no file at {path}")
    try:
        with path.open("rb") as file:
            return file.read(len(_DATABASE))
    except OSError as error:
        raise StoreError(f"{path} cannot be read: {error.strerror}") from error


def _shown(file: str) -> str:
    """Return a file's name, or of an address only that it is shared: it may hold a password."""
    return "The shared casebook" if shared_address(file) else file


def _tell(screen: Screen, name: str, merged: Merged, fresh: int) -> bool:
    """Say what a merge did; True when all of it was taken in."""
    from diagnose.cli.casebook_words import count

    files = f", {count(fresh, 'new file')}" if fresh else ""
    screen.text(
        f"{name}: {count(merged.added, 'new entry', 'new entries')}, "
        f"{merged.known} already here{files}."
    )
    for text in (*merged.forks, *merged.refused, *merged.warnings):
        screen.text(text, mark="-", indent=2)
    more = merged.refused_count - len(merged.refused)
    if more > 0:
        screen.text(f"and {more} more", mark="-", indent=2)
    return not merged.forks and not merged.refused_count


@app.command("serve-from", short_help="Move the casebook to a PostgreSQL server.")
def serve_from(
    address: str = typer.Argument(..., help="postgresql://account@server/database"),
    writer: list[str] = typer.Option(
        [], "--writer", help="Account of the server that may read and add. Repeatable."
    ),
    casebook: Path | None = _CASEBOOK,
) -> None:
    """Move the casebook of this machine to a PostgreSQL server, to be shared.

    Photos and files go along. The casebook here stays as it is. It can be moved
    again later: what is there already is passed over. A password is best kept in the file ~/.pgpass or in PGPASSWORD.
    """
    from diagnose.cli.casebook_words import count
    from diagnose.cli.screen import Screen
    from diagnose.store.files import copy_all
    from diagnose.store.merge import copy_into
    from diagnose.store.named_files import check_files
    from diagnose.store.postgres import PostgresEngine, open_shared

    dsn = shared_address(address)
    if dsn is None:
        raise InputError(
            [
                Problem(
                    None,
                    f"{address} is no address of a server",
                    "write postgresql://account@server/database",
                )
            ]
        )
    screen = Screen()
    with open_casebook(casebook) as book:
        before = book.verify()
        if not before.sound:
            raise StoreError(
                f"the casebook is not sound, so it was not moved: {before.sentences[0]}; "
                "see `diagnose casebook verify`"
            )
        spoilt = check_files(book.engine, files_of(book, casebook)).spoilt
        with open_shared(dsn, create=True) as shared:
            merged = copy_into(book, shared)
            files = copy_all(files_of(book, casebook), files_of(shared, dsn))
            report = shared.verify(book.heads())
            if isinstance(shared.engine, PostgresEngine):
                for account in writer:
                    shared.engine.allow_writer(account)
            where = shared.engine.where
    whole = _tell(screen, f"Moved to {where}", merged, files)
    if spoilt or not (whole and report.sound):
        for text in report.sentences:
            screen.text(text, mark="-")
        for flaw in spoilt:
            screen.text(f"{flaw}; it was left behind", mark="-")
        raise typer.Exit(NOT_WHOLE)
    size = count(report.entries, "entry", "entries")
    screen.text(f"It was checked there from end to end: {size}. The file here stays as it is.")
    screen.text("From now on work with the shared one; set on every machine:")
    screen.text("DIAGNOSE_CASEBOOK=postgresql://account@server/database", indent=2)
