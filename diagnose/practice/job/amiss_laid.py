"""Goods and laying amiss: conditioning, cutting lengths, stretch, edges, tiles, class."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from diagnose.model import FACET_VALUES, Facet
from diagnose.practice.job.draft import Asked, Draft, outside
from diagnose.practice.job.plan import length_m
from diagnose.practice.job.sound_laid import put_stretch

Maker = Callable[[Draft, Asked], None]


def _keep(draft: Draft, asked: Asked) -> str:
    return f"K{draft.spare(asked.parts, 'keep')[1:]}"


def _short_stay(draft: Draft, asked: Asked) -> None:
    draft.spans[f"{_keep(draft, asked)}.stay_h"] = draft.between(16, 23)


def _stay_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"conditioning.{_keep(draft, asked)}.from_at")


def _cold_carriage(draft: Draft, asked: Asked) -> None:
    """Came cold and stood a day, where two would be wanted."""
    name = _keep(draft, asked)
    draft.put(f"conditioning.{name}", before_c=draft.between(7, 9))
    stay = draft.spans[f"{name}.stay_h"]
    draft.spans[f"{name}.stay_h"] = draft.between(40.5, 46.5) if stay > 47 else stay


def _carriage_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"conditioning.{_keep(draft, asked)}.before_c")


def _big_step(draft: Draft, asked: Asked) -> None:
    draft.put(f"conditioning.{_keep(draft, asked)}", before_c=draft.between(-2, 1.5))


def _step_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"conditioning.{_keep(draft, asked)}.where")


def _rolled_up(draft: Draft, asked: Asked) -> None:
    draft.put(f"conditioning.{_keep(draft, asked)}", unrolled=False)


def _unrolled_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"conditioning.{_keep(draft, asked)}.unrolled")


def _cut_short(draft: Draft, asked: Asked) -> None:
    under = f"drops.{draft.one_of(asked.parts)}"
    need = draft.number(f"{under}.needed_length_mm")
    draft.values[f"{under}.cut_length_mm"] = need + draft.between(5, 55, 0)


def _cut_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"drops.{draft.one_of(asked.parts)}.cut_length_mm")


def _slack(draft: Draft, asked: Asked) -> None:
    drop = draft.spare(asked.parts, "stretch")
    share = draft.between(0.2, 0.5, 2)
    put_stretch(draft, drop, "length", round(length_m(draft) * 1000), share)
    put_stretch(draft, drop, "width", 2000, share + 0.3)


def _uneven(draft: Draft, asked: Asked) -> None:
    drop = draft.spare(asked.parts, "stretch")
    put_stretch(draft, drop, "width", 2000, draft.between(2.8, 3.4, 2))


def _stretch_gap(draft: Draft, asked: Asked) -> None:
    under = f"drops.{draft.one_of(asked.parts)}"
    draft.withhold(f"{under}.length_after_mm", f"{under}.width_after_mm")


def _width_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"drops.{draft.one_of(asked.parts)}.width_after_mm")


def _wide_gully(draft: Draft, asked: Asked) -> None:
    draft.put(f"edges.{draft.one_of(asked.parts)}", gully_mm=draft.between(13, 19))


def _gully_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"edges.{draft.one_of(asked.parts)}.gully_mm")


def _few_rows(draft: Draft, asked: Asked) -> None:
    under = f"edges.{draft.one_of(asked.parts)}"
    rows = int(draft.number(f"{under}.gripper_rows"))
    draft.put(under, gripper_rows=rows - 1)


def _rows_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"edges.{draft.one_of(asked.parts)}.gripper_rows")


def _nailed(draft: Draft, asked: Asked) -> None:
    draft.put(f"edges.{draft.one_of(asked.parts)}", gripper_stuck=False)
    draft.values[f"areas.{draft.area}.heating.services_located"] = False


def _stuck_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"edges.{draft.one_of(asked.parts)}.gripper_stuck")


def _doorways(asked: Asked) -> list[str]:
    return [part for part in asked.parts if not part.startswith("E")]


def _unsecured(draft: Draft, asked: Asked) -> None:
    for edge in _doorways(asked)[:1]:
        draft.put(f"edges.{edge}", profile="none", sealed=False)


def _profile_gap(draft: Draft, asked: Asked) -> None:
    for edge in _doorways(asked)[:1]:
        draft.withhold(f"edges.{edge}.profile")


def _high_step(draft: Draft, asked: Asked) -> None:
    for edge in _doorways(asked)[:1]:
        bare = draft.values.get(f"edges.{edge}.sealed") is False
        draft.put(f"edges.{edge}", profile="none", step_mm=draft.between(8, 14))
        if not bare:
            draft.put(f"edges.{edge}", adhesive_to_edge=True)


def _height_gap(draft: Draft, asked: Asked) -> None:
    for edge in _doorways(asked)[:1]:
        draft.withhold(f"edges.{edge}.step_mm")


def _joint_off(draft: Draft, asked: Asked) -> None:
    draft.put(f"edges.{draft.one_of(asked.parts)}", joint_offset_mm=draft.between(18, 45, 0))


def _joint_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"edges.{draft.one_of(asked.parts)}.joint_offset_mm")


def _class_low(draft: Draft, asked: Asked) -> None:
    draft.put("product", use_class=draft.one_of(("22", "23", "31")))


def _class_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold("contract.use_class")


def _not_rated(draft: Draft, asked: Asked) -> None:
    draft.values[f"product.{asked.option('rating')}"] = False


def _rating_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"product.{asked.option('rating')}")


def _other_method(draft: Draft, asked: Asked) -> None:
    others = [word for word in FACET_VALUES[Facet.METHOD] if word != draft.method]
    draft.put("product", methods_allowed=(draft.one_of(others),))


def _methods_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold("product.methods_allowed")


def _other_layout(draft: Draft, asked: Asked) -> None:
    draft.put(f"drops.{draft.one_of(asked.parts)}", tile_layout="brick-bond")


def _layout_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"drops.{draft.one_of(asked.parts)}.tile_layout")


def _tiles_off(draft: Draft, asked: Asked) -> None:
    way = 1 if draft.rng.random() < 0.5 else -1
    tens = 5000 + way * draft.between(5, 11, 0)
    draft.put(f"drops.{draft.one_of(asked.parts)}", tile_ten_mm=tens)


def _tiles_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"drops.{draft.one_of(asked.parts)}.tile_ten_mm")


def _never_measured(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"rolls.{draft.one_of(asked.parts)}.repeat_found_mm")


def _distorted(draft: Draft, asked: Asked) -> None:
    roll = draft.one_of(asked.parts)
    wide = draft.number(f"rolls.{roll}.width_mm") / 1000
    slope = outside(asked, draft, "high")
    draft.values[f"rolls.{roll}.{asked.option('field')}"] = round(slope * wide + 0.5)


def _distortion_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"rolls.{draft.one_of(asked.parts)}.{asked.option('field')}")


def _grows(draft: Draft, asked: Asked) -> None:
    way = 1 if draft.rng.random() < 0.5 else -1
    draft.put("product", dimensional_change_percent=way * draft.between(0.7, 1.2, 2))


def _growth_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold("product.dimensional_change_percent")


def _lot_number_off(draft: Draft, asked: Asked) -> None:
    draft.values[f"lots.U1.{asked.option('field')}"] = outside(asked, draft)


def _lot_number_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"lots.U1.{asked.option('field')}")


AMISS: Mapping[str, Maker] = {
    "hours-in-room": _short_stay,
    "hours-after-cold": _cold_carriage,
    "temperature-step": _big_step,
    "unrolled": _rolled_up,
    "cut-allowance": _cut_short,
    "stretched": _slack,
    "stretched-evenly": _uneven,
    "gully": _wide_gully,
    "gripper-rows": _few_rows,
    "gripper-stuck": _nailed,
    "edge-secured": _unsecured,
    "step-at-edge": _high_step,
    "door-joint": _joint_off,
    "class-high-enough": _class_low,
    "rated-for": _not_rated,
    "method-allowed": _other_method,
    "layout-allowed": _other_layout,
    "ten-tiles": _tiles_off,
    "pattern-measured": _never_measured,
    "distortion": _distorted,
    "change-within": _grows,
    "number-of-lot": _lot_number_off,
}

GAPS: Mapping[str, Maker] = {
    "hours-in-room": _stay_gap,
    "hours-after-cold": _carriage_gap,
    "temperature-step": _step_gap,
    "unrolled": _unrolled_gap,
    "cut-allowance": _cut_gap,
    "stretched": _stretch_gap,
    "stretched-evenly": _width_gap,
    "gully": _gully_gap,
    "gripper-rows": _rows_gap,
    "gripper-stuck": _stuck_gap,
    "edge-secured": _profile_gap,
    "step-at-edge": _height_gap,
    "door-joint": _joint_gap,
    "class-high-enough": _class_gap,
    "rated-for": _rating_gap,
    "method-allowed": _methods_gap,
    "layout-allowed": _layout_gap,
    "ten-tiles": _tiles_gap,
    "pattern-measured": _never_measured,
    "distortion": _distortion_gap,
    "change-within": _growth_gap,
    "number-of-lot": _lot_number_gap,
}
