"""JSON Schemas (draft-07) of the rule files, made from the tables of their keys.

An editor that reads the first line of a rule file offers its keys and marks
mistakes while typing.  The loader stays the judge: it also knows the ids.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from diagnose.errors import NotFoundError
from diagnose.rulebook.cases import CASE
from diagnose.rulebook.fields import ListOf
from diagnose.rulebook.kinds import KINDS
from diagnose.rulebook.records import Record
from diagnose.rulebook.scale_keys import SCALE
from diagnose.text import nearest

DRAFT = "http://json-schema.org/draft-07/schema#"


def schema_names() -> tuple[str, ...]:
    """Return the names of all schemas: `causes`, `look-alikes`, `scale`, `cases`."""
    return (*(kind.place for kind in KINDS), "scale", "cases")


def schema(name: str) -> dict[str, Any]:
    """Return the schema of one kind of rule file.

    Raises
    ------
    NotFoundError
        There is no such kind.
    """
    for kind in KINDS:
        if kind.place == name:
            return _list_file(kind.key, kind.record, f"Rule file of {name.replace('-', ' ')}")
    if name == "cases":
        return _list_file("cases", CASE, "Cases that the rules have to get right")
    if name == "scale":
        return {"$schema": DRAFT, "title": "Words and their numbers"} | SCALE.schema()
    raise NotFoundError(f"there is no kind of rule file called {name}", near(name))


def near(name: str) -> tuple[str, ...]:
    """Return the schema names that look most like `name`, or all of them."""
    return nearest(name, schema_names()) or schema_names()


def schema_texts() -> Mapping[str, str]:
    """Return every schema as the text of its file, by file name."""
    return {f"{name}.json": schema_text(name) for name in schema_names()}


def schema_text(name: str) -> str:
    """Return one schema as the text of its file."""
    return json.dumps(schema(name), ensure_ascii=False, indent=2) + "\n"


def first_line(file: str) -> str:
    """Return the first line that leads an editor from a rule file to its schema.

    Examples
    --------
    >>> first_line("causes/sealing.yaml")
    '# yaml-language-server: $schema=../schemas/causes.json'
    """
    *folders, last = file.split("/")
    name = (folders[0] if folders else last).removesuffix(".yaml")
    name = "cases" if last.endswith(".cases.yaml") else name
    return f"# yaml-language-server: $schema={'../' * len(folders)}schemas/{name}.json"


def _list_file(key: str, record: Record, title: str) -> dict[str, Any]:
    return {
        "$schema": DRAFT,
        "title": title,
        "type": "object",
        "properties": {key: ListOf(record).schema()},
        "additionalProperties": False,
    }
