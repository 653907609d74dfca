"""Adhesive amiss: laid too soon or too late, too little, not rolled, wrong lot, cold floor."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, timedelta

from diagnose.model import FACET_VALUES, Facet, Outcome
from diagnose.physics.adhesive import parse_notch
from diagnose.physics.air import dew_point_c
from diagnose.practice.job.draft import Asked, Draft, outside
from diagnose.practice.job.sound_read import put_reading

Maker = Callable[[Draft, Asked], None]
LEAST_SHARE, KG_PER_L = 0.35, 1.2
"""Share of the groove that the check expects at least; the lightest adhesive it allows for."""
DEEPER = ("3 x 3 x 1 V", "4 x 4 x 1 V", "6 x 6 x 1 V")
SHALLOW = "1 x 1 x 2 V"


def _too_soon(draft: Draft, asked: Asked) -> None:
    part = draft.spare(asked.parts, "laid")
    draft.spans[f"{part}.wait_min"] = max(0, round(outside(asked, draft, "low")))


def _too_late(draft: Draft, asked: Asked) -> None:
    part = draft.spare(asked.parts, "laid")
    draft.spans[f"{part}.last_min"] = round(outside(asked, draft, "high")) + 1


def _soon_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"spreads.{draft.one_of(asked.parts)}.laid_at")


def _late_gap(draft: Draft, asked: Asked) -> None:
    part = draft.one_of(asked.parts)
    draft.withhold(f"spreads.{part}.started_at", f"spreads.{part}.ended_at")


def _mass_off(draft: Draft, asked: Asked) -> None:
    part = draft.spare(asked.parts, "mass")
    notch = parse_notch(draft.text(f"spreads.{part}.notch"))
    least = LEAST_SHARE * notch.full_l_m2 * KG_PER_L * 1000
    grams = max(outside(asked, draft), 1.03 * least)
    size = draft.number(f"spreads.{part}.area_m2")
    draft.values[f"spreads.{part}.mass_used_kg"] = round(size * grams / 1000, 1)


def _mass_gap(draft: Draft, asked: Asked) -> None:
    """Take out the mass; the litres stay, so that the notch can still be compared."""
    under = f"spreads.{draft.one_of(asked.parts)}"
    draft.values[f"{under}.volume_used_l"] = round(draft.number(f"{under}.mass_used_kg") / 1.35, 1)
    draft.withhold(f"{under}.mass_used_kg")


def _notch_off(draft: Draft, asked: Asked) -> None:
    """Record a notch so deep that what was used cannot have filled it."""
    part = draft.spare(asked.parts, "notch")
    size = draft.number(f"spreads.{part}.area_m2")
    litres = draft.number(f"spreads.{part}.mass_used_kg") / size / KG_PER_L
    fits = [text for text in DEEPER if LEAST_SHARE * parse_notch(text).full_l_m2 > 1.05 * litres]
    draft.values[f"spreads.{part}.notch"] = (fits or DEEPER[-1:])[0]


def _notch_shallow(draft: Draft, asked: Asked) -> None:
    draft.values[f"spreads.{draft.spare(asked.parts, 'notch')}.notch"] = SHALLOW


def _notch_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"spreads.{draft.one_of(asked.parts)}.notch")


def _one_way(draft: Draft, asked: Asked) -> None:
    under = f"spreads.{draft.one_of(asked.parts)}"
    draft.put(under, rolled_across=False)
    if draft.rng.random() < 0.3:
        draft.put(under, rolled_along=False)


def _ways_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"spreads.{draft.one_of(asked.parts)}.rolled_across")


def _rolled_late(draft: Draft, asked: Asked) -> None:
    part = draft.one_of(asked.parts)
    draft.spans[f"{part}.roll_min"] = round(outside(asked, draft, "high")) + 10


def _rolled_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"spreads.{draft.one_of(asked.parts)}.rolled_at")


def _again_late(draft: Draft, asked: Asked) -> None:
    draft.spans[f"{draft.one_of(asked.parts)}.again_h"] = draft.between(25, 29)


def _again_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"spreads.{draft.one_of(asked.parts)}.rerolled_at")


def _wet_on_closed(draft: Draft, asked: Asked) -> None:
    draft.put(f"spreads.{draft.one_of(asked.parts)}", base="closed", tack="wet")


def _base_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"spreads.{draft.one_of(asked.parts)}.base")


def _other_backing(draft: Draft, asked: Asked) -> None:
    lot = _lot(asked)
    own = draft.facet(Facet.BACKING)
    others = [word for word in FACET_VALUES[Facet.BACKING] if word != own]
    draft.values[f"lots.{lot}.for_backings"] = (draft.one_of(others),)


def _backing_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"lots.{_lot(asked)}.for_backings")


def _lot(asked: Asked) -> str:
    return "L1" if asked.option("lot") == "sealer_lot" else "A1"


def _own_lot(asked: Asked) -> str:
    kind = {"adhesive": "A1", "sealer": "L1", "underlay": "U1"}
    return kind.get(asked.option("kind"), asked.parts[0])


def _out_of_date(draft: Draft, asked: Asked) -> None:
    under = f"lots.{_own_lot(asked)}"
    fresh = draft.values[f"{under}.expires_on"]
    if isinstance(fresh, date):
        early = timedelta(days=320 + int(draft.between(5, 90)))
        draft.values[f"{under}.expires_on"] = fresh - early


def _date_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"lots.{_own_lot(asked)}.expires_on")


def _frozen(draft: Draft, asked: Asked) -> None:
    draft.put(f"lots.{_own_lot(asked)}", frozen=True, stored_low_c=draft.between(-6, -1))


def _frost_gap(draft: Draft, asked: Asked) -> None:
    under = f"lots.{_own_lot(asked)}"
    draft.withhold(f"{under}.frozen", f"{under}.stored_low_c")


def _just_brought(draft: Draft, asked: Asked) -> None:
    draft.spans[f"K{_own_lot(asked)}.stay_h"] = draft.between(2, 12)


def _brought_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"conditioning.K{_own_lot(asked)}.from_at")


def _near_dew_point(draft: Draft, asked: Asked) -> None:
    """Make the floor nearly as cold as the dew point of an air that is in order itself."""
    under = f"spreads.{draft.spare(asked.parts, 'floor')}"
    air, humidity = draft.between(21, 23), draft.between(59, 63, 0)
    floor = round(dew_point_c(air, humidity) + draft.between(0.2, 1.6), 1)
    if asked.wanted.get("spread-humidity") is Outcome.DEVIATES:
        humidity = draft.number(f"{under}.humidity_percent")
        floor = round(dew_point_c(air, humidity) + draft.between(0.2, 1.6), 1)
    draft.put(under, air_c=air, humidity_percent=humidity, floor_c=floor)


def _dew_gap(draft: Draft, asked: Asked) -> None:
    """Read the floor once for the room, not at the spread."""
    if asked.wanted.get("floor-warm-enough") is Outcome.NOT_RECORDED:
        return
    under = f"spreads.{draft.spare(asked.parts, 'floor')}"
    value = draft.number(f"{under}.floor_c")
    draft.withhold(f"{under}.floor_c")
    put_reading(draft, "F1", "floor-temperature", value, "°C")


def _cold_floor(draft: Draft, asked: Asked) -> None:
    under = f"spreads.{draft.spare(asked.parts, 'floor')}"
    draft.put(under, floor_c=outside(asked, draft, "low"))
    if asked.wanted.get("floor-above-dew-point") is not Outcome.DEVIATES:
        draft.put(under, air_c=draft.between(18.2, 19), humidity_percent=draft.between(24, 28, 0))


def _floor_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"spreads.{draft.spare(asked.parts, 'floor')}.floor_c")


AMISS: Mapping[str, Maker] = {
    "laid-too-soon": _too_soon,
    "laid-too-late": _too_late,
    "mass-for-area": _mass_off,
    "use-fits-notch": _notch_off,
    "notch-reaches-rate": _notch_shallow,
    "rolled-both-ways": _one_way,
    "rolled-in-time": _rolled_late,
    "rolled-again": _again_late,
    "tacky-on-closed-base": _wet_on_closed,
    "suits-backing": _other_backing,
    "lot-in-date": _out_of_date,
    "lot-kept-from-frost": _frozen,
    "lot-at-site-hours": _just_brought,
    "margin-over-dew-point": _near_dew_point,
    "floor-temperature": _cold_floor,
}

GAPS: Mapping[str, Maker] = {
    "laid-too-soon": _soon_gap,
    "laid-too-late": _late_gap,
    "mass-for-area": _mass_gap,
    "use-fits-notch": _notch_gap,
    "notch-reaches-rate": _notch_gap,
    "rolled-both-ways": _ways_gap,
    "rolled-in-time": _rolled_gap,
    "rolled-again": _again_gap,
    "tacky-on-closed-base": _base_gap,
    "suits-backing": _backing_gap,
    "lot-in-date": _date_gap,
    "lot-kept-from-frost": _frost_gap,
    "lot-at-site-hours": _brought_gap,
    "margin-over-dew-point": _dew_gap,
    "floor-temperature": _floor_gap,
}
