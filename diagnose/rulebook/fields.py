"""The shapes a value in a rule file can have: how to read one, how to describe it.

Each shape reads a YAML node into a Python value and gives its own JSON Schema,
so that the loader and the schema an editor uses cannot drift apart.  Which key
has which shape stands in `diagnose.rulebook.kinds`.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from typing import Any, Protocol

from diagnose.errors import Position, Problem
from diagnose.model import FACET_VALUES, Facet
from diagnose.yaml_text import WORDS_FOR_KIND, Node

ID_PATTERN = r"^[a-z0-9]+(-[a-z0-9]+)*$"
_ID = re.compile(ID_PATTERN)


class Unusable(Exception):
    """Raised after a problem was noted, to give up the value it was found in."""


@dataclass(slots=True)
class Log:
    """What reading has found so far: problems, and ids that were named."""

    problems: list[Problem] = field(default_factory=list)
    named: list[tuple[tuple[str, ...], str, Position]] = field(default_factory=list)
    """(kinds an id may belong to, the id, where it was named)."""
    words: Mapping[str, Iterable[str]] = field(default_factory=dict)
    """Scale name to the words it has; a scale that is not there is not checked."""

    def refuse(self, node: Node, text: str, hint: str = "") -> Unusable:
        """Note a problem at `node`; the caller raises what is returned."""
        self.problems.append(Problem(node.at, text, hint))
        return Unusable()


def near(word: str, known: Iterable[str]) -> str:
    """Return a hint that names what is allowed, the nearest first."""
    words = list(known)
    close = get_close_matches(word, words, n=2, cutoff=0.6)
    if close:
        return "did you mean " + " or ".join(close) + "?"
    if 0 < len(words) <= 16:
        return "allowed: " + ", ".join(words)
    return ""


class Shape(Protocol):
    """How one value is read and described."""

    def read(self, node: Node, log: Log) -> Any:
        """Return the value, or note a problem and raise Unusable."""

    def schema(self) -> dict[str, Any]:
        """Return the JSON Schema (draft-07) of the value."""


def text_of(node: Node, log: Log, wanted: str) -> str:
    """Return the text of a node without blanks around it, refusing other kinds."""
    if node.kind != "text":
        raise log.refuse(node, f"{wanted} expected, found {WORDS_FOR_KIND[node.kind]}")
    return str(node.value).strip()


@dataclass(frozen=True, slots=True)
class Text:
    """Words for a person; may be left empty only where `blank` is set."""

    blank: bool = False

    def read(self, node: Node, log: Log) -> str:
        text = text_of(node, log, "text")
        if not text and not self.blank:
            raise log.refuse(node, "is empty", "write the text, or remove the key if it may be")
        return text

    def schema(self) -> dict[str, Any]:
        if self.blank:
            return {"type": ["string", "number", "boolean", "null"]}
        return {"type": ["string", "number", "boolean"], "pattern": r"\S"}


@dataclass(frozen=True, slots=True)
class Id:
    """The name of an item: spelled-out words joined by hyphens."""

    def read(self, node: Node, log: Log) -> str:
        text = text_of(node, log, "an id")
        if not _ID.match(text) or text != node.value:
            hint = "write small letters and digits, words joined by hyphens: seam-peaking"
            raise log.refuse(node, f"{text!r} is not an id", hint)
        return text

    def schema(self) -> dict[str, Any]:
        return {"type": "string", "pattern": ID_PATTERN}


@dataclass(frozen=True, slots=True)
class Ref:
    """The id of an item elsewhere in the rules, of one of `kinds`."""

    kinds: tuple[str, ...]
    blank: bool = False
    also: tuple[str, ...] = ()
    """Words that stand for themselves and name no item."""

    def read(self, node: Node, log: Log) -> str:
        if self.blank and node.kind == "text" and not node.value:
            return ""
        found = Id().read(node, log)
        if found not in self.also:
            log.named.append((self.kinds, found, node.at))
        return found

    def schema(self) -> dict[str, Any]:
        ids: dict[str, Any] = Id().schema() | {"description": f"id of a {_or(self.kinds)}"}
        return {"anyOf": [ids, {"enum": ["", None]}]} if self.blank else ids


@dataclass(frozen=True, slots=True)
class AnswerRef:
    """`question.answer`, naming one answer of a question."""

    def read(self, node: Node, log: Log) -> str:
        text = text_of(node, log, "question.answer")
        if len(parts := text.split(".")) != 2 or not all(_ID.match(part) for part in parts):
            raise log.refuse(node, f"{text!r} is not of the form question.answer")
        log.named.append((("answer",), text, node.at))
        return text

    def schema(self) -> dict[str, Any]:
        return {"type": "string", "pattern": ID_PATTERN[:-1] + r"\." + ID_PATTERN[1:]}


@dataclass(frozen=True, slots=True)
class Choice:
    """One of a few fixed words."""

    words: tuple[str, ...]

    def read(self, node: Node, log: Log) -> str:
        text = text_of(node, log, "one word")
        if text not in self.words:
            hint = near(text, self.words) or "allowed: " + ", ".join(self.words)
            raise log.refuse(node, f"{text!r} is not one of the words allowed here", hint)
        return text

    def schema(self) -> dict[str, Any]:
        return {"enum": list(self.words)}


@dataclass(frozen=True, slots=True)
class YesNo:
    """`yes` or `no`."""

    def read(self, node: Node, log: Log) -> bool:
        text = text_of(node, log, "yes or no")
        if text not in ("yes", "no"):
            raise log.refuse(node, f"{text!r} is neither yes nor no")
        return text == "yes"

    def schema(self) -> dict[str, Any]:
        return {"enum": ["yes", "no"]}


@dataclass(frozen=True, slots=True)
class Number:
    """A decimal number with a point; negative only where `signed` is set."""

    signed: bool = False

    @property
    def pattern(self) -> str:
        return r"^-?[0-9]+(\.[0-9]+)?$" if self.signed else r"^[0-9]+(\.[0-9]+)?$"

    def read(self, node: Node, log: Log) -> float:
        text = text_of(node, log, "a number")
        if not re.match(self.pattern[:-1] + r"\Z", text) or not math.isfinite(float(text)):
            hint = "write it with a decimal point and no unit: 12.5"
            raise log.refuse(node, f"{text!r} is not a number that is allowed here", hint)
        return float(text)

    def schema(self) -> dict[str, Any]:
        number: dict[str, Any] = {"type": "number"} | ({} if self.signed else {"minimum": 0})
        return {"anyOf": [number, {"type": "string", "pattern": self.pattern, "maxLength": 300}]}


@dataclass(frozen=True, slots=True)
class ScaleWord:
    """A word of one of the scales of scale.yaml (`link_strength`, ...)."""

    scale: str
    also: tuple[str, ...] = ()

    def read(self, node: Node, log: Log) -> str:
        text = text_of(node, log, "one word")
        known = [*log.words.get(self.scale, ()), *self.also]
        if not _ID.match(text):
            raise log.refuse(node, f"{text!r} is not a word of the scale {self.scale}")
        if log.words.get(self.scale) and text not in known:
            text = f"{text!r} is not a word of the scale {self.scale}"
            raise log.refuse(node, text, near(str(node.value), known))
        return text

    def schema(self) -> dict[str, Any]:
        return Id().schema() | {"description": f"word of the scale {self.scale} in scale.yaml"}


@dataclass(frozen=True, slots=True)
class ListOf:
    """A list whose values all have one shape, read into a tuple."""

    shape: Shape
    least: int = 0
    most: int | None = None

    def read(self, node: Node, log: Log) -> tuple[Any, ...]:
        if node.kind != "list":
            found = "nothing" if node.is_blank() else WORDS_FOR_KIND[node.kind]
            hint = "write [] for none" if node.is_blank() else "put it in square brackets: [one]"
            raise log.refuse(node, f"a list expected, found {found}", hint)
        values = tuple(all_read((self.shape, each) for each in node.list())(log))
        if len(values) < self.least or (self.most is not None and len(values) > self.most):
            wanted = f"exactly {self.most}" if self.most == self.least else f"at least {self.least}"
            raise log.refuse(node, f"holds {len(values)} values; {wanted} needed")
        return values

    def schema(self) -> dict[str, Any]:
        found: dict[str, Any] = {"type": "array", "items": self.shape.schema()}
        found |= {"minItems": self.least} if self.least else {}
        return found | ({"maxItems": self.most} if self.most is not None else {})


def all_read(pairs: Iterable[tuple[Shape, Node]]) -> Callable[[Log], list[Any]]:
    """Return a reader of every node, which gives up only after the last one."""

    def read(log: Log) -> list[Any]:
        values, failed = [], False
        for shape, node in pairs:
            try:
                values.append(shape.read(node, log))
            except Unusable:
                failed = True
        if failed:
            raise Unusable
        return values

    return read


@dataclass(frozen=True, slots=True)
class MapOf:
    """A map whose keys have one shape and whose values have another."""

    keys: Shape
    values: Shape
    least: int = 0

    def read(self, node: Node, log: Log) -> dict[Any, Any]:
        if node.kind != "map":
            raise log.refuse(node, f"key: value pairs expected, found {WORDS_FOR_KIND[node.kind]}")
        entries = node.items()
        keys = all_read((self.keys, key_node(node, key, line)) for key, line, _ in entries)(log)
        values = all_read((self.values, value) for _, _, value in entries)(log)
        if len(keys) < self.least:
            raise log.refuse(node, "is empty", f"at least {self.least} pair is needed")
        return dict(zip(keys, values, strict=True))

    def schema(self) -> dict[str, Any]:
        found: dict[str, Any] = {"type": "object", "additionalProperties": self.values.schema()}
        found["propertyNames"] = self.keys.schema()
        return found | ({"minProperties": self.least} if self.least else {})


def key_node(node: Node, key: str, line: int) -> Node:
    """Return a key of a map as a node, so that it can be read like a value."""
    return Node("text", line, node.file, key, quoted=True)


@dataclass(frozen=True, slots=True)
class Facets:
    """Facets of a floor with the values allowed: `{method: [adhered]}`."""

    def read(self, node: Node, log: Log) -> dict[Facet, tuple[str, ...]]:
        if node.kind != "map":
            raise log.refuse(node, f"facets expected, found {WORDS_FOR_KIND[node.kind]}")
        pairs, failed = {}, False
        for key, line, value in node.items():
            try:
                facet = Facet(Choice(tuple(FACET_VALUES)).read(key_node(node, key, line), log))
                pairs[facet] = ListOf(Choice(FACET_VALUES[facet]), least=1).read(value, log)
            except Unusable:
                failed = True
        if failed:
            raise Unusable
        return pairs

    def schema(self) -> dict[str, Any]:
        facets = {
            str(facet): ListOf(Choice(words), least=1).schema()
            for facet, words in FACET_VALUES.items()
        }
        return {"type": "object", "properties": facets, "additionalProperties": False}


@dataclass(frozen=True, slots=True)
class FacetsOfFloor:
    """What is known of a floor: `{method: adhered, pile: loop}`."""

    def read(self, node: Node, log: Log) -> dict[Facet, str]:
        if node.kind != "map":
            raise log.refuse(node, f"facets expected, found {WORDS_FOR_KIND[node.kind]}")
        pairs, failed = {}, False
        for key, line, value in node.items():
            try:
                facet = Facet(Choice(tuple(FACET_VALUES)).read(key_node(node, key, line), log))
                pairs[facet] = Choice(FACET_VALUES[facet]).read(value, log)
            except Unusable:
                failed = True
        if failed:
            raise Unusable
        return pairs

    def schema(self) -> dict[str, Any]:
        facets = {str(facet): Choice(words).schema() for facet, words in FACET_VALUES.items()}
        return {"type": "object", "properties": facets, "additionalProperties": False}


def _or(words: tuple[str, ...]) -> str:
    return " or ".join(words)
