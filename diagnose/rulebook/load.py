"""Read a folder of rule files into `Rules`; every problem is named at once.

The edition is the SHA-256 over names and content of the rule files, so that a
finding can say which rules it rests on.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from diagnose.errors import InputError, Position, Problem
from diagnose.model import STAGES
from diagnose.rulebook.cache import read_cache, write_cache
from diagnose.rulebook.fields import Log, Unusable, near
from diagnose.rulebook.kinds import KIND_BY_PLACE, KINDS, RuleKind
from diagnose.rulebook.model import Rules, Scale
from diagnose.rulebook.scale_keys import SCALE, SCALES, empty_scale
from diagnose.yaml_text import Node, read_yaml


def load_rules(folder: Path, *, cache: Path | None = None) -> Rules:
    """Return the rules under `folder`; what is missing is empty.

    `cache` is a folder where read rules are kept; a broken or foreign file in
    it is ignored, and one that cannot be written is no error.

    Raises
    ------
    InputError
        With every problem of every file: syntax, keys, words, unknown ids.
    """
    files = rule_files(folder)
    if cache is None:
        return _parsed(folder, files)
    rules = read_cache(cache, folder, edition_of(files))
    if rules is None:
        rules = _parsed(folder, files)
        write_cache(cache, folder, rules)
    return rules


def _parsed(folder: Path, files: Mapping[str, bytes]) -> Rules:
    log = Log()
    found: dict[str, list[Any]] = {kind.key: [] for kind in KINDS}
    scale = _scale(files, folder.name, log)
    for name, data in files.items():
        if name != "scale.yaml":
            _read_file(name, data, folder.name, log, found)
    by_id = {kind.key: _by_id(kind, found[kind.key], log) for kind in KINDS[:-1]}
    pairs = tuple(found["inseparable"])
    rules = Rules(scale=scale, inseparable=pairs, edition=edition_of(files), **by_id)
    if not log.problems:
        _unknown_ids(rules, log)
    if log.problems:
        raise InputError(log.problems)
    return rules


def rule_files(folder: Path) -> dict[str, bytes]:
    """Return the rule files by name relative to `folder`, in sorted order."""
    names = (path.relative_to(folder).as_posix() for path in folder.rglob("*.yaml"))
    kept = [n for n in names if not n.endswith(".cases.yaml") and not n.startswith("schemas/")]
    return {name: (folder / name).read_bytes() for name in sorted(kept)}


def edition_of(files: Mapping[str, bytes]) -> str:
    """Return the SHA-256 over names and content; line ends count as one kind."""
    digest = hashlib.sha256()
    for name in sorted(files):
        data = files[name].replace(b"\r\n", b"\n")
        digest.update(f"{name}\0{len(data)}\0".encode() + data)
    return digest.hexdigest()


def _scale(files: Mapping[str, bytes], root: str, log: Log) -> Scale:
    empty = Scale(**{name: empty_scale(name) for name in SCALES}, numbers={})
    if "scale.yaml" not in files:
        return empty
    try:
        scale: Scale = SCALE.read(read_yaml(files["scale.yaml"], f"{root}/scale.yaml"), log)
    except InputError as error:
        log.problems.extend(error.problems)
        return empty
    except Unusable:
        return empty
    log.words = {name: tuple(getattr(scale, name).words) for name in SCALES}
    return scale


def _read_file(name: str, data: bytes, root: str, log: Log, found: Mapping[str, list[Any]]) -> None:
    file = f"{root}/{name}"
    place, stage = name.split("/")[0].removesuffix(".yaml"), Path(name).stem
    kind = KIND_BY_PLACE.get(place)
    if kind is None:
        hint = near(place, KIND_BY_PLACE)
        log.problems.append(Problem(Position(file), "is no kind of rule file", hint))
        return
    if kind.staged and stage not in STAGES:
        text = f"{stage} is not a stage"
        log.problems.append(Problem(Position(file), text, "allowed: " + ", ".join(STAGES)))
        return
    try:
        found[kind.key].extend(_items(kind, stage, read_yaml(data, file), log))
    except InputError as error:
        log.problems.extend(error.problems)


def _items(kind: RuleKind, stage: str, top: Node, log: Log) -> list[Any]:
    for key, line, _ in top.items():
        if key != kind.key:
            hint = f"allowed: {kind.key}"
            log.problems.append(Problem(Position(top.file, line), f"unknown key {key}", hint))
    nodes = top.get(kind.key)
    items = []
    for node in nodes.list() if nodes else []:
        try:
            items.append(kind.for_stage(stage).read(node, log))
        except Unusable:
            continue
    return items


def _by_id(kind: RuleKind, items: list[Any], log: Log) -> dict[str, Any]:
    by_id: dict[str, Any] = {}
    for item in items:
        if item.id in by_id:
            text = f"the {kind.word} {item.id} is there already, in {by_id[item.id].at}"
            log.problems.append(Problem(item.at, text, "keep one of them"))
        by_id.setdefault(item.id, item)
    return by_id


def _unknown_ids(rules: Rules, log: Log) -> None:
    known = {kind.word: set(getattr(rules, kind.key)) for kind in KINDS[:-1]}
    known["answer"] = {f"{q.id}.{a.id}" for q in rules.questions.values() for a in q.answers}
    for kinds, name, at in log.named:
        ids = set().union(*(known[kind] for kind in kinds))
        if name not in ids:
            text = f"no {' or '.join(kinds)} is called {name}"
            log.problems.append(Problem(at, text, near(name, sorted(ids))))
