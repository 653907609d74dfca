"""Page, PDF, Markdown and JSON of a report say the same, in the same order."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
import unicodedata
from collections.abc import Iterator
from dataclasses import fields, replace
from html.parser import HTMLParser
from types import ModuleType
from typing import Any

import pytest

from diagnose.reports.blocks import Block, PictureBlock
from diagnose.reports.html import html_page
from diagnose.reports.markdown import markdown
from diagnose.reports.report import Report, report_json
from diagnose.reports.typst_pdf import pdf_bytes
from diagnose.text import clean

NAMES = ("finding", "not-settled", "pack", "bare-pack", "hostile-pack", "hostile-finding", "check")
NOT_SAID = {"svg", "mark"}
"""Drawn, not said; lines for a terminal are left out as well."""


def told(block: Block, form: str) -> Iterator[str]:
    """Yield every text of a block that a form has to show, as a reader meets it."""
    named = {field.name: getattr(block, field.name) for field in fields(block)}
    for name, value in caption_first(named).items():
        for_terminal = name == "text" and isinstance(value, tuple)
        skipped = name in NOT_SAID or for_terminal or (form == "pdf" and name == "description")
        if not skipped:
            yield from texts(value)


def caption_first(named: dict[str, Any]) -> dict[str, Any]:
    return {key: named[key] for key in sorted(named, key=lambda key: key != "caption")}


def texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, tuple):
        for each in value:
            yield from texts(each)


def squeezed(text: str) -> str:
    """Letters and figures only: forms break lines and set marks each in their own way."""
    folded = unicodedata.normalize("NFKC", clean(text))
    return "".join(char for char in folded if char.isalnum())


class Words(HTMLParser):
    """The text of a page without style, head and the text within pictures."""

    def __init__(self) -> None:
        super().__init__()
        self.kept: list[str] = []
        self.within: list[str] = []

    def handle_starttag(self, tag: str, attrs: Any) -> None:
        if tag in ("head", "svg", "summary"):
            self.within.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if self.within and tag == self.within[-1]:
            self.within.pop()

    def handle_data(self, data: str) -> None:
        if not self.within:
            self.kept.append(data)


def words_of_html(report: Report) -> str:
    reader = Words()
    reader.feed(html_page(report))
    return "".join(reader.kept)


def words_of_json(report: Report) -> str:
    return " ".join(leaves(json.loads(report_json(report))["blocks"]))


def leaves(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, list):
        for each in value:
            yield from leaves(each)
    elif isinstance(value, dict):
        kept = {key: each for key, each in value.items() if key not in ("block", "mark")}
        yield from leaves(list(caption_first(kept).values()))


def words_of_markdown(report: Report) -> str:
    return markdown(report.blocks)


def words_of_pdf(report: Report) -> str:
    if shutil.which("pdftotext") is None:
        pytest.skip("pdftotext (poppler-utils) is not installed")
    done = subprocess.run(
        ["pdftotext", "-raw", "-", "-"], input=pdf_bytes(report), capture_output=True, check=True
    )
    footer = re.escape(squeezed(report.title)) + r"page\d+of\d+"
    pages = done.stdout.decode().split("\f")
    return "".join(re.sub(f"{footer}$", "", squeezed(page)) for page in pages)


FORMS = {
    "html": words_of_html,
    "json": words_of_json,
    "md": words_of_markdown,
    "pdf": words_of_pdf,
}


def lacking(report: Report, text: str, form: str) -> list[str]:
    """Return what the report says and a form's text does not, in order."""
    squeeze = squeezed(text)
    at, lost = 0, []
    for block in report.blocks:
        for said in told(block, form):
            wanted = squeezed(said)
            found = squeeze.find(wanted, at)
            if found < 0:
                lost.append(said)
            elif not isinstance(block, PictureBlock):
                at = found + len(wanted)
    return lost


@pytest.mark.parametrize("form", FORMS)
@pytest.mark.parametrize("name", NAMES)
def test_every_form_says_everything_in_order(made: ModuleType, name: str, form: str) -> None:
    report = made.all_reports()[name]
    assert lacking(report, FORMS[form](report), form) == []


@pytest.mark.parametrize("form", FORMS)
def test_a_form_that_leaves_something_out_is_seen(made: ModuleType, form: str) -> None:
    report = made.all_reports()["finding"]
    for index in (3, len(report.blocks) // 2, len(report.blocks) - 2):
        less = replace(report, blocks=report.blocks[:index] + report.blocks[index + 1 :])
        assert lacking(report, FORMS[form](less), form)


def test_the_words_hold_the_values_of_a_finding(made: ModuleType) -> None:
    for finding, report in (
        (made.finding_of("quayside-office"), made.report_of("quayside-office")),
        (made.finding_of("larch-house", told_only=True), made.not_settled()),
    ):
        text = squeezed(markdown(report.blocks))
        facts = [
            finding.job, finding.title, finding.case, finding.made_at, finding.made_by,
            finding.casebook_head, finding.edition[:12],
            *(line.odds for line in finding.explanations),
            *(cause.happened for cause in finding.causes),
            *(step for work in finding.work for r in work.remedies for step in r.steps),
            *(caution.text for caution in finding.cautions),
            *(given.ask for given in finding.answers),
            *(reason.limit.text for reason in finding.reasons if reason.limit),
        ]  # fmt: skip
        assert len(facts) > 20
        assert [fact for fact in facts if squeezed(fact) not in text] == []


def test_the_words_hold_the_values_of_a_pack(made: ModuleType) -> None:
    report = made.all_reports()["pack"]
    text = squeezed(words_of_html(report))
    values = [
        each
        for part in report.data["sections"]
        for each in leaves([part["name"], part["facts"], part["sheets"], part["lines"]])
    ]
    assert len(values) > 200
    assert [value for value in values if squeezed(value) not in text] == []
