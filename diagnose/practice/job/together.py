"""What can stand on paper together: a figure nobody wrote down silences all who need it.

Outcomes are drawn check by check; where checks read one field, one draw rules
the others, so that the record can say what was drawn.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping

from diagnose.model import Outcome
from diagnose.rulebook.model import Check

Wanted = dict[str, Outcome]
GAP, OFF, FINE = Outcome.NOT_RECORDED, Outcome.DEVIATES, Outcome.IN_ORDER
MOISTURE = ("every-moisture-reading", "moisture-method", "enough-readings")
OF_READINGS = (
    "readings-well-spread",
    "reading-waited",
    "instrument-calibrated",
    "heating-off-before-reading",
)

ONE_ENTRY: tuple[tuple[str, ...], ...] = (
    ("mass-for-area",),
    ("use-fits-notch", "notch-reaches-rate"),
    ("edges-cut",),
    ("sealed-at-all", "edges-sealed"),
    ("sealer-used",),
    MOISTURE,
)
"""Calculations that read one entry: it is there for all of them, or for none."""

SILENCES: Mapping[str, tuple[str, ...]] = {
    "laid-too-late": ("laid-too-soon",),
    "rolled-in-time": ("rolled-again",),
    "hours-in-room": ("temperature-step",),
    "hours-after-cold": ("temperature-step",),
    "floor-temperature": ("margin-over-dew-point",),
    "sealed-at-all": ("sealer-used",),
    "loaded-after-set": ("closed-while-wet",),
    "gap-at-seam": ("surplus-width",),
    "every-moisture-reading": OF_READINGS,
    "stretched": ("stretched-evenly",),
    "distortion": ("pattern-measured",),
    "heating-off-before-reading": ("heating-off-around",),
}
"""Calculation without its entry, to those that cannot say anything then either."""

BY_CHECK: Mapping[str, tuple[str, ...]] = {
    "spread-humidity": ("floor-above-dew-point",),
    "spread-air-temperature": ("floor-above-dew-point",),
    "climate-after-temperature": ("room-never-cold",),
    "humidity-steady": ("climate-after-humidity",),
}
"""The same by check, where one calculation serves several."""

ALWAYS_LOGGED = ("largest-step",)
"""Two days of a log are enough, so a gap silences nothing."""


def made_possible(
    wanted: Mapping[str, Outcome],
    checks: Mapping[str, Check],
    own: Collection[str],
    alone: Collection[str] = (),
) -> Wanted:
    """Return outcomes that one record can show; `own` are the fault's traces and stay.

    `alone` are the checks that look at one part only, so that what one check
    makes of it cannot stand beside another part.
    """
    found: Wanted = dict(wanted)
    names: dict[str, list[str]] = {}
    for name in found:
        names.setdefault(checks[name].calculation, []).append(name)
    _silence(found, names, own)
    metered = _hand_meter_only(found, names, own)
    for group in ONE_ENTRY:
        if not (metered and group is MOISTURE):
            _one_entry(found, [name for each in group for name in names.get(each, ())], own)
    for kind in _kinds(names, checks):
        _one_entry(found, kind, own)
    _silence(found, names, own)
    _follow(found, names)
    _one_way_only(found, names, own)
    for calculation, void in (("same-batch", "rolls-in-order"), ("sealed-at-all", "edges-sealed")):
        if any(found[n] is OFF and n in alone for n in names.get(calculation, ())):
            for name in names.get(void, ()):
                del found[name]
    return found


def _kinds(names: Mapping[str, list[str]], checks: Mapping[str, Check]) -> list[list[str]]:
    """Return the checks that read the same kind of reading."""
    by_kind: dict[str, list[str]] = {}
    for name in names.get("worst-reading", ()):
        by_kind.setdefault(checks[name].options.get("kind", ""), []).append(name)
    return list(by_kind.values())


def _hand_meter_only(found: Wanted, names: Mapping[str, list[str]], own: Collection[str]) -> bool:
    """Say whether only a hand meter was used: then no other reading says anything."""
    metered = False
    for name in names.get("moisture-method", ()):
        if found[name] is OFF:
            others = [n for each in (*MOISTURE, *OF_READINGS) for n in names.get(each, ())]
            others.remove(name)
            if name not in own and any(found[n] is OFF and n in own for n in others):
                found[name] = FINE
            else:
                metered = True
                found.update(dict.fromkeys(others, GAP))
    return metered


def _one_entry(found: Wanted, together: list[str], own: Collection[str]) -> None:
    if not together:
        return
    if any(found[name] is OFF or name in own for name in together):
        for name in together:
            if found[name] is GAP:
                found[name] = FINE
    elif found[together[0]] is GAP:
        found.update(dict.fromkeys(together, GAP))
    else:
        found.update({name: FINE for name in together if found[name] is GAP})


def _silence(found: Wanted, names: Mapping[str, list[str]], own: Collection[str]) -> None:
    pairs = [
        (name, [n for each in silenced for n in names.get(each, ())])
        for calculation, silenced in SILENCES.items()
        for name in names.get(calculation, ())
    ]
    pairs += [(n, [s for s in silenced if s in found]) for n, silenced in BY_CHECK.items()]
    for name, silenced in pairs:
        if found.get(name) is GAP:
            if any(found[each] is OFF or each in own for each in silenced):
                found[name] = FINE
            else:
                found.update(dict.fromkeys(silenced, GAP))


def _follow(found: Wanted, names: Mapping[str, list[str]]) -> None:
    """What follows from a deviation for the checks beside it."""
    if any(found[name] is OFF for name in names.get("hours-after-cold", ())):
        found.update({n: FINE for n in names.get("hours-in-room", ()) if found[n] is GAP})
    for name in names.get("tacky-on-closed-base", ()):
        if found[name] is OFF:
            found.update(dict.fromkeys(names.get("laid-too-soon", ()), OFF))
    for name in names.get("enough-readings", ()):
        if found[name] is OFF:
            found.update(dict.fromkeys(names.get("readings-well-spread", ()), OFF))
    for name in names.get("sealed-at-all", ()):
        if found[name] is OFF:
            found.update(dict.fromkeys(names.get("sealer-used", ()), GAP))
    for name in names.get("pattern-measured", ()):
        if found[name] is OFF:
            found[name] = GAP
    for calculation in ALWAYS_LOGGED:
        found.update({n: FINE for n in names.get(calculation, ()) if found[n] is GAP})


def _one_way_only(found: Wanted, names: Mapping[str, list[str]], own: Collection[str]) -> None:
    """One spread is not both too thin and too thick, one seam has two edges to cut."""
    for calculation, most in (("mass-for-area", 1), ("sealer-used", 1), ("edges-cut", 2)):
        off = [name for name in names.get(calculation, ()) if found[name] is OFF]
        off.sort(key=lambda name: name not in own)
        found.update(dict.fromkeys(off[most:], FINE))
