"""The parts that every report is made of, whatever it is written to."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading; level 1 is the title."""

    text: str
    level: int = 2


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Running text; a strong one carries the answer, a faint one stands back."""

    text: str
    strong: bool = False
    faint: bool = False


@dataclass(frozen=True, slots=True)
class Item:
    """One line of a list, with lines below it that explain it."""

    text: str
    mark: str = "-"
    below: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Steps:
    """Numbered steps under a name."""

    name: str
    steps: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CautionBlock:
    """A hazard, which stands before the step that meets it."""

    name: str
    text: str
    defer_to: str = ""


@dataclass(frozen=True, slots=True)
class TableBlock:
    """Rows under headings; the first cell names its row."""

    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    caption: str = ""


@dataclass(frozen=True, slots=True)
class PictureBlock:
    """A picture with what it shows in words, for those who do not see it."""

    title: str
    description: str
    svg: str
    """A whole SVG document of `reports.svg`, which escapes what a record holds."""
    text: tuple[str, ...] = ()
    """The same for a terminal, line by line; where empty, the description serves."""


Block = Heading | Paragraph | Item | Steps | CautionBlock | TableBlock | PictureBlock
