"""A look at the record for one check: reads values and keeps what it read.

A calculation asks a `Look` for values by path.  What is there becomes an
input of the result with its entry; what is not becomes a gap.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from datetime import UTC, date, datetime

from diagnose.checks.limits import Chosen, choose_limit
from diagnose.checks.parts import COLLECTIONS, Part, area_of, facets_of, lots_of
from diagnose.checks.words import shown
from diagnose.model import EntryRef, InputUsed, LimitUsed, Provenance
from diagnose.physics.climate import elapsed_h
from diagnose.physics.guard import OutOfRangeError
from diagnose.record.fields import label_of
from diagnose.record.model import Area, Job, Lot
from diagnose.rulebook.model import Check, Limit

_FROM_JOB = "job."
_DOUBT = tuple(Provenance)
"""Provenances, the one believed most first."""


class Look:
    """One check asked of one part of a job's record."""

    def __init__(
        self,
        job: Job,
        part: Part,
        options: Mapping[str, str],
        limits: Mapping[str, Limit],
        limit: str = "",
    ) -> None:
        self.job = job
        self.part = part
        self.options = options
        self.limits = limits
        self.rule = limit
        self.inputs: list[InputUsed] = []
        self.missing: list[str] = []
        self.objects: list[str] = [str(part)]
        self.used: LimitUsed | None = None

    @classmethod
    def of(cls, check: Check, limits: Mapping[str, Limit], job: Job, part: Part) -> Look:
        """Return the look that a check takes at a part."""
        return cls(job, part, check.options, limits, check.limit)

    @property
    def area(self) -> Area | None:
        """The area that the part lies in."""
        return area_of(self.job, self.part)

    def path(self, field: str) -> str:
        """Return the path of a field: of the part, or of the job with `job.` before it."""
        if field.startswith(_FROM_JOB):
            return field.removeprefix(_FROM_JOB)
        collection = COLLECTIONS.get(self.part.kind)
        return f"{collection}.{self.part.id}.{field}" if collection else field

    def option(self, name: str, default: str = "") -> str:
        """Return a setting of the check."""
        return self.options.get(name, default)

    def number(self, path: str, needed: bool = True) -> float | None:
        """Return a finite number, or None and, where needed, a gap."""
        value = value_at(self.job, path)
        if isinstance(value, bool) or not isinstance(value, int | float):
            self._gap(path, needed)
            return None
        if not math.isfinite(value):
            self._gap(path, needed)
            return None
        self._keep(path, value)
        return float(value)

    def time(self, path: str, needed: bool = True) -> datetime | None:
        """Return a time, or None and, where needed, a gap."""
        value = value_at(self.job, path)
        if not isinstance(value, datetime):
            self._gap(path, needed)
            return None
        self._keep(path, value)
        return value

    def day(self, path: str, needed: bool = True) -> date | None:
        """Return the day of a date or time, or None and, where needed, a gap."""
        value = value_at(self.job, path)
        if not isinstance(value, date):
            self._gap(path, needed)
            return None
        self._keep(path, value)
        return value.date() if isinstance(value, datetime) else value

    def flag(self, path: str, needed: bool = True) -> bool | None:
        """Return yes or no, or None and, where needed, a gap."""
        value = value_at(self.job, path)
        if not isinstance(value, bool):
            self._gap(path, needed)
            return None
        self._keep(path, value)
        return value

    def word(self, path: str, needed: bool = True) -> str | None:
        """Return a word or text, or None and, where needed, a gap."""
        value = value_at(self.job, path)
        if not isinstance(value, str) or not value:
            self._gap(path, needed)
            return None
        self._keep(path, value)
        return value

    def words(self, path: str, needed: bool = True) -> tuple[str, ...]:
        """Return a list of words, empty and, where needed, a gap when there are none."""
        value = value_at(self.job, path)
        if not isinstance(value, tuple) or not value:
            self._gap(path, needed)
            return ()
        self._keep(path, value)
        return tuple(str(item) for item in value)

    def note(self, path: str, words: str, text: str) -> None:
        """Keep an input that is no single field, such as a whole climate log."""
        self.inputs.append(InputUsed(path, words, text, origin(self.job, path)))

    def lack(self, words: str) -> None:
        """Note a gap in trade words."""
        if words not in self.missing:
            self.missing.append(words)

    def also(self, kind: str, name: str | None) -> None:
        """Note a further part that was looked at."""
        if name and f"{kind}:{name}" not in self.objects:
            self.objects.append(f"{kind}:{name}")

    def limit(
        self, side: str = "", lots: Sequence[Lot] | None = None, of: str = "", **words: str
    ) -> Chosen | None:
        """Return the figure in force for the part; None, and a gap, if there is none.

        `of` asks for another limit than the check's own; `words` are added to
        the facets that the conditions of a figure are compared with.
        """
        rule = self.limits.get(of or self.rule)
        if rule is None:
            self.lack(f"the limit {of or self.rule}")
            return None
        facets = {str(f): value for f, value in facets_of(self.job, self.area).items()}
        sheets = lots_of(self.job, self.part) if lots is None else lots
        chosen = choose_limit(rule, self.job, sheets, facets | words, side)
        if chosen is None:
            self.lack(f"figure for {rule.name} (data sheet)")
            return None
        if not of or self.used is None:
            self.used = chosen.used
        return chosen

    def _keep(self, path: str, value: object) -> None:
        if any(used.path == path for used in self.inputs):
            return
        text = shown(value, path.rsplit(".", 1)[-1])
        self.inputs.append(InputUsed(path, label_of(path), text, origin(self.job, path)))

    def _gap(self, path: str, needed: bool) -> None:
        if needed:
            self.lack(label_of(path))


def value_at(job: Job, path: str) -> object:
    """Return what the record holds at a path, or None.

    A step into a list of doors or edges is an id or a side.
    """
    here: object = job
    for step in path.split("."):
        if isinstance(here, Mapping):
            here = here.get(step)
        elif isinstance(here, tuple):
            here = next(
                (
                    item
                    for item in here
                    if step in (getattr(item, "id", None), getattr(item, "side", None))
                ),
                None,
            )
        else:
            here = getattr(here, step, None)
        if here is None:
            return None
    return here


def origin(job: Job, path: str) -> EntryRef | None:
    """Return the entry that a value came from: of its path, or of what holds it.

    Of something made of several values, such as a climate log, the entry that
    is believed least, the latest of them: no part of it was known before.
    """
    if path in job.origins:
        return job.origins[path]
    parts = [entry for key, entry in job.origins.items() if key.startswith(f"{path}.")]
    if parts:
        return max(parts, key=lambda entry: (_DOUBT.index(entry.provenance), entry.entered_at))
    while path:
        if path in job.origins:
            return job.origins[path]
        path = path.rpartition(".")[0]
    return None


def hours_between(start: datetime, end: datetime) -> float | None:
    """Return elapsed hours, negative when `end` is first; None without offsets."""
    try:
        return elapsed_h(start, end)
    except (OutOfRangeError, OverflowError):
        return None


def stamp(at: datetime) -> float:
    """Return a number that orders times, also where one has no offset."""
    return (at if at.tzinfo else at.replace(tzinfo=UTC)).timestamp()
