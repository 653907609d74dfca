"""What a forecast says, as plain values; reports and the screen read nothing else."""

from __future__ import annotations

from dataclasses import dataclass

from diagnose.model import CheckResult, Outcome
from diagnose.walk.finding import CautionLine, RemedyLine


@dataclass(frozen=True, slots=True)
class Because:
    """One check that raises a forecast, taken out to see by how much."""

    check: str
    name: str
    outcome: Outcome
    summary: str
    without: float
    """Chance of the symptom if the record said nothing of this check at all."""


@dataclass(frozen=True, slots=True)
class Callback:
    """One symptom to expect at a place."""

    symptom: str
    name: str
    chance: float
    """That it shows, whether or not anybody mentions it."""
    sound: float
    """The same where every check is in order."""
    because: tuple[Because, ...] = ()
    """What raises it, the most first."""
    cautions: tuple[str, ...] = ()
    """Ids; not empty where it can hurt someone."""

    @property
    def times(self) -> float:
        """How many times as likely as on a sound job."""
        return self.chance / self.sound


@dataclass(frozen=True, slots=True)
class PlaceForecast:
    """The callbacks to expect at one place, the likeliest first."""

    place: str
    callbacks: tuple[Callback, ...]

    @property
    def trouble(self) -> float:
        """Expected number of symptoms that show here."""
        return sum(callback.chance for callback in self.callbacks)


@dataclass(frozen=True, slots=True)
class Deviation:
    """A check that deviates at one part of the record."""

    check: str
    name: str
    part: str
    """Such as `seam:S2`."""
    result: CheckResult


@dataclass(frozen=True, slots=True)
class Eased:
    """How one act changes the forecast of one symptom at one place."""

    place: str
    symptom: str
    name: str
    before: float
    after: float


@dataclass(frozen=True, slots=True)
class PutRight:
    """Something that can still be done, and what it saves."""

    act: str
    checks: tuple[str, ...]
    parts: tuple[str, ...]
    minutes: float
    removed: float
    """Expected number of symptoms it takes away, over all places."""
    most: Eased
    """The symptom that it eases most."""
    cautions: tuple[CautionLine, ...]

    @property
    def per_minute(self) -> float:
        """Expected number of symptoms taken away by each minute of work."""
        return self.removed / self.minutes


@dataclass(frozen=True, slots=True)
class RecordNow:
    """Something not recorded, and how much that would hurt if a complaint came."""

    what: str
    checks: tuple[str, ...]
    parts: tuple[str, ...]
    hurts: float
    """Chance of a symptom whose cause stays under suspicion only for want of this
    entry, summed over places and symptoms."""
    most: Eased
    """The complaint in which it tells most: chance that one of the causes which
    the entry speaks of gave it, without the entry and with it in order."""
    if_not_done: str
    """What can still be done where the answer is no; empty if nothing."""


@dataclass(frozen=True, slots=True)
class Hazard:
    """A callback that can hurt someone, with what makes the place safe."""

    place: str
    callback: Callback
    make_safe: tuple[RemedyLine, ...]


@dataclass(frozen=True, slots=True)
class LeaveSite:
    """The whole check before leaving site."""

    job: str
    title: str
    invented: bool
    at: str
    """The place asked for; `job` for all of it."""
    finished_at: str
    hazards: tuple[Hazard, ...]
    cautions: tuple[CautionLine, ...]
    deviations: tuple[Deviation, ...]
    put_right: tuple[PutRight, ...]
    places: tuple[PlaceForecast, ...]
    record_now: tuple[RecordNow, ...]
    in_order: int
    """Number of checks of single parts that are in order."""
    not_recorded: int
    edition: str
    """Of the rules."""

    @property
    def clean(self) -> bool:
        """Whether nothing deviates; gaps do not count."""
        return not self.deviations
