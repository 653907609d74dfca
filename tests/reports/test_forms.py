"""Page and PDF: self-contained, tagged, the same bytes each time, inert."""

from __future__ import annotations

import builtins
import itertools
import re
import shutil
import subprocess
from dataclasses import replace
from types import ModuleType
from typing import Any

import pytest

from diagnose.errors import DiagnoseError, NotFoundError
from diagnose.reports.blocks import Heading, Item, Paragraph, Steps, TableBlock
from diagnose.reports.forms import report_writer
from diagnose.reports.html import POLICY, html_page
from diagnose.reports.markdown import markdown
from diagnose.reports.report import Report
from diagnose.reports.typst_pdf import pdf_bytes


def small(*blocks: Any) -> Report:
    return Report("finding", "A title", (Heading("A title", 1), *blocks), {})


def test_page_carries_its_policy_and_language(made: ModuleType) -> None:
    page = html_page(made.all_reports()["pack"])
    assert page.startswith('<!doctype html>\n<html lang="en-GB">')
    assert f'<meta http-equiv="Content-Security-Policy" content="{POLICY}">' in page
    assert "http://www.w3.org/2000/svg" in page
    outside = re.findall(r"(?:https?:)?//[a-z.]+", page.replace("http://www.w3.org/2000/svg", ""))
    assert outside == []
    assert "@import" not in page
    assert "url(" not in page.replace("url(#", "")


def test_page_escapes_what_a_record_holds() -> None:
    bad = "<script>x</script> \" ' & \x1b[2J \u202e"
    page = html_page(small(Paragraph(bad), Item(bad, below=(bad,)), TableBlock((bad,), ((bad,),))))
    body = page.split("<body>")[1]
    assert "<script" not in body
    assert body.count("&lt;script&gt;x&lt;/script&gt;") == 5
    assert "\x1b" not in page
    assert "\u202e" not in page
    assert "\\u001b" in page


def test_headings_of_every_report_are_in_order(made: ModuleType) -> None:
    for report in made.all_reports().values():
        levels = [block.level for block in report.blocks if isinstance(block, Heading)]
        assert levels[0] == 1
        assert levels.count(1) == 1
        assert all(later <= earlier + 1 for earlier, later in itertools.pairwise(levels))


def test_what_cannot_wait_comes_before_the_answer(made: ModuleType) -> None:
    names = [b.text for b in made.report_of("larch-house").blocks if isinstance(b, Heading)]
    at = {name: index for index, name in enumerate(names)}
    assert at["Make it safe now"] == 1
    assert at["What it most likely is"] < at["Read before touching the floor"] < at["What to do"]


def test_cautions_stand_before_the_steps_that_need_them(made: ModuleType) -> None:
    for name in ("larch-house", "quayside-office"):
        finding = made.finding_of(name)
        blocks = made.report_of(name).blocks
        where = {getattr(block, "name", ""): index for index, block in enumerate(blocks)}
        named = {caution.id: caution.name for caution in finding.cautions}
        for remedy in (*finding.make_safe, *(r for work in finding.work for r in work.remedies)):
            for caution in remedy.cautions:
                if caution in named:
                    assert where[named[caution]] < where[remedy.name]


def test_same_report_gives_the_same_bytes(made: ModuleType) -> None:
    report = made.all_reports()["pack"]
    assert html_page(report) == html_page(report)
    assert pdf_bytes(report) == pdf_bytes(report)


def test_pdf_text_is_never_code() -> None:
    report = small(Paragraph('#read("/etc/passwd") $x$ *b* `c` @d'), Steps("#panic()", ("#1",)))
    assert '#read("/etc/passwd") $x$ *b* `c` @d' in pdf_text(report)


def pdf_text(report: Report) -> str:
    return ran("pdftotext", "-", "-", data=pdf_bytes(report))


def ran(tool: str, *arguments: str, data: bytes) -> str:
    if shutil.which(tool) is None:
        pytest.skip(f"{tool} (poppler-utils) is not installed")
    return subprocess.run(
        [tool, *arguments], input=data, capture_output=True, check=True
    ).stdout.decode()


def test_pdf_is_tagged(made: ModuleType) -> None:
    data = pdf_bytes(made.all_reports()["pack"])
    assert re.search(r"Tagged:\s+yes", ran("pdfinfo", "-", data=data))
    parts = ran("pdfinfo", "-struct", "-", data=data)
    for tag in ("H1", "H2", "Table", "TH", "Figure", "L "):
        assert re.search(rf"^\s*{tag}", parts, re.MULTILINE), tag


def test_pdf_without_its_extra_says_how_to_do_without(
    made: ModuleType, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = builtins.__import__

    def without(name: str, *rest: Any, **more: Any) -> Any:
        if name == "typst":
            raise ImportError(name)
        return real(name, *rest, **more)

    monkeypatch.setattr(builtins, "__import__", without)
    with pytest.raises(
        DiagnoseError, match=r"with it, as its README shows.*\.html and print"
    ) as told:
        pdf_bytes(small())
    assert "pip install" not in str(told.value)


def test_markdown_keeps_items_of_a_list_together() -> None:
    text = markdown(small(Item("one"), Item("two", below=("three",)), Paragraph("end")).blocks)
    assert text == "# A title\n\n- one\n- two\n  - three\n\nend\n"


def test_markdown_comes_back_unchanged(made: ModuleType) -> None:
    from markdown_it import MarkdownIt

    text = str(made.a_job().HOSTILE)
    html = (
        MarkdownIt("commonmark")
        .enable("table")
        .render(
            markdown(
                small(Paragraph(text), Item(text), TableBlock(("a", "b"), ((text, text),))).blocks
            )
        )
    )
    assert "<script" not in html
    assert "<img" not in html
    assert "<a " not in html
    assert html.count("&lt;script&gt;alert(1)&lt;/script&gt;") == 4


def test_an_unknown_ending_names_those_there_are() -> None:
    with pytest.raises(NotFoundError, match=r"\.html, \.pdf, \.md, \.json; \.docx is none"):
        report_writer(".docx")


def test_ending_may_be_in_capitals(made: ModuleType) -> None:
    report = replace(made.all_reports()["bare-pack"])
    assert report_writer(".HTML")(report).startswith(b"<!doctype html>")
