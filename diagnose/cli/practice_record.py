"""The record of an invented job on the screen: its pages, its plan, its climate log."""

from __future__ import annotations

from difflib import get_close_matches
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from diagnose.cli.screen import Screen
    from diagnose.practice.draw import PracticeCase
    from diagnose.practice.job.sampled import SampledJob
    from diagnose.practice.job.shown import Page
    from diagnose.rulebook.model import Rules

RECORD_HELP = """\
record         the pages of the job's record; record NAME opens one, such as record S1
plan           the floor plan
climate        the log of the room, day by day"""


def show_checks(screen: Screen, rules: Rules, case: PracticeCase, word: str = "") -> None:
    """Show how many checks of each stage found what; with a stage or a word, what they found."""
    from diagnose.practice.wording import checks_about, checks_by_stage

    if not word:
        for stage, counts in checks_by_stage(rules, case).items():
            screen.text(f"{stage}: {counts}", mark="-")
        screen.faint("Type checks and a stage or a word, such as checks roller.")
        return
    found = checks_about(rules, case, word)
    for text in found:
        screen.text(text, mark="-")
    if not found:
        screen.text(f"No check of this record is called {word}. Type checks.")


def show_record(screen: Screen, sampled: SampledJob, typed: str = "") -> None:
    """Show one page of the record, or which pages there are."""
    from diagnose.practice.job.shown import pages

    book = pages(sampled.job)
    names = [page.name for page in book]
    wanted = [page for page in book if page.name.lower() == typed.strip().lower()]
    if not typed:
        kinds: dict[str, list[str]] = {}
        for page in book:
            kinds.setdefault(_group(page), []).append(page.name)
        for kind, named in kinds.items():
            screen.text(f"{kind}: {', '.join(named)}", mark="-")
        screen.faint("Type record and a name to open a page, such as record job.")
    elif not wanted:
        near = get_close_matches(typed, names, n=3, cutoff=0.5)
        more = f"Did you mean {' or '.join(near)}?" if near else "Type record to see its pages."
        screen.text(f"The record has no page {typed}. {more}")
    for page in wanted:
        screen.heading(page.title[:1].upper() + page.title[1:])
        for label, said in page.rows:
            screen.text(f"{label}: {said}", mark="-")


def _group(page: Page) -> str:
    """Return what kind of page it is; of readings and later events, what was read or happened."""
    kind = page.title.rpartition(" ")[0] or page.title
    what = (
        dict(page.rows).get("kind", "").partition(" (")[0]
        if kind in ("reading", "later event")
        else ""
    )
    return f"{kind}, {what.replace('-', ' ')}" if what else kind


def show_plan(screen: Screen, sampled: SampledJob) -> None:
    """Show the floor plan, with the place of the complaint marked."""
    from diagnose.reports.plan_frame import frame_of
    from diagnose.reports.plan_pins import complaint_pins
    from diagnose.reports.plan_text import plan_lines

    pins = complaint_pins(sampled.job)
    for area in sampled.job.areas:
        for row in plan_lines(sampled.job, area, pins):
            screen.text(row)
        frame = frame_of(sampled.job, sampled.job.areas[area])
        if frame is not None:
            screen.faint(f"{'West' if frame.turned else 'North'} is at the top.")


def show_climate(screen: Screen, sampled: SampledJob) -> None:
    """Show the climate log day by day; when the carpet was laid stands above it."""
    from diagnose.checks.words import moment
    from diagnose.practice.job.shown import climate_rows

    dates = sampled.job.dates
    if dates.started_at and dates.finished_at:
        screen.text(f"Work from {moment(dates.started_at)} to {moment(dates.finished_at)}.")
    for log in sampled.job.climate.values():
        for row in climate_rows(log):
            screen.text(row)
    screen.faint(
        "Air temperature, then relative humidity. Each bar is the mean of four hours, on a scale "
        "from 5 to 30 °C and from 20 to 90 %; a dot where nothing was logged."
    )


def shown(screen: Screen, sampled: SampledJob, word: str, rest: str) -> bool:
    """Show what a word asks for; False where it asks for nothing of the record."""
    if word == "record":
        show_record(screen, sampled, rest)
    elif word == "plan":
        show_plan(screen, sampled)
    elif word == "climate":
        show_climate(screen, sampled)
    return word in ("record", "plan", "climate")
