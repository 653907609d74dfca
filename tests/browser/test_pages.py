"""Reports as a browser shows them: for everybody, at every width, and inert.

What is accessible is judged by axe-core (rules of WCAG 2.0 to 2.2, levels A
and AA, and its best practice); it finds only part of what can be wrong, and
says nothing of sideways scroll, which is measured here.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

pytestmark = pytest.mark.browser

NAMES = ("finding", "not-settled", "pack", "bare-pack", "hostile-pack", "hostile-finding", "check")
WIDTHS = (320, 1280)
SCHEMES = ("light", "dark")
LABELS = """
const found = [];
for (const svg of document.querySelectorAll('svg')) {
  const boxes = [...svg.querySelectorAll('text')].map(t => [t.textContent, t.getBoundingClientRect()]);
  for (let i = 0; i < boxes.length; i++) for (let j = i + 1; j < boxes.length; j++) {
    const [a, p] = boxes[i], [b, q] = boxes[j];
    const across = Math.min(p.right, q.right) - Math.max(p.left, q.left);
    const down = Math.min(p.bottom, q.bottom) - Math.max(p.top, q.top);
    if (across > 0.5 && down > 2.5) found.push(`${svg.id} ${a} / ${b}`);
  }
  const sheet = svg.getBoundingClientRect();
  for (const [a, p] of boxes)
    if (p.left < sheet.left - 0.5 || p.right > sheet.right + 0.5) found.push(`${a} leaves the sheet`);
}
return found;
"""
SMALLEST = "return Math.min(...[...document.querySelectorAll('svg text')].map(t => t.getScreenCTM().a * parseFloat(getComputedStyle(t).fontSize)))"


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", NAMES)
def test_axe_finds_nothing_wrong(
    browser: Any, axe: str, pages: dict[str, Path], name: str, width: int, scheme: str
) -> None:
    browser.open(pages[name], width=width, scheme=scheme)
    violations = browser.axe(axe)
    assert not [(each["id"], [n["html"][:200] for n in each["nodes"]]) for each in violations]


SPOILT = (
    ('<html lang="en-GB">', "<html>", "html-has-lang"),
    ("--quiet: #4a525c", "--quiet: #d0d4d8", "color-contrast"),
    ("<h2>", "<h4>", "heading-order"),
    ("<main>", "<div>", "landmark-one-main"),
)


@pytest.mark.parametrize(("good", "bad", "rule"), SPOILT)
def test_axe_sees_a_spoilt_page(
    browser: Any, axe: str, pages: dict[str, Path], tmp_path: Path, good: str, bad: str, rule: str
) -> None:
    page = pages["finding"].read_text("utf-8")
    assert good in page
    spoilt = tmp_path / "spoilt.html"
    spoilt.write_text(page.replace(good, bad), "utf-8")
    browser.open(spoilt, width=1280, scheme="light")
    assert rule in [each["id"] for each in browser.axe(axe)]


@pytest.mark.parametrize("width", WIDTHS)
@pytest.mark.parametrize("name", NAMES)
def test_no_page_scrolls_sideways(
    browser: Any, pages: dict[str, Path], name: str, width: int
) -> None:
    browser.open(pages[name], width=width, scheme="light")
    wide = browser.run(
        "return [document.documentElement.scrollWidth, document.documentElement.clientWidth]"
    )
    assert wide[0] <= wide[1] == width


def test_a_page_that_is_too_wide_is_seen(
    browser: Any, pages: dict[str, Path], tmp_path: Path
) -> None:
    page = pages["pack"].read_text("utf-8")
    spoilt = tmp_path / "wide.html"
    spoilt.write_text(page.replace("<main>", '<main style="width: 50rem">'), "utf-8")
    browser.open(spoilt, width=320, scheme="light")
    assert browser.run("return document.documentElement.scrollWidth") > 320


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("name", ["hostile-pack", "hostile-finding"])
def test_hostile_text_is_shown_and_does_nothing(
    browser: Any, made: Any, pages: dict[str, Path], name: str, scheme: str
) -> None:
    browser.open(pages[name], width=320, scheme=scheme)
    text = browser.run("return document.body.innerText")
    assert "<script>alert(1)</script><img src=x onerror=alert(2)>" in text
    assert "\\u001b[2J\\u202e" in text
    assert browser.run("return document.querySelectorAll('script, img, a, iframe').length") == 0
    attributes = browser.run(
        "return [...document.querySelectorAll('*')].flatMap(e => e.getAttributeNames())"
        ".filter(n => n.startsWith('on') || n === 'href' || n === 'src')"
    )
    assert attributes == []
    # Nothing was even tried: the content policy had nothing to stop.
    assert browser.log("browser") == []


@pytest.mark.parametrize("name", NAMES)
def test_a_page_asks_for_nothing(browser: Any, pages: dict[str, Path], name: str) -> None:
    browser.open(pages[name], width=1280, scheme="light")
    assert browser.requests() == [pages[name].as_uri()]


def test_the_policy_stops_what_slips_through(
    browser: Any, pages: dict[str, Path], tmp_path: Path
) -> None:
    page = pages["pack"].read_text("utf-8")
    bad = "<script>document.title = 'ran'</script><img src=x onerror=\"document.title = 'ran'\">"
    spoilt = tmp_path / "slipped.html"
    spoilt.write_text(page.replace("<main>", f"<main>{bad}"), "utf-8")
    browser.open(spoilt, width=1280, scheme="light")
    assert browser.run("return document.title").startswith("Handover pack")
    assert browser.log("browser")


@pytest.mark.parametrize("name", NAMES)
def test_no_label_of_a_picture_covers_another(
    browser: Any, pages: dict[str, Path], name: str
) -> None:
    browser.open(pages[name], width=320, scheme="light")
    assert browser.run(LABELS) == []


def test_pictures_can_be_read_on_a_phone(browser: Any, pages: dict[str, Path]) -> None:
    browser.open(pages["pack"], width=320, scheme="light")
    assert browser.run(SMALLEST) >= 10


def test_a_printed_page_is_black_on_white_in_dark_too(browser: Any, pages: dict[str, Path]) -> None:
    browser.open(pages["finding"], width=800, scheme="dark")
    feature = {"name": "prefers-color-scheme", "value": "dark"}
    browser.devtools("Emulation.setEmulatedMedia", {"media": "print", "features": [feature]})
    paper = browser.run("return getComputedStyle(document.body).backgroundColor")
    ink = browser.run("return getComputedStyle(document.querySelector('svg .ink')).fill")
    browser.devtools("Emulation.setEmulatedMedia", {"media": "", "features": []})
    assert paper == "rgb(255, 255, 255)"
    assert ink == "rgb(27, 31, 36)"
