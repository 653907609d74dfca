"""The command `learn`: what closed cases say of the judged numbers; it adopts nothing."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import typer

from diagnose.cli.where import CASEBOOK_HELP, now, open_casebook, the_rules
from diagnose.errors import DiagnoseError, NotFoundError

if TYPE_CHECKING:
    from diagnose.engine.learning import ClosedCase, Proposal
    from diagnose.engine.network import Network
    from diagnose.engine.scores import Scores
    from diagnose.rulebook.model import Rules
    from diagnose.store.journal import Casebook

app = typer.Typer(rich_markup_mode=None, add_completion=False)

FEWEST = 10
"""Closed cases below which the proposals are shown as too few to lean on."""
MOST_SHOWN = 15


@app.command()
def learn(
    json: bool = typer.Option(False, "--json", help="Write JSON."),
    casebook: Path | None = typer.Option(None, "--casebook", help=CASEBOOK_HELP),
) -> None:
    """Say how well findings foretold the established causes, and propose changed numbers.

    Nothing is adopted: a person who agrees changes the words in the rules. Cases closed
    without an established cause say nothing here.
    """
    from diagnose.cli.screen import Screen, put_json
    from diagnose.engine.learning import propose

    rules = the_rules()
    with open_casebook(casebook) as book:
        network, cases, skipped, installs = closed_cases(book, rules)
    if not cases:
        raise NotFoundError(
            "no closed case has an established cause yet; "
            "`diagnose case close CASE --cause CAUSE --how '...'` gives one"
        )
    proposal = propose(network, cases, installs=max(installs, len(cases)))
    told = _calibration(network, cases)
    if json:
        put_json(_plain(proposal, told, len(cases), installs, skipped))
        return
    _show(Screen(), rules, proposal, told, len(cases), installs, skipped)


def closed_cases(book: Casebook, rules: Rules) -> tuple[Network, list[ClosedCase], list[str], int]:
    """Return one network for all floors, and every closed case with established causes.

    Cases that today's rules cannot take up any more are named and left out.
    """
    from diagnose.cli.walk_start import resumed
    from diagnose.engine.learning import ClosedCase
    from diagnose.engine.network import build
    from diagnose.model import Floor
    from diagnose.store.cases import list_cases, show_case
    from diagnose.store.jobs import jobs
    from diagnose.walk.inspection import begin

    cases, skipped, symptoms = [], [], dict.fromkeys(rules.symptoms)
    everywhere = build(rules, Floor({}), symptoms=symptoms)
    for line in list_cases(book, status="closed"):
        case = show_case(book, line.id)
        if not case.causes:
            continue
        day = case.findings[-1].at if case.findings else now().isoformat()
        try:
            started, steps = resumed(book, rules, case, day)
            evidence = begin(rules, started.intake, steps, older=True).evidence
        except DiagnoseError:
            skipped.append(case.id)
            continue
        known = frozenset(cause for cause in case.causes if cause in everywhere.index)
        cases.append(ClosedCase(evidence, ((known, 1.0),)))
    return everywhere, cases, skipped, len(jobs(book))


def _calibration(network: Network, cases: Iterable[ClosedCase]) -> Scores:
    """Score what the rules say of each cause before the case was closed."""
    from diagnose.engine.posterior import infer_chances
    from diagnose.engine.scores import scores

    said: list[float] = []
    right: list[float] = []
    for case in cases:
        chance = infer_chances(network, case.evidence).reached
        said += [min(max(float(p), 0.0), 1.0) for p in chance[: len(network.causes)]]
        right += [case.chance(cause) for cause in network.causes]
    return scores(said, right)


def _show(
    screen: Any,
    rules: Rules,
    proposal: Proposal,
    told: Scores,
    count: int,
    installs: int,
    skipped: list[str],
) -> None:
    screen.heading("How well findings foretold what was established")
    cases = "1 closed case" if count == 1 else f"{count} closed cases"
    screen.text(f"{cases} with an established cause, {installs} jobs on record.")
    if skipped:
        screen.text(f"Left out, because today's rules cannot take them up: {', '.join(skipped)}.")
    screen.table(
        ("said", "causes", "said on average", "were there"),
        (
            (
                f"{round(tenth.low * 100)} to {round(tenth.high * 100)} in 100",
                str(tenth.count),
                f"{tenth.said * 100:.1f} in 100",
                f"{tenth.right * 100:.1f} in 100",
            )
            for tenth in told.tenths
            if tenth.count
        ),
    )
    screen.text(
        f"Brier score {told.brier:.4f}, log score {told.log_score:.4f}, calibration error "
        f"{told.ece:.4f}, z {told.z:.1f}."
    )
    if abs(told.z) > 3:
        screen.strong("Causes come out clearly more or less often than the rules expect.")
    screen.heading("What the cases propose")
    if count < FEWEST:
        screen.text(f"Too few to lean on: below {FEWEST} closed cases chance decides.")
    verdict = (
        "Learning as the cases came in would have foretold the next ones better"
        if proposal.better
        else "Learning as the cases came in would not have foretold the next ones better: adopt nothing"
    )
    screen.text(
        f"{verdict} (log score {proposal.learnt_score:.4f} against {proposal.elicited_score:.4f})."
    )
    moved = sorted(
        (p for p in proposal.priors if p.seen), key=lambda p: -abs(p.proposed / p.elicited - 1.0)
    )
    screen.table(
        ("cause", "seen", "judged", "proposed", "19 times in 20"),
        (
            (
                rules.causes[p.cause].name,
                f"{p.seen:g}",
                f"{p.elicited * 100:.1f} in 100",
                f"{p.proposed * 100:.1f} in 100",
                f"{p.interval[0] * 100:.1f} to {p.interval[1] * 100:.1f}",
            )
            for p in moved[:MOST_SHOWN]
        ),
    )
    links = sorted(proposal.links, key=lambda link: -abs(link.proposed - link.elicited))
    screen.table(
        ("strength", "of", "judged", "proposed", "cases"),
        (
            (
                link.about.replace(":", " "),
                link.of,
                f"{link.elicited * 100:.0f} in 100",
                f"{link.proposed * 100:.0f} in 100",
                f"{link.cases:g}",
            )
            for link in links[:MOST_SHOWN]
        ),
    )


def _plain(
    proposal: Proposal, told: Scores, count: int, installs: int, skipped: list[str]
) -> dict[str, Any]:
    from dataclasses import asdict

    return {
        "closed_cases": count,
        "jobs": installs,
        "left_out": skipped,
        "calibration": asdict(told),
        "better": proposal.better,
        "log_score": {"judged": proposal.elicited_score, "learnt": proposal.learnt_score},
        "frequencies": [asdict(p) for p in proposal.priors if p.seen],
        "strengths": [asdict(link) for link in proposal.links],
    }
