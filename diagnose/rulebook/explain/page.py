"""One readable page about one item of the rules, as a value."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a section: what it says, a remark, and the item it leads to."""

    text: str
    id: str = ""
    """Id that can be explained in turn; empty for plain text."""
    note: str = ""
    points: tuple[str, ...] = ()
    """Steps or further lines, in order."""


@dataclass(frozen=True, slots=True)
class Section:
    """Lines under one heading; `note` stands below the heading."""

    title: str
    rows: tuple[Row, ...]
    note: str = ""


@dataclass(frozen=True, slots=True)
class CautionShown:
    """A hazard, shown right after the title."""

    id: str
    name: str
    text: str
    defer_to: str


@dataclass(frozen=True, slots=True)
class SourceShown:
    """Where the item is from: title, clause, how far it says so, how it was read."""

    id: str
    title: str
    year: str
    clause: str
    support: str
    read_as: str
    note: str


@dataclass(frozen=True, slots=True)
class Explanation:
    """A page: what the item is, its cautions first, its neighbours, its sources."""

    id: str
    kind: str
    """What the item is called: cause, symptom, question, ..."""
    name: str
    text: str
    cautions: tuple[CautionShown, ...]
    sections: tuple[Section, ...]
    sources: tuple[SourceShown, ...]
    also: tuple[str, ...] = ()
    """Other kinds that have an item of this id, as `question:ID`."""
