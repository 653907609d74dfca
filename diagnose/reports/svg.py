"""Write small, self-contained SVG pictures as plain text.

Every picture is a tree of `Shape`s on a sheet that is `WIDTH` units wide, so
that it reads at phone width and on A4 alike.  Colours are roles with a light
value written into the picture; a page may override them by class, which is how
the dark scheme works.  Coordinates are rounded to 0.1 so that the same input
gives the same bytes.  Nothing here measures real fonts: `text_width` is a
deliberately wide estimate.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from html import escape
from typing import Any

from diagnose.text import clean

WIDTH = 360.0
FONT = 13.0
FONT_FAMILY = "system-ui, 'Segoe UI', Roboto, 'DejaVu Sans', sans-serif"

ROLES: Mapping[str, tuple[str, str, str]] = {
    # class: (property, light, dark)
    "paper": ("fill", "#ffffff", "#15181c"),
    "paper-line": ("stroke", "#ffffff", "#15181c"),
    "ink": ("fill", "#1b1f24", "#eef1f4"),
    "quiet": ("fill", "#4a525c", "#b7c0ca"),
    "line": ("stroke", "#1b1f24", "#eef1f4"),
    "faint": ("stroke", "#7a838d", "#8d97a2"),
    "hatch": ("stroke", "#8a939c", "#77818c"),
    "mark": ("fill", "#8f1d1d", "#ff9c8f"),
    "mark-line": ("stroke", "#8f1d1d", "#ff9c8f"),
    "for": ("fill", "#1f5f8b", "#7db8e0"),
    "against": ("fill", "#7a4f00", "#e3b25c"),
    "for-line": ("stroke", "#1f5f8b", "#7db8e0"),
    "against-line": ("stroke", "#8a5a00", "#e3b25c"),
    "band": ("fill", "#dcecdf", "#24412c"),
    "panel": ("fill", "#eef1f4", "#262b31"),
    "none": ("fill", "none", "none"),
}


def number(value: float) -> str:
    """Return a coordinate with at most one decimal, without a trailing zero.

    Examples
    --------
    >>> number(3.04), number(-0.01), number(12.25)
    ('3', '0', '12.2')
    """
    text = f"{value:.1f}"
    text = text.removesuffix(".0")
    return "0" if text == "-0" else text


def text_width(text: str, size: float = FONT) -> float:
    """Return an upper estimate of the width of `text` in units at font `size`.

    Common practice, no source: 0.62 em a character, 1.05 em for wide scripts.
    """
    return size * sum(1.05 if ord(char) > 0x2E7F else 0.62 for char in text)


def shorten(text: str, width: float, size: float = FONT) -> str:
    """Return cleaned `text` on one line, cut with an ellipsis to fit `width`."""
    text = " ".join(clean(text).split())
    if text_width(text, size) <= width:
        return text
    while text and text_width(text + "…", size) > width:
        text = text[:-1]
    return text.rstrip() + "…"


def wrap(text: str, width: float, size: float = FONT, lines: int = 4) -> tuple[str, ...]:
    """Return cleaned `text` broken into at most `lines` lines that fit `width`."""
    made: list[str] = []
    current = ""
    for word in " ".join(clean(text).split()).split(" "):
        longer = f"{current} {word}".strip()
        if current and text_width(longer, size) > width:
            made.append(current)
            current = word
        else:
            current = longer
    made.append(current)
    kept = made[:lines]
    if len(made) > lines:
        kept[-1] = " ".join(made[lines - 1 :])
    return tuple(shorten(line, width, size) for line in kept if line)


@dataclass(frozen=True, slots=True)
class Shape:
    """One SVG element: name, attributes, and either text or children."""

    name: str
    attributes: Mapping[str, str] = field(default_factory=dict)
    text: str = ""
    children: tuple[Shape, ...] = ()

    def markup(self) -> str:
        """Return the element as escaped markup."""
        inside = escape(clean(self.text), quote=False)
        inside += "".join(child.markup() for child in self.children)
        given = "".join(f' {key}="{escape(value)}"' for key, value in self.attributes.items())
        return f"<{self.name}{given}>{inside}</{self.name}>" if inside else f"<{self.name}{given}/>"


def shape(name: str, *roles: str, text: str = "", **attributes: Any) -> Shape:
    """Return a shape with colour `roles`; `_` in attribute names stands for `-`."""
    given: dict[str, str] = {}
    if roles:
        given["class"] = " ".join(roles)
        for role in roles:
            kind, light, _ = ROLES[role]
            given[kind] = light
    for key, value in attributes.items():
        plain = key.rstrip("_").replace("_", "-")
        given[plain] = value if isinstance(value, str) else number(value)
    return Shape(name, given, text)


def group(children: Iterable[Shape], **attributes: Any) -> Shape:
    """Return a `g` element around `children`."""
    return Shape("g", shape("g", **attributes).attributes, children=tuple(children))


def label(
    x: float,
    y: float,
    text: str,
    *,
    role: str = "ink",
    size: float = FONT,
    anchor: str = "start",
    bold: bool = False,
) -> Shape:
    """Return one line of text whose base line starts, centres or ends at x, y."""
    given: dict[str, Any] = {"x": x, "y": y}
    if size != FONT:
        given["font_size"] = size
    if anchor != "start":
        given["text_anchor"] = anchor
    if bold:
        given["font_weight"] = "bold"
    return shape("text", role, text=text, **given)


def polyline(points: Iterable[tuple[float, float]], *roles: str, **attributes: Any) -> Shape:
    """Return an open line through `points`."""
    return shape("polyline", "none", *roles, points=_points(points), **attributes)


def polygon(points: Iterable[tuple[float, float]], *roles: str, **attributes: Any) -> Shape:
    """Return a closed outline through `points`."""
    return shape("polygon", *roles, points=_points(points), **attributes)


def _points(points: Iterable[tuple[float, float]]) -> str:
    return " ".join(f"{number(x)},{number(y)}" for x, y in points)


def picture(
    name: str,
    title: str,
    description: str,
    height: float,
    shapes: Iterable[Shape],
    width: float = WIDTH,
) -> str:
    """Return a whole SVG document with title and description for a screen reader.

    `name` makes the ids of the picture unique within a page; it may hold
    letters, digits and hyphens only.
    """
    ids = (f"{name}-title", f"{name}-desc")
    head = (
        Shape("title", {"id": ids[0]}, title),
        Shape("desc", {"id": ids[1]}, description),
        shape("rect", "paper", x=0, y=0, width=width, height=height),
    )
    root = Shape(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": f"0 0 {number(width)} {number(height)}",
            "width": number(width),
            "height": number(height),
            "role": "img",
            "aria-labelledby": " ".join(ids),
            "font-family": FONT_FAMILY,
            "font-size": number(FONT),
        },
        children=(*head, *shapes),
    )
    return root.markup() + "\n"


def page_colours(scheme: str) -> str:
    """Return style rules that colour every role for the `light` or `dark` scheme."""
    column = {"light": 1, "dark": 2}[scheme]
    return "".join(f"svg .{role}{{{values[0]}:{values[column]}}}" for role, values in ROLES.items())


def safe_name(text: str) -> str:
    """Return `text` as letters, digits and hyphens, for ids within a page.

    Different texts give different names.

    Examples
    --------
    >>> safe_name("day room"), safe_name("day-room")
    ('day-20-room', 'day-2d-room')
    """
    return "".join(
        char if char.isascii() and char.isalnum() else f"-{ord(char):x}-" for char in text
    )
