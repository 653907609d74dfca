"""The handover pack: built from a job, and put into words as blocks."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from datetime import UTC, tzinfo
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from diagnose.checks.run import run_checks
from diagnose.model import Place
from diagnose.record.model import Job
from diagnose.reports.blocks import Block, Heading, Item, Paragraph, TableBlock
from diagnose.reports.finding_words import INVENTED
from diagnose.reports.pack import NOT_RECORDED, Pack, Section, Sheet, pack_to_dict
from diagnose.reports.pack_laid import job_section, laid_sections
from diagnose.reports.pack_use import end_sections, use_sections
from diagnose.reports.report import Report
from diagnose.rulebook.model import Rules

_ENTERED = {
    "on-the-day": "on the day",
    "late": "late",
    "after-the-complaint": "after a complaint",
    "statement": "as a later statement",
}


def pack_of(
    job: Job, rules: Rules, *, head: str, made_at: str, made_by: str, call: str = ""
) -> Pack:
    """Return the handover pack of a job.

    `call` is whom to call, as it is to stand in the pack; the record holds no
    telephone numbers.  `head` is the head of the casebook.
    """
    results = run_checks(rules, job, Place("job"))
    counted = Counter(str(entry.provenance) for entry in job.origins.values())
    return Pack(
        job=job.id,
        title=job.title or "",
        invented=job.invented,
        sections=(
            job_section(job),
            *use_sections(job, rules, call),
            *laid_sections(job, rules, zone_of(job)),
            *end_sections(job, results),
        ),
        entered={name: counted[name] for name in _ENTERED if counted[name]},
        casebook_head=head,
        edition=rules.edition,
        made_at=made_at,
        made_by=made_by,
    )


def zone_of(job: Job) -> tzinfo:
    """Return the time zone of the site; UTC where none is recorded or known."""
    try:
        return ZoneInfo(job.zone) if job.zone else UTC
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return UTC


def pack_report(pack: Pack) -> Report:
    """Return the pack as a report."""
    return Report("pack", _title(pack), pack_blocks(pack), pack_to_dict(pack))


def pack_blocks(pack: Pack) -> tuple[Block, ...]:
    """Return the whole pack as blocks."""
    return tuple(_blocks(pack))


def _title(pack: Pack) -> str:
    return f"Handover pack: {pack.title or pack.job}"


def _blocks(pack: Pack) -> Iterator[Block]:
    yield Heading(_title(pack), level=1)
    if pack.invented:
        yield Paragraph(INVENTED, strong=True)
    yield Paragraph(_entered_words(pack))
    count = sum(len(missing) for _, missing in pack.missing)
    if count:
        kinds = "1 item is" if count == 1 else f"{count} items are"
        yield Paragraph(
            f"{kinds} {NOT_RECORDED}; each is named in its place, and all of them at the end."
        )
    for part in pack.sections:
        yield from _section(part)
    yield from _missing(pack)
    yield Heading("What this rests on")
    yield Paragraph(
        "The pack says what the record of the job holds. It is no certificate, and what nobody "
        "recorded may still have been done."
    )
    ends = [f"Made {pack.made_at} by {pack.made_by}", f"job {pack.job}"]
    ends += [f"rules {pack.edition[:12]}", f"casebook at {pack.casebook_head or NOT_RECORDED}"]
    yield Paragraph("; ".join(ends) + ".", faint=True)


def _entered_words(pack: Pack) -> str:
    total = sum(pack.entered.values())
    if not total:
        return "Nobody knows when the values of this record were entered."
    parts = [f"{count} {_ENTERED[name]}" for name, count in pack.entered.items()]
    held = "1 value" if total == 1 else f"{total} values"
    return f"The record holds {held}; entered: {', '.join(parts)}."


def _section(part: Section) -> Iterator[Block]:
    yield Heading(part.name)
    if part.intro:
        yield Paragraph(part.intro)
    if part.facts:
        rows = tuple((each.label, each.words) for each in part.facts)
        yield TableBlock(("item", "what is recorded"), rows)
    for sheet in part.sheets:
        yield from _sheet(sheet)
    for line in part.lines:
        yield Item(line)
    yield from part.pictures


def _sheet(sheet: Sheet) -> Iterator[Block]:
    if not sheet.rows:
        yield Paragraph(f"{sheet.name}: {NOT_RECORDED}.")
        return
    rows = tuple(tuple(cell or NOT_RECORDED for cell in row) for row in sheet.rows)
    yield TableBlock(sheet.columns, rows, sheet.name)


def _missing(pack: Pack) -> Iterable[Block]:
    if pack.missing:
        yield Heading("What is not recorded")
        for name, missing in pack.missing:
            yield Item(f"{name}: {'; '.join(missing)}.")
