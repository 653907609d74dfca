"""Reasoning, climate and bars: what is drawn is said, and the widths follow the weights."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from types import ModuleType
from xml.etree import ElementTree

import pytest

from diagnose.model import LimitUsed
from diagnose.record.model import ClimateLog, ClimatePoint
from diagnose.reports.bars import Bar, bars_picture
from diagnose.reports.climate_chart import Band, climate_picture
from diagnose.reports.reasoning import MOST_ROWS, reasoning_picture

START = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)
BAND = Band(18, 27, LimitUsed("air-temperature", "18 to 27 °C", "code", "x", "seen"))


def widths(svg: str, role: str) -> list[float]:
    return [
        float(found)
        for found in re.findall(rf'<path class="none {role}"[^>]*stroke-width="([\d.]+)"', svg)
    ]


@pytest.mark.parametrize("name", ["larch-house", "quayside-office", "beacon-clinic"])
def test_reasoning_names_causes_reasons_and_symptom(made: ModuleType, name: str) -> None:
    finding = made.finding_of(name)
    drawn = reasoning_picture(finding)
    ElementTree.fromstring(drawn.svg)
    for cause in finding.causes:
        assert cause.name in drawn.description
        mine = [reason for reason in finding.reasons if reason.about == cause.id]
        heaviest = sorted(mine, key=lambda reason: -abs(reason.log10))[:MOST_ROWS]
        assert heaviest
        assert all(reason.text.rstrip(".") in drawn.description for reason in heaviest)
    for _, symptom in finding.symptoms:
        assert symptom in drawn.description


def test_a_heavier_reason_has_a_wider_line(made: ModuleType) -> None:
    finding = made.finding_of("larch-house")
    cause = finding.causes[0].id
    some = [reason for reason in finding.reasons if reason.about == cause][:3]
    weighed = tuple(
        replace(reason, log10=log10) for reason, log10 in zip(some, (0.9, 0.3, -0.1), strict=True)
    )
    svg = reasoning_picture(replace(finding, reasons=weighed)).svg
    heavy, light = widths(svg, "for-line")[:2]
    (against,) = widths(svg, "against-line")
    assert heavy > 2 * light > 2 * against
    assert "stroke-dasharray" in svg


def test_a_likelier_explanation_has_a_wider_line(made: ModuleType) -> None:
    finding = made.finding_of("larch-house", told_only=True)
    assert len(finding.explanations) >= 3
    drawn = reasoning_picture(replace(finding, reasons=()))
    ends = widths(drawn.svg, "for-line")
    chances = [line.probability for line in finding.explanations[:3]]
    assert [end - ends[0] for end in ends] == pytest.approx(
        [9 * (chance - chances[0]) for chance in chances], abs=0.11
    )


def test_reasoning_without_a_cause_says_so(made: ModuleType) -> None:
    finding = made.finding_of("larch-house")
    nothing = replace(finding.explanations[0], causes=(), names=())
    bare = replace(finding, causes=(), reasons=(), explanations=(nothing,))
    assert "None of the causes in the rules" in reasoning_picture(bare).description


def log_of(values: list[float | None], minutes: float = 30) -> ClimateLog:
    points = tuple(
        ClimatePoint(at=START + timedelta(minutes=minutes * n), air_c=value, humidity_percent=50)
        for n, value in enumerate(values)
    )
    return ClimateLog(id="C1", points=points, interval_min=30)


def test_climate_says_how_much_lies_outside_its_band() -> None:
    drawn = climate_picture(log_of([17, 18, 20, 27, 28]), UTC, [(START, START)], BAND)
    assert drawn is not None
    ElementTree.fromstring(drawn.svg)
    assert (
        "Air temperature 17 to 28 °C; allowed 18 to 27 °C: 2 of 5 samples outside it."
        in drawn.description
    )
    assert "Relative humidity 50 to 50 %; no band is known." in drawn.description
    assert "Laid into adhesive 2026-03-02 08:00 to 08:00." in drawn.description


def test_climate_line_breaks_where_samples_are_missing() -> None:
    whole = climate_picture(log_of([20.0] * 6), UTC, [])
    gap = log_of([20.0] * 6)
    late = tuple(
        replace(p, at=p.at + timedelta(hours=9 * (n > 2))) for n, p in enumerate(gap.points)
    )
    broken = climate_picture(replace(gap, points=late), UTC, [])
    assert whole is not None
    assert broken is not None
    line = '<polyline class="none for-line"'
    assert broken.svg.count(line) == 2 * whole.svg.count(line)


def test_a_long_log_is_thinned_and_keeps_its_extremes() -> None:
    values: list[float | None] = [20.0] * 5000
    values[1234], values[4321] = 9.0, 33.0
    drawn = climate_picture(log_of(values), UTC, [], BAND)
    assert drawn is not None
    assert len(drawn.svg) < 20_000
    lines = re.findall(r'for-line"[^>]*points="([^"]+)"', drawn.svg)[0].split()
    heights = [float(point.split(",")[1]) for point in lines]
    assert max(heights) - min(heights) == pytest.approx(96 * (33 - 9) / (35 - 5), abs=0.2)


@pytest.mark.parametrize("values", [[], [20.0], [None, None]])
def test_too_short_a_log_is_not_drawn(values: list[float | None]) -> None:
    points = tuple(replace(p, humidity_percent=None) for p in log_of(values).points)
    assert climate_picture(replace(log_of(values), points=points), UTC, []) is None


def test_bars_are_as_long_as_their_chance() -> None:
    drawn = bars_picture("To expect", [Bar("seam peaking", 0.3, 0.02), Bar("fraying", 0.075)])
    assert drawn is not None
    ElementTree.fromstring(drawn.svg)
    long = [float(w) for w in re.findall(r'class="for"[^>]*width="([\d.]+)"', drawn.svg)]
    assert long[0] == pytest.approx(4 * long[1], rel=0.01)
    assert drawn.description == (
        "seam peaking: 30 in 100, on a sound job 2.0 in 100. fraying: 7.5 in 100."
    )


def test_no_bars_no_picture() -> None:
    assert bars_picture("To expect", []) is None
