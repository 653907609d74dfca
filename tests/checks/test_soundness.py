"""Checks that could never say anything are found before anybody relies on them."""

from dataclasses import replace

import pytest

from diagnose.checks.soundness import flaws
from diagnose.data import data_folder
from diagnose.rulebook.load import load_rules


@pytest.fixture(scope="module")
def rules():
    return load_rules(data_folder("rules"))


def spoilt(rules, check, **changes):
    return replace(rules, checks={check: replace(rules.checks[check], **changes)})


def test_the_rules_have_no_such_check(rules):
    assert flaws(rules) == ()


def test_an_unknown_calculation_is_named_with_the_nearest(rules):
    (flaw,) = flaws(spoilt(rules, "seam-sealed", calculation="sealed-at-al"))
    assert "no calculation is called sealed-at-al" in str(flaw)
    assert "sealed-at-all" in flaw.hint
    assert flaw.at.line


def test_a_misspelt_field_is_named(rules):
    options = {**rules.checks["seam-not-forced"].options, "field": "forcd"}
    (flaw,) = flaws(spoilt(rules, "seam-not-forced", options=options))
    assert "seam has no field forcd" in str(flaw)


def test_a_missing_option_is_named(rules):
    options = {k: v for k, v in rules.checks["seam-not-forced"].options.items() if k != "bad"}
    (flaw,) = flaws(spoilt(rules, "seam-not-forced", options=options))
    assert "lacks the option bad" in str(flaw)
