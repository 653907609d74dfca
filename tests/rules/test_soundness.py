"""The rules that ship are sound, and every figure they carry says how it was read."""

from __future__ import annotations

from functools import cache

import pytest

from diagnose.data import data_folder
from diagnose.errors import Problem
from diagnose.rulebook.cases import load_cases
from diagnose.rulebook.lint import LOOKS, lint_by_name
from diagnose.rulebook.load import load_rules


@cache
def found() -> dict[str, tuple[Problem, ...]]:
    rules = load_rules(data_folder("rules"))
    return dict(lint_by_name(rules, load_cases(data_folder("rules"), rules)))


@pytest.mark.parametrize("name", [look.__name__ for look in LOOKS])
def test_the_rules_are_sound(name: str) -> None:
    assert not found()[name], "\n".join(str(problem) for problem in found()[name])


def test_the_rules_cover_the_trade() -> None:
    rules = load_rules(data_folder("rules"))
    assert len(rules.symptoms) >= 49
    assert len(rules.causes) >= 123
    assert len(rules.links) >= 489
    assert len(rules.questions) >= 114
    assert len(rules.look_alikes) >= 43
    assert len(rules.teaching) >= 44
    assert len({cause.stage for cause in rules.causes.values()}) == 13
