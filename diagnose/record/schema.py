"""Describe a job's sheet as JSON Schema, for completion in an editor.

Draft-07, which YAML editors know.  The schema follows from the field table; it
helps while writing, and `read_sheet` alone decides what a sheet may say.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from math import isfinite
from typing import Any, TypeAlias

from diagnose.record.fields import Branch, FieldRule, Keyed, Section, tree
from diagnose.record.sheet_read import ID
from diagnose.record.units import units_that_fit

Schema: TypeAlias = dict[str, Any]

_ID = f"^{ID.pattern}$"
_NUMBER = r"^\s*[+-]?([0-9]+([.,][0-9]*)?|[.,][0-9]+)\s*([^0-9\s].*)?$"
_DAY = r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$"
_TIME = (
    r"^[0-9]{4}-[0-9]{2}-[0-9]{2}[ Tt]+[0-9]{1,2}:[0-9]{2}(:[0-9]{2}(\.[0-9]{1,6})?)?"
    r"\s*([Zz]|[+-][0-9]{2}:?[0-9]{2})?$"
)

_DEFINITIONS: Schema = {
    "number": {"anyOf": [{"type": "number"}, {"type": "string", "pattern": _NUMBER}]},
    "point": {
        "type": "array",
        "items": {"$ref": "#/definitions/number"},
        "minItems": 2,
        "maxItems": 2,
    },
    "line": {"type": "array", "items": {"$ref": "#/definitions/point"}, "minItems": 1},
    "word": {"type": ["string", "number"]},
}


def sheet_schema() -> Schema:
    """Return the schema of a sheet, as JSON values."""
    whole = _section(tree())
    return {
        "$schema": "http://json-schema.org/draft-07/schema#",
        "title": "Sheet of one carpet job",
        "type": "object",
        "properties": {
            "id": {
                "description": "name of the job: letters, figures, - and _",
                "type": ["string", "number"],
                "pattern": _ID,
            },
            **whole["properties"],
        },
        "required": ["id"],
        "additionalProperties": False,
        "definitions": _DEFINITIONS,
    }


def _branch(branch: Branch) -> Schema:
    if isinstance(branch, FieldRule):
        return _leaf(branch)
    if isinstance(branch, Section):
        return _section(branch)
    return _keyed(branch)


def _section(section: Section, key: str = "") -> Schema:
    properties = {
        name: _branch(child)
        for name, child in section.children.items()
        if not (isinstance(child, FieldRule) and child.kind == "log")
    }
    required = [
        name
        for name, child in section.children.items()
        if isinstance(child, FieldRule) and child.required
    ]
    if key:
        properties = {key: {"type": ["string", "number"]}, **properties}
        required = [key, *required]
    schema: Schema = {
        "type": "object" if required else ["object", "null"],
        "properties": properties,
        "additionalProperties": False,
    }
    return {**schema, "required": required} if required else schema


def _keyed(keyed: Keyed) -> Schema:
    by_id: Schema = {
        "type": ["object", "null"],
        "propertyNames": {"pattern": _ID},
        "additionalProperties": _branch(keyed.item),
    }
    if keyed.key == "side":
        by_id["propertyNames"] = {"enum": ["left", "right"]}
    if not keyed.key or not isinstance(keyed.item, Section):
        return by_id
    return {"anyOf": [by_id, {"type": "array", "items": _section(keyed.item, keyed.key)}]}


def _leaf(rule: FieldRule) -> Schema:
    said = rule.label if not rule.unit else f"{rule.label}, in {rule.unit}"
    return {"description": said, "anyOf": [*_FORMS[rule.kind](rule), {"type": "null"}]}


def _text(rule: FieldRule) -> list[Schema]:
    if rule.words:
        return [{"enum": list(rule.words)}]
    return [{"type": ["string", "number", "boolean"]}]


def _number(rule: FieldRule) -> list[Schema]:
    number: Schema = {"type": "integer" if rule.kind == "whole" else "number"}
    if isfinite(rule.bounds.low):
        number["minimum"] = rule.bounds.low
    if isfinite(rule.bounds.high):
        number["maximum"] = rule.bounds.high
    written: Schema = {"type": "string", "pattern": _NUMBER}
    fits = units_that_fit(rule.unit)
    if fits:
        written["description"] = f"or a number with its unit: {', '.join(fits)}"
    return [number, written]


def _words(rule: FieldRule) -> list[Schema]:
    word = {"enum": list(rule.words)} if rule.words else {"$ref": "#/definitions/word"}
    return [{"type": "array", "items": word}, word]


_FORMS: Mapping[str, Callable[[FieldRule], list[Schema]]] = {
    "text": _text,
    "number": _number,
    "whole": _number,
    "yes-no": lambda rule: [{"enum": ["yes", "no", True, False]}],
    "date": lambda rule: [{"type": "string", "pattern": _DAY}],
    "time": lambda rule: [{"type": "string", "pattern": _TIME}],
    "words": _words,
    "point": lambda rule: [{"$ref": "#/definitions/point"}],
    "line": lambda rule: [{"$ref": "#/definitions/line"}],
    "lines": lambda rule: [{"type": "array", "items": {"$ref": "#/definitions/line"}}],
    "colour": lambda rule: [
        {
            "type": "array",
            "items": {"$ref": "#/definitions/number"},
            "minItems": 3,
            "maxItems": 3,
        }
    ],
}
