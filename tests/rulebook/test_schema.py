"""The schemas say of every rule file what the loader says."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import jsonschema
import pytest

from diagnose.errors import NotFoundError
from diagnose.rulebook.schema import first_line, schema, schema_names, schema_texts
from diagnose.yaml_text import Node, read_yaml

RULES = Path(__file__).parents[2] / "rules"
BROKEN = Path(__file__).parents[1] / "broken" / "rules"
FILES = sorted(RULES.rglob("*.yaml"))
REFUSED_BY_BOTH = (
    "unknown-key",
    "missing-keys",
    "bad-number",
    "comma-in-braces",
    "a-text-for-a-list",
    "unknown-facet",
)


def as_an_editor_reads(node: Node) -> Any:
    """Return a file as YAML 1.2 reads it: plain numbers and empty values are no text."""
    if node.kind == "map":
        return {key: as_an_editor_reads(value) for key, _, value in node.items()}
    if node.kind == "list":
        return [as_an_editor_reads(value) for value in node.list()]
    if node.is_blank():
        return None
    if not node.quoted and re.fullmatch(r"-?\d+(\.\d+)?", node.text):
        return float(node.text) if "." in node.text else int(node.text)
    return node.text


def kind_of(path: Path, folder: Path) -> str:
    if path.name.endswith(".cases.yaml"):
        return "cases"
    return path.relative_to(folder).parts[0].removesuffix(".yaml")


def mistakes(path: Path, folder: Path) -> list[str]:
    value = as_an_editor_reads(read_yaml(path.read_bytes(), path.name))
    validator = jsonschema.Draft7Validator(schema(kind_of(path, folder)))
    return [error.message for error in validator.iter_errors(value)]


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(RULES)))
def test_a_rule_file_fits_its_schema(path: Path) -> None:
    assert not mistakes(path, RULES)


@pytest.mark.parametrize("path", FILES, ids=lambda path: str(path.relative_to(RULES)))
def test_the_first_line_leads_to_the_schema(path: Path) -> None:
    line = path.read_text("utf-8").split("\n", 1)[0]
    assert line == first_line(path.relative_to(RULES).as_posix())
    assert (path.parent / line.partition("=")[2]).is_file()


@pytest.mark.parametrize("name", REFUSED_BY_BOTH)
def test_the_schema_refuses_what_the_loader_refuses(name: str) -> None:
    paths = sorted((BROKEN / name).rglob("*.yaml"))
    assert all(mistakes(path, BROKEN / name) for path in paths)


def test_the_committed_schemas_are_those_of_the_tables() -> None:
    there = {path.name: path.read_text("utf-8") for path in (RULES / "schemas").glob("*.json")}
    assert there == dict(schema_texts()), "write them anew: diagnose rules schema --write"


@pytest.mark.parametrize("name", schema_names())
def test_a_schema_is_one(name: str) -> None:
    jsonschema.Draft7Validator.check_schema(schema(name))
    assert json.loads(schema_texts()[f"{name}.json"]) == schema(name)


def test_an_unknown_kind_is_told_with_those_there_are() -> None:
    with pytest.raises(NotFoundError) as caught:
        schema("casues")
    assert "causes" in caught.value.near
