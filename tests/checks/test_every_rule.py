"""What holds for every check of the rules, whatever its subject."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from diagnose.checks import CALCULATIONS
from diagnose.model import CheckResult, Outcome
from diagnose.record.fields import field_of
from diagnose.rulebook.kinds import LOOKS_AT
from diagnose.rulebook.model import Check, Rules

Ask = Callable[..., CheckResult]
COLLECTION = {"doorway": "edges", "area": "areas"}


def part_and_prefix(check: Check) -> tuple[str, str]:
    if check.looks_at == "job":
        return "job", ""
    collection = COLLECTION.get(check.looks_at, f"{check.looks_at}s")
    return f"{check.looks_at}:X", f"{collection}.X."


def facets(check: Check) -> dict[str, str]:
    """Values that make the check apply: the first of each facet it asks for."""
    found = {"areas.X.area_m2": "20"}
    for facet, words in check.applies.items():
        if facet in ("subfloor", "heating"):
            found[f"areas.X.{facet}.kind"] = words[0]
        else:
            found["method" if facet == "method" else f"product.{facet}"] = words[0]
    return found


def path_of(check: Check, field: str) -> str:
    _, prefix = part_and_prefix(check)
    return prefix + field


def of(rules: Rules, calculation: str) -> list[Check]:
    return [check for check in rules.checks.values() if check.calculation == calculation]


def test_there_are_enough_checks_and_limits(rules: Rules) -> None:
    assert len(rules.checks) >= 32
    assert len(rules.limits) >= 30
    assert sum(len(limit.values) > 1 for limit in rules.limits.values()) >= 10


def test_every_check_names_a_calculation_a_part_and_a_limit_that_are_there(rules: Rules) -> None:
    for check in rules.checks.values():
        assert check.calculation in CALCULATIONS, check.id
        assert check.looks_at in LOOKS_AT, check.id
        assert not check.limit or check.limit in rules.limits, check.id
        assert check.needs, f"{check.id} does not say what it needs"
        assert check.sources, f"{check.id} names no source"


def test_nearly_every_check_speaks_for_a_cause(rules: Rules) -> None:
    """What only says how well a reading was taken speaks for none: it is no sign of damp."""
    silent = {check.id for check in rules.checks.values() if not check.backs}
    assert silent == {
        "moisture-instrument-calibrated",
        "moisture-probe-depth",
        "moisture-readings-well-spread",
    }


def test_every_calculation_is_used_by_a_check(rules: Rules) -> None:
    assert {check.calculation for check in rules.checks.values()} == set(CALCULATIONS)


def test_a_remembered_figure_names_no_standard_as_its_source(rules: Rules) -> None:
    """`sure: memory` may point at the code that asks without a figure, never as stated."""
    for limit in rules.limits.values():
        for value in limit.values:
            assert value.low is not None or value.high is not None, limit.id
            assert value.low is None or value.high is None or value.low <= value.high, limit.id
            if value.sure == "memory":
                assert value.cite.support != "stated", limit.id
            if value.sure == "seen":
                assert value.cite.source != "from-memory", limit.id


def test_every_field_that_a_rule_names_is_in_the_record(rules: Rules) -> None:
    for check in rules.checks.values():
        named = [check.options[key] for key in ("first", "second") if key in check.options]
        if check.calculation in ("yes-or-no", "word-allowed", "number-within-limit"):
            named.append(check.options["field"])
        named += [name.strip() for name in check.options.get("fields", "").split(",") if name]
        for name in named:
            assert field_of(path_of(check, name)) is not None, f"{check.id}: {name}"


def test_every_yes_or_no_check_hears_both_answers_and_silence(rules: Rules, ask: Ask) -> None:
    for check in of(rules, "yes-or-no"):
        part, _ = part_and_prefix(check)
        wanted = check.options.get("wanted", "yes")
        other = "no" if wanted == "yes" else "yes"
        path = path_of(check, check.options["field"])
        outcomes = {
            answer: ask(check.id, part, facets(check) | ({path: answer} if answer else {}))
            for answer in (wanted, other, "")
        }
        assert outcomes[wanted].outcome == Outcome.IN_ORDER, check.id
        assert outcomes[other].outcome == Outcome.DEVIATES, check.id
        assert outcomes[other].summary == check.options["bad"]
        assert outcomes[wanted].summary == check.options["good"]
        assert outcomes[""].outcome == Outcome.NOT_RECORDED, check.id
        assert outcomes[""].missing


def test_every_refused_word_deviates_and_is_a_word_of_the_record(rules: Rules, ask: Ask) -> None:
    for check in of(rules, "word-allowed"):
        part, _ = part_and_prefix(check)
        path = path_of(check, check.options["field"])
        rule = field_of(path)
        assert rule is not None
        for word in check.options["refused"].split(", "):
            assert not rule.words or word in rule.words, f"{check.id}: {word}"
            result = ask(check.id, part, facets(check) | {path: word})
            assert result.outcome == Outcome.DEVIATES, f"{check.id}: {word}"
            assert f"recorded {word}" in result.working[0]


@pytest.mark.parametrize("factor", [0.5, 0.999, 1.0, 1.001, 2.0])
def test_every_number_is_judged_by_its_limit(rules: Rules, ask: Ask, factor: float) -> None:
    for check in of(rules, "number-within-limit"):
        part, _ = part_and_prefix(check)
        side = check.options.get("side", "")
        values = facets(check)
        silent = ask(check.id, part, values)
        assert silent.outcome == Outcome.NOT_RECORDED, check.id
        assert silent.limit is not None
        low, high = bounds_of(silent.limit.text)
        bound = high if side != "low" and high is not None else low
        assert bound is not None
        path = path_of(check, check.options["field"])
        rule = field_of(path)
        assert rule is not None
        number = max(0.0, bound * factor) if bound else abs(factor - 1)
        number = round(number) if rule.kind == "whole" else round(number, 6)
        result = ask(check.id, part, values | {path: f"{number}"})
        kept = (side == "low" or high is None or number <= high) and (
            side == "high" or low is None or number >= low
        )
        wanted = Outcome.IN_ORDER if kept else Outcome.DEVIATES
        assert result.outcome == wanted, f"{check.id}: {result.summary}"
        assert "against" in result.working[-1]


def bounds_of(text: str) -> tuple[float | None, float | None]:
    """Read the bounds back from the words of a limit."""
    numbers = [float(word) for word in text.split() if word.replace(".", "").isdigit()]
    if text.startswith("at most"):
        return None, numbers[0]
    return (numbers[0], None) if text.startswith("at least") else (numbers[0], numbers[1])
