"""`diagnose rules`: keep the rules sound, and take them elsewhere."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    from collections.abc import Mapping

    from diagnose.cli.screen import Screen
    from diagnose.errors import Problem
    from diagnose.rulebook.cases import Case
    from diagnose.rulebook.model import Rules
    from diagnose.rulebook.stats import Stats

app = typer.Typer(
    help="Keep the rules sound.",
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    add_completion=False,
    no_args_is_help=True,
)

Folder = Annotated[
    Path | None, typer.Option("--rules", help="Folder of rules other than the program's own.")
]
AsJson = Annotated[bool, typer.Option("--json", help="Write the result as JSON.")]
Out = Annotated[
    Path | None, typer.Option("--out", "-o", help="Write to this file instead of the screen.")
]
OfFloor = Annotated[str, typer.Option(help="Fact of the floor, for bif and xmlbif.")]


@app.command("lint")
def lint_command(
    rules: Folder = None,
    as_json: AsJson = False,
    summary: Annotated[bool, typer.Option("--summary", help="Add the counts.")] = False,
) -> None:
    """Look for mistakes in the rules; exit code 1 when there are any."""
    from diagnose.checks.soundness import flaws
    from diagnose.cli.screen import Screen, put_json
    from diagnose.errors import InputError
    from diagnose.rulebook.lint import lint_by_name
    from diagnose.rulebook.load import load_rules
    from diagnose.rulebook.stats import stats
    from diagnose.yaml_text import has_fast_reader

    folder = _folder(rules)
    try:
        loaded = load_rules(folder)
        cases = _cases(folder, loaded)
    except InputError as error:
        found: Mapping[str, tuple[Problem, ...]] = {"loading": error.problems}
        counted = None
    else:
        found = {**lint_by_name(loaded, cases), "checks": flaws(loaded)}
        counted = stats(loaded, cases) if summary else None
    if as_json:
        put_json(_lint_value(found, counted))
    else:
        screen = Screen()
        _show_problems(found, screen)
        if not has_fast_reader():
            screen.text("The quick YAML reader is missing, so rules load slowly: reinstall PyYAML.")
        if counted:
            _show_stats(counted, screen)
    if any(found.values()):
        raise typer.Exit(1)


@app.command("schema")
def schema_command(
    kind: Annotated[
        str, typer.Argument(metavar="[KIND]", help="Kind of rule file, such as causes.")
    ] = "",
    write: Annotated[
        bool, typer.Option("--write", help="Write all schemas to schemas/ in the rules.")
    ] = False,
    rules: Folder = None,
) -> None:
    """Show the JSON Schema of a kind of rule file, or name the kinds."""
    from diagnose.errors import StoreError
    from diagnose.rulebook.schema import schema_names, schema_text, schema_texts

    if not write:
        sys.stdout.write(schema_text(kind) if kind else "\n".join(schema_names()) + "\n")
        return
    folder = _folder(rules) / "schemas"
    texts = {f"{kind}.json": schema_text(kind)} if kind else schema_texts()
    try:
        folder.mkdir(exist_ok=True)
        for name, text in texts.items():
            (folder / name).write_text(text, encoding="utf-8", newline="\n")
    except OSError as error:
        raise StoreError(f"{folder} cannot be written: {error.strerror or error}") from None
    print(f"{len(texts)} schemas written to {folder}", file=sys.stderr)


@app.command("graph")
def graph_command(
    symptom: Annotated[str, typer.Option("--symptom", help="Only this symptom's causes.")] = "",
    form: Annotated[str, typer.Option("--format", help="dot, mermaid, graphml or json.")] = "dot",
    kinds: Annotated[
        str,
        typer.Option(
            "--kinds",
            help="Kinds to draw, with commas: symptom, cause, mechanism, question, check, remedy.",
        ),
    ] = "",
    out: Out = None,
    rules: Folder = None,
) -> None:
    """Write the rule graph, whole or round one symptom."""
    from diagnose.cli.where import the_rules
    from diagnose.errors import NotFoundError
    from diagnose.rulebook.graph import FORMATS, NODE_KINDS, rule_graph

    if form not in FORMATS:
        raise NotFoundError(f"there is no format {form}", FORMATS)
    wanted = tuple(word.strip() for word in kinds.split(",") if word.strip()) or NODE_KINDS
    _put(FORMATS[form](rule_graph(the_rules(rules), symptom=symptom, kinds=wanted)), out)


@app.command("export")
def export_command(
    form: Annotated[str, typer.Option("--format", help="json, csv, bif or xmlbif.")] = "json",
    out: Annotated[
        Path | None,
        typer.Option("--out", "-o", help="File to write; for the tables of csv a folder."),
    ] = None,
    symptom: Annotated[str, typer.Option("--symptom", help="Only what is coupled to it.")] = "",
    method: OfFloor = "",
    pile: OfFloor = "",
    construction: OfFloor = "",
    backing: OfFloor = "",
    fibre: OfFloor = "",
    subfloor: OfFloor = "",
    heating: OfFloor = "",
    rules: Folder = None,
) -> None:
    """Write all rules as JSON or CSV tables, or the network of a floor as BIF or XMLBIF."""
    from diagnose.cli import rules_export
    from diagnose.cli.where import the_rules
    from diagnose.errors import NotFoundError

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
    if form not in rules_export.FORMATS:
        raise NotFoundError(f"there is no format {form}", rules_export.FORMATS)
    if form in rules_export.NETWORK_FORMATS:
        _put(rules_export.network_text(the_rules(rules), form, symptom, facets), out)
        return
    rules_export.refuse_what_a_table_has_no_use_for(
        form, facets | ({"symptom": symptom} if symptom else {})
    )
    if form == "json":
        _put(rules_export.rules_text(the_rules(rules), ascii_only=out is None), out)
    else:
        rules_export.write_tables(the_rules(rules), out)


@app.command("stats")
def stats_command(
    rules: Folder = None,
    as_json: AsJson = False,
    pairs: Annotated[
        int,
        typer.Option("--pairs", min=0, help="Add so many pairs of causes that are hard to part."),
    ] = 0,
) -> None:
    """Count the rules: by kind, by stage, and how well they are sourced."""
    from dataclasses import asdict

    from diagnose.cli.screen import Screen, put_json
    from diagnose.rulebook.lint.pairs import hardest_pairs
    from diagnose.rulebook.load import load_rules
    from diagnose.rulebook.stats import stats

    folder = _folder(rules)
    loaded = load_rules(folder)
    counted = stats(loaded, _cases(folder, loaded))
    hard = hardest_pairs(loaded, pairs) if pairs else ()
    if as_json:
        put_json(asdict(counted) | ({"hardest_pairs": [asdict(h) for h in hard]} if pairs else {}))
        return
    screen = Screen()
    _show_stats(counted, screen)
    if hard:
        screen.heading("Pairs of causes that are hardest to part")
        for each in hard:
            causes = " or ".join(each.pair)
            screen.text(f"{each.symptom}: {causes} ({each.method})", mark="-")
            screen.text(f"{each.bits:.2f} bit from {each.best or 'nothing'}", indent=4)


def _folder(given: Path | None) -> Path:
    from diagnose.data import data_folder
    from diagnose.errors import NotFoundError

    if given is not None and not given.is_dir():
        raise NotFoundError(f"there is no folder {given}")
    return given or data_folder("rules")


def _cases(folder: Path, rules: Rules) -> tuple[Case, ...]:
    from diagnose.rulebook.cases import load_cases

    return load_cases(folder, rules)


def _put(text: str, out: Path | None) -> None:
    from diagnose.errors import StoreError

    if out is None:
        sys.stdout.write(text)
        return
    try:
        out.write_text(text, encoding="utf-8", newline="\n")
    except OSError as error:
        raise StoreError(f"{out} cannot be written: {error.strerror or error}") from None
    print(f"written to {out}", file=sys.stderr)


def _lint_value(
    found: Mapping[str, tuple[Problem, ...]], counted: Stats | None
) -> dict[str, object]:
    from dataclasses import asdict

    problems = [
        {
            "rule": name,
            "file": problem.at.file if problem.at else "",
            "line": problem.at.line if problem.at else 0,
            "text": problem.text,
            "hint": problem.hint,
        }
        for name, several in found.items()
        for problem in several
    ]
    value: dict[str, object] = {"sound": not problems, "problems": problems}
    return value | ({"stats": asdict(counted)} if counted else {})


def _show_problems(found: Mapping[str, tuple[Problem, ...]], screen: Screen) -> None:
    number = 0
    for name, problems in found.items():
        if problems:
            screen.heading(name.replace("_", " ").capitalize())
        for problem in problems:
            number += 1
            where = f"{problem.at}: " if problem.at else ""
            screen.text(f"{where}{problem.text}", mark="-")
            if problem.hint:
                screen.text(f"hint: {problem.hint}", indent=4)
    if number:
        screen.air()
    screen.text(
        f"{number} problem{'' if number == 1 else 's'} found." if number else "The rules are sound."
    )


def _show_stats(counted: Stats, screen: Screen) -> None:
    groups: tuple[tuple[str, Mapping[str, int]], ...] = (
        ("Rules", counted.kinds),
        ("Causes by stage", counted.causes_by_stage),
        ("Checks by stage", counted.checks_by_stage),
        ("Links by support", counted.links_by_support),
        ("Links by strength", counted.links_by_strength),
        ("Questions by rule", counted.questions_by_rule),
        ("Limit values, how sure", counted.limit_values_by_sure),
        (
            "Cases",
            {
                "cases": counted.cases,
                "causes that come first in one": counted.causes_that_come_first,
                "causes with a near miss": counted.causes_with_near_miss,
            },
        ),
        ("Answers", {"answers": counted.answers, "weights": counted.weights}),
    )
    screen.text(f"Edition {counted.edition}")
    for title, counts in groups:
        screen.heading(title)
        total = sum(counts.values())
        for word, count in counts.items():
            share = f" ({count / total:.0%})" if title.startswith("Links") and total else ""
            screen.text(f"{count:5d}  {word.replace('_', ' ').replace('-', ' ')}{share}")
    if counted.without_case:
        screen.heading("Causes that lack a case or a near miss")
        screen.text(", ".join(counted.without_case))
