"""The handover pack as one value: what was laid where, with what, and what to do now.

Every item that is handed over has its place; what the record does not hold
is named as not recorded, in its place and again in one list.  Built from the
record and the rules; the words that stand between are in `pack_words`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from diagnose.checks.look import value_at
from diagnose.checks.words import shown
from diagnose.record.fields import field_of
from diagnose.record.model import Job
from diagnose.reports.blocks import PictureBlock

NOT_RECORDED = "not recorded"
NO_MATTER = "-"
"""A cell where there is nothing to record."""


@dataclass(frozen=True, slots=True)
class Fact:
    """One item of the pack; `text` is empty where nothing is recorded."""

    label: str
    text: str = ""

    @property
    def words(self) -> str:
        """The value, or that there is none."""
        return self.text or NOT_RECORDED


@dataclass(frozen=True, slots=True)
class Sheet:
    """Rows about parts of one kind; an empty cell was not recorded."""

    name: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Section:
    """One heading of the pack with its items."""

    id: str
    name: str
    intro: str = ""
    facts: tuple[Fact, ...] = ()
    sheets: tuple[Sheet, ...] = ()
    lines: tuple[str, ...] = ()
    pictures: tuple[PictureBlock, ...] = ()

    @property
    def missing(self) -> tuple[str, ...]:
        """What is not recorded, in trade words; gaps of a table by their column."""
        single = [each.label for each in self.facts if not each.text]
        return (*single, *(gap for sheet in self.sheets for gap in _gaps(sheet)))


@dataclass(frozen=True, slots=True)
class Pack:
    """Everything that is handed over at the end of a job."""

    job: str
    title: str
    invented: bool
    sections: tuple[Section, ...]
    entered: Mapping[str, int]
    """How many recorded values were entered on the day, late, ..."""
    casebook_head: str
    edition: str
    made_at: str
    made_by: str

    @property
    def missing(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """Sections with what they lack; those that lack nothing are left out."""
        return tuple((part.name, part.missing) for part in self.sections if part.missing)


@dataclass(slots=True)
class Facts:
    """Read single values of a job as facts."""

    job: Job
    found: list[Fact] = field(default_factory=list)

    def add(self, *paths: str) -> Facts:
        """Add the values at record paths, each under its own label."""
        for path in paths:
            rule = field_of(path)
            assert rule is not None, f"the record has no field {path}"
            self.found.append(Fact(_capital(rule.label), text_at(self.job, path)))
        return self

    def named(self, label: str, path: str) -> Facts:
        """Add the value at a record path under a label of our own."""
        return self.say(label, text_at(self.job, path))

    def say(self, label: str, text: str) -> Facts:
        """Add a fact in words of our own."""
        self.found.append(Fact(label, text))
        return self

    def all(self) -> tuple[Fact, ...]:
        """Return the facts in the order they were added."""
        return tuple(self.found)


def text_at(job: Job, path: str) -> str:
    """Return the value at a path as a person reads it; empty where there is none."""
    value = value_at(job, path)
    if value is None or value == ():
        return ""
    return shown(value, path.rpartition(".")[2])


def pack_to_dict(pack: Pack) -> dict[str, Any]:
    """Return the pack as plain values for JSON; pictures by their words."""
    return {
        "job": pack.job,
        "title": pack.title,
        "invented": pack.invented,
        "made_at": pack.made_at,
        "made_by": pack.made_by,
        "casebook_head": pack.casebook_head,
        "rules": pack.edition,
        "entered": dict(pack.entered),
        "sections": [_section_dict(part) for part in pack.sections],
        "not_recorded": {name: list(missing) for name, missing in pack.missing},
    }


def _section_dict(part: Section) -> dict[str, Any]:
    return {
        "id": part.id,
        "name": part.name,
        "intro": part.intro,
        "facts": [{"label": each.label, "text": each.text or None} for each in part.facts],
        "sheets": [
            {
                "name": sheet.name,
                "rows": [
                    {name: cell or None for name, cell in zip(sheet.columns, row, strict=True)}
                    for row in sheet.rows
                ],
            }
            for sheet in part.sheets
        ],
        "lines": list(part.lines),
        "pictures": [{"title": one.title, "shows": one.description} for one in part.pictures],
    }


def _gaps(sheet: Sheet) -> list[str]:
    if not sheet.rows:
        return [sheet.name]
    gaps = []
    for index, column in enumerate(sheet.columns):
        without = [row[0] for row in sheet.rows if not row[index]]
        if len(without) == len(sheet.rows):
            gaps.append(f"{column} ({sheet.name.lower()})")
        elif without:
            gaps.append(f"{column} of {', '.join(without)}")
    return gaps


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
