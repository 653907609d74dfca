"""Photos and files of a job, kept with the casebook under the hash of their content."""

from __future__ import annotations

from collections.abc import Mapping
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from diagnose.cli.where import CASEBOOK_HELP, files_of, now, open_casebook, read_file, who
from diagnose.errors import InputError, NotFoundError, Problem, StoreError
from diagnose.text import clean

if TYPE_CHECKING:
    from diagnose.cli.casebook_photo import Photo
    from diagnose.store.attachments import Files

app = typer.Typer(rich_markup_mode=None, add_completion=False)

_CASEBOOK = typer.Option(None, "--casebook", help=CASEBOOK_HELP)
_JSON = typer.Option(False, "--json", help="Write JSON.")
_WHO = typer.Option(None, "--who", help="Who says so; your login name if left out.")
_PAPERS = ("csv", "txt", "pdf")


@app.command(short_help="Keep a photo with a job.")
def photo(
    job: str = typer.Argument(..., help="Id of the job."),
    file: Path = typer.Argument(..., help="The photo: JPEG, PNG or WebP."),
    of: str = typer.Option("", "--of", help="Place it shows, such as seam:S2."),
    shows: str = typer.Option("", "--shows", help="What it shows, in a few words."),
    taken_at: str = typer.Option(
        "", "--taken-at", help="When it was taken; the camera's time if left out."
    ),
    as_it_is: bool = typer.Option(
        False, "--as-it-is", help="Keep position and camera data in the photo."
    ),
    said_by: str | None = _WHO,
    casebook: Path | None = _CASEBOOK,
) -> None:
    """Keep a photo with a job; where it was taken and by which camera is taken out.

    The casebook notes the digits (SHA-256) of the file as the camera wrote it
    as well, so that the untouched file can be shown to be the same one later.
    Keep that file too.
    """
    from diagnose.cli.casebook_photo import Photo, kind_of, stripped
    from diagnose.cli.screen import Screen
    from diagnose.record.single_values import read_values
    from diagnose.store.jobs import import_changes, values_of

    data = read_file(file)
    if not kind_of(data):
        raise InputError(
            [Problem(None, f"{file} is no JPEG, PNG or WebP photo", "keep other files with `keep`")]
        )
    _check_size(file, data)
    ready = Photo(data, kind_of(data), "") if as_it_is else stripped(data, str(file))
    digest = sha256(ready.data).hexdigest()
    at = now()
    screen = Screen()
    with open_casebook(casebook) as book:
        present, _ = values_of(book, job)
        there = _photo_with(present, digest)
        kept = files_of(book, casebook)
        if there:
            # The record may have come without its files.
            kept.keep(ready.data, ready.extension)
            screen.text(f"The photo is there already, as {there} of the job {job}.")
            return
        name = _free_name(present)
        pairs = [f"photos.{name}.sha256={digest}"]
        when = taken_at or _readable_time(ready, present)
        for field, text in (("of", of), ("taken_at", when), ("shows", shows)):
            if text:
                pairs.append(f"photos.{name}.{field}={text}")
        wanted = read_values(job, pairs, present, at)
        kept.keep(ready.data, ready.extension)
        import_changes(
            book,
            job,
            wanted,
            said_by=who(said_by),
            at=at,
            file_name=file.name,
            file_sha256=sha256(data).hexdigest(),
        )
    screen.text(f"Kept as {name} of the job {job}.")
    if as_it_is:
        screen.text("Where it was taken may stand in it; mind that before a report goes out.")
    if not when:
        screen.text("It does not say when it was taken; enter that with --taken-at next time.")


def _check_size(file: Path, data: bytes) -> None:
    from diagnose.store.attachments import LARGEST

    if len(data) > LARGEST:
        most = LARGEST // 1024 // 1024
        raise InputError([Problem(None, f"{file} is too large; at most {most} MiB are kept")])


def _readable_time(photo: Photo, present: Mapping[str, str]) -> str:
    """Return the camera's time, unless neither camera nor job says in which zone."""
    aware = photo.taken_at[16:] != ""
    return photo.taken_at if aware or "zone" in present else ""


def _photo_with(present: Mapping[str, str], digest: str) -> str:
    for path, value in present.items():
        if path.startswith("photos.") and path.endswith(".sha256") and value == digest:
            return path.split(".")[1]
    return ""


def _free_name(present: Mapping[str, str]) -> str:
    taken = {path.split(".")[1] for path in present if path.startswith("photos.")}
    number = len(taken) + 1
    while f"P{number}" in taken:
        number += 1
    return f"P{number}"


@app.command(short_help="Keep another file with a job, unchanged.")
def keep(
    job: str = typer.Argument(..., help="Id of the job."),
    file: Path = typer.Argument(
        ..., help="A logger's file, a letter, a data sheet: csv, txt, pdf."
    ),
    shows: str = typer.Option("", "--shows", help="What it is, in a few words."),
    said_by: str | None = _WHO,
    casebook: Path | None = _CASEBOOK,
) -> None:
    """Keep a file with a job, unchanged, under the digits of its content."""
    from diagnose.cli.screen import Screen
    from diagnose.store.jobs import values_of
    from diagnose.store.named_files import FILE_KEPT

    extension = file.suffix.lower().removeprefix(".")
    if extension not in _PAPERS:
        photos = ("jpg", "jpeg", "png", "webp")
        hint = "photos are kept with `photo`" if extension in photos else ""
        raise InputError(
            [Problem(None, f"{file} is not kept; allowed are {', '.join(_PAPERS)}", hint)]
        )
    data = read_file(file)
    _check_size(file, data)
    with open_casebook(casebook) as book:
        values_of(book, job)
        digest = files_of(book, casebook).keep(data, extension)
        body = {
            "job": job,
            "file": {"name": file.name, "sha256": digest},
            "shows": shows,
            "said_by": who(said_by),
        }
        book.append(FILE_KEPT, body, at=now())
    Screen().text(f"Kept with the job {job}, as {digest[:16]}.")


@app.command(short_help="List the photos and files of a job.")
def files(
    job: str = typer.Argument(..., help="Id of the job."),
    json: bool = _JSON,
    casebook: Path | None = _CASEBOOK,
) -> None:
    """List the photos and files of a job, and where they lie on this machine.

    Each is read and compared with its digits (SHA-256). Those of a shared
    casebook are fetched from the server first, where they are not here yet.
    """
    from diagnose.cli.screen import Screen, put_json
    from diagnose.store.jobs import values_of
    from diagnose.store.named_files import FILE_KEPT

    with open_casebook(casebook) as book:
        values, _ = values_of(book, job)
        papers = book.entries(job=job, kind=FILE_KEPT)
        rows = [
            (name, values[f"photos.{name}.sha256"], _shown(values, name))
            for name in sorted(
                {path.split(".")[1] for path in values if path.startswith("photos.")}
            )
            if f"photos.{name}.sha256" in values
        ]
        for entry in papers:
            named = entry.body.get("file")
            if isinstance(named, Mapping):
                shows = str(entry.body.get("shows", ""))
                rows.append((str(named.get("name")), str(named.get("sha256")), shows))
        kept = files_of(book, casebook)
        found = [(name, digest, shows, *_place(kept, digest)) for name, digest, shows in rows]
    if json:
        keys = ("name", "sha256", "shows", "place", "trouble")
        put_json([dict(zip(keys, row, strict=True)) for row in found])
        return
    screen = Screen()
    if not found:
        screen.text(f"No photo or file is kept with the job {job}.")
    for name, _, shows, place, trouble in found:
        screen.text(f"{name}: {shows}" if shows else name)
        if trouble:
            screen.text(trouble, indent=2)
        else:
            # Never broken, so that it can be copied.
            screen.stream.write(f"  {clean(place)}\n")


def _shown(values: Mapping[str, str], name: str) -> str:
    parts = (values.get(f"photos.{name}.{field}", "") for field in ("of", "shows", "taken_at"))
    return ", ".join(part for part in parts if part)


def _place(files: Files, digest: str) -> tuple[str, str]:
    """Return where a file lies, or else why it cannot be had."""
    try:
        return str(files.place(digest)), ""
    except NotFoundError:
        return "", f"{files.nowhere} ({digest[:16]})"
    except StoreError as error:
        return "", str(error)
