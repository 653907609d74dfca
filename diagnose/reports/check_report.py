"""The report of the check before leaving site, with the forecast drawn."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.forecast.leave_site import stands_out
from diagnose.forecast.values import LeaveSite
from diagnose.record.contradictions import Contradiction
from diagnose.reports.bars import Bar, bars_picture
from diagnose.reports.blocks import Block, Heading, PictureBlock
from diagnose.reports.check_words import check_blocks
from diagnose.reports.finding_json import plain_values
from diagnose.reports.finding_words import place_words
from diagnose.reports.report import Report
from diagnose.rulebook.model import Rules

TITLE = "Callbacks that stand out"
BEFORE = "Callbacks to expect"
MOST_BARS = 8


def check_report(
    found: LeaveSite, rules: Rules, *, whole: bool = False, amiss: Sequence[Contradiction] = ()
) -> Report:
    """Return the check as a report; with `whole` also what hardly matters.

    `amiss` are values of the record that cannot both be true.
    """
    blocks = check_blocks(found, rules, whole=whole, amiss=amiss)
    title = next(block.text for block in blocks if isinstance(block, Heading))
    drawn = forecast_picture(found)
    shown = _after_heading(blocks, drawn) if drawn else blocks
    values = {
        "clean": found.clean and not amiss,
        "cannot_be_so": [plain_values(each) for each in amiss],
        **plain_values(found),
    }
    return Report("check", title, shown, values)


def forecast_picture(found: LeaveSite) -> PictureBlock | None:
    """Return the chances that stand out as bars, or None where none does."""
    rows = [
        (callback, place.place)
        for place in found.places
        for callback in place.callbacks
        if stands_out(callback)
    ]
    rows.sort(key=lambda row: -row[0].chance)
    bars = [
        Bar(f"{callback.name} at {place_words(place)}", callback.chance, callback.sound)
        for callback, place in rows[:MOST_BARS]
    ]
    return bars_picture(TITLE, bars)


def _after_heading(blocks: tuple[Block, ...], drawn: Block) -> tuple[Block, ...]:
    for index, block in enumerate(blocks):
        if isinstance(block, Heading) and block.text == BEFORE:
            return (*blocks[: index + 1], drawn, *blocks[index + 1 :])
    return (*blocks, drawn)
