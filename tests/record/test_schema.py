"""The schema for editors agrees with the reader about the worked and the broken sheets."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import yaml
from jsonschema import Draft7Validator

from diagnose.record.fields import field_table
from diagnose.record.schema import sheet_schema
from diagnose.yaml_text import read_yaml

ROOT = Path(__file__).parents[2]
SHEETS = sorted((ROOT / "casebook").glob("*/job.yaml"))
BROKEN = ROOT / "tests" / "broken" / "sheets"

ONLY_THE_READER_SEES = {
    "aliases",
    "double-key",
    "missing-part",
    "no-zone",
    "not-yaml",
    "unknown-zone",
    "units-of-readings",
}
"""Needs the zone, other parts or the text of the file."""


class _Core(yaml.SafeLoader):
    """YAML as editors load it (1.2 core): yes is text, 0417 a number, dates are text."""


_Core.yaml_implicit_resolvers = {
    first: [(tag, test) for tag, test in tests if not tag.endswith((":bool", ":timestamp"))]
    for first, tests in yaml.SafeLoader.yaml_implicit_resolvers.items()
}


@pytest.fixture(scope="module")
def schema() -> Draft7Validator:
    Draft7Validator.check_schema(sheet_schema())
    return Draft7Validator(sheet_schema())


@pytest.mark.parametrize("path", SHEETS, ids=lambda path: path.parent.name)
def test_a_worked_sheet_fits_the_schema(schema: Draft7Validator, path: Path) -> None:
    assert [error.message for error in schema.iter_errors(plain(path))] == []
    as_editor = yaml.load(path.read_bytes(), Loader=_Core)
    assert [error.message for error in schema.iter_errors(as_editor)] == []


@pytest.mark.parametrize(
    "path",
    [path for path in sorted(BROKEN.glob("*.yaml")) if path.stem not in ONLY_THE_READER_SEES],
    ids=lambda path: path.stem,
)
def test_a_broken_sheet_does_not_fit(schema: Draft7Validator, path: Path) -> None:
    assert not schema.is_valid(yaml.load(path.read_bytes(), Loader=_Core))


def test_every_field_of_a_sheet_has_its_label_in_the_schema() -> None:
    described: list[str] = []
    _descriptions(sheet_schema(), described)
    for rule in field_table().values():
        if rule.kind != "log":
            assert any(text.startswith(rule.label) for text in described), rule.pattern


def test_a_number_with_its_unit_and_a_blank_fit(schema: Draft7Validator) -> None:
    assert schema.is_valid({"id": "a", "product": {"width_mm": "4 m", "pile": None}})
    assert schema.is_valid({"id": "a", "drops": [{"id": "L1"}], "rolls": None})
    assert not schema.is_valid({"id": "a", "product": {"width_mm": 40}})
    assert not schema.is_valid({"id": "a", "drops": [{"area": "x"}]})


def plain(path: Path) -> Any:
    return read_yaml(path.read_bytes(), path.name).plain()


def _descriptions(value: Any, found: list[str]) -> None:
    if isinstance(value, dict):
        if isinstance(value.get("description"), str):
            found.append(value["description"])
        for inner in value.values():
            _descriptions(inner, found)
    elif isinstance(value, list):
        for inner in value:
            _descriptions(inner, found)
