"""Every field of a job's record, derived from the model itself.

A field is named by its pattern: `spreads.*.laid_at` stands for that field of
any spread.  Type and place come from the dataclasses of `model`, the unit from
the end of the name, allowed words, bounds and labels from their own tables;
nothing is listed twice.
"""

from __future__ import annotations

import types
from collections.abc import Iterator, Mapping
from dataclasses import MISSING, dataclass, is_dataclass
from dataclasses import fields as dataclass_fields
from datetime import date, datetime
from difflib import get_close_matches
from functools import lru_cache
from typing import Any, Literal, TypeAlias, Union, get_args, get_origin, get_type_hints

from diagnose.record.labels import LABELS, PART_WORDS
from diagnose.record.model import Job
from diagnose.record.ranges import Bounds, bounds_of
from diagnose.record.units import bare_name, unit_of
from diagnose.record.words import REFERS_TO, WORDS

Kind: TypeAlias = Literal[
    "text",
    "number",
    "whole",
    "yes-no",
    "date",
    "time",
    "words",
    "point",
    "line",
    "lines",
    "colour",
    "log",
]

_NOT_RECORDED = {"id", "origins"}
_NUMBERS = ("number", "whole")
_PLANNED = ("point", "line", "lines")


@dataclass(frozen=True, slots=True)
class FieldRule:
    """What one field of the record may hold."""

    pattern: str
    """`spreads.*.laid_at`; a star stands for an id."""
    name: str
    kind: Kind
    hint: Any
    """The Python type of a recorded value."""
    unit: str
    words: tuple[str, ...]
    """Allowed words; empty when any text will do."""
    bounds: Bounds
    label: str
    refers_to: str
    """Collection that the value names a part of, `place`, `stock` or empty."""
    required: bool


@dataclass(frozen=True, slots=True)
class Section:
    """A group of fields: one part, or a fixed group such as `product`."""

    pattern: str
    type: Any
    children: Mapping[str, Branch]
    optional: bool
    """True when an empty group differs from an absent one."""


@dataclass(frozen=True, slots=True)
class Keyed:
    """Parts by id: rolls by `R1`, the edges of a drop by their side."""

    pattern: str
    key: str
    """Field that holds the key, empty when the part does not repeat it."""
    item: Branch
    as_tuple: bool


Branch: TypeAlias = Section | Keyed | FieldRule


@lru_cache(maxsize=1)
def tree() -> Section:
    """Return the whole record as one section."""
    return _section(Job, "", optional=False)


@lru_cache(maxsize=1)
def field_table() -> Mapping[str, FieldRule]:
    """Return every field by its pattern, in the order of the model."""
    return {rule.pattern: rule for rule in _leaves(tree())}


def branch_at(path: str) -> Branch | None:
    """Return what stands at a path such as `areas.day-room.doors`, or None."""
    here: Branch | None = tree()
    for step in path.split("."):
        here = child_of(here, step)
        if here is None:
            return None
    return here


def child_of(branch: Branch | None, step: str) -> Branch | None:
    """Return the branch under the field name or id `step`, or None."""
    if isinstance(branch, Section):
        return branch.children.get(step)
    if isinstance(branch, Keyed):
        return branch.item if step else None
    return None


def field_of(path: str) -> FieldRule | None:
    """Return the rule for a path such as `spreads.SP1.laid_at`, or None.

    Examples
    --------
    >>> rule = field_of("spreads.SP1.floor_c")
    >>> rule.pattern, rule.kind, rule.unit
    ('spreads.*.floor_c', 'number', '°C')
    """
    found = branch_at(path)
    return found if isinstance(found, FieldRule) else None


def label_of(path: str) -> str:
    """Return trade words for a path of the record.

    Examples
    --------
    >>> label_of("spreads.SP1.laid_at")
    'carpet laid into the adhesive, spread SP1'
    >>> label_of("drops.L2.edges.left.cut")
    'how the edge was cut, left edge of drop L2'
    """
    steps, branch = path.split("."), branch_at(path)
    if branch is None:
        return path
    if not isinstance(branch, FieldRule):
        return part_words(steps)
    rule = branch
    held_by = part_words(steps if rule.name == "*" else steps[:-1])
    return f"{rule.label}, {held_by}" if held_by else rule.label


def part_words(steps: list[str]) -> str:
    """Return words for the part that a path leads to: "door D1 of area day-room"."""
    words: list[str] = []
    here: Branch | None = tree()
    for step in steps:
        if isinstance(here, Keyed):
            kind = PART_WORDS.get(words.pop(), "part")
            words.append(f"{step} {kind}" if here.key == "side" else f"{kind} {step}")
        else:
            words.append(step)
        here = child_of(here, step)
    return " of ".join(word.replace("_", " ") for word in reversed(words))


def near_names(name: str, names: list[str], most: int = 3) -> tuple[str, ...]:
    """Return up to `most` of `names` that look like `name`, best first."""
    lower = {other.casefold(): other for other in names}
    found = get_close_matches(name[:80].casefold(), list(lower), most, 0.6)
    return tuple(lower[match] for match in found)


def _leaves(branch: Branch) -> Iterator[FieldRule]:
    if isinstance(branch, FieldRule):
        yield branch
    elif isinstance(branch, Keyed):
        yield from _leaves(branch.item)
    else:
        for child in branch.children.values():
            yield from _leaves(child)


def _section(cls: Any, pattern: str, *, optional: bool, key: str = "") -> Section:
    hints = get_type_hints(cls)
    children = {
        field.name: _branch(
            f"{pattern}.{field.name}" if pattern else field.name,
            hints[field.name],
            required=field.default is MISSING and field.default_factory is MISSING,
        )
        for field in dataclass_fields(cls)
        if field.name not in _NOT_RECORDED | {key}
    }
    return Section(pattern, cls, children, optional)


def _branch(pattern: str, hint: Any, *, required: bool) -> Branch:
    plain, optional = _without_none(hint)
    origin, args = get_origin(plain), get_args(plain)
    if is_dataclass(plain):
        return _section(plain, pattern, optional=optional)
    if origin is Mapping:
        return _keyed(pattern, args[1], as_tuple=False)
    if origin is tuple and is_dataclass(args[0]) and _key_of(args[0]):
        return _keyed(pattern, args[0], as_tuple=True)
    return _leaf(pattern, plain, required)


def _keyed(pattern: str, item: Any, *, as_tuple: bool) -> Keyed:
    inner = f"{pattern}.*"
    if not is_dataclass(item):
        return Keyed(pattern, "", _leaf(inner, item, True), as_tuple)
    key = _key_of(item)
    return Keyed(pattern, key, _section(item, inner, optional=True, key=key), as_tuple)


def _key_of(cls: Any) -> str:
    first = dataclass_fields(cls)[0]
    is_text = get_type_hints(cls)[first.name] is str
    return first.name if is_text and first.default is MISSING else ""


def _leaf(pattern: str, hint: Any, required: bool) -> FieldRule:
    name = pattern.rpartition(".")[2]
    kind = _kind_of(hint)
    unit = unit_of(name) if kind in _NUMBERS else "m" if kind in _PLANNED else ""
    return FieldRule(
        pattern=pattern,
        name=name,
        kind=kind,
        hint=hint,
        unit=unit,
        words=WORDS.get(pattern, ()),
        bounds=bounds_of(pattern, unit) if kind in _NUMBERS else Bounds(),
        label=LABELS.get(pattern) or (bare_name(name) if name != "*" else "role"),
        refers_to=REFERS_TO.get(pattern, ""),
        required=required,
    )


_KINDS: Mapping[Any, Kind] = {
    str: "text",
    float: "number",
    int: "whole",
    bool: "yes-no",
    date: "date",
    datetime: "time",
    tuple[str, ...]: "words",
    tuple[float, float]: "point",
    tuple[tuple[float, float], ...]: "line",
    tuple[tuple[tuple[float, float], ...], ...]: "lines",
    tuple[float, float, float]: "colour",
}


def _kind_of(hint: Any) -> Kind:
    return _KINDS.get(hint, "log")


def _without_none(hint: Any) -> tuple[Any, bool]:
    if get_origin(hint) in (Union, types.UnionType):
        rest = [arg for arg in get_args(hint) if arg is not type(None)]
        return rest[0], True
    return hint, False
