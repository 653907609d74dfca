"""All rules as one JSON value, or as plain tables, for use outside this program."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict, fields
from enum import Enum
from typing import Any

from diagnose.errors import Position
from diagnose.rulebook.kinds import KINDS
from diagnose.rulebook.model import Cite, Rules

Table = tuple[tuple[str, ...], tuple[tuple[str, ...], ...]]
"""Column names, then rows."""

_APART = ("sources", "answers", "speaks_for", "speaks_against", "backs", "values", "at")
_APART_MORE = ("brought_about_by",)
"""Attributes that have tables of their own."""


def as_value(rules: Rules) -> dict[str, Any]:
    """Return every rule as plain lists, maps, text and numbers, each kind in file order.

    Positions are left out: they belong to the files, not to what is known.
    """
    found: dict[str, Any] = {"edition": rules.edition, "scale": _plain(asdict(rules.scale))}
    for kind in KINDS:
        items = getattr(rules, kind.key)
        every = items.values() if isinstance(items, Mapping) else items
        found[kind.key] = [_record(item) for item in every]
    return found


def as_tables(rules: Rules) -> dict[str, Table]:
    """Return the rules as tables by name; lists stand in one cell, parted by "; ".

    Weights, limit values and sources have tables of their own that name the item.
    """
    tables: dict[str, Table] = {}
    for kind in KINDS[:-1]:
        items = list(getattr(rules, kind.key).values())
        if items:
            tables[kind.key] = _item_table(items)
    tables["answers"] = _table("question answer text usual means age_days", _answers(rules))
    tables["weights"] = _table("question answer cause direction word", _weights(rules))
    tables["backs"] = _table("check cause word", _backs(rules))
    tables["mechanism_causes"] = _table("mechanism cause word", _brought(rules))
    tables["mechanism_answers"] = _table("mechanism question answer word", _shown(rules))
    tables["limit_values"] = _table(
        "limit low high unit set_by code when sure source clause note", _values(rules)
    )
    tables["cites"] = _table("kind id source clause support note", _cites(rules))
    tables["scale_words"] = _table("scale word number source", _words(rules))
    return tables


def table_text(table: Table) -> str:
    """Return a table as CSV text with a heading line."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(table[0])
    writer.writerows(table[1])
    return out.getvalue()


def _record(item: Any) -> dict[str, Any]:
    found = {} if not hasattr(item, "id") else {"id": item.id}
    return found | {
        field.name: _plain(getattr(item, field.name))
        for field in fields(item)
        if field.name != "at"
    }


def _plain(value: Any) -> Any:
    if isinstance(value, Enum):
        return str(value)
    if isinstance(value, Mapping):
        return {str(key): _plain(each) for key, each in value.items() if key != "at"}
    if isinstance(value, tuple | list):
        return [_plain(each) for each in value]
    if isinstance(value, Position):
        return str(value)
    if hasattr(value, "__dataclass_fields__"):
        return _record(value)
    return value


def _item_table(items: list[Any]) -> Table:
    apart = {*_APART, *_APART_MORE}
    names = [field.name for field in fields(items[0]) if field.name not in apart]
    names = names if "id" in names else ["id", *names]
    rows = ([_cell(getattr(item, name)) for name in names] for item in items)
    return _table(" ".join(names), rows)


def _table(names: str, rows: Iterable[Iterable[Any]]) -> Table:
    return tuple(names.split()), tuple(tuple(_cell(cell) for cell in row) for row in rows)


def _cell(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, Mapping):
        return "; ".join(f"{key}: {_cell(each)}" for key, each in value.items())
    if isinstance(value, tuple | list):
        return ("; " if all(isinstance(v, str) for v in value) else " ").join(map(_cell, value))
    return str(value)


def _answers(rules: Rules) -> Iterator[tuple[Any, ...]]:
    for question in rules.questions.values():
        for each in question.answers:
            yield question.id, each.id, each.text, each.usual, each.means, each.age_days


def _weights(rules: Rules) -> Iterator[tuple[str, ...]]:
    for question in rules.questions.values():
        for answer in question.answers:
            for direction, words in (
                ("for", answer.speaks_for),
                ("against", answer.speaks_against),
            ):
                for cause, word in words.items():
                    yield question.id, answer.id, cause, direction, word


def _backs(rules: Rules) -> Iterator[tuple[str, ...]]:
    for check in rules.checks.values():
        yield from ((check.id, cause, word) for cause, word in check.backs.items())


def _brought(rules: Rules) -> Iterator[tuple[str, ...]]:
    for mechanism in rules.mechanisms.values():
        for cause, word in mechanism.brought_about_by.items():
            yield mechanism.id, cause, word


def _shown(rules: Rules) -> Iterator[tuple[str, ...]]:
    for mechanism in rules.mechanisms.values():
        for name, word in mechanism.answers.items():
            question, _, answer = name.partition(".")
            yield mechanism.id, question, answer, word


def _values(rules: Rules) -> Iterator[tuple[Any, ...]]:
    for limit in rules.limits.values():
        for value in limit.values:
            figures = (limit.id, value.low, value.high, limit.unit)
            held = (value.set_by, value.code, value.when, value.sure)
            yield *figures, *held, value.cite.source, value.cite.clause, value.cite.note


def _cites(rules: Rules) -> Iterator[tuple[str, ...]]:
    for kind in KINDS[:-1]:
        for item in getattr(rules, kind.key).values():
            cites: tuple[Cite, ...] = getattr(item, "sources", ())
            for cite in cites:
                yield kind.word, item.id, cite.source, cite.clause, cite.support, cite.note


def _words(rules: Rules) -> Iterator[tuple[Any, ...]]:
    for field in fields(rules.scale):
        scale = getattr(rules.scale, field.name)
        if field.name != "numbers":
            for word, number in scale.words.items():
                yield field.name, word, number, scale.source
