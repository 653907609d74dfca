"""Lay a deviation into a draft, or leave out what a check needs: one entry a calculation.

A maker changes as little as it can, so that the other checks still say what
they are to say.  The calculations that any field can use are turned by their
own settings and limits.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from datetime import date, timedelta

from diagnose.checks.parts import COLLECTIONS
from diagnose.practice.job import amiss_bond, amiss_laid, amiss_room, amiss_seam
from diagnose.practice.job.draft import Asked, Draft, inside, outside
from diagnose.record.fields import field_of

Maker = Callable[[Draft, Asked], None]
PLAIN_NUMBER = "number-within-limit"


def path_of(asked: Asked, part: str, field: str) -> str:
    """Return the path of a field of a part, as the check reads it."""
    if field.startswith("job."):
        return field.removeprefix("job.")
    collection = COLLECTIONS.get(asked.check.looks_at)
    return f"{collection}.{part}.{field}" if collection else field


def _part(draft: Draft, asked: Asked) -> str:
    kind = asked.check.looks_at
    return draft.spare(asked.parts, f"{kind}.{asked.check.id}") if asked.parts else ""


def _number_off(draft: Draft, asked: Asked) -> None:
    path = path_of(asked, _part(draft, asked), asked.option("field"))
    value = outside(asked, draft)
    rule = field_of(path)
    if rule is not None and rule.kind == "whole":
        value = math.floor(value) if asked.option("side") == "low" else math.ceil(value)
    draft.values[path] = value


def _flag_off(draft: Draft, asked: Asked) -> None:
    path = path_of(asked, _part(draft, asked), asked.option("field"))
    draft.values[path] = asked.option("wanted", "yes") != "yes"


def _word_off(draft: Draft, asked: Asked) -> None:
    path = path_of(asked, _part(draft, asked), asked.option("field"))
    refused, allowed = _list(asked.option("refused")), _list(asked.option("allowed"))
    rule = field_of(path)
    words = rule.words if rule is not None else ()
    bad = refused or [word for word in words if word not in allowed]
    if bad:
        draft.values[path] = draft.one_of(bad)


def _one_flag_off(draft: Draft, asked: Asked) -> None:
    path = path_of(asked, _part(draft, asked), draft.one_of(_list(asked.option("fields"))))
    draft.values[path] = False


def _field_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(path_of(asked, _part(draft, asked), asked.option("field")))


def _one_flag_gap(draft: Draft, asked: Asked) -> None:
    field = draft.one_of(_list(asked.option("fields")))
    draft.withhold(path_of(asked, _part(draft, asked), field))


def _days_off(draft: Draft, asked: Asked) -> None:
    second = draft.values.get(asked.option("second"))
    if isinstance(second, date):
        draft.values[asked.option("first")] = second + timedelta(days=3 + int(draft.between(0, 9)))


def _day_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(asked.option("first"))


def _list(text: str) -> list[str]:
    return [word.strip() for word in text.split(",") if word.strip()]


AMISS: Mapping[str, Maker] = {
    PLAIN_NUMBER: _number_off,
    "yes-or-no": _flag_off,
    "word-allowed": _word_off,
    "all-yes": _one_flag_off,
    "day-not-after": _days_off,
    **amiss_bond.AMISS,
    **amiss_laid.AMISS,
    **amiss_room.AMISS,
    **amiss_seam.AMISS,
}
"""By calculation: how a job comes to deviate."""

GAPS: Mapping[str, Maker] = {
    PLAIN_NUMBER: _field_gap,
    "yes-or-no": _field_gap,
    "word-allowed": _field_gap,
    "all-yes": _one_flag_gap,
    "day-not-after": _day_gap,
    **amiss_bond.GAPS,
    **amiss_laid.GAPS,
    **amiss_room.GAPS,
    **amiss_seam.GAPS,
}
"""By calculation: what nobody wrote down, so that the check cannot say."""

EVENTS = frozenset({"no-event", "wet-cleaned-late", "water-per-m2", "worst-later", "rinsed"})
"""Calculations about something that happened later: nothing happened, nothing to say."""


def fill_in(draft: Draft, asked: Asked) -> None:
    """Give a plain number that the sound job lacks a value within its limit."""
    for part in asked.parts or ("",):
        path = path_of(asked, part, asked.option("field"))
        if path not in draft.values:
            draft.values[path] = inside(asked, draft)
