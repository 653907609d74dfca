"""Moisture of the subfloor: every reading, how many, how taken, when, and the age.

References
----------
.. [1] A model specification clause (NBS M50 cl. 430): every reading at or below
   the limit, at corners, edges and in the field; drying aids off four days.
.. [2] Number of readings and depth of probes: `diagnose.physics.moisture`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from diagnose.checks.calculations.area_size import area_size_m2
from diagnose.checks.found import (
    Found,
    against,
    beyond,
    deviates,
    in_order,
    judged,
    not_for_this,
    silent,
)
from diagnose.checks.limits import Chosen
from diagnose.checks.look import Look, hours_between
from diagnose.checks.parts import readings_in
from diagnose.checks.words import listed, moment, num
from diagnose.physics.guard import OutOfRangeError
from diagnose.physics.moisture import (
    DOME_AREA_FT2,
    drying_days_at_least,
    emission_rate,
    probe_depth_mm,
    readings_needed,
)
from diagnose.record.model import Reading

ACCEPTED = ("moisture-humidity", "moisture-carbide", "moisture-emission", "timber-moisture")
"""Kinds that can pass a floor; each has a limit of its own name."""


def every_reading(look: Look) -> Found | None:
    """The highest reading of each accepted kind against the limit of that kind."""
    judged_readings: list[tuple[float, Reading, float, Chosen]] = []
    for reading in _accepted(look):
        value = _value(look, reading)
        limit = look.limit("high", of=reading.kind, reading=reading.method or "not-known")
        if value is not None and limit is not None:
            judged_readings.append((beyond(value, limit, "high"), reading, value, limit))
    if not judged_readings:
        look.lack(f"moisture readings of {look.part.words}")
        return None
    _, reading, value, limit = max(
        judged_readings, key=lambda each: (each[0], each[2] / (each[3].high or 1))
    )
    look.used = limit.used
    each_line = ", ".join(f"{r.id} {num(v)}" for _, r, v, _ in judged_readings)
    mean = sum(v for _, _, v, _ in judged_readings) / len(judged_readings)
    lines = [f"every reading counts: {each_line}"]
    if len({r.kind for _, r, _, _ in judged_readings}) == 1:
        lines.append(f"mean {num(mean, limit.unit, 1)}, which does not decide")
    return against(value, limit, f"highest reading {reading.id}", *lines, side="high")


def method_accepted(look: Look) -> Found | None:
    """A hand meter only shows where to test; it does not pass a floor."""
    accepted = [each.id for each in _accepted(look)]
    meters = [each.id for each in _of(look, "moisture-hand-meter")]
    for name in (*accepted, *meters):
        look.word(f"readings.{name}.kind")
    if accepted:
        return in_order(f"read by {listed(_methods(look))}", f"readings: {', '.join(accepted)}")
    if meters:
        return deviates("hand meter only; it cannot pass a floor", f"readings: {', '.join(meters)}")
    look.lack(f"moisture readings of {look.part.words}")
    return None


def enough_readings(look: Look) -> Found | None:
    """As many readings as the rule of the code asks for the area."""
    found = _accepted(look)
    area = area_size_m2(look)
    if area is None or not found:
        if not found:
            look.lack(f"moisture readings of {look.part.words}")
        return None
    rule = _count_rule(look)
    wanted = readings_needed(area, rule)
    lines = (f"rule {rule} on {num(area, 'm²')}: {wanted}", f"readings taken: {len(found)}")
    words = f"{num(len(found), 'readings')} on {num(area, 'm²')}; {wanted} wanted"
    excess = (wanted - len(found)) / wanted
    return judged(len(found) >= wanted, words, *lines, excess=max(0.0, excess))


def well_spread(look: Look) -> Found | None:
    """Readings at corners, along edges and in the field."""
    found = _accepted(look)
    positions = [look.word(f"readings.{r.id}.position", needed=False) for r in found]
    known = {position for position in positions if position}
    if not known:
        look.lack(f"position of the moisture readings of {look.part.words}")
        return None
    absent = [each for each in ("corner", "edge", "field") if each not in known]
    line = f"readings at: {', '.join(sorted(known))}"
    if not absent:
        return in_order("read at corners, edges and in the field", line)
    if None in positions:
        return silent(f"no reading is said to be at the {listed(absent)}", line)
    return deviates(f"no reading at the {listed(absent)}", line)


def waited(look: Look) -> Found | None:
    """Hours that box, probe or dish stood before the reading."""
    worst: tuple[float, Found] | None = None
    for reading in _of(look, "moisture-humidity", "moisture-emission"):
        placed = look.time(f"readings.{reading.id}.placed_at")
        taken = look.time(f"readings.{reading.id}.taken_at")
        method = reading.method or reading.kind
        limit = look.limit("low", reading=method, edition=reading.edition or "not-known")
        if placed is None or taken is None or limit is None:
            continue
        hours = hours_between(placed, taken)
        if hours is None or hours < 0:
            return silent(f"reading {reading.id} was taken before it was set up")
        line = f"{reading.id}: {moment(placed)} to {moment(taken)} = {num(hours, 'h', 1)}"
        found = against(hours, limit, f"{reading.id} stood", line, side="low", places=1)
        if worst is None or found.excess > worst[0]:
            worst = (found.excess, found)
    if worst is None and not look.missing:
        look.lack(f"readings of relative humidity or emission of {look.part.words}")
    return worst[1] if worst else None


def probe_depth(look: Look) -> Found | None:
    """Depth of in-slab probes against 40 % or 20 % of the slab, within 10 mm."""
    probes = [r for r in _of(look, "moisture-humidity") if r.method == "in-slab-probe"]
    if not probes:
        return not_for_this("no in-slab probe was used")
    faces = 2 if look.word(look.path("subfloor.dries_from"), needed=False) == "two-faces" else 1
    lines, off = [], 0.0
    for reading in probes:
        depth = look.number(f"readings.{reading.id}.depth_mm")
        slab = look.number(f"readings.{reading.id}.slab_mm", needed=False)
        slab = slab or look.number(look.path("subfloor.thickness_mm"))
        if depth is None or slab is None:
            return None
        wanted = probe_depth_mm(slab, faces)
        off = max(off, abs(depth - wanted))
        share = "0.4" if faces == 1 else "0.2"
        lines.append(
            f"{reading.id}: {share} × {num(slab, 'mm')} = {num(wanted, 'mm')}; {num(depth, 'mm')}"
        )
    return judged(off <= 10, f"probe depth off by {num(off, 'mm', 0)}; 10 mm let pass", *lines)


def calibrated(look: Look) -> Found | None:
    """Instrument calibrated within the days allowed before the reading."""
    limit = look.limit("high")
    ages = []
    for reading in (*_accepted(look),):
        day = look.day(f"readings.{reading.id}.calibrated_on")
        taken = look.day(f"readings.{reading.id}.taken_at")
        if day and taken:
            ages.append(((taken - day).days, reading.id))
    if not ages:
        look.lack(f"calibration of the moisture instruments of {look.part.words}")
    if not ages or limit is None:
        return None
    days, name = max(ages)
    if min(ages)[0] < 0:
        return silent(f"reading {min(ages)[1]} was taken before its instrument was calibrated")
    line = f"reading {name}: {days} days after calibration"
    return against(days, limit, "calibrated", line, side="high")


def heating_off_before(look: Look) -> Found | None:
    """Hours that the floor heating was off before moisture was read."""
    off = look.time(look.path("heating.off_from"))
    limit = look.limit("low")
    times = [
        (at, r.id)
        for r in _accepted(look)
        if (at := look.time(f"readings.{r.id}.taken_at", needed=False))
    ]
    if not times:
        look.lack(f"time of the moisture readings of {look.part.words}")
    if off is None or limit is None or not times:
        return None
    hours = {name: hours_between(off, at) for at, name in times}
    known = {name: value for name, value in hours.items() if value is not None}
    if not known:
        return silent("a time has no offset, so nothing can be counted")
    name, least = min(known.items(), key=lambda pair: pair[1])
    line = f"heating off {moment(off)}; reading {name} {num(least, 'h', 1)} later"
    if least < 0:
        return deviates(f"reading {name} was taken with the heating on", line, excess=1.0)
    return against(least, limit, "heating off for", line, side="low", places=0)


def old_enough(look: Look) -> Found | None:
    """Age of a screed against the least drying time of its thickness."""
    kind = look.word(look.path("subfloor.kind"))
    thick = look.number(look.path("subfloor.thickness_mm"))
    age = look.number(look.path("subfloor.age_days"))
    if kind is None or thick is None or age is None:
        return None
    faces = 2 if look.word(look.path("subfloor.dries_from"), needed=False) == "two-faces" else 1
    wanted = drying_days_at_least(kind, thick, faces)
    knee = "50" if kind == "cement-screed" else "40"
    lines = (
        f"1 day per mm up to {knee} mm, 2 days per mm above; {num(thick, 'mm')} from {'one face' if faces == 1 else 'two faces'}",
        f"at least {num(wanted, 'days', 0)}; age {num(age, 'days', 0)}. The reading decides",
    )
    words = f"screed {num(age, 'days', 0)} old; at least {num(wanted, 'days', 0)} to dry"
    excess = max(0.0, (wanted - age) / wanted)
    return judged(age >= wanted, words, *lines, excess=excess)


def _of(look: Look, *kinds: str) -> list[Reading]:
    return list(readings_in(look.job, look.part.id, *kinds))


def _accepted(look: Look) -> list[Reading]:
    emission = [
        each
        for each in look.job.readings.values()
        if each.kind == "moisture-emission"
        and each.value is None
        and each.mass_end_g is not None
        and each.area == look.part.id
    ]
    return [*_of(look, *ACCEPTED), *emission]


def _methods(look: Look) -> list[str]:
    names = {each.method or each.kind for each in _accepted(look)}
    return sorted(name.replace("-", " ") for name in names)


def _value(look: Look, reading: Reading) -> float | None:
    look.also("reading", reading.id)
    value = look.number(f"readings.{reading.id}.value", needed=False)
    if value is not None or reading.kind != "moisture-emission":
        return value
    start = look.number(f"readings.{reading.id}.mass_start_g")
    end = look.number(f"readings.{reading.id}.mass_end_g")
    placed = look.time(f"readings.{reading.id}.placed_at")
    taken = look.time(f"readings.{reading.id}.taken_at")
    if start is None or end is None or placed is None or taken is None:
        return None
    hours = hours_between(placed, taken)
    if hours is None:
        return None
    dome = look.number(f"readings.{reading.id}.dome_area_ft2", needed=False) or DOME_AREA_FT2
    try:
        return emission_rate(end - start, hours, dome).rate_lb
    except OutOfRangeError:
        return None


def _count_rule(look: Look) -> str:
    kinds = {each.kind for each in _accepted(look)}
    for code in look.job.contract.codes:
        if code.startswith("as-2455"):
            return "as-2455-indicative"
        if code.startswith("as-1884"):
            return "as-1884"
    return "astm-f1869" if kinds == {"moisture-emission"} else "astm-f2170"


CALCULATIONS: Mapping[str, Callable[[Look], Found | None]] = {
    "every-moisture-reading": every_reading,
    "moisture-method": method_accepted,
    "enough-readings": enough_readings,
    "readings-well-spread": well_spread,
    "reading-waited": waited,
    "probe-depth": probe_depth,
    "instrument-calibrated": calibrated,
    "heating-off-before-reading": heating_off_before,
    "old-enough": old_enough,
}
