"""The limits that go with a calculation, as the rules hold them, each with its source."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from diagnose.checks.limits import bounds_text
from diagnose.data import data_folder
from diagnose.errors import DiagnoseError
from diagnose.physics.working import SURE_WORDS, plain
from diagnose.rulebook.fields import Log, Unusable
from diagnose.rulebook.kinds import KIND_BY_PLACE
from diagnose.rulebook.model import Limit, LimitValue, Source
from diagnose.yaml_text import read_yaml

FROM_MEMORY = "from-memory"
"""Id of the source that says of itself that a figure is remembered."""

JUDGED: Mapping[tuple[str, str], tuple[str, ...]] = {
    ("dew-point", "dew-point-margin"): ("margin",),
    ("highest-reading", "moisture-humidity"): ("result",),
    ("emission-rate", "moisture-emission"): ("result",),
    ("alkalinity", "surface-ph"): ("ph",),
    ("alkalinity", "surface-ph-residue"): ("ph",),
    ("porosity", "porosity-drop"): ("seconds",),
    ("flatness", "flatness-gap"): ("largest",),
    ("notch-spread-rate", "adhesive-volume"): ("likely from", "likely to"),
    ("adhesive-needed", "adhesive-mass"): ("rate_g_m2",),
    ("adhesive-used", "adhesive-mass"): ("result",),
    ("open-time", "open-time"): ("laid_min",),
    ("sealer-needed", "sealed-edges"): ("edges",),
    ("peak-height", "seam-surplus"): ("surplus_mm",),
    ("peak-surplus", "seam-surplus"): ("result", "more"),
    ("width-change", "dimensional-change"): ("size of change_percent",),
    ("stretch", "stretch-least"): ("result",),
    ("bow-and-skew", "bow"): ("bow",),
    ("bow-and-skew", "skew"): ("skew",),
    ("repeat-gain", "pattern-offset"): ("at either end",),
    ("cut-length", "cut-allowance"): ("allowance_mm",),
    ("ten-tiles", "ten-tile-deviation"): ("result",),
    ("edge-tiles", "tile-edge-fraction"): ("result",),
    ("seam-to-light", "seam-light-angle"): ("to the glass",),
    ("pile-turn", "pile-turn"): ("result",),
}
"""What a limit is about in a calculation: an input, a step, or the result; two words
are a range, of which `more` is an open end.  A limit that is not here is shown and
not judged, for the calculation does not work out what it is about."""
_CLOSE = 1e-9


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


def judged(
    name: str, figures: Iterable[Mapping[str, Any]], values: Mapping[str, Any]
) -> list[dict[str, Any]]:
    """Return the figures with a verdict each: within, below, above, partly or none.

    `name` is the calculation; `values` holds its inputs, its steps and its result.
    """
    return [_judged(name, dict(figure), values) for figure in figures]


def _judged(name: str, figure: dict[str, Any], values: Mapping[str, Any]) -> dict[str, Any]:
    words = JUDGED.get((name, figure["limit"]), ())
    known = dict(values, more=math.inf)
    known |= {f"size of {key}": abs(v) for key, v in values.items() if isinstance(v, float)}
    if not words or any(known.get(word) is None for word in words):
        return {**figure, "verdict": None}
    least, largest = float(known[words[0]]), float(known[words[-1]])
    verdict = verdict_of(least, largest, figure["low"], figure["high"])
    span = plain(least, 4)
    if largest != least and math.isfinite(largest):
        span += f" to {plain(largest, 4)}"
    # A degree sign stands at its number, a word apart from it.
    span += figure["unit"] if figure["unit"] == "°" else f" {figure['unit']}"
    told = f"{span}{' or more' if math.isinf(largest) else ''} is {verdict} the limit"
    return {**figure, "words": f"{told}; {figure['words']}", "verdict": verdict}


def verdict_of(least: float, largest: float, low: float | None, high: float | None) -> str:
    """Return where a value between `least` and `largest` lies, seen from a limit.

    Examples
    --------
    >>> verdict_of(1, 1, 1, None), verdict_of(0.8, 0.8, 1, None), verdict_of(5, 5, None, 3)
    ('within', 'below', 'above')
    >>> verdict_of(2, 4, None, 3)
    'partly within'
    """
    floor = -math.inf if low is None else low - _CLOSE * abs(low)
    roof = math.inf if high is None else high + _CLOSE * abs(high)
    if floor <= least and largest <= roof:
        return "within"
    if largest < floor:
        return "below"
    return "above" if least > roof else "partly within"


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
