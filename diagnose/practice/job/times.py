"""Turn the spans of an invented job into times: one working day after another."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from diagnose.practice.job.draft import Draft, Value
from diagnose.record.sheet_times import zone_of

BEGIN, EARLY = time(8, 0), time(7, 30)
LAST_START_H = 15.5
A_DAY_H = 24
SPREADING_MIN = 16
BETWEEN_MIN = 12
TAPING_MIN = 35
SEEN_AFTER_MIN = 10
"""From the closing of a seam to the reading taken at it."""
DRAWN_UP_MIN = 20


@dataclass(frozen=True, slots=True)
class Work:
    """When the work began and ended, UTC, and where the local clock stands."""

    start: datetime
    end: datetime
    """Last laying or rolling that the climate is judged up to."""
    finished: datetime
    zone: str


def put_times(draft: Draft, day: date) -> Work:
    """Write every time of the job into the draft; return when the work was done."""
    zone = draft.text("zone")
    start = datetime.combine(day, BEGIN, zone_of(zone)).astimezone(UTC)
    clock = _Clock(draft, zone)
    spreads = draft.ids("spreads")
    ends = _spread_times(draft, clock, start) if spreads else {}
    seams = _seam_times(draft, clock, start, ends)
    laid = [at for name in spreads for at in clock.known(f"spreads.{name}")]
    finished = max([start + timedelta(hours=4), *laid, *seams]) + timedelta(minutes=30)
    clock.put("dates.started_at", start)
    clock.put("dates.finished_at", finished)
    clock.put("dates.handed_over_at", finished + timedelta(hours=2))
    last = [at for n in spreads for f in ("rolled_at", "laid_end_at") if (at := clock.at(n, f))]
    work = Work(start, max(last, default=finished), finished, zone)
    _before_times(draft, clock, work)
    _after_times(draft, clock, work)
    return work


class _Clock:
    """Writes instants as local times, and remembers them."""

    def __init__(self, draft: Draft, zone: str) -> None:
        self.draft = draft
        self.zone = zone_of(zone)
        self.times: dict[str, datetime] = {}

    def put(self, path: str, at: datetime) -> datetime:
        """Write one time to the whole minute."""
        whole = at.replace(second=0, microsecond=0)
        self.times[path] = whole
        self.draft.values[path] = whole.astimezone(self.zone)
        return whole

    def at(self, spread: str, name: str) -> datetime | None:
        """Return a time of a spread that was written."""
        return self.times.get(f"spreads.{spread}.{name}")

    def known(self, under: str) -> list[datetime]:
        """Return the times written below a path."""
        return [at for path, at in self.times.items() if path.startswith(f"{under}.")]

    def hour(self, at: datetime) -> float:
        """Return the hour of the local clock."""
        local = at.astimezone(self.zone)
        return local.hour + local.minute / 60

    def morning_from(self, at: datetime) -> datetime:
        """Return the first half past seven that is not before an instant."""
        local = at.astimezone(self.zone)
        later = local.time() > EARLY
        day = local.date() + timedelta(days=int(later))
        return datetime.combine(day, EARLY, self.zone).astimezone(UTC)

    def next_morning(self, at: datetime) -> datetime:
        """Return the beginning of the next working day."""
        day = at.astimezone(self.zone).date() + timedelta(days=1)
        return datetime.combine(day, BEGIN, self.zone).astimezone(UTC)


def _minutes(draft: Draft, name: str) -> timedelta:
    return timedelta(minutes=draft.spans[name])


def _spread_times(draft: Draft, clock: _Clock, start: datetime) -> dict[str, datetime]:
    """Return by drop when the carpet was in."""
    now = start + timedelta(minutes=40)
    ends: dict[str, datetime] = {}
    for name in draft.ids("spreads"):
        if clock.hour(now) > LAST_START_H:
            now = clock.next_morning(now)
        under = f"spreads.{name}"
        clock.put(f"{under}.started_at", now)
        ended = clock.put(f"{under}.ended_at", now + timedelta(minutes=SPREADING_MIN))
        wait = _minutes(draft, f"{name}.wait_min")
        laid = clock.put(f"{under}.laid_at", ended + wait)
        last = max(ended + _minutes(draft, f"{name}.last_min"), laid)
        last = clock.put(f"{under}.laid_end_at", last)
        if f"{name}.roll_min" in draft.spans:
            rolled = clock.put(f"{under}.rolled_at", last + _minutes(draft, f"{name}.roll_min"))
            again = timedelta(hours=draft.spans[f"{name}.again_h"])
            clock.put(f"{under}.rerolled_at", rolled + again)
        drops = draft.values[f"{under}.drops"]
        ends |= {str(drop): last for drop in drops} if isinstance(drops, tuple) else {}
        now = last + timedelta(minutes=BETWEEN_MIN)
    return ends


def _seam_times(
    draft: Draft, clock: _Clock, start: datetime, ends: dict[str, datetime]
) -> list[datetime]:
    found, now = [], start + timedelta(minutes=90)
    for name in draft.ids("seams"):
        if clock.hour(now) > LAST_START_H:
            now = clock.next_morning(now)
        drops = draft.values[f"seams.{name}.drops"]
        there = [ends[str(d)] for d in drops if str(d) in ends] if isinstance(drops, tuple) else []
        closed = max(there, default=now) + _minutes(draft, f"{name}.closed_min")
        found.append(clock.put(f"seams.{name}.closed_at", closed))
        if f"{name}.bead_min" in draft.spans:
            clock.put(f"seams.{name}.bead_at", closed - _minutes(draft, f"{name}.bead_min"))
        loaded = closed + timedelta(hours=draft.spans[f"{name}.loaded_h"])
        if draft.spans[f"{name}.loaded_h"] >= A_DAY_H:
            loaded = clock.morning_from(loaded)
        clock.put(f"seams.{name}.loaded_at", loaded)
        now = closed + timedelta(minutes=TAPING_MIN)
    return found


def _before_times(draft: Draft, clock: _Clock, work: Work) -> None:
    for name in draft.ids("conditioning"):
        until = work.start + timedelta(minutes=DRAWN_UP_MIN)
        if draft.text(f"conditioning.{name}.what").startswith("lot:"):
            until = work.start + timedelta(minutes=40)
        clock.put(f"conditioning.{name}.to_at", until)
        stay = timedelta(hours=draft.spans[f"{name}.stay_h"])
        clock.put(f"conditioning.{name}.from_at", until - stay)
    taken = work.start - timedelta(hours=draft.spans["readings_before_h"])
    off = None
    if "heating.off_before_h" in draft.spans:
        under = f"areas.{draft.area}.heating"
        off = work.start - timedelta(hours=draft.spans["heating.off_before_h"])
        clock.put(f"{under}.off_from", off)
        on = work.finished + timedelta(hours=draft.spans["heating.on_after_h"])
        clock.put(f"{under}.on_again_from", on)
    for number, name in enumerate(draft.ids("readings")):
        at = taken + timedelta(minutes=4 * number)
        if off is not None and f"{name}.after_off_h" in draft.spans:
            at = off + timedelta(hours=draft.spans[f"{name}.after_off_h"])
        seam = draft.text(f"readings.{name}.at_part").removeprefix("seam:")
        if closed := clock.times.get(f"seams.{seam}.closed_at"):
            at = closed + timedelta(minutes=SEEN_AFTER_MIN)
        clock.put(f"readings.{name}.taken_at", at)
        if f"{name}.stood_h" in draft.spans:
            stood = timedelta(hours=draft.spans[f"{name}.stood_h"])
            clock.put(f"readings.{name}.placed_at", at - stood)
        if f"{name}.calibrated_days" in draft.spans:
            day: Value = (at - timedelta(days=draft.spans[f"{name}.calibrated_days"])).date()
            draft.values[f"readings.{name}.calibrated_on"] = day


def _after_times(draft: Draft, clock: _Clock, work: Work) -> None:
    """Count from the last rolling, as the check does; without rolling, from the end."""
    rolled = [at for path, at in clock.times.items() if path.startswith("spreads.")]
    done = max(rolled, default=work.finished)
    for field, span in (("first_traffic_at", "traffic_h"), ("furniture_at", "furniture_h")):
        used = clock.morning_from(done + timedelta(hours=draft.spans[span]))
        clock.put(f"completion.{field}", used)
    for name in draft.ids("later"):
        clock.put(f"later.{name}.at", done + timedelta(days=draft.spans[f"{name}.days"]))
