"""Read YAML strictly: every value is text, every node knows its line.

Batch numbers keep their zeros, `no` stays `no` and `12:30` is no number: what
a value means is decided by the field that reads it.  What YAML offers beyond
plain maps, lists and text (aliases, anchors, tags, merge keys, several
documents) is refused, and so are duplicate keys, because each of them can make
a file mean something else than it shows.

The text is read as a stream of events into `Node` values without recursion;
size, depth and number of events are limited first, so that a hostile file
costs little.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Literal, TypeAlias

import yaml

from diagnose.errors import InputError, Position, Problem

MOST_BYTES = 2_000_000
MOST_EVENTS = 200_000
DEEPEST = 40
MOST_PROBLEMS = 50
MOST_NAMED = 8

Kind: TypeAlias = Literal["map", "list", "text"]
Entry: TypeAlias = "tuple[str, int, Node]"

_NEVER = "\ufeff\ufffe\uffff"

_Loader: Any = getattr(yaml, "CSafeLoader", yaml.SafeLoader)

WORDS_FOR_KIND = {"map": "key: value pairs", "list": "a list", "text": "plain text"}

_HINTS = {
    "cannot start any token": "put the text in quotes; indent with blanks, never with a tab",
    "mapping values are not allowed": "text that holds a colon and a blank belongs in quotes",
    "could not find expected ':'": "is a colon missing here or on the line above, or a blank after it?",
    "did not find expected <block end>": "are the lines of this item indented alike?",
    "expected <block end>": "are the lines of this item indented alike?",
    "did not find expected key": "are the lines of this item indented alike?",
    "unexpected end of stream": "is a closing quote missing?",
    "did not find expected ',' or ']'": "is a closing bracket or a comma missing, or a quote left open above?",
    "did not find expected ',' or '}'": "is a closing brace or a comma missing, or a quote left open above?",
    "did not find expected '-' indicator": "write a blank after each dash; a hidden character can look like one",
}


def has_fast_reader() -> bool:
    """Return whether the quick YAML reader (written in C) is installed."""
    return bool(_Loader is not yaml.SafeLoader)


@dataclass(slots=True, eq=False)
class Node:
    """One map, list or text of a YAML file, with the line it starts on."""

    kind: Kind
    line: int
    file: str
    value: Any
    quoted: bool = False
    """For text: written in quotes or as a block, so an empty value was meant."""

    @property
    def at(self) -> Position:
        """Where the node starts."""
        return Position(self.file, self.line)

    @property
    def text(self) -> str:
        """The text of a text node; any other node raises InputError."""
        self._expect("text")
        return str(self.value)

    def items(self) -> list[Entry]:
        """Return (key, line of the key, node) of a map; else raise InputError."""
        self._expect("map")
        return list(self.value)

    def list(self) -> list[Node]:
        """Return the nodes of a list; any other node raises InputError."""
        self._expect("list")
        return list(self.value)

    def get(self, key: str) -> Node | None:
        """Return the node under `key` of a map, or None."""
        return next((node for name, _, node in self.items() if name == key), None)

    def plain(self) -> Any:
        """Return the node as dict, list and str values."""
        if self.kind == "map":
            return {key: node.plain() for key, _, node in self.value}
        if self.kind == "list":
            return [node.plain() for node in self.value]
        return self.value

    def is_blank(self) -> bool:
        """Return whether nothing was written, as in `key:` with no value."""
        return self.kind == "text" and not self.value and not self.quoted

    def _expect(self, kind: Kind) -> None:
        if self.kind != kind:
            found, wanted = WORDS_FOR_KIND[self.kind], WORDS_FOR_KIND[kind]
            raise InputError([Problem(self.at, f"{wanted} expected here, found {found}")])


def read_yaml(data: bytes, file: str) -> Node:
    """Return the one document in `data`; `file` is the name for messages.

    A file that holds nothing, or comments only, is read as an empty map.

    Raises
    ------
    InputError
        With every problem found: size, encoding, syntax, duplicate keys, and
        whatever else of YAML is not allowed here.
    """
    return _Builder(file).build(_decoded(data, file))


def _decoded(data: bytes, file: str) -> str:
    if len(data) > MOST_BYTES:
        raise _refusal(file, 0, f"holds {len(data)} bytes; at most {MOST_BYTES} are read")
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise _refusal(file, 1, "is written in UTF-16; only UTF-8 is read", "save it as UTF-8")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        found = f"holds the byte 0x{data[error.start]:02x}, which is not UTF-8"
        raise _refusal(file, line, found, "save it as UTF-8") from None
    for number, char in _control_characters(text):
        raise _refusal(file, number, f"holds the control character U+{ord(char):04X}")
    return text


def _control_characters(text: str) -> Iterator[tuple[int, str]]:
    # isprintable on a whole line is quick; odd lines are looked at one by one
    for number, line in enumerate(text.split("\n"), 1):
        if not line.isprintable():
            yield from ((number, char) for char in line if _is_control(char))


def _is_control(char: str) -> bool:
    code = ord(char)
    if char in "\t\r\x85":
        return False
    return code < 0x20 or 0x7F <= code < 0xA0 or 0xD800 <= code < 0xE000 or char in _NEVER


def _refusal(file: str, line: int, text: str, hint: str = "") -> InputError:
    return InputError([Problem(Position(file, line), text, hint)])


class _Builder:
    """Builds nodes from events with a stack of its own; collects problems."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.problems: list[Problem] = []
        self.open: list[Node] = []
        self.keys: list[Entry | None] = []  # the key that waits for its value
        self.seen: list[dict[str, int]] = []
        self.twice: list[list[str]] = []
        self.first_twice: list[int] = []  # number of the problem that names them
        self.root: Node | None = None
        self.documents = 0

    def build(self, text: str) -> Node:
        try:
            self._read(text)
        except yaml.MarkedYAMLError as error:
            self.problems.append(self._syntax(error))
        except (yaml.YAMLError, RecursionError) as error:
            self._problem(0, f"cannot be read as YAML: {error}")
        if self.problems:
            raise InputError(self.problems)
        return self.root or Node("map", 1, self.file, [])

    def _read(self, text: str) -> None:
        for number, event in enumerate(yaml.parse(text, Loader=_Loader)):
            if number >= MOST_EVENTS:
                self._problem(_line(event), f"holds more than {MOST_EVENTS} values")
                return
            if len(self.problems) >= MOST_PROBLEMS or not self._take(event):
                return

    def _take(self, event: Any) -> bool:
        """Take one event; return whether to go on."""
        if isinstance(event, yaml.ScalarEvent):
            self._check(event)
            blank = event.value == "" and event.style in (None, "")
            node = Node("text", _line(event), self.file, event.value, not _is_plain(event))
            self._add(node, blank)
        elif isinstance(event, yaml.MappingStartEvent | yaml.SequenceStartEvent):
            self._check(event)
            return self._start(event)
        elif isinstance(event, yaml.MappingEndEvent | yaml.SequenceEndEvent):
            for stack in (self.open, self.keys, self.seen, self.twice, self.first_twice):
                stack.pop()
        elif isinstance(event, yaml.AliasEvent):
            self._problem(_line(event), f"uses the alias *{event.anchor}", "write it out in full")
            self._add(Node("text", _line(event), self.file, f"*{event.anchor}", True), False)
        elif isinstance(event, yaml.DocumentStartEvent):
            return self._document(event)
        return True

    def _document(self, event: Any) -> bool:
        self.documents += 1
        if event.tags:
            self._problem(_line(event), "declares tags with %TAG, which is not allowed")
        if self.documents > 1:
            self._problem(_line(event), "starts a second document", "remove the line ---")
        return self.documents == 1

    def _check(self, event: Any) -> None:
        if event.anchor is not None:
            self._problem(_line(event), f"sets the anchor &{event.anchor}", "write it out in full")
        if event.tag is not None:
            self._problem(_line(event), f"carries the tag {event.tag}", "remove the tag")

    def _start(self, event: Any) -> bool:
        if len(self.open) >= DEEPEST:
            self._problem(_line(event), f"is nested more than {DEEPEST} deep")
            return False
        kind: Kind = "map" if isinstance(event, yaml.MappingStartEvent) else "list"
        node = Node(kind, _line(event), self.file, [])
        self._add(node, False)
        self.open.append(node)
        self.keys.append(None)
        self.seen.append({})
        self.twice.append([])
        self.first_twice.append(0)
        return True

    def _add(self, node: Node, blank: bool) -> None:
        if not self.open:
            # a file of comments holds one empty text
            self.root = node if not blank else None
        elif self.open[-1].kind == "list":
            self.open[-1].value.append(node)
        elif self.keys[-1] is None:
            self._key(node)
        else:
            key, line, _ = self.keys[-1]
            self.open[-1].value.append((key, line, node))
            self.keys[-1] = None

    def _key(self, node: Node) -> None:
        key = node.value if node.kind == "text" else "?"
        if node.kind != "text":
            self._problem(node.line, f"{WORDS_FOR_KIND[node.kind]} found where a key is expected")
        elif not key:
            self._problem(node.line, "a key is empty", "write the key before the colon")
        elif key in self.seen[-1]:
            self._twice(key, node.line)
        self.seen[-1].setdefault(key, node.line)
        self.keys[-1] = (key, node.line, node)

    def _twice(self, key: str, line: int) -> None:
        """Note a key that its map has already; several of one map are one problem."""
        first = self.seen[-1][key]
        found = self.twice[-1]
        found.append(key)
        if not found[1:]:
            hint = f"it stands on line {first} already; keep one of them"
            self.first_twice[-1] = len(self.problems)
            self._problem(line, f"the key {key} is given twice", hint)
            return
        keys = ", ".join(found[:MOST_NAMED]) + (" and more" if found[MOST_NAMED:] else "")
        hint = "they stand before already; if a new item begins here, put a dash and a blank first"
        number = self.first_twice[-1]
        self.problems[number] = Problem(
            self.problems[number].at, f"the keys {keys} are given twice", hint
        )

    def _problem(self, line: int, text: str, hint: str = "") -> None:
        self.problems.append(Problem(Position(self.file, line), text, hint))

    def _syntax(self, error: yaml.MarkedYAMLError) -> Problem:
        mark = error.problem_mark or error.context_mark
        text = error.problem or error.context or "not YAML"
        hint = next((hint for part, hint in _HINTS.items() if part in text), "")
        return Problem(
            Position(self.file, mark.line + 1 if mark else 0),
            f"cannot be read as YAML: {text}",
            hint,
        )


def _line(event: Any) -> int:
    return int(event.start_mark.line) + 1


def _is_plain(event: Any) -> bool:
    return event.style is None or event.style == ""
