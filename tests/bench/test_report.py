"""A small sample of the measurements, with goals loose enough for few complaints."""

from __future__ import annotations

import re

import pytest

from tests.bench.report import SMALL, report

pytestmark = pytest.mark.bench


def numbers(text: str, after: str) -> list[float]:
    """Every number that follows a phrase."""
    return [
        float(found)
        for found in re.findall(re.escape(after) + r" ([+-]?[\d.]+(?:e[+-]?\d+)?)", text)
    ]


def test_the_small_report_meets_the_goals() -> None:
    text = "\n".join(report(SMALL))
    print(text)
    assert all(ece <= 0.02 for ece in numbers(text.split("##")[1], "ECE"))
    assert all(worst <= 1e-9 for worst in numbers(text, "largest difference"))
    assert numbers(text, "question: median")[0] <= 30
    assert numbers(text, "Peak memory of the process:")[0] <= 300
