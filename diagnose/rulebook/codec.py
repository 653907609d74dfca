"""Turn typed rules into plain JSON values and back, by the types of their fields.

A dataclass becomes a list of its fields in order, a file name the number it
has in a list.  Nothing in the data chooses a class: the shape comes from the
types in `diagnose.rulebook.model` alone, so a hostile file can be refused but
cannot run anything.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from enum import Enum
from types import UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints

from diagnose.errors import Position
from diagnose.rulebook.model import Rules

Reader = Callable[[Any], Any]


class Codec:
    """Writes and reads `Rules`; `shape` changes whenever a class of the model does."""

    def __init__(self) -> None:
        self._readers: dict[Any, Reader | None] = {}
        self._described: list[str] = []
        self._files: list[str] = []
        self._read = self._of_class(Rules)
        self.shape = hashlib.sha256("\n".join(self._described).encode()).hexdigest()

    def plain(self, rules: Rules) -> Any:
        """Return rules as lists, maps, text and numbers."""
        files: dict[str, int] = {}
        value = _plain(rules, files)
        return [list(files), value]

    def rules(self, value: Any) -> Rules:
        """Return rules from what `plain` gave.

        Raises
        ------
        ValueError, TypeError, KeyError, IndexError, AttributeError
            The value is not of that form.
        """
        files, data = value
        if not isinstance(files, list) or not all(isinstance(name, str) for name in files):
            raise ValueError("file names expected")
        self._files = files
        found = self._read(data)
        if not isinstance(found, Rules):
            raise TypeError("rules expected")
        return found

    def _of(self, kind: Any) -> Reader | None:
        """Return the reader of a type; None where JSON has it already."""
        if kind not in self._readers:
            self._readers[kind] = self._made(kind)
        return self._readers[kind]

    def _made(self, kind: Any) -> Reader | None:
        if kind in (str, float, int, bool, Any):
            return None
        if kind is Position:
            return self._position
        if is_dataclass(kind):
            return self._of_class(kind)
        if isinstance(kind, type) and issubclass(kind, Enum):
            return {member.value: member for member in kind}.__getitem__
        origin, inner = get_origin(kind), get_args(kind)
        if origin is tuple:
            return _of_tuple([self._of(each) for each in inner if each is not ...])
        if origin is Mapping:
            return _of_map(*(self._of(each) for each in inner))
        if origin in (Union, UnionType):
            return _optional(next(self._of(each) for each in inner if each is not type(None)))
        if isinstance(origin, type) and issubclass(origin, Mapping):
            return _of_map(*(self._of(each) for each in inner))
        raise TypeError(f"no way to read {kind}")

    def _of_class(self, kind: Any) -> Reader:
        hints = get_type_hints(kind)
        names = [each.name for each in fields(kind)]
        self._described.append(f"{kind.__name__}: " + ", ".join(f"{n} {hints[n]}" for n in names))
        readers = [(number, self._of(hints[name])) for number, name in enumerate(names)]
        busy = [(number, reader) for number, reader in readers if reader is not None]

        def read(data: Any) -> Any:
            if len(data) != len(names):
                raise ValueError(f"{len(names)} values expected")
            for number, reader in busy:
                data[number] = reader(data[number])
            return kind(*data)

        return read

    def _position(self, data: Any) -> Position:
        file, line = data
        return Position(self._files[file] if file >= 0 else "", line)


def _plain(value: Any, files: dict[str, int]) -> Any:
    if isinstance(value, Position):
        number = files.setdefault(value.file, len(files)) if value.file else -1
        return [number, value.line]
    if isinstance(value, Enum):
        return value.value
    if is_dataclass(value):
        return [_plain(getattr(value, each.name), files) for each in fields(value)]
    if isinstance(value, Mapping):
        return {str(key): _plain(each, files) for key, each in value.items()}
    if isinstance(value, tuple):
        return [_plain(each, files) for each in value]
    return value


def _of_tuple(inner: list[Reader | None]) -> Reader:
    if len(inner) > 1 and any(inner):
        raise TypeError("tuples of several kinds are not read")
    if (one := inner[0]) is None:
        return tuple
    return lambda data: tuple([one(each) for each in data])


def _of_map(keys: Reader | None, values: Reader | None) -> Reader | None:
    if keys is None and values is None:
        return dict
    if keys is None:
        assert values is not None
        return lambda data: {key: values(each) for key, each in data.items()}
    if values is None:
        return lambda data: {keys(key): each for key, each in data.items()}
    return lambda data: {keys(key): values(each) for key, each in data.items()}


def _optional(reader: Reader | None) -> Reader | None:
    if reader is None:
        return None
    return lambda data: None if data is None else reader(data)
