"""What `diagnose rules export` writes: all rules, or the network they make for a floor."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from diagnose.rulebook.model import Rules

NETWORK_FORMATS = ("bif", "xmlbif")
FORMATS = ("json", "csv", *NETWORK_FORMATS)


def rules_text(rules: Rules, *, ascii_only: bool) -> str:
    """Return all rules as one JSON document."""
    import json

    from diagnose.rulebook.export import as_value

    return json.dumps(as_value(rules), ensure_ascii=ascii_only, indent=2) + "\n"


def write_tables(rules: Rules, folder: Path | None) -> None:
    """Write all rules as CSV tables into a folder.

    Raises
    ------
    InputError
        No folder is named.
    StoreError
        The folder or a file cannot be written.
    """
    from diagnose.errors import InputError, Problem, StoreError
    from diagnose.rulebook.export import as_tables, table_text

    if folder is None:
        hint = "name one: diagnose rules export --format csv --out tables"
        raise InputError([Problem(None, "the tables need a folder", hint)])
    tables = as_tables(rules)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, table in tables.items():
            (folder / f"{name}.csv").write_text(table_text(table), encoding="utf-8", newline="")
    except OSError as error:
        raise StoreError(f"{folder} cannot be written: {error.strerror or error}") from None
    print(f"{len(tables)} tables written to {folder}", file=sys.stderr)


def network_text(rules: Rules, form: str, symptom: str, facets: Mapping[str, str]) -> str:
    """Return the network that the rules make for a floor, whole or round one symptom.

    Raises
    ------
    InputError
        A word for the floor is not one of those that are known.
    NotFoundError
        The symptom is not in the rules.
    """
    from diagnose.engine.export import FORMATS, network_tables
    from diagnose.engine.network import build
    from diagnose.errors import InputError, Problem
    from diagnose.model import FACET_VALUES, Facet, Floor

    floor, problems = {}, []
    for name, value in facets.items():
        words = FACET_VALUES[Facet(name)]
        if value in words:
            floor[Facet(name)] = value
        elif value != "unknown":
            text = f"--{name} {value} is not known"
            problems.append(Problem(None, text, f"words: {', '.join(words)}"))
    if problems:
        raise InputError(problems)
    network = build(rules, Floor(floor), symptoms=(symptom,) if symptom else ())
    notes = {
        "edition of the rules": rules.edition,
        "floor": ", ".join(f"{facet} {value}" for facet, value in floor.items()) or "unknown",
        "round the symptom": symptom or "none, the whole network",
    }
    return FORMATS[form](network_tables(network, symptom=symptom), notes)


def refuse_what_a_table_has_no_use_for(form: str, given: Mapping[str, str]) -> None:
    """Refuse a symptom or a fact of a floor where all rules are written.

    Raises
    ------
    InputError
        One problem for each.
    """
    from diagnose.errors import InputError, Problem

    hint = "take --format bif or xmlbif, or leave it out"
    text = f"--format {form} writes all rules, for every floor; it has no use for"
    if given:
        raise InputError([Problem(None, f"{text} --{name}", hint) for name in given])
