"""The room amiss: its climate and heating, the base and its readings, what came later."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from diagnose.model import Facet
from diagnose.physics.moisture import drying_days_at_least
from diagnose.practice.job.draft import Asked, Draft, outside
from diagnose.practice.job.plan import length_m, width_m
from diagnose.practice.job.sound_read import MOISTURE, put_reading, readings_of

Maker = Callable[[Draft, Asked], None]
CLEANING = ("wet-cleaned-late", "water-per-m2", "worst-later", "rinsed")


def _climate_off(draft: Draft, asked: Asked) -> None:
    window, quantity = asked.option("window", "during"), asked.option("quantity", "air_c")
    what = "cold" if window == "later" else "low" if quantity == "air_c" else "high"
    draft.log.add(f"{window}.{quantity}.{what}")


def _climate_gap(draft: Draft, asked: Asked) -> None:
    window, quantity = asked.option("window", "during"), asked.option("quantity", "air_c")
    draft.log.add(f"{window}.{quantity}.gap")


def _jump(draft: Draft, asked: Asked) -> None:
    draft.log.add(f"later.{asked.option('quantity', 'air_c')}.jump")


def _span(draft: Draft, asked: Asked) -> None:
    draft.log.add(f"later.{asked.option('quantity', 'humidity_percent')}.span")


def _all_gap(draft: Draft, asked: Asked) -> None:
    """Nothing of one quantity was logged at all."""
    quantity = asked.option("quantity", "humidity_percent")
    draft.log.update(f"{window}.{quantity}.gap" for window in ("after", "later"))


def _on_too_soon(draft: Draft, asked: Asked) -> None:
    draft.spans["heating.on_after_h"] = draft.between(8, 36, 0)


def _on_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"areas.{draft.area}.heating.on_again_from")


def _read_warm(draft: Draft, asked: Asked) -> None:
    """Read the floor before it had been off for long enough."""
    for name in readings_of(draft, *MOISTURE):
        draft.spans[f"{name}.after_off_h"] = draft.between(24, 29)


def _off_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"areas.{draft.area}.heating.off_from")


def _damp(draft: Draft, asked: Asked) -> None:
    names = readings_of(draft, *MOISTURE)
    if not names:
        return
    name = draft.one_of(names)
    timber = draft.text(f"readings.{name}.kind") == MOISTURE[1]
    value = draft.between(16, 21) if timber else draft.between(82, 94, 0)
    draft.put(f"readings.{name}", value=value)


def _no_moisture(draft: Draft, asked: Asked) -> None:
    for name in readings_of(draft, *MOISTURE):
        drop_part(draft, f"readings.{name}")


def _hand_meter(draft: Draft, asked: Asked) -> None:
    _no_moisture(draft, asked)
    put_reading(draft, "M1", "moisture-hand-meter", draft.between(2, 4.5), "digits")


def _few_readings(draft: Draft, asked: Asked) -> None:
    """Leave the dampest two, so that a high one is not lost."""
    names = readings_of(draft, *MOISTURE)
    names.sort(key=lambda name: -draft.number(f"readings.{name}.value"))
    for name in names[2:]:
        drop_part(draft, f"readings.{name}")


def _one_corner(draft: Draft, asked: Asked) -> None:
    for name in readings_of(draft, *MOISTURE):
        draft.put(f"readings.{name}", position="corner")


def _no_position(draft: Draft, asked: Asked) -> None:
    draft.withhold(*(f"readings.{name}.position" for name in readings_of(draft, *MOISTURE)))


def _not_waited(draft: Draft, asked: Asked) -> None:
    for name in readings_of(draft, *MOISTURE):
        draft.spans[f"{name}.stood_h"] = draft.between(20, 25)


def _wait_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(*(f"readings.{name}.placed_at" for name in readings_of(draft, *MOISTURE)))


def _old_instrument(draft: Draft, asked: Asked) -> None:
    for name in readings_of(draft, *MOISTURE):
        draft.spans[f"{name}.calibrated_days"] = draft.between(420, 800, 0)


def _instrument_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(*(f"readings.{name}.calibrated_on" for name in readings_of(draft, *MOISTURE)))


def _young(draft: Draft, asked: Asked) -> None:
    under = f"areas.{draft.area}.subfloor"
    thick = draft.number(f"{under}.thickness_mm")
    wanted = drying_days_at_least(draft.facet(Facet.SUBFLOOR), thick, 1)
    draft.put(under, age_days=round(wanted * draft.between(0.4, 0.8, 2)))


def _age_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"areas.{draft.area}.subfloor.age_days")


def _reading_off(draft: Draft, asked: Asked) -> None:
    side, kind = asked.option("side"), asked.option("kind")
    names = readings_of(draft, kind)
    if not names:
        return
    name = names[0] if side == "high" else names[-1]
    sour = kind == "surface-ph" and side == "low"
    value = draft.between(6.1, 6.8) if sour else outside(asked, draft, side)
    draft.put(f"readings.{name}", value=value)


def _reading_gap(draft: Draft, asked: Asked) -> None:
    for name in readings_of(draft, asked.option("kind")):
        drop_part(draft, f"readings.{name}")


def _not_flat(draft: Draft, asked: Asked) -> None:
    for name in readings_of(draft, "flatness-gap")[:1]:
        draft.put(f"readings.{name}", value=draft.between(7, 13))


def _flat_gap(draft: Draft, asked: Asked) -> None:
    for name in readings_of(draft, "flatness-gap"):
        drop_part(draft, f"readings.{name}")


def _painted(draft: Draft, asked: Asked) -> None:
    draft.put(f"areas.{draft.area}.subfloor", painted=True, painted_abraded=False)


def _paint_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"areas.{draft.area}.subfloor.painted")


def _used_soon(draft: Draft, asked: Asked) -> None:
    """Let people or furniture in the next morning."""
    span = "traffic_h" if "traffic" in asked.option("field") else "furniture_h"
    draft.spans[span] = 0.5


def _used_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(asked.option("field"))


def _heating_off(draft: Draft, asked: Asked) -> None:
    draft.put("completion", heating_on=False)


def _heating_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold("completion.heating_on")


def _happened(draft: Draft, asked: Asked) -> None:
    kind = asked.option("kind")
    days = float(asked.option("days", "40"))
    note = {"leak": "pipe in the wall", "spill": "bucket tipped over"}.get(
        kind, "noted by the owner"
    )
    put_event(draft, kind, draft.between(4, min(days, 40) * 0.8, 0), note)


def put_event(draft: Draft, kind: str, days: float, note: str) -> str:
    """Put something that happened so many days after the work; return its id."""
    name = f"V{len(draft.ids('later')) + 1}"
    draft.put(f"later.{name}", kind=kind, area=draft.area, note=note)
    draft.spans[f"{name}.days"] = days
    return name


def put_cleaning(draft: Draft) -> str:
    """Put a cleaning with nothing amiss, if there is none yet; return its id."""
    for name in draft.ids("later"):
        if draft.text(f"later.{name}.kind") == "cleaning":
            return name
    name = put_event(draft, "cleaning", draft.between(36, 46, 0), "first wash")
    draft.put(
        f"later.{name}",
        method="spray extraction",
        litres=round(length_m(draft) * width_m(draft) * draft.between(0.4, 0.7, 2)),
        dried_h=draft.between(6, 14, 0),
        ph=draft.between(7, 8),
        rinsed=True,
    )
    return name


def _washed_early(draft: Draft, asked: Asked) -> None:
    draft.spans[f"{put_cleaning(draft)}.days"] = draft.between(5, 20, 0)


def _washed_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"later.{put_cleaning(draft)}.at")


def _soaked(draft: Draft, asked: Asked) -> None:
    litres = length_m(draft) * width_m(draft) * draft.between(1.5, 3, 2)
    draft.put(f"later.{put_cleaning(draft)}", litres=round(litres))


def _litres_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"later.{put_cleaning(draft)}.litres")


def _later_off(draft: Draft, asked: Asked) -> None:
    draft.values[f"later.{put_cleaning(draft)}.{asked.option('field')}"] = outside(asked, draft)


def _later_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"later.{put_cleaning(draft)}.{asked.option('field')}")


def _not_rinsed(draft: Draft, asked: Asked) -> None:
    draft.put(f"later.{put_cleaning(draft)}", rinsed=False)


def _rinsed_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"later.{put_cleaning(draft)}.rinsed")


def drop_part(draft: Draft, under: str) -> None:
    """Take a whole part out of the draft."""
    for path in [path for path in draft.values if path.startswith(f"{under}.")]:
        del draft.values[path]


AMISS: Mapping[str, Maker] = {
    "band-kept": _climate_off,
    "largest-step": _jump,
    "span-after": _span,
    "heating-off-around": _on_too_soon,
    "heating-off-before-reading": _read_warm,
    "every-moisture-reading": _damp,
    "moisture-method": _hand_meter,
    "enough-readings": _few_readings,
    "readings-well-spread": _one_corner,
    "reading-waited": _not_waited,
    "instrument-calibrated": _old_instrument,
    "old-enough": _young,
    "worst-reading": _reading_off,
    "flat-enough": _not_flat,
    "paint-abraded": _painted,
    "traffic-after": _used_soon,
    "heating-kept": _heating_off,
    "no-event": _happened,
    "wet-cleaned-late": _washed_early,
    "water-per-m2": _soaked,
    "worst-later": _later_off,
    "rinsed": _not_rinsed,
}

GAPS: Mapping[str, Maker] = {
    "band-kept": _climate_gap,
    "largest-step": _all_gap,
    "span-after": _all_gap,
    "heating-off-around": _on_gap,
    "heating-off-before-reading": _off_gap,
    "every-moisture-reading": _no_moisture,
    "moisture-method": _no_moisture,
    "enough-readings": _no_moisture,
    "readings-well-spread": _no_position,
    "reading-waited": _wait_gap,
    "instrument-calibrated": _instrument_gap,
    "old-enough": _age_gap,
    "worst-reading": _reading_gap,
    "flat-enough": _flat_gap,
    "paint-abraded": _paint_gap,
    "traffic-after": _used_gap,
    "heating-kept": _heating_gap,
    "wet-cleaned-late": _washed_gap,
    "water-per-m2": _litres_gap,
    "worst-later": _later_gap,
    "rinsed": _rinsed_gap,
}
