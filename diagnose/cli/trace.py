"""The command `trace`: where a batch of carpet or a lot of adhesive went."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import typer

from diagnose.cli.where import CASEBOOK_HELP, open_casebook

if TYPE_CHECKING:
    from diagnose.cli.screen import Screen
    from diagnose.store.trace import Use

app = typer.Typer(rich_markup_mode=None, add_completion=False)


@app.command()
def trace(
    batch_or_lot: str = typer.Argument(
        ..., help="Batch of a roll or lot of a product, as printed."
    ),
    json: bool = typer.Option(False, "--json", help="Write JSON."),
    casebook: Path | None = typer.Option(None, "--casebook", help=CASEBOOK_HELP),
) -> None:
    """List every job that used a batch or lot: its drops, seams, spreads and cases."""
    from diagnose.cli.screen import Screen, put_json
    from diagnose.store.trace import trace as follow

    with open_casebook(casebook) as book:
        found = follow(book, batch_or_lot)
    if json:
        from dataclasses import asdict

        put_json(asdict(found))
        return
    screen = Screen()
    jobs, cases = len(found.uses), sum(len(use.cases) for use in found.uses)
    used = "1 job used it" if jobs == 1 else f"{jobs} jobs used it"
    with_cases = "no case" if not cases else "1 case" if cases == 1 else f"{cases} cases"
    screen.strong(f"{found.mark}: {used}, with {with_cases}.")
    for use in found.uses:
        screen.air()
        _show(screen, use)


def _show(screen: Screen, use: Use) -> None:
    screen.text(f"{use.job}, {use.title}" if use.title else use.job)
    for what, ids in (
        *_parts(use),
        ("drops", use.drops),
        ("seams", use.seams),
        ("spreads", use.spreads),
    ):
        if ids:
            screen.text(f"{what[:-1] if len(ids) == 1 else what} {', '.join(ids)}", indent=2)
    for case in use.cases:
        symptoms = ", ".join(case.symptoms) or "no symptom yet"
        place = f" at {case.place}" if case.place else ""
        screen.text(f"case {case.id} ({case.status}): {symptoms}{place}", indent=2)
    if not use.cases:
        screen.text("no case", indent=2)


def _parts(use: Use) -> list[tuple[str, tuple[str, ...]]]:
    found: dict[str, list[str]] = {}
    for part in use.parts:
        kind, _, name = part.partition(".")
        found.setdefault(kind, []).append(name)
    return [(kind, tuple(names)) for kind, names in found.items()]
