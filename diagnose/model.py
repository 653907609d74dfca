"""Values that every part of the program shares: places, facets, evidence.

Nothing here reads a file, a clock or the environment.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum

STAGES: tuple[str, ...] = (
    "specification",
    "conditioning",
    "subfloor",
    "layout",
    "cutting",
    "bonding",
    "sealing",
    "finishing",
    "handover",
    "maintenance",
    "building",
    "manufacture",
    "inherent",
)
"""Stages a cause can belong to, in the order of the work."""

PLACE_KINDS: tuple[str, ...] = ("seam", "edge", "doorway", "drop", "area", "job")
"""Kinds of place a complaint or a check can have; `drop` is its field."""


class Facet(StrEnum):
    """Plain facts of a floor that decide which rules apply to it."""

    METHOD = "method"
    PILE = "pile"
    CONSTRUCTION = "construction"
    BACKING = "backing"
    FIBRE = "fibre"
    SUBFLOOR = "subfloor"
    HEATING = "heating"


FACET_VALUES: Mapping[Facet, tuple[str, ...]] = {
    Facet.METHOD: ("adhered", "double-stick", "stretch-in", "tile"),
    Facet.PILE: ("loop", "cut", "cut-and-loop", "flat"),
    Facet.CONSTRUCTION: ("tufted", "woven", "needled", "bonded"),
    Facet.BACKING: ("impervious", "secondary", "foam", "cushion", "unitary"),
    Facet.FIBRE: ("wool", "wool-blend", "polyamide", "polypropylene", "polyester", "other"),
    Facet.SUBFLOOR: (
        "concrete",
        "cement-screed",
        "calcium-sulfate-screed",
        "timber-boards",
        "timber-sheet",
        "access-panels",
        "old-floor",
    ),
    Facet.HEATING: ("none", "underfloor"),
}


@dataclass(frozen=True, slots=True)
class Place:
    """Where on a job: `seam:S2`, `edge:E1`, `area:day-room`, or just `job`.

    `name` is empty for the whole job and for a floor without a record.
    """

    kind: str
    name: str = ""

    def __str__(self) -> str:
        return f"{self.kind}:{self.name}" if self.name else self.kind


@dataclass(frozen=True, slots=True)
class Floor:
    """What is known of a floor before any question: facets and age.

    A facet that is not in `facets` is unknown; rules that depend on it stay
    in play.  `age_days` counts from completion to the day of the inspection.
    """

    facets: Mapping[Facet, str] = field(default_factory=dict)
    age_days: int | None = None


class Provenance(StrEnum):
    """When a value was entered, which decides how far it is trusted."""

    ON_THE_DAY = "on-the-day"
    LATE = "late"
    AFTER_COMPLAINT = "after-the-complaint"
    STATEMENT = "statement"


@dataclass(frozen=True, slots=True)
class EntryRef:
    """Names one entry of the casebook, so that a reader can look it up."""

    device: str
    seq: int
    hash: str
    entered_at: datetime
    said_by: str = ""
    provenance: Provenance = Provenance.ON_THE_DAY


class Outcome(StrEnum):
    """What a check says about the record at a place."""

    DEVIATES = "deviates"
    IN_ORDER = "in-order"
    NOT_RECORDED = "not-recorded"
    DOES_NOT_APPLY = "does-not-apply"


@dataclass(frozen=True, slots=True)
class InputUsed:
    """One value that went into a check, and the entry that it came from."""

    path: str
    """Path in the record, such as `spreads.SP1.laid_at`."""
    label: str
    """Trade words for it, such as "carpet laid into spread SP1"."""
    text: str
    """The value with its unit, as a person reads it."""
    entry: EntryRef | None = None


@dataclass(frozen=True, slots=True)
class LimitUsed:
    """The limit that a check compared with, and who set it."""

    limit: str
    text: str
    """Such as "at most 75 % RH"."""
    set_by: str
    """`data-sheet`, `contract-code`, `code`, `common-practice`."""
    source: str
    """Source id with edition and clause, or one of the honest non-sources."""
    sure: str
    """`seen`, `second-hand`, `memory`, `computed`, `data-sheet`."""
    others: tuple[str, ...] = ()
    """Other sources' figures for the same thing, where they disagree."""


@dataclass(frozen=True, slots=True)
class CheckResult:
    """What one check found at one place, with its working written out."""

    check: str
    at: Place
    outcome: Outcome
    summary: str
    """One plain sentence: "laid 46 min after spreading; open time is 30 min"."""
    working: tuple[str, ...] = ()
    """Formula, then the numbers put in, then the result, each a line."""
    inputs: tuple[InputUsed, ...] = ()
    missing: tuple[str, ...] = ()
    """Record paths or trade words of what was not recorded, one by one."""
    limit: LimitUsed | None = None
    objects: tuple[str, ...] = ()
    """Parts of the record it looked at, such as `spread:SP1`."""
    provenance: Provenance = Provenance.ON_THE_DAY
    """The least trusted of its inputs."""
