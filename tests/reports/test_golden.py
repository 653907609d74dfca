"""One pack and two findings as they stand in tests/golden, word for word.

The findings are kept as they were stored, so that a changed rule does not
change them: what is tested is how they are told.  The pack tells limits and
advice of the rules and changes with them.

`pytest tests/reports/test_golden.py --golden-update` makes and writes all of
them anew; read the difference as a fitter would before it is kept.
"""

from __future__ import annotations

from pathlib import Path
from types import ModuleType

import pytest

from diagnose.reports.finding_json import finding_from_json, finding_to_json
from diagnose.reports.finding_report import finding_report
from diagnose.reports.html import html_page
from diagnose.reports.markdown import markdown
from diagnose.reports.report import Report
from diagnose.walk.finding import Finding

GOLDEN = Path(__file__).parents[1] / "golden"


def found_anew(made: ModuleType, name: str) -> Finding:
    if name == "finding-settled":
        found = made.finding_of("quayside-office")
    else:
        found = made.finding_of("larch-house", told_only=True)
    assert isinstance(found, Finding)
    return found


def stored(name: str) -> Finding:
    return finding_from_json((GOLDEN / f"{name}.json").read_text("utf-8"))


def report_of(made: ModuleType, name: str) -> Report:
    if name == "pack":
        report = made.pack_report_of("larch-house")
        assert isinstance(report, Report)
        return report
    finding = stored(name)
    return finding_report(finding, made.invented_job(finding.job) if finding.job else None)


@pytest.fixture(scope="module")
def update(request: pytest.FixtureRequest, made: ModuleType) -> bool:
    """Whether to write anew; then the findings are made anew first."""
    asked = bool(request.config.getoption("--golden-update"))
    for name in ("finding-settled", "finding-not-settled") if asked else ():
        text = finding_to_json(found_anew(made, name)) + "\n"
        (GOLDEN / f"{name}.json").write_text(text, "utf-8")
    return asked


@pytest.mark.parametrize("ending", ["md", "html"])
@pytest.mark.parametrize("name", ["finding-settled", "finding-not-settled", "pack"])
def test_report_stands_as_it_was_read(
    made: ModuleType, update: bool, name: str, ending: str
) -> None:
    report = report_of(made, name)
    text = markdown(report.blocks) if ending == "md" else html_page(report)
    file = GOLDEN / f"{name}.{ending}"
    if update:
        file.write_text(text, "utf-8")
    # Line by line, so that a reader sees where they differ.
    assert text.splitlines() == file.read_text("utf-8").splitlines()


def test_one_golden_finding_is_settled_and_one_is_not(update: bool) -> None:
    assert stored("finding-settled").settled
    assert not stored("finding-not-settled").settled


def test_a_stored_finding_comes_back_as_it_was(made: ModuleType) -> None:
    for name in ("finding-settled", "finding-not-settled"):
        once = finding_from_json(finding_to_json(found_anew(made, name)))
        assert finding_from_json(finding_to_json(once)) == once
