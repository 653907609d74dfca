"""An item of a rule file: a map with known keys, read into one typed value."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, fields, is_dataclass
from typing import Any

from diagnose.rulebook.fields import Log, Shape, Unusable, near
from diagnose.text import one
from diagnose.yaml_text import WORDS_FOR_KIND, Node

NEEDED = object()
"""Stands for the default of a key that an item must have."""


@dataclass(frozen=True, slots=True)
class Field:
    """One key of an item: its shape, where it goes, what stands in when it is missing."""

    key: str
    shape: Shape
    means: str
    to: str = ""
    """Attribute of the typed value; the key itself when empty."""
    default: Any = NEEDED

    @property
    def needed(self) -> bool:
        """Whether an item without this key is refused."""
        return self.default is NEEDED

    @property
    def attribute(self) -> str:
        """Name of the attribute that takes the value."""
        return self.to or self.key


@dataclass(frozen=True, slots=True)
class Record:
    """The keys of one kind of item and the class that the item becomes."""

    name: str
    make: Callable[..., Any]
    fields: tuple[Field, ...]
    fixed: Mapping[str, Any] | None = None
    """Attributes set from outside the item, such as the stage of its file."""

    def read(self, node: Node, log: Log) -> Any:
        """Return the typed value; note every problem before giving up."""
        if node.kind != "map":
            found = WORDS_FOR_KIND[node.kind]
            raise log.refuse(node, f"{one(self.name)} with its keys expected, found {found}")
        values, failed = self._values(node, log)
        failed |= self._has_missing(node, log)
        if failed:
            raise Unusable
        return self._made(values, node)

    def schema(self) -> dict[str, Any]:
        """Return the JSON Schema of the item, with the meaning of every key."""
        properties = {each.key: _described(each) for each in self.fields}
        needed = [each.key for each in self.fields if each.needed]
        found: dict[str, Any] = {"type": "object", "properties": properties}
        found["additionalProperties"] = False
        return found | ({"required": needed} if needed else {})

    def _values(self, node: Node, log: Log) -> tuple[dict[str, Any], bool]:
        known = {each.key: each for each in self.fields}
        values, failed = {}, False
        for key, line, value in node.items():
            if key not in known:
                at = Node("text", line, node.file, key)
                log.refuse(at, f"{one(self.name)} has no key {key!r}", _key_hint(key, value, known))
                failed = True
                continue
            before = len(log.problems)
            try:
                values[known[key].attribute] = known[key].shape.read(value, log)
            except Unusable:
                failed = True
                _name_key(log, before, key)
        return values, failed

    def _has_missing(self, node: Node, log: Log) -> bool:
        there = {key for key, _, _ in node.items()}
        missing = [each.key for each in self.fields if each.needed and each.key not in there]
        if missing:
            name = next((value.value for key, _, value in node.items() if key == "id"), "")
            what = f"{self.name} {name}" if isinstance(name, str) and name else one(self.name)
            keys = ", ".join(missing)
            log.refuse(node, f"{what} lacks the {'keys' if missing[1:] else 'key'} {keys}")
        return bool(missing)

    def _made(self, values: dict[str, Any], node: Node) -> Any:
        for each in self.fields:
            if each.attribute not in values:
                values[each.attribute] = each.default
        values |= self.fixed or {}
        if is_dataclass(self.make) and any(each.name == "at" for each in fields(self.make)):
            values["at"] = node.at
        return self.make(**values)


def _key_hint(key: str, value: Node, known: Iterable[str]) -> str:
    hint = near(key, known)
    if value.is_blank() and not hint.startswith("did you mean"):
        return "inside {} a comma ends the text before it: put that text in quotes"
    return hint


def _name_key(log: Log, before: int, key: str) -> None:
    """Put the key before every problem that was noted while its value was read."""
    for number in range(before, len(log.problems)):
        old = log.problems[number]
        log.problems[number] = type(old)(old.at, f"{key}: {old.text}", old.hint)


def _described(each: Field) -> dict[str, Any]:
    schema = each.shape.schema()
    return schema | {"description": each.means}
