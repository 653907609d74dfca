"""Every calculation by example: what it finds, and the number in its working.

The examples stand in `examples/*.yaml`: values by path, the part asked, the
outcome, and words that summary or working must hold.  Numbers are invented
unless an example names its source.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
import yaml

from diagnose.checks import CALCULATIONS
from diagnose.model import CheckResult, Outcome
from diagnose.rulebook.model import Rules

FOLDER = Path(__file__).with_name("examples")


def examples() -> Iterator[Any]:
    for path in sorted(FOLDER.glob("*.yaml")):
        data = yaml.load(path.read_text("utf-8"), Loader=yaml.BaseLoader)
        for number, item in enumerate(data["examples"], 1):
            values = dict(data["bases"][item["base"]]) if "base" in item else {}
            values |= item.get("with", {})
            for name in item.get("without", []):
                assert name in values, f"{path.name}: {name} is not in the base"
                del values[name]
            name = f"{path.stem}-{number}-{item['check']}-{item['outcome']}"
            yield pytest.param(item, values, id=name)


@pytest.mark.parametrize(("item", "values"), list(examples()))
def test_example(item: Any, values: dict[str, str], ask: Callable[..., CheckResult]) -> None:
    result = ask(item["check"], item["part"], values)
    assert result.outcome == item["outcome"], result
    said = "\n".join((result.summary, *result.working))
    for words in item.get("says", []):
        assert words in said
    if result.outcome == Outcome.NOT_RECORDED:
        assert result.missing or "says" in item, "a gap is named, or the reason is"
    if result.outcome in (Outcome.DEVIATES, Outcome.IN_ORDER):
        assert result.working
        assert result.inputs
    for words in item.get("missing", []):
        assert any(words in gap for gap in result.missing), result.missing
    if "limit" in item:
        assert result.limit is not None
        assert item["limit"] in (result.limit.set_by, result.limit.text)


def test_every_calculation_is_seen_deviating_in_order_and_silent(rules: Rules) -> None:
    """Two can only be kept or silent: what they ask for is an act, not a value."""
    only_kept = {"pattern-measured": Outcome.DEVIATES}
    seen: dict[str, set[str]] = {name: set() for name in CALCULATIONS}
    for param in examples():
        item = param.values[0]
        seen[rules.checks[item["check"]].calculation].add(item["outcome"])
    wanted = {Outcome.DEVIATES, Outcome.IN_ORDER, Outcome.NOT_RECORDED}
    absent = {name: sorted(wanted - found - {only_kept.get(name)}) for name, found in seen.items()}
    assert not {name: gaps for name, gaps in absent.items() if gaps}
