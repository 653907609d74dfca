"""Check that a part which a value names stands in the same sheet.

Climate logs are left out: they come with the file of a logger, later.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Mapping
from typing import Protocol

from diagnose.errors import Position
from diagnose.model import PLACE_KINDS
from diagnose.record.fields import FieldRule, near_names
from diagnose.record.labels import PART_WORDS
from diagnose.record.sheet_numbers import listed, short
from diagnose.record.sheet_problems import Problems
from diagnose.yaml_text import Node

COLLECTION_OF: Mapping[str, str] = {
    "seam": "seams",
    "edge": "edges",
    "drop": "drops",
    "area": "areas",
    "spread": "spreads",
    "roll": "rolls",
    "lot": "lots",
    "reading": "readings",
    "conditioning": "conditioning",
    "complaint": "complaints",
    "later": "later",
}
"""Collection of the job by the word that stands before the colon of a place."""

STOCK = ("roll", "lot")
LOOSE_STOCK = ("underlay", "tiles")
MOST_COMPARED = 500
"""Ids that a wrong one is compared with, so that a huge sheet costs little."""


class Gathered(Protocol):
    """What the reader of a sheet has found."""

    values: dict[str, tuple[str, Position]]
    ids: dict[str, dict[str, Position]]
    references: list[tuple[FieldRule, str, Node]]


def check_references(gathered: Gathered, problems: Problems) -> None:
    """Report every value that names a part which the sheet does not hold."""
    for rule, path, node in gathered.references:
        text = gathered.values[path][0]
        names = json.loads(text) if rule.kind == "words" else [text]
        for name in names:
            _check(gathered, problems, rule, path, name, node.at)


def _check(
    gathered: Gathered,
    problems: Problems,
    rule: FieldRule,
    path: str,
    name: str,
    at: Position,
) -> None:
    if rule.refers_to in ("place", "stock"):
        _check_place(gathered, problems, rule, path, name, at)
    elif rule.refers_to == "doors":
        own = gathered.values.get(f"{path.rpartition('.')[0]}.area", ("", at))[0]
        _expect(problems, path, name, at, "doors", _doors(gathered, own))
    elif rule.refers_to != "climate":
        _expect(problems, path, name, at, rule.refers_to, gathered.ids.get(rule.refers_to, ()))


def _check_place(
    gathered: Gathered,
    problems: Problems,
    rule: FieldRule,
    path: str,
    name: str,
    at: Position,
) -> None:
    kind, colon, own = name.partition(":")
    is_stock = rule.refers_to == "stock"
    if (name == "job" and not is_stock) or (name in LOOSE_STOCK and is_stock):
        return
    if is_stock:
        kinds: tuple[str, ...] = STOCK
    elif rule.pattern.startswith("complaints."):
        kinds = tuple(kind for kind in PLACE_KINDS if kind != "job")
    else:
        kinds = (*COLLECTION_OF, "doorway")
    if not colon or kind not in kinds:
        alone = LOOSE_STOCK if is_stock else ("job",)
        hint = f"write {listed([*(f'{kind}:…' for kind in kinds), *alone])}"
        problems.add(at, f"{path} is {short(name)}; kind and id of a part are needed", hint)
    elif kind == "doorway":
        area, _, door = own.rpartition("/")
        doors = [*_doors(gathered, area), *gathered.ids.get("edges", ())]
        _expect(problems, path, door, at, "doors", doors)
    else:
        collection = COLLECTION_OF[kind]
        _expect(problems, path, own, at, collection, gathered.ids.get(collection, ()))


def _expect(
    problems: Problems, path: str, name: str, at: Position, collection: str, ids: Collection[str]
) -> None:
    if name in ids:
        return
    word = PART_WORDS[collection]
    text = f"{path} names the {word} {short(name)}, which is not in the sheet"
    if problems.full:
        problems.add(at, text)
        return
    known = list(ids)
    near = near_names(name, known) if len(known) <= MOST_COMPARED else ()
    if near:
        hint = f"did you mean {listed(near)}?"
    elif known:
        hint = f"the sheet holds {listed(known)}"
    else:
        hint = f"add the {word} under {collection}: or leave the line out"
    problems.add(at, text, hint)


def _doors(gathered: Gathered, area: str) -> Collection[str]:
    return gathered.ids.get(f"areas.{area}.doors" if area else "doors", ())
