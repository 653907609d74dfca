"""The command `case`: list cases, show what was found, close and reopen them."""

from __future__ import annotations

import sys
from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from diagnose.cli.where import CASEBOOK_HELP, now, open_casebook, the_rules, who
from diagnose.errors import NotFoundError

if TYPE_CHECKING:
    from diagnose.store.journal import Casebook
    from diagnose.walk.finding import ExplanationLine

app = typer.Typer(
    rich_markup_mode=None,
    add_completion=False,
    no_args_is_help=True,
    help="List, show, close and reopen cases.",
)

WIDE = 90
"""Columns from which on cases are listed as a table."""
_CASEBOOK = typer.Option(None, "--casebook", help=CASEBOOK_HELP)
_JSON = typer.Option(False, "--json", help="Write JSON.")


@app.command("list")
def list_(
    status: str | None = typer.Option(None, "--status", help="open or closed."),
    job: str | None = typer.Option(None, "--job", help="Only cases of this job."),
    symptom: str | None = typer.Option(None, "--symptom", help="Only cases with this symptom."),
    json: bool = _JSON,
    casebook: Path | None = _CASEBOOK,
) -> None:
    """List the cases of the casebook."""
    from diagnose.cli.screen import Screen, put_json
    from diagnose.store.cases import list_cases

    if status not in (None, "open", "closed"):
        raise NotFoundError(f"a case is open or closed, not {status}", ("open", "closed"))
    with open_casebook(casebook) as book:
        lines = list_cases(book, status=status, job=job, symptom=symptom)
        if job is not None and not lines:
            _known_job(book, job)
        found = {} if json else {line.id: _found_so_far(book, line.id) for line in lines}
    if json:
        from dataclasses import asdict

        put_json([asdict(line) for line in lines])
        return
    screen = Screen()
    if not lines:
        screen.text("No case fits. `diagnose walk` opens one.")
        return
    if screen.width < WIDE:
        for c in lines:
            screen.text(f"{c.id} ({c.status}): {c.job or 'no record'}, {c.place or '-'}")
            screen.text(f"{', '.join(c.symptoms)}, opened {c.opened_at[:10]}", indent=4)
            screen.text(f"Found: {found[c.id]}", indent=4)
        return
    screen.table(
        ("case", "job", "complaint", "place", "opened", "state", "found"),
        (
            (
                c.id,
                c.job or "-",
                ", ".join(c.symptoms),
                c.place or "-",
                c.opened_at[:10],
                c.status,
                found[c.id],
            )
            for c in lines
        ),
        whole=2,
    )


def _known_job(book: Casebook, job: str) -> None:
    from diagnose.store.jobs import jobs
    from diagnose.text import nearest

    known = [line.id for line in jobs(book)]
    if job not in known:
        raise NotFoundError(f"the casebook has no job {job}", nearest(job, known))


def _found_so_far(book: Casebook, case_id: str) -> str:
    """Return what a case has come to: established, found, or nothing yet."""
    from diagnose.reports.finding_json import finding_from_json
    from diagnose.reports.finding_words import together
    from diagnose.store.cases import show_case

    case = show_case(book, case_id)
    if case.causes:
        return f"established: {', '.join(case.causes).replace('-', ' ')}"
    if not case.findings:
        return "nothing yet"
    finding = finding_from_json(str(case.findings[-1].body["finding"]))
    return f"{together(finding.likeliest.names)}, {finding.likeliest.odds}"


@app.command(short_help="Show a case with its last finding.")
def show(
    case: str = typer.Argument(..., help="Id of the case."),
    json: bool = _JSON,
    markdown: bool = typer.Option(False, "--markdown", help="Write Markdown."),
    casebook: Path | None = _CASEBOOK,
) -> None:
    """Show a case with its last finding, as it was found then."""
    from diagnose.cli.blocks_screen import show as show_blocks
    from diagnose.cli.screen import Screen, put_json
    from diagnose.reports.finding_json import finding_from_json, finding_to_dict
    from diagnose.reports.finding_words import finding_blocks
    from diagnose.reports.markdown import markdown as as_markdown
    from diagnose.store.cases import show_case

    with open_casebook(casebook) as book:
        found = show_case(book, case)
    if not found.findings:
        raise NotFoundError(
            f"the case {found.id} has no finding yet; go on with: diagnose walk --resume {found.id}"
        )
    finding = finding_from_json(str(found.findings[-1].body["finding"]))
    if json:
        closed = {"causes": list(found.causes), "how": found.how}
        put_json(
            {"case": found.id, "status": found.status, "closed": closed}
            | {"finding": finding_to_dict(finding)}
        )
        return
    blocks = finding_blocks(finding)
    if markdown:
        sys.stdout.write(as_markdown(blocks))
        return
    screen = Screen()
    state = f"Case {found.id} is {found.status}"
    if found.causes:
        state += f": established {', '.join(found.causes)} ({found.how})"
    elif found.how:
        state += f" without an established cause ({found.how})"
    screen.text(state + ".")
    if found.words:
        screen.text(f"In the client's words: {found.words}")
    show_blocks(screen, blocks)


@app.command(short_help="Work the answers out with today's rules.")
def again(
    case: str = typer.Argument(..., help="Id of the case."),
    json: bool = _JSON,
    casebook: Path | None = _CASEBOOK,
) -> None:
    """Work the same answers out with today's rules and record, and show what differs.

    Nothing is stored: the finding of that day stays as it was.
    """
    from diagnose.cli.screen import Screen, put_json
    from diagnose.cli.walk_start import resumed
    from diagnose.reports.finding_json import finding_from_json
    from diagnose.reports.finding_words import together
    from diagnose.store.cases import show_case
    from diagnose.walk.conclude import explanation_lines
    from diagnose.walk.inspection import begin

    rules = the_rules()
    with open_casebook(casebook) as book:
        found = show_case(book, case)
        if not found.findings:
            raise NotFoundError(f"the case {found.id} has no finding yet to compare with")
        then = finding_from_json(str(found.findings[-1].body["finding"]))
        started, steps = resumed(book, rules, found, then.made_at)
    now_lines = explanation_lines(begin(rules, started.intake, steps, older=True))
    rows = [
        (names, _chance(then.explanations, names), _chance(now_lines, names))
        for names in dict.fromkeys(line.names for line in (*then.explanations, *now_lines))
    ]
    same_rules = then.edition == rules.edition
    if json:
        put_json(
            {
                "case": found.id,
                "same_rules": same_rules,
                "explanations": [
                    {"causes": list(names), "then": before, "now": after}
                    for names, before, after in rows
                ],
            }
        )
        return
    screen = Screen()
    screen.text(
        "The rules are those of that day."
        if same_rules
        else f"The rules have changed since: {then.edition[:12]} then, {rules.edition[:12]} now."
    )
    screen.table(
        ("explanation", "then", "now"),
        (
            (
                together(names),
                _in_words(before),
                _in_words(after),
            )
            for names, before, after in rows
        ),
    )


@app.command(short_help="Say how firm a finding is.")
def firm(
    case: str = typer.Argument(..., help="Id of the case, or a complaint file (.yaml)."),
    numbers: bool = typer.Option(
        False, "--numbers", help="Name the judged numbers that count most, as explain does."
    ),
    casebook: Path | None = _CASEBOOK,
) -> None:
    """Say how far the finding survives errors in the judged numbers, and what would turn it."""
    from diagnose.cli.blocks_screen import show as show_blocks
    from diagnose.cli.case_firm import firmness_blocks
    from diagnose.cli.case_of import inspection_of
    from diagnose.cli.screen import Screen

    with open_casebook(casebook) as book:
        inspection = inspection_of(book, the_rules(), case)
    show_blocks(Screen(), firmness_blocks(inspection, numbers=numbers))


def _chance(lines: Iterable[ExplanationLine], names: tuple[str, ...]) -> float | None:
    return next((round(line.probability, 4) for line in lines if line.names == names), None)


def _in_words(chance: float | None) -> str:
    from diagnose.engine.words import odds_words

    return "not among the likeliest" if chance is None else odds_words(chance)


@app.command(short_help="Close a case with its established cause.")
def close(
    case: str = typer.Argument(..., help="Id of the case."),
    cause: list[str] = typer.Option([], "--cause", help="Established cause; may be given again."),
    how: str = typer.Option(..., "--how", help="How it was established, in a few words."),
    casebook: Path | None = _CASEBOOK,
    said_by: str | None = typer.Option(None, "--who", help="Who says so."),
) -> None:
    """Close a case with the cause that was established in the end, or with none."""
    from diagnose.cli.screen import Screen
    from diagnose.store.cases import close_case
    from diagnose.text import nearest

    rules = the_rules()
    for name in cause:
        if name not in rules.causes:
            raise NotFoundError(f"no cause is called {name}", nearest(name, rules.causes))
    with open_casebook(casebook) as book:
        close_case(book, case, cause, how=how, said_by=who(said_by), at=now())
    if cause:
        Screen().text(f"Case {case} is closed.")
    else:
        Screen().text(
            f"Case {case} is closed without an established cause, so `diagnose learn` learns "
            f"nothing from it. To name one: diagnose case reopen {case} --reason '...', then "
            f"close it with --cause."
        )


@app.command(short_help="Open a closed case again.")
def reopen(
    case: str = typer.Argument(..., help="Id of the case."),
    reason: str = typer.Option(..., "--reason", help="Why."),
    casebook: Path | None = _CASEBOOK,
    said_by: str | None = typer.Option(None, "--who", help="Who says so."),
) -> None:
    """Open a closed case again; the closing stays readable."""
    from diagnose.cli.screen import Screen
    from diagnose.store.cases import reopen_case

    with open_casebook(casebook) as book:
        reopen_case(book, case, reason=reason, said_by=who(said_by), at=now())
    Screen().text(f"Case {case} is open again.")
