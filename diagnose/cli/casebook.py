"""The command `casebook`: verify, search, back up, carry, merge and share the casebook."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import typer

from diagnose.cli import casebook_carry, casebook_files, casebook_people
from diagnose.cli.where import CASEBOOK_HELP, files_of, open_casebook, read_file

if TYPE_CHECKING:
    from diagnose.cli.screen import Screen
    from diagnose.store.audit import Report
    from diagnose.store.chain import Head
    from diagnose.store.derived import Difference
    from diagnose.store.search import Hit

app = typer.Typer(
    rich_markup_mode=None,
    add_completion=False,
    no_args_is_help=True,
    help="Verify, back up and merge the casebook.",
)

MOST_ABSENT = 12
"""Missing photos and files that are named before the rest is only counted."""
NOT_SOUND = 5
"""Exit code when a casebook or a copy of it does not verify."""

_CASEBOOK = typer.Option(None, "--casebook", help=CASEBOOK_HELP)
_JSON = typer.Option(False, "--json", help="Write JSON.")


@app.command(short_help="Check that nothing was changed.")
def verify(
    head: list[str] = typer.Option(
        [], "--head", help="A head kept elsewhere: device/number/digits. May be given again."
    ),
    heads: Path | None = typer.Option(
        None, "--heads", help="A text file of such heads, one a line."
    ),
    json: bool = _JSON,
    casebook: Path | None = _CASEBOOK,
) -> None:
    """Check every entry, every chain, every list made from them and every kept file.

    Each device writes a chain of entries; each entry carries the digits of the
    one before it. So an entry that was changed, moved, or taken out of the
    middle shows at once.

    Two things cannot be seen from the casebook alone: that the newest entries
    of a device were cut off, with no other device that knew of them; and that
    the owner of the casebook wrote the whole of it anew. Both are found when a
    head is given that was kept elsewhere: on a printed report, on paper in the
    office, with the client, or on another device. A head names the newest
    entry of a device; this command ends with them, to be written down.

    Nor can any check tell whether what was entered was true on the day. It
    tells only that it has not been changed since.
    """
    from diagnose.cli.screen import Screen, put_json
    from diagnose.store.named_files import check_files

    kept = _heads(head, heads)
    with open_casebook(casebook) as book:
        report = book.verify(kept)
        files = check_files(book.engine, files_of(book, casebook)) if not report.damage else None
        # What follows from entries that were changed says nothing.
        lists = book.differences() if report.readable else ()
    spoilt = tuple(str(flaw) for flaw in files.spoilt) if files else ()
    absent = files.missing if files else ()
    astray = tuple(each.sentence for each in lists)
    if json:
        missing = [{"sha256": flaw.digest, "text": str(flaw)} for flaw in absent]
        put_json(_as_json(report, spoilt, kept, lists) | {"files_missing": missing})
    else:
        _tell(Screen(), report, spoilt, tuple(str(flaw) for flaw in absent), len(kept), astray)
    if not report.sound or spoilt or lists:
        raise typer.Exit(NOT_SOUND)


def _heads(given: list[str], file: Path | None) -> tuple[Head, ...]:
    from diagnose.cli.casebook_words import read_heads

    texts = [("--head", text) for text in given]
    if file is not None:
        lines = read_file(file).decode("utf-8", "replace").splitlines()
        texts += [
            (f"{file}, line {number}", line)
            for number, line in enumerate(lines, 1)
            if line.strip() and not line.lstrip().startswith("#")
        ]
    return read_heads(texts)


def _as_json(
    report: Report,
    spoilt: tuple[str, ...],
    kept: tuple[Head, ...],
    lists: tuple[Difference, ...],
) -> dict[str, object]:
    return {
        "sound": report.sound and not spoilt and not lists,
        "entries": report.entries,
        "flaws": [
            *({"kind": "damage", "text": text} for text in report.damage),
            *(
                {"kind": flaw.kind, "device": flaw.device, "seq": flaw.seq, "text": flaw.sentence}
                for flaw in report.flaws
                if not flaw.warning
            ),
            *({"kind": "file", "text": text} for text in spoilt),
            *({"kind": "list", "table": each.table, "text": each.sentence} for each in lists),
        ],
        "warnings": [flaw.sentence for flaw in report.flaws if flaw.warning],
        "heads_given": [str(head) for head in kept],
        "heads": [
            {"device": head.device, "seq": head.seq, "hash": head.hash} for head in report.heads
        ],
    }


def _tell(
    screen: Screen,
    report: Report,
    spoilt: tuple[str, ...],
    absent: tuple[str, ...],
    given: int,
    astray: tuple[str, ...],
) -> None:
    from diagnose.cli.casebook_words import count, put_heads

    size = f"{count(report.entries, 'entry', 'entries')} of {count(len(report.heads), 'device')}"
    wrong = [
        *(f"the file is damaged: {line}" for line in report.damage),
        *(flaw.sentence for flaw in report.flaws if not flaw.warning),
        *spoilt,
    ]
    if wrong:
        screen.strong(f"The casebook is not sound: {count(len(wrong), 'flaw')} in {size}.")
        for text in wrong:
            screen.text(text, mark="-")
    elif astray:
        screen.strong(f"The entries are sound: {size}; but what is listed from them is not.")
    else:
        screen.strong(f"The casebook is sound: {size}, all in order.")
    for text in astray:
        screen.text(text, mark="-")
    _tell_clocks(screen, report)
    if absent:
        screen.text(
            f"{count(len(absent), 'photo or file', 'photos and files')} named in the record "
            "cannot be found; a bundle from another device may hold them:",
        )
        for text in absent[:MOST_ABSENT]:
            screen.text(text, mark="-")
        if len(absent) > MOST_ABSENT:
            screen.faint(f"and {len(absent) - MOST_ABSENT} more; --json names them all")
    if given:
        were = "was" if given == 1 else "were"
        screen.text(f"{count(given, 'head')} kept elsewhere {were} compared.")
    else:
        screen.text(
            "No head kept elsewhere was given, so entries cut off at the end, or a casebook "
            "written anew, would not show (see --help)."
        )
    if report.heads and not wrong:
        screen.heading("Write down, with the date, and keep away from this machine")
        put_heads(screen, report.heads)


def _tell_clocks(screen: Screen, report: Report) -> None:
    """Tell the first odd time of each device, and how many more there are."""
    from diagnose.cli.casebook_words import count

    odd: dict[str, list[str]] = {}
    for flaw in report.flaws:
        if flaw.warning:
            odd.setdefault(flaw.device, []).append(flaw.sentence)
    for first, *more in odd.values():
        others = f"; {count(len(more), 'later entry', 'later entries')} also" if more else ""
        screen.text(f"Clock, no sign of tampering: {first}{others}.", mark="-")


@app.command(short_help="Print the newest entry of every device.")
def heads(casebook: Path | None = _CASEBOOK, json: bool = _JSON) -> None:
    """Print the newest entry of every device, for paper or for `bundle --since`."""
    from diagnose.cli.casebook_words import put_heads
    from diagnose.cli.screen import Screen, put_json

    with open_casebook(casebook) as book:
        found = book.heads()
    if json:
        put_json([str(head) for head in found])
        return
    put_heads(Screen(), found)


@app.command(short_help="Fill the lists afresh from the entries.")
def rebuild(casebook: Path | None = _CASEBOOK) -> None:
    """Fill the lists of jobs, batches, cases and words afresh from the entries."""
    from diagnose.cli.casebook_words import count
    from diagnose.cli.screen import Screen

    with open_casebook(casebook) as book:
        number = book.rebuild()
    Screen().text(f"The lists were filled afresh from {count(number, 'entry', 'entries')}.")


@app.command(short_help="Find words in records, cases and findings.")
def search(
    words: list[str] = typer.Argument(
        ..., help="Words to look for; the last may be the beginning of one."
    ),
    most: int = typer.Option(50, "--most", min=1, max=200, help="Most places to show."),
    json: bool = _JSON,
    casebook: Path | None = _CASEBOOK,
) -> None:
    """Find words in what was recorded, complained of, answered or found.

    Places where the words stand together come first, then entries that hold
    all of them; among like ones the newest. Capitals, accents and signs such
    as quotes do not matter.

    Names of people are not found; they are kept apart from the entries.
    """
    from diagnose.cli.screen import Screen, put_json
    from diagnose.store.search import search as look

    wanted = " ".join(words)
    with open_casebook(casebook) as book:
        hits = look(book, wanted, most=most)
    if json:
        put_json(
            [
                {
                    "job": hit.job,
                    "case": hit.case,
                    "where": hit.where,
                    "text": hit.text,
                    "entered_at": hit.entry.at,
                    "entry": f"{hit.entry.device}/{hit.entry.seq}",
                }
                for hit in hits
            ]
        )
        return
    screen = Screen()
    if not hits:
        screen.text(f"Nothing in the casebook holds the words {wanted}.")
        return
    _show_hits(screen, hits)
    if len(hits) == most:
        screen.faint(f"Only the first {most} places are shown; --most shows more.")


def _show_hits(screen: Screen, hits: tuple[Hit, ...]) -> None:
    """Show hits below the entry they stand in; bare ids of jobs and cases are only counted."""
    from diagnose.cli.casebook_words import count, hit_line, hit_where

    shown = [hit for hit in hits if hit.where not in ("job", "case")]
    last = None
    for hit in shown:
        if hit.entry is not last:
            screen.text(hit_line(hit))
            last = hit.entry
        screen.text(f"{hit_where(hit)}: {hit.text}", indent=2)
    named = {hit.job for hit in hits if hit.where == "job" and hit.job}
    bare = len(hits) - len(shown)
    if bare:
        of = f", of {', '.join(sorted(named)[:5])}" if named else ""
        screen.faint(f"{count(bare, 'entry', 'entries')} besides by the id alone{of}.")


app.add_typer(casebook_carry.app)
app.add_typer(casebook_people.app)
app.add_typer(casebook_files.app)
