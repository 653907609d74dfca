"""A plan and a log of an invented job as a few plain rows, with what a check says of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from random import Random

from diagnose.checks.run import check_at
from diagnose.model import CheckResult, Facet, Floor, Outcome, Place, Provenance
from diagnose.practice.chance import pick
from diagnose.practice.job.sampled import JobOrder, SampledJob, sample_job
from diagnose.practice.job.shown import BARS
from diagnose.practice.site import invent_site
from diagnose.rulebook.model import Rules

ATTEMPTS = 8
"""Jobs drawn until exactly one seam, or one day, is amiss."""
MANY_DROPS = Place("seam", "S4")
FLOOR: Mapping[Facet, str] = {
    Facet.METHOD: "adhered",
    Facet.PILE: "cut",
    Facet.CONSTRUCTION: "tufted",
    Facet.BACKING: "secondary",
    Facet.SUBFLOOR: "cement-screed",
    Facet.HEATING: "none",
}


@dataclass(frozen=True, slots=True)
class Picture:
    """Rows of a picture, what can be pointed at in it, and which of that is amiss."""

    rows: tuple[str, ...]
    parts: tuple[str, ...]
    amiss: str
    found: CheckResult
    """What the check says of the part that is amiss."""
    edge: float = 0.0
    """The limit that a reading is compared with."""


def pile_picture(rules: Rules, check: str, rng: Random) -> Picture | None:
    """Return the drops of a job with pile and roll; at one seam the pile turns."""
    asked = rules.checks.get(check)
    if asked is None:
        return None
    for _ in range(ATTEMPTS):
        job = _with_one_deviation(rules, check, rng).job
        found = {seam: check_at(asked, rules, job, Place("seam", seam)) for seam in job.seams}
        off = [seam for seam, said in found.items() if said and said.outcome is Outcome.DEVIATES]
        if len(off) != 1:
            continue
        drops = job.drops.values()
        arrows = ("↓" if (drop.pile_direction_deg or 0.0) > 180 else "↑" for drop in drops)
        rows = (
            [drop.id for drop in drops],
            [f" {arrow}" for arrow in arrows],
            [drop.roll or "?" for drop in drops],
        )
        names = {
            seam.id: f"{seam.id}, between {' and '.join(seam.drops)}" for seam in job.seams.values()
        }
        said = found[off[0]]
        if said is not None:
            lines = tuple(f"| {' | '.join(row)} |" for row in rows)
            return Picture(lines, tuple(names.values()), names[off[0]], said)
    return None


def damp_picture(rules: Rules, check: str, rng: Random) -> Picture | None:
    """Return the highest humidity of each day of a log; on one day it is beyond the limit."""
    asked = rules.checks.get(check)
    highs = (
        [value.high for value in rules.limits[asked.limit].values if value.high] if asked else []
    )
    for _ in range(ATTEMPTS if highs else 0):
        sampled = _with_one_deviation(rules, check, rng)
        days = [
            (f"{day.day:%a %d %b}", day.humidity_high_percent)
            for log in sampled.job.climate.values()
            for day in log.days
            if day.humidity_high_percent is not None
        ]
        off = [name for name, high in days if high > max(highs)]
        clear = all(high <= min(highs) for name, high in days if name not in off)
        said = sampled.results.get(check)
        if len(off) == 1 and clear and said and said.outcome is Outcome.DEVIATES:
            rows = tuple(f"{name} {_bar(high)} {high:.0f} %" for name, high in days)
            return Picture(rows, tuple(name for name, _ in days), off[0], said, max(highs))
    return None


def _with_one_deviation(rules: Rules, check: str, rng: Random) -> SampledJob:
    fibre = pick(rng, ("wool", "polyamide"))
    floor = Floor({**FLOOR, Facet.FIBRE: fibre})
    site = replace(invent_site(rng, floor, MANY_DROPS), window="north")
    order = JobOrder(floor, Place("job"), site, "practice-picture", ("reading",))

    def draw(name: str) -> tuple[Outcome, Provenance] | None:
        return (Outcome.DEVIATES, Provenance.ON_THE_DAY) if name == check else None

    only = replace(rules, checks={check: rules.checks[check]})
    return sample_job(only, order, draw, rng)


def _bar(percent: float) -> str:
    share = min(1.0, max(0.0, (percent - 30) / 50))
    return BARS[round(share * (len(BARS) - 1))]
