"""The limits that go with a calculation, as the rules hold them, each with its source."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from diagnose.checks.limits import bounds_text
from diagnose.data import data_folder
from diagnose.errors import DiagnoseError
from diagnose.physics.working import SURE_WORDS
from diagnose.rulebook.fields import Log, Unusable
from diagnose.rulebook.kinds import KIND_BY_PLACE
from diagnose.rulebook.model import Limit, LimitValue, Source
from diagnose.yaml_text import read_yaml

FROM_MEMORY = "from-memory"
"""Id of the source that says of itself that a figure is remembered."""


def read_items(folder: Path, place: str) -> dict[str, Any]:
    """Return the items of one kind of rule by id, leaving out what cannot be used.

    Only what is asked for is read: the whole graph of rules takes much longer than
    a calculation, and naming its mistakes is the business of other commands.
    """
    kind = KIND_BY_PLACE[place]
    files = sorted((folder / place).glob("*.yaml")) + sorted(folder.glob(f"{place}.yaml"))
    found: dict[str, Any] = {}
    for path in files:
        try:
            nodes = read_yaml(path.read_bytes(), path.name).get(kind.key)
        except DiagnoseError:
            continue
        for node in nodes.list() if nodes else []:
            try:
                item = kind.for_stage("").read(node, Log())
            except Unusable:
                continue
            found.setdefault(item.id, item)
    return found


def limits_of(
    ids: Iterable[str], known: Mapping[str, str], folder: Path | None = None
) -> list[dict[str, Any]]:
    """Return the figures of some limits as plain data, in the order of the rules.

    A limit that the rules do not hold is left out, and so is a figure for another
    case than the one `known`.

    Raises
    ------
    StoreError
        When the rules that ship with the program are missing.
    """
    where = folder or data_folder("rules")
    limits: Mapping[str, Limit] = read_items(where, "limits")
    sources: Mapping[str, Source] = read_items(where, "sources")
    return [
        _figure(limits[name], value, sources)
        for name in ids
        if name in limits
        for value in limits[name].values
        if all(known.get(word, words[0]) in words for word, words in value.when.items())
    ]


def _figure(limit: Limit, value: LimitValue, sources: Mapping[str, Source]) -> dict[str, Any]:
    cite, source = value.cite, sources.get(value.cite.source)
    title = source.title if source else cite.source
    text = bounds_text(value.low, value.high, limit.unit)
    when = "; ".join(f"{name} {' or '.join(words)}" for name, words in value.when.items())
    sure = "" if value.sure == "memory" and cite.source == FROM_MEMORY else SURE_WORDS[value.sure]
    said = "; ".join(part for part in (title, cite.clause, sure, cite.note) if part)
    return {
        "limit": limit.id,
        "words": f"{limit.name}: {text}{f' ({when})' if when else ''} [{said}]",
        "low": value.low,
        "high": value.high,
        "unit": limit.unit,
        "when": {name: list(words) for name, words in value.when.items()},
        "source": cite.source,
        "clause": cite.clause,
        "sure": value.sure,
        "note": cite.note,
    }
