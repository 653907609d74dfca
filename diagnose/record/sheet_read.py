"""Walk the nodes of a sheet along the tree of fields and gather values.

Parts may be written as a map by id, or as a list in which each part names its
own id; both give the same paths.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import tzinfo

from diagnose.errors import Position
from diagnose.record.codec import EMPTY
from diagnose.record.fields import (
    Branch,
    FieldRule,
    Keyed,
    Section,
    near_names,
    part_words,
    tree,
)
from diagnose.record.sheet_numbers import NotReadableError, listed, short
from diagnose.record.sheet_problems import Problems
from diagnose.record.sheet_readings import read_measured
from diagnose.record.sheet_times import zone_of
from diagnose.record.sheet_values import Reading, read_value, shown
from diagnose.yaml_text import WORDS_FOR_KIND, Node

ID = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,63}")
ID_HINT = "ids hold letters without accents, figures, - and _, such as SP1 or day-room"


class Reader:
    """Values, references and ids of one sheet as they are found."""

    def __init__(self, problems: Problems, zone: str | None) -> None:
        self.problems = problems
        self.zone_name = zone
        self.zone: tzinfo | None = None
        self.values: dict[str, tuple[str, Position]] = {}
        self.queries: list[tuple[str, str]] = []
        self.ids: dict[str, dict[str, Position]] = {}
        """Ids by the path of their collection, such as `areas.day-room.doors`.

        Under `doors` stand the doors of all areas.
        """
        self.spelled: dict[tuple[str, str], str] = {}
        """Ids by their collection and their small letters."""
        self.references: list[tuple[FieldRule, str, Node]] = []
        self.nodes: dict[str, Node] = {}

    def read(self, root: Node) -> str:
        """Gather all values below `root`; return the id of the job."""
        if root.kind != "map":
            text = f"a sheet holds key: value pairs, found {WORDS_FOR_KIND[root.kind]}"
            self.problems.add(root.at, text, "start with id: name-of-the-job")
            return ""
        job_id = self._job_id(root)
        self._find_zone(root)
        self._section(tree(), root, "", skip=("id",))
        read_measured(self, self.problems)
        return job_id

    def keep(self, path: str, reading: Reading, at: Position) -> None:
        """Keep one value that was read, and a query about it if there is one."""
        self.values[path] = (reading.text, at)
        if reading.query:
            self.queries.append((path, reading.query))

    def _job_id(self, root: Node) -> str:
        node = root.get("id")
        hint = "write id: and a short name, such as id: larch-house"
        if node is None or node.is_blank():
            self.problems.add((node or root).at, "the sheet does not name its job", hint)
        elif node.kind != "text":
            self.problems.add(node.at, f"id is {WORDS_FOR_KIND[node.kind]}", hint)
        elif not ID.fullmatch(node.text):
            self.problems.add(node.at, f"{short(node.text)} cannot be the id of a job", ID_HINT)
        else:
            return node.text
        return ""

    def _find_zone(self, root: Node) -> None:
        node = root.get("zone")
        name = node.text.strip() if node is not None and node.kind == "text" else ""
        try:
            if name or self.zone_name:
                self.zone = zone_of(name or str(self.zone_name))
        except NotReadableError as error:
            at = node.at if node is not None else root.at
            self.problems.add(
                at, f"zone is {short(name or str(self.zone_name))}; {error}", error.hint
            )
            self.zone = zone_of("UTC")  # so that not every time is a problem too

    def _branch(self, branch: Branch, node: Node, path: str) -> None:
        if isinstance(branch, FieldRule):
            self._leaf(branch, node, path)
        elif node.is_blank():
            return
        elif isinstance(branch, Section):
            if self._is_map(node, path):
                self._section(branch, node, f"{path}.", mark=branch.optional)
        elif node.kind == "list" and branch.key:
            self._parts_in_list(branch, node, path)
        elif self._is_map(node, path):
            for key, line, inner in node.items():
                self._part(branch, key, inner, path, Position(node.file, line))

    def _section(
        self,
        section: Section,
        node: Node,
        prefix: str,
        skip: tuple[str, ...] = (),
        mark: bool = False,
    ) -> None:
        before = len(self.values) + len(self.nodes)
        for key, line, inner in node.items():
            if key in skip:
                continue
            child = section.children.get(key)
            if child is None:
                self._unknown(section.children, key, prefix, Position(node.file, line))
            else:
                self._branch(child, inner, f"{prefix}{key}")
        self._required(section, node, prefix)
        if mark and len(self.values) + len(self.nodes) == before:
            self.values[prefix[:-1]] = (EMPTY, node.at)

    def _required(self, section: Section, node: Node, prefix: str) -> None:
        for name, child in section.children.items():
            given = node.get(name)
            if not isinstance(child, FieldRule) or not child.required:
                continue
            if given is None or given.is_blank():
                what = part_words(prefix[:-1].split("."))
                hint = f"allowed are {listed(child.words)}" if child.words else ""
                self.problems.add(node.at, f"{what} has no {name}", hint)

    def _parts_in_list(self, keyed: Keyed, node: Node, path: str) -> None:
        for inner in node.list():
            named = inner.get(keyed.key) if inner.kind == "map" else None
            if named is None or named.kind != "text" or named.is_blank():
                text = f"an item of the list {path} does not name its {keyed.key}"
                self.problems.add(inner.at, text, f"write {keyed.key}: in every item")
                continue
            self._part(keyed, named.text, inner, path, named.at, skip=(keyed.key,))

    def _part(
        self,
        keyed: Keyed,
        key: str,
        node: Node,
        path: str,
        at: Position,
        skip: tuple[str, ...] = (),
    ) -> None:
        if not self._is_new_id(keyed, key, path, at):
            return
        below = f"{path}.{key}"
        if isinstance(keyed.item, FieldRule):
            self._leaf(keyed.item, node, below)
        elif isinstance(keyed.item, Section):
            if node.is_blank():
                node = Node("map", node.line, node.file, [])
            if self._is_map(node, below):
                self._section(keyed.item, node, f"{below}.", skip, mark=True)

    def _is_new_id(self, keyed: Keyed, key: str, path: str, at: Position) -> bool:
        words = part_words([*path.split("."), "*"]).replace(" *", "").replace("* ", "")
        sides = ("left", "right") if keyed.key == "side" else ()
        if sides and key not in sides:
            self.problems.add(
                at, f"{short(key)} is no side of a drop", f"allowed are {listed(sides)}"
            )
            return False
        if not ID.fullmatch(key):
            self.problems.add(at, f"{short(key)} cannot be the id of a part ({words})", ID_HINT)
            return False
        known = self.ids.setdefault(path, {})
        twin = self.spelled.setdefault((path, key.casefold()), key)
        if key not in known and twin == key:
            known[key] = at
            if path.endswith(".doors"):
                self.ids.setdefault("doors", {})[key] = at
            return True
        first = known[twin].line
        if twin == key:
            text, hint = f"{path} holds {key} twice", f"it stands on line {first} already"
        else:
            text = f"{path} holds {key} and {twin}, which differ only in capitals"
            hint = f"{twin} stands on line {first}; use two names that no one confuses"
        self.problems.add(at, text, hint)
        return False

    def _leaf(self, rule: FieldRule, node: Node, path: str) -> None:
        if node.is_blank():
            return
        self.nodes[path] = node
        if rule.pattern in _MEASURED:
            return
        try:
            reading = read_value(rule, node, self.zone)
        except NotReadableError as error:
            self.problems.add(node.at, f"{path} is {shown(node)}; {error.text}", error.hint)
            return
        self.keep(path, reading, node.at)
        if rule.refers_to:
            self.references.append((rule, path, node))

    def _is_map(self, node: Node, path: str) -> bool:
        if node.kind == "map":
            return True
        text = f"{path} is {shown(node)}; {WORDS_FOR_KIND['map']} are needed"
        self.problems.add(node.at, text)
        return False

    def _unknown(self, children: Mapping[str, Branch], key: str, prefix: str, at: Position) -> None:
        if self.problems.full:
            self.problems.add(at, "")
            return
        near = near_names(key, list(children))
        if key == "id":
            hint = "the id stands before the colon; leave this line out"
        elif near:
            hint = f"did you mean {listed(near)}?"
        else:
            hint = f"known are {listed(list(children))}"
        where = f" in {prefix[:-1]}" if prefix else ""
        self.problems.add(at, f"{short(key)} is no field{where}", hint)


_MEASURED = frozenset(
    {
        "readings.*.value",
        "readings.*.unit",
        "product.limits.*.low",
        "product.limits.*.high",
        "product.limits.*.unit",
        "lots.*.limits.*.low",
        "lots.*.limits.*.high",
        "lots.*.limits.*.unit",
    }
)
"""Numbers whose unit stands in a field beside them."""
