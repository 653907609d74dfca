"""The check before leaving site as a report: the forecast is drawn as it is told."""

from __future__ import annotations

import json
import re
from types import ModuleType

from diagnose.forecast.leave_site import leave_site, stands_out
from diagnose.record.model import Job
from diagnose.reports.blocks import Heading, PictureBlock
from diagnose.reports.check_report import MOST_BARS, check_report, forecast_picture
from diagnose.reports.html import html_page
from diagnose.reports.report import report_json


def test_what_stands_out_is_drawn_below_its_heading(made: ModuleType) -> None:
    found = leave_site(made.rules(), made.invented_job("larch-house"))
    report = check_report(found, made.rules())
    drawn = [n for n, block in enumerate(report.blocks) if isinstance(block, PictureBlock)]
    assert len(drawn) == 1
    above = report.blocks[drawn[0] - 1]
    assert isinstance(above, Heading)
    assert above.text == "Callbacks to expect"
    picture = report.blocks[drawn[0]]
    assert isinstance(picture, PictureBlock)
    out = [(c.chance, c.name) for p in found.places for c in p.callbacks if stands_out(c)]
    for _, name in sorted(out, reverse=True)[:MOST_BARS]:
        assert name in picture.description
    assert picture.svg.count('class="for"') == min(len(out), MOST_BARS) > 0


def test_nothing_that_stands_out_is_not_drawn(made: ModuleType) -> None:
    found = leave_site(made.rules(), Job(id="bare"))
    picture = forecast_picture(found)
    several = any(stands_out(c) for p in found.places for c in p.callbacks)
    assert (picture is not None) == several


def test_page_and_json_hold_the_check(made: ModuleType) -> None:
    found = leave_site(made.rules(), made.invented_job("quayside-office"))
    report = check_report(found, made.rules())
    page = html_page(report)
    assert "First, what can hurt someone" in page
    plain = json.loads(report_json(report))
    assert plain["kind"] == "check"
    assert plain["check"]["clean"] == found.clean
    assert len(plain["check"]["places"]) == len(found.places)
    assert re.search(r"<h1>Before leaving site, quayside-office", page)
