"""The command `trends`: is a batch, lot, product, method or stage worse than the rest?"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import typer

from diagnose.cli.where import CASEBOOK_HELP, open_casebook, the_rules

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from diagnose.cli.screen import Screen
    from diagnose.store.trends import Trend

app = typer.Typer(rich_markup_mode=None, add_completion=False)

MOST_QUIET = 12
"""Groups shown that can be chance, or are too few, before the rest is only counted."""


@app.command()
def trends(
    symptom: str | None = typer.Option(None, "--symptom", help="Only cases with this symptom."),
    every: bool = typer.Option(False, "--all", help="Show every group, however many."),
    json: bool = typer.Option(False, "--json", help="Write JSON."),
    casebook: Path | None = typer.Option(None, "--casebook", help=CASEBOOK_HELP),
) -> None:
    """Compare each batch, lot, product, method and stage of the work with the others.

    For each batch, lot, product and method the jobs with a case are set against
    all its jobs, and the same outside it, by Fisher's exact test; jobs that do
    not name one are left out.

    A stage, such as sealing, is at fault in a job when the established cause of
    a closed case lies there. It is compared with the other stages of the jobs
    that had it: a stage counts as had when the rules know a cause of it for the
    method and the record names what it works on, so no sealing without a seam.
    That test is exact as well. Where many groups are looked at,
    some look bad by chance alone; the chances are adjusted for that (Benjamini
    and Hochberg), and a group is named only when at most 1 in 20 of those
    named would be a false alarm. A difference is not yet a cause.
    """
    from diagnose.cli.screen import Screen, put_json
    from diagnose.errors import NotFoundError
    from diagnose.store.stages import Stages, causes_by_stage
    from diagnose.store.trends import trends as compare
    from diagnose.text import nearest

    rules = the_rules()
    if symptom is not None and symptom not in rules.symptoms:
        raise NotFoundError(f"no symptom is called {symptom}", nearest(symptom, rules.symptoms))
    with open_casebook(casebook) as book:
        known = Stages(rules)
        found = compare(book, symptom=symptom, stages=known)
        stages = causes_by_stage(book, known.of_cause)
    if json:
        put_json({"groups": [_as_json(trend) for trend in found], "established_causes": stages})
        return
    screen = Screen()
    _show(screen, found, MOST_QUIET if not every else len(found))
    _show_stages(screen, stages)


def _as_json(trend: Trend) -> dict[str, object]:
    from dataclasses import asdict

    return asdict(trend) | {"stands_out": trend.stands_out, "sentence": trend.sentence}


def _show(screen: Screen, found: Sequence[Trend], most: int) -> None:
    from diagnose.store.trends import FEWEST_JOBS

    out = [trend for trend in found if trend.stands_out]
    chance = [trend for trend in found if trend.adjusted is not None and not trend.stands_out]
    few = [trend for trend in found if trend.adjusted is None]
    if not found:
        screen.text("No job in the casebook names a batch, lot, product or method yet.")
        return
    if out:
        screen.strong("These stand out")
    else:
        screen.strong("Nothing stands out.")
    for trend in out:
        screen.text(f"{trend.sentence}.", mark="-")
    _quiet(screen, "These can well be chance", chance, most)
    _quiet(
        screen,
        f"Too few to say: fewer than {FEWEST_JOBS} jobs in the group or outside it, "
        "or hardly a case",
        few,
        most,
    )


def _quiet(screen: Screen, heading: str, trends: Sequence[Trend], most: int) -> None:
    if not trends:
        return
    screen.heading(heading)
    for trend in trends[:most]:
        screen.text(f"{trend.sentence.rpartition('; ')[0]}", mark="-")
    if len(trends) > most:
        screen.faint(f"and {len(trends) - most} more; --all shows them")


def _show_stages(screen: Screen, stages: Mapping[str, int]) -> None:
    if not stages:
        return
    screen.heading("Established causes of closed cases, by stage")
    for stage, number in sorted(stages.items(), key=lambda pair: (-pair[1], pair[0])):
        screen.text(f"{stage.replace('-', ' ')}: {number}", mark="-")
