"""Sheets: the key is apart, the text is clean, no cell starts a formula."""

from __future__ import annotations

import csv
import io
import re

import pytest
from markdown_it import MarkdownIt

from diagnose.practice.draw import Order, draw_case
from diagnose.practice.item import ItemKind
from diagnose.practice.items import draw_items
from diagnose.practice.progress import CaseResult, ItemResult, progress_of
from diagnose.practice.sheet import (
    Line,
    answer_key,
    as_csv,
    as_markdown,
    as_text,
    case_key,
    case_sheet,
    class_sheet,
    item_sheet,
    question_sheet,
)

AT = "2026-03-01T08:00:00Z"


@pytest.fixture(scope="module")
def items(rules):
    return draw_items(rules, 4, 20)


@pytest.fixture
def progress():
    cases = [
        CaseResult(
            AT,
            "anna",
            "c1",
            "one-cause",
            ("sealer-omitted",),
            ("strip-missed",),
            90,
            False,
            30,
            "{}",
        ),
        CaseResult(
            AT, "ben", "c2", "one-cause", ("strip-missed",), ("strip-missed",), 80, True, 92, "{}"
        ),
    ]
    items = [ItemResult(AT, "=HYPERLINK(1)", "i1", "which-cause", "cause:x", True, 3)]
    return progress_of([*cases, *items])


def test_the_questions_come_without_the_key(items):
    sheet = as_text(question_sheet(items, "Set"))
    key = as_text(answer_key(items, "Set"))
    for item in items:
        assert " ".join(item.why.split())[:40] in " ".join(key.split())
        if item.kind is not ItemKind.HEARD_ON_SITE:
            assert item.why not in " ".join(sheet.split())
    assert "Rules:" not in sheet
    assert "Sources:" in key


def test_letters_of_the_key_name_the_right_option(items):
    headings = [line.text for line in answer_key(items, "Set") if line.kind == "head"]
    for number, (item, heading) in enumerate(zip(items, headings, strict=True), start=1):
        letters = heading.removeprefix(f"{number}. ").split(", ")
        assert ["ABCDEFGHIJ".index(letter) for letter in letters] == list(item.key)


def test_a_case_sheet_hides_what_its_key_tells(rules):
    cases = [draw_case(rules, Order(seed)) for seed in (3, 4)]
    sheet, key = (
        as_text(case_sheet(rules, cases, "Cases")),
        as_text(case_key(rules, cases, "Cases")),
    )
    for case in cases:
        name = rules.causes[case.truth[0]].name
        assert name.lower() not in " ".join(sheet.lower().split())
        assert name.lower() in " ".join(key.lower().split())
    assert "Invented for practice" in sheet
    assert "Invented for practice" in key


def test_plain_text_keeps_to_its_width(items):
    for width in (60, 76):
        lines = as_text(question_sheet(items, "Set"), width).splitlines()
        assert max(map(len, lines)) <= width


def test_markdown_reads_back_as_the_same_words(items):
    hostile = "<script>alert(1)</script> [x](javascript:y) *a* _b_ `c` | d # e & f ~g~ \\ $h$"
    for text in (hostile, *(item.why for item in items)):
        html = MarkdownIt().render(as_markdown([Line("text", text)]))
        assert "<script" not in html
        assert "<em>" not in html
        assert "href" not in html
        plain = re.sub(r"<[^>]+>", "", html)
        for mark, sign in (("&lt;", "<"), ("&gt;", ">"), ("&quot;", '"'), ("&amp;", "&")):
            plain = plain.replace(mark, sign)
        assert " ".join(plain.split()) == " ".join(text.split())


def test_nothing_steers_a_terminal():
    sheet = [Line("text", "a\x1b[2Jb\u202ec\x9b1m"), Line("row", "", ("x\x1b]0;t\x07", "y"))]
    for written in (as_text(sheet), as_markdown(sheet)):
        assert not re.search(r"[\x00-\x09\x0b-\x1f\x7f-\x9f\u202e]", written)


def test_the_class_sheet_tells_who_was_sure_and_wrong(rules, progress):
    text = as_text(class_sheet(rules, progress))
    assert "Cut edges never sealed" in text
    assert re.search(r"anna\s+1\s+0\s+30\s+0\.81", text)
    assert re.search(r"ben\s+1\s+1\s+92\s+0\.04", text)
    assert "sealing" in text
    assert "80 to 94 %" in text


def test_an_empty_class_has_a_sheet_too(rules):
    assert as_markdown(class_sheet(rules, progress_of([]))).startswith("# Class sheet")


def test_few_learners_give_counts_and_no_verdict(progress):
    rows = [line.cells for line in item_sheet(progress) if line.kind == "row"]
    assert rows[1] == ("i1", "x", "1", "1", "-", "-", "too few learners for a verdict")


def test_no_cell_starts_a_formula(rules, progress):
    rows = list(csv.reader(io.StringIO(as_csv(class_sheet(rules, progress)))))
    cells = [cell for row in rows for cell in row]
    assert "'=HYPERLINK(1)" in cells
    for cell in cells:
        assert cell[:1] not in "=+@\t\r" or cell == ""
        assert not cell.startswith("-") or re.fullmatch(r"-(\d+(\.\d+)?)?", cell)


def test_questions_come_out_as_csv_too(items):
    rows = list(csv.reader(io.StringIO(as_csv(question_sheet(items, "Set")))))
    assert [row[1] for row in rows if row[0] == "head"] == [
        f"Question {number}" for number in range(1, len(items) + 1)
    ]
    assert sum(row[0] == "option" for row in rows) == sum(len(item.options) for item in items)
