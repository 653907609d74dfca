"""What the entries of one case say together (pure)."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from diagnose.store.entry import (
    CASE_CLOSED,
    CASE_REOPENED,
    COMPLAINT,
    FINDING,
    WALK_STEP,
    WITHDRAWAL,
    Entry,
)
from diagnose.store.fold import named, text_in

OPEN = "open"
CLOSED = "closed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """One complaint from the first call to the established cause."""

    id: str
    job: str | None
    """None for a floor without a stored record."""
    symptoms: tuple[str, ...]
    place: str | None
    """Such as `seam:S2`."""
    words: str
    """What the client said."""
    status: str
    """open or closed."""
    opened_at: str
    """When the complaint was entered, UTC."""
    causes: tuple[str, ...] = ()
    """Established causes, of the last closing; empty while open."""
    how: str = ""
    """How the causes were established."""
    complaint: Entry
    steps: tuple[Entry, ...] = ()
    findings: tuple[Entry, ...] = ()
    """Stored findings, oldest first; the finding is the text `finding` of the body."""
    turns: tuple[Entry, ...] = ()
    """Closings and reopenings, oldest first."""
    withdrawn: tuple[Entry, ...] = ()
    """Entries of the case that were withdrawn; they stay readable."""
    others: tuple[Entry, ...] = ()
    """Entries of kinds that this version does not know."""

    @property
    def floor(self) -> Mapping[str, Any]:
        """What was told of a floor without a record: facets and age, as text."""
        value = self.complaint.body.get("floor")
        return value if isinstance(value, Mapping) else {}


def fold_case(case_id: str, entries: Iterable[Entry]) -> Case | None:
    """Fold the entries of one case; None when no complaint is among them."""
    ordered = sorted(entries, key=lambda entry: entry.order)
    gone = {named(entry.body.get("withdraws")) for entry in ordered if entry.kind == WITHDRAWAL}
    standing = [entry for entry in ordered if (entry.device, entry.seq, entry.hash) not in gone]
    complaint = next((entry for entry in ordered if entry.kind == COMPLAINT), None)
    if complaint is None:
        return None
    turns = _of(standing, CASE_CLOSED, CASE_REOPENED)
    closing = turns[-1] if turns and turns[-1].kind == CASE_CLOSED else None
    known = {COMPLAINT, WALK_STEP, FINDING, CASE_CLOSED, CASE_REOPENED, WITHDRAWAL}
    return Case(
        id=case_id,
        job=text_in(complaint, "job") or None,
        symptoms=_texts(complaint.body.get("symptoms")),
        place=text_in(complaint, "at") or None,
        words=text_in(complaint, "words"),
        status=CLOSED if closing else OPEN,
        opened_at=complaint.at,
        causes=_texts(closing.body.get("causes")) if closing else (),
        how=text_in(closing, "how") if closing else "",
        complaint=complaint,
        steps=_of(standing, WALK_STEP),
        findings=_of(standing, FINDING),
        turns=turns,
        withdrawn=tuple(entry for entry in ordered if entry not in standing),
        others=tuple(entry for entry in standing if entry.kind not in known),
    )


def _of(entries: Iterable[Entry], *kinds: str) -> tuple[Entry, ...]:
    return tuple(entry for entry in entries if entry.kind in kinds)


def _texts(value: Any) -> tuple[str, ...]:
    if not isinstance(value, list | tuple):
        return ()
    return tuple(item for item in value if isinstance(item, str))
