"""The command `walk`: from a complaint to a finding."""

from __future__ import annotations

import sys
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from diagnose.cli.where import CASEBOOK_HELP, now, open_casebook, the_rules, who
from diagnose.errors import InputError, NotFoundError, Problem

if TYPE_CHECKING:
    from diagnose.cli.screen import Screen
    from diagnose.cli.walk_start import Started
    from diagnose.engine.policy import Budget
    from diagnose.rulebook.model import Rules
    from diagnose.store.journal import Casebook
    from diagnose.walk.finding import Finding
    from diagnose.walk.inspection import Inspection
    from diagnose.walk.steps import Step

app = typer.Typer(rich_markup_mode=None, add_completion=False)

_FLOOR = "For a floor without a stored record."


@app.command()
def walk(
    job: str = typer.Argument(
        "", help="Job of the casebook; leave it out for a floor that has none."
    ),
    symptom: list[str] = typer.Option(
        [], "--symptom", "-s", help="What is complained of; may be given again."
    ),
    at: list[str] = typer.Option(
        [], "--at", help="Place, such as seam:S2, edge:E1, job; may be given again."
    ),
    words: str = typer.Option("", "--words", help="The complaint in the client's own words."),
    on: str = typer.Option(
        "", "--on", help="Day of the inspection, YYYY-MM-DD; today if left out."
    ),
    resume: str = typer.Option("", "--resume", help="Go on with a case."),
    answer: list[str] = typer.Option(
        [], "--answer", "-a", help="question=answer; may be given again."
    ),
    answers: Path | None = typer.Option(None, "--answers", help="YAML file of question: answer."),
    seen: list[str] = typer.Option(
        [], "--seen", help="A further symptom that is there; may be given again."
    ),
    absent: list[str] = typer.Option(
        [], "--absent", help="A symptom looked for and not there; may be given again."
    ),
    take_back: list[str] = typer.Option(
        [], "--take-back", help="Question whose answer is taken back; may be given again."
    ),
    no_input: bool = typer.Option(
        False, "--no-input", help="Ask nothing; conclude from what is given."
    ),
    json: bool = typer.Option(False, "--json", help="Write the finding as JSON; asks nothing."),
    markdown: bool = typer.Option(False, "--markdown", help="Write the finding as Markdown."),
    minutes: float | None = typer.Option(
        None, "--minutes", min=0, help="Ask nothing that takes longer."
    ),
    no_damage: bool = typer.Option(False, "--no-damage", help="Ask nothing that harms the floor."),
    method: str = typer.Option("", "--method", help=f"How it was laid. {_FLOOR}"),
    pile: str = typer.Option("", "--pile", help=f"Pile. {_FLOOR}"),
    construction: str = typer.Option("", "--construction", help=f"How it was made. {_FLOOR}"),
    backing: str = typer.Option("", "--backing", help=f"Backing. {_FLOOR}"),
    fibre: str = typer.Option("", "--fibre", help=f"Fibre. {_FLOOR}"),
    subfloor: str = typer.Option("", "--subfloor", help=f"Floor below. {_FLOOR}"),
    heating: str = typer.Option("", "--heating", help=f"Heating in the floor. {_FLOOR}"),
    age_days: int | None = typer.Option(None, "--age-days", min=0, help=f"Age. {_FLOOR}"),
    casebook: Path | None = typer.Option(None, "--casebook", help=CASEBOOK_HELP),
    said_by: str | None = typer.Option(
        None, "--who", help="Who inspects; your login name if left out."
    ),
    rules_folder: Path | None = typer.Option(None, "--rules", help="Folder of other rules."),
) -> None:
    """Ask the questions that lead from a complaint to a finding."""
    from diagnose.cli.walk_start import given_answers, off_record, on_record
    from diagnose.walk.steps import Step, StepKind

    facets = {
        "method": method,
        "pile": pile,
        "construction": construction,
        "backing": backing,
        "fibre": fibre,
        "subfloor": subfloor,
        "heating": heating,
    }
    facets = {name: value for name, value in facets.items() if value}
    where = ",".join(at)
    _refuse_odd(job, symptom, where, resume, facets, age_days)
    rules = the_rules(rules_folder)
    steps = [
        *(Step(StepKind.TAKEN_BACK, name) for name in take_back),
        *given_answers(rules, answer, answers),
        *(Step(StepKind.NOTICED, name) for name in seen),
        *(Step(StepKind.LOOKED, name) for name in absent),
    ]
    day = _day(on)
    with open_casebook(casebook, create=not job and not resume) as book:
        by = who(said_by)
        if resume:
            case, started, earlier = _taken_up(book, rules, resume, day)
        else:
            started = (
                on_record(book, rules, job, symptom, where, day)
                if job
                else off_record(symptom, where, facets, age_days)
            )
            case, earlier = "", []
            if on and job:
                _refuse_before_the_work(book, job, day)
        inspection = _begin(rules, started, earlier, _budget(minutes, no_damage))
        checked = inspection
        for step in steps:
            checked = checked.after(step)
        if not case:
            _tell_of_open_cases(book, started)
            case = _open(book, started, words, by, facets, age_days)
        for step in steps:
            _keep(book, case, step)
        asking = not (no_input or json) and sys.stdin.isatty()
        if not asking:
            _tell_of_unread_input()
        _finish(
            book, rules, started, checked, case, by, asking=asking, json=json, markdown=markdown
        )


def _refuse_odd(
    job: str, symptom: list[str], at: str, resume: str, facets: dict[str, str], age: int | None
) -> None:
    problems = []
    if resume:
        if job or symptom or at:
            problems.append(Problem(None, "--resume takes the case up as it was", "give it alone"))
    else:
        if not symptom:
            hint = "such as --symptom seam-peaking; `diagnose explain symptoms` lists them"
            problems.append(Problem(None, "say what is complained of: --symptom", hint))
        if not at:
            hint = "such as --at seam:S2; `diagnose job places JOB` lists them"
            problems.append(Problem(None, "say where: --at", hint))
    if job and (facets or age is not None):
        text = "the record of the job says what floor it is"
        problems.append(Problem(None, text, "leave out --method, --pile and the like"))
    if problems:
        raise InputError(problems)


def _day(text: str) -> date:
    if not text:
        return now().date()
    try:
        return date.fromisoformat(text)
    except ValueError:
        hint = "write the year first: 2026-11-26"
        raise InputError([Problem(None, f"--on {text} is no date", hint)]) from None


def _refuse_before_the_work(book: Casebook, job_id: str, day: date) -> None:
    """Refuse a day of inspection before the first day of the work."""
    from diagnose.cli.record_of import job_of

    began = job_of(book, job_id).dates.started_at
    if began is not None and day < began.date():
        text = f"--on {day} lies before the work on {job_id} began, {began.date()}"
        hint = "give the day the floor was looked at, or leave --on out for today"
        raise InputError([Problem(None, text, hint)])


def _budget(minutes: float | None, no_damage: bool) -> Budget:
    from diagnose.engine.policy import Budget
    from diagnose.rulebook.model import Damage

    return Budget(minutes, Damage.NONE if no_damage else Damage.CUTS_OR_CORES)


def _begin(rules: Rules, started: Started, steps: list[Step], budget: Budget) -> Inspection:
    from diagnose.walk.inspection import begin

    return begin(rules, started.intake, steps, budget, older=True)


def _taken_up(
    book: Casebook, rules: Rules, case_id: str, day: date
) -> tuple[str, Started, list[Step]]:
    from diagnose.cli.walk_start import resumed
    from diagnose.store.cases import show_case

    case = show_case(book, case_id)
    if case.status == "closed":
        raise NotFoundError(f"the case {case_id} is closed; `diagnose case reopen` opens it again")
    started, steps = resumed(book, rules, case, day.isoformat())
    return case.id, started, steps


def _open(
    book: Casebook, started: Started, words: str, by: str, facets: dict[str, str], age: int | None
) -> str:
    from diagnose.store.cases import open_case

    floor = facets | ({"age_days": str(age)} if age is not None else {})
    return open_case(
        book,
        symptoms=started.intake.symptoms,
        at=now(),
        said_by=by,
        job=started.intake.job or None,
        place=started.intake.where,
        words=words,
        floor=floor or None,
    )


def _tell_of_open_cases(book: Casebook, started: Started) -> None:
    """Say on standard error where the same place has an open case already."""
    from diagnose.cli.screen import Screen
    from diagnose.store.cases import list_cases

    if not started.intake.job:
        return
    here = {str(place) for place in started.intake.places}
    for line in list_cases(book, status="open", job=started.intake.job):
        if here & set((line.place or "").split(",")):
            Screen(sys.stderr).faint(
                f"Case {line.id} is open for the same place. To go on with it instead: "
                f"diagnose walk --resume {line.id}"
            )


def _tell_of_unread_input() -> None:
    """Say on standard error that answers from a pipe are not taken."""
    import select

    from diagnose.cli.screen import Screen

    try:
        waiting = not sys.stdin.isatty() and select.select([sys.stdin], [], [], 0)[0]
        text = sys.stdin.read(1) if waiting else ""
    except (OSError, ValueError):
        return
    if text:
        Screen(sys.stderr).faint(
            "What came in on standard input was not read. Give answers with --answer "
            "question=answer or --answers FILE."
        )


def _keep(book: Casebook, case: str, step: Step) -> None:
    from diagnose.store.cases import add_step
    from diagnose.walk.steps import body_of

    add_step(book, case, body_of(step), at=now())


def _finish(
    book: Casebook,
    rules: Rules,
    started: Started,
    inspection: Inspection,
    case: str,
    by: str,
    *,
    asking: bool,
    json: bool,
    markdown: bool,
) -> None:
    from diagnose.cli.screen import Screen, put_json
    from diagnose.reports.finding_json import finding_to_dict

    screen = Screen(sys.stderr if json or markdown else None)
    if asking:
        inspection = _talk(screen, book, rules, inspection, case)
    finding = conclude_and_store(
        book, inspection, started.title, invented=started.invented, case=case, by=by, at=now()
    )
    if json:
        put_json(finding_to_dict(finding))
        return
    _show(screen, finding, markdown=markdown)
    screen.faint(f"Kept as case {case}. Later: diagnose case show {case}")


def _talk(
    screen: Screen, book: Casebook, rules: Rules, inspection: Inspection, case: str
) -> Inspection:
    from diagnose.cli.walk_talk import Paused, Talk
    from diagnose.reports.finding_words import place_words

    names = " and ".join(rules.symptoms[s].name.lower() for s in inspection.intake.symptoms)
    screen.heading(f"Case {case}: {names} at {place_words(inspection.intake.where)}")
    recorded = [r for r in inspection.intake.checks if str(r.outcome) in ("deviates", "in-order")]
    if inspection.intake.job:
        deviating = sum(1 for result in recorded if str(result.outcome) == "deviates")
        screen.text(
            f"The record answers {len(recorded)} checks here, {deviating} of them out of order; "
            f"what it says is not asked again."
        )
    talk = Talk(inspection, screen, lambda step: _keep(book, case, step))
    try:
        return talk.run()
    except (Paused, EOFError, KeyboardInterrupt):
        screen.air()
        again = f"diagnose walk --resume {case}{_limits_again(inspection.budget)}"
        screen.text(f"Paused. Every answer is kept. Go on with: {again}")
        raise typer.Exit(0) from None


def _limits_again(budget: Budget | None) -> str:
    """Return the options that set the same limits to the questions again."""
    if budget is None:
        return ""
    minutes = f" --minutes {budget.minutes:g}" if budget.minutes is not None else ""
    return minutes + (" --no-damage" if str(budget.most_damage) == "none" else "")


def conclude_and_store(
    book: Casebook,
    inspection: Inspection,
    title: str,
    *,
    invented: bool,
    case: str,
    by: str,
    at: datetime,
) -> Finding:
    """Conclude an inspection and keep the finding with its case."""
    from diagnose.reports.finding_json import finding_to_json
    from diagnose.store.cases import store_finding
    from diagnose.walk.conclude import conclude

    head = book.own_head()
    finding = conclude(
        inspection,
        made_at=at.isoformat(timespec="seconds"),
        made_by=by,
        title=title,
        invented=invented,
        casebook_head=str(head) if head else "",
        case=case,
        firm=True,
    )
    text = finding_to_json(finding)
    store_finding(book, case, text, rule_edition=finding.edition, at=at, said_by=by)
    return finding


def _show(screen: Screen, finding: Finding, *, markdown: bool) -> None:
    from diagnose.reports.finding_words import finding_blocks

    if markdown:
        from diagnose.reports.markdown import markdown as as_markdown

        sys.stdout.write(as_markdown(finding_blocks(finding)))
        return
    from diagnose.cli.blocks_screen import show

    show(screen, finding_blocks(finding))
