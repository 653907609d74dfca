"""Seams amiss: cutting, sealing, closing, neighbours, and where the seam lies."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from diagnose.model import Outcome
from diagnose.physics.sealer import sealer_needed_ml
from diagnose.practice.job.draft import Asked, Draft, outside
from diagnose.practice.job.plan import (
    SOUTH_DEG,
    drops_at,
    length_m,
    put_door,
    put_window,
    seam_x_m,
    width_m,
)
from diagnose.practice.job.sound_laid import put_roll

Maker = Callable[[Draft, Asked], None]
STRICT_CODE = "cri-104-2011"
"""A contract by this code asks for two sealed edges on any method."""


def _edges(drop: str) -> tuple[str, str]:
    return f"drops.{drop}.edges.left", f"drops.{drop}.edges.right"


def _cut_wrong(draft: Draft, asked: Asked) -> None:
    """Cut a drop in the refused way: both of its edges, as one pair of hands would."""
    sides = [drop for seam in asked.parts for drop in drops_at(draft, seam)]
    drop = draft.spare(sides, "cut")
    for edge in _edges(drop):
        draft.values[f"{edge}.cut"] = asked.option("refused").split(",")[0].strip()


def _cut_gap(draft: Draft, asked: Asked) -> None:
    sides = [drop for seam in asked.parts for drop in drops_at(draft, seam)]
    drop = draft.spare(sides, "cut")
    draft.withhold(*(f"{edge}.cut" for edge in _edges(drop)))


def _flag_wrong(draft: Draft, asked: Asked) -> None:
    drop = draft.one_of(drops_at(draft, draft.one_of(asked.parts)))
    for edge in _edges(drop):
        draft.values[f"{edge}.{asked.option('field')}"] = False


def _flag_gap(draft: Draft, asked: Asked) -> None:
    drop = draft.one_of(drops_at(draft, draft.one_of(asked.parts)))
    draft.withhold(*(f"{edge}.{asked.option('field')}" for edge in _edges(drop)))


def _trimmed_little(draft: Draft, asked: Asked) -> None:
    drop = draft.one_of(drops_at(draft, draft.one_of(asked.parts)))
    for edge in _edges(drop):
        draft.values[f"{edge}.trimmed_mm"] = draft.between(2, 8, 0)


def _trim_gap(draft: Draft, asked: Asked) -> None:
    drop = draft.one_of(drops_at(draft, draft.one_of(asked.parts)))
    draft.withhold(*(f"{edge}.trimmed_mm" for edge in _edges(drop)))


def _not_sealed(draft: Draft, asked: Asked) -> None:
    draft.put(f"seams.{draft.spare(asked.parts, 'sealed')}", edges_sealed=0, sealer_used_ml=0)


def _sealed_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"seams.{draft.one_of(asked.parts)}.edges_sealed")


def _one_edge(draft: Draft, asked: Asked) -> None:
    """Seal one edge where two are asked for; stuck floors by the stricter contract only."""
    seam = draft.spare(asked.parts, "sealed")
    share = draft.number(f"seams.{seam}.sealer_used_ml") / 2
    draft.put(f"seams.{seam}", edges_sealed=1, sealer_used_ml=round(share))
    if draft.method == "adhered":
        draft.put("contract", codes=(STRICT_CODE,))


def _closed_late(draft: Draft, asked: Asked) -> None:
    draft.spans[f"{draft.one_of(asked.parts)}.bead_min"] = round(outside(asked, draft, "high")) + 1


def _bead_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"seams.{draft.one_of(asked.parts)}.bead_at")


def _sealer_off(draft: Draft, asked: Asked) -> None:
    seam = draft.spare(asked.parts, "sealed")
    edges = int(draft.number(f"seams.{seam}.edges_sealed")) or 2
    need = sealer_needed_ml(length_m(draft), edges, draft.number(f"seams.{seam}.bead_mm"))
    draft.put(f"seams.{seam}", sealer_used_ml=round(need * outside(asked, draft)))


def _sealer_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"seams.{draft.one_of(asked.parts)}.sealer_used_ml")


def _over_full(draft: Draft, asked: Asked) -> None:
    draft.put(f"seams.{draft.spare(asked.parts, 'width')}", surplus_mm=draft.between(3, 8))


def _surplus_gap(draft: Draft, asked: Asked) -> None:
    """Take out the surplus; a gap of nought stays read, so that the join can be judged."""
    seam = draft.one_of(asked.parts)
    draft.withhold(f"seams.{seam}.surplus_mm")
    if asked.wanted.get("seam-edges-meet") is not Outcome.NOT_RECORDED:
        _put_gap(draft, seam, 0.0)


def _gap_open(draft: Draft, asked: Asked) -> None:
    _put_gap(draft, draft.spare(asked.parts, "width"), draft.between(1.5, 4.5))


def _put_gap(draft: Draft, seam: str, value_mm: float) -> None:
    under = f"readings.J{seam[1:]}"
    if f"{under}.value" not in draft.values or value_mm > 0:
        draft.put(under, kind="gap", value=value_mm, unit="mm", at_part=f"seam:{seam}")


def _meet_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"seams.{draft.one_of(asked.parts)}.surplus_mm")


def _loaded_soon(draft: Draft, asked: Asked) -> None:
    taped = draft.method == "stretch-in"
    hours = draft.between(0.1, 0.3, 2) if taped else draft.between(2, 5)
    draft.spans[f"{draft.one_of(asked.parts)}.loaded_h"] = hours


def _closed_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"seams.{draft.one_of(asked.parts)}.closed_at")


def _narrow_tape(draft: Draft, asked: Asked) -> None:
    draft.put("lots.T1", tape_width_mm=draft.between(45, 62, 0))


def _tape_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold("lots.T1.tape_width_mm")


def _other_batch(draft: Draft, asked: Asked) -> None:
    seam = draft.spare(asked.parts, "rolls")
    batch = f"1{draft.between(100, 899, 0):.0f}"
    new_roll(draft, drops_at(draft, seam)[1], 41, batch)


def _batch_gap(draft: Draft, asked: Asked) -> None:
    drop = drops_at(draft, draft.one_of(asked.parts))[0]
    draft.withhold(f"rolls.{draft.text(f'drops.{drop}.roll')}.batch")


def _far_roll(draft: Draft, asked: Asked) -> None:
    seam = draft.spare(asked.parts, "rolls")
    new_roll(draft, drops_at(draft, seam)[1], 30 + int(draft.between(0, 9)))


def _order_gap(draft: Draft, asked: Asked) -> None:
    seam = draft.spare(asked.parts, "rolls")
    roll = new_roll(draft, drops_at(draft, seam)[1], 22)
    draft.withhold(f"rolls.{roll}.roll_number", f"rolls.{roll}.order_in_dyeing")


def new_roll(draft: Draft, drop: str, order: int, batch: str = "") -> str:
    """Cut a drop, and those of its roll after it, from another; return its id."""
    roll = f"R{len(draft.ids('rolls')) + 1}"
    old = draft.text(f"drops.{drop}.roll")
    put_roll(draft, roll, order, batch or draft.text(f"rolls.{old}.batch"))
    for name in draft.ids("drops"):
        if int(name[1:]) >= int(drop[1:]) and draft.text(f"drops.{name}.roll") == old:
            draft.values[f"drops.{name}.roll"] = roll
    return roll


def _turned(draft: Draft, asked: Asked) -> None:
    """Turn the drop beyond the seam: it alone, or all that were cut after it."""
    beyond = drops_at(draft, draft.one_of(asked.parts))[1]
    later = draft.rng.random() < 0.5
    for drop in draft.ids("drops"):
        if drop == beyond or (later and int(drop[1:]) > int(beyond[1:])):
            draft.put(f"drops.{drop}", pile_direction_deg=SOUTH_DEG)


def _pile_gap(draft: Draft, asked: Asked) -> None:
    seam = draft.one_of(asked.parts)
    draft.withhold(f"drops.{drops_at(draft, seam)[1]}.pile_direction_deg")


def _offset(draft: Draft, asked: Asked) -> None:
    draft.put(f"seams.{draft.one_of(asked.parts)}", offset_mm=draft.between(5, 14, 0))


def _offset_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"seams.{draft.one_of(asked.parts)}.offset_mm")


def _window_along(draft: Draft, asked: Asked) -> None:
    put_window(draft, draft.one_of(("east", "west")))


def _window_gap(draft: Draft, asked: Asked) -> None:
    under = f"areas.{draft.area}.windows.W1"
    draft.withhold(f"{under}.line_m", f"{under}.faces")


def _by_the_pivot(draft: Draft, asked: Asked) -> None:
    seam = draft.one_of(asked.parts)
    at = round(seam_x_m(draft, seam) + draft.between(0.1, 0.3, 2), 2)
    draft.values[f"areas.{draft.area}.pivots_m"] = ((at, 1.2),)


def _pivot_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"areas.{draft.area}.pivots_m")


def _across_the_way(draft: Draft, asked: Asked) -> None:
    x = draft.line(f"areas.{draft.area}.traffic_m")[0][0]
    aim = seam_x_m(draft, draft.one_of(asked.parts))
    end = min(width_m(draft) - 0.2, aim + 0.9) if aim > x else max(0.2, aim - 0.9)
    middle = round(length_m(draft) / 2, 2)
    path = ((x, 0.2), (x, middle), (round(end, 2), middle))
    draft.values[f"areas.{draft.area}.traffic_m"] = path


def _way_gap(draft: Draft, asked: Asked) -> None:
    draft.withhold(f"areas.{draft.area}.traffic_m")


def _into_the_door(draft: Draft, asked: Asked) -> None:
    area = f"areas.{draft.area}"
    kept = {name: draft.values[f"{area}.{name}"] for name in ("traffic_m", "pivots_m")}
    door = next(name for name in draft.ids("edges") if not name.startswith("E"))
    put_door(draft, door, seam_x_m(draft, draft.one_of(asked.parts)))
    draft.put(area, **kept)


def _door_gap(draft: Draft, asked: Asked) -> None:
    for path in list(draft.values):
        if path.startswith(f"areas.{draft.area}.doors.") and path.endswith(".line_m"):
            draft.withhold(path)


def _joint_below(draft: Draft, asked: Asked) -> None:
    """Let an expansion joint run across the drop."""
    corners = draft.line(f"drops.{draft.one_of(asked.parts)}.outline_m")
    middle = round(length_m(draft) * 0.6, 2)
    west, east = corners[0][0], corners[1][0]
    joint = ((round(west - 0.3, 2), middle), (round(east + 0.3, 2), middle))
    draft.values[f"areas.{draft.area}.expansion_joints_m"] = (joint,)


AMISS: Mapping[str, Maker] = {
    "edges-cut": _cut_wrong,
    "edges-yes": _flag_wrong,
    "trimmed-enough": _trimmed_little,
    "sealed-at-all": _not_sealed,
    "edges-sealed": _one_edge,
    "closed-while-wet": _closed_late,
    "sealer-used": _sealer_off,
    "surplus-width": _over_full,
    "gap-at-seam": _gap_open,
    "loaded-after-set": _loaded_soon,
    "tape-width": _narrow_tape,
    "same-batch": _other_batch,
    "rolls-in-order": _far_roll,
    "pile-one-way": _turned,
    "pattern-offset": _offset,
    "across-light": _window_along,
    "near-pivot": _by_the_pivot,
    "across-traffic": _across_the_way,
    "into-doorway": _into_the_door,
    "over-moving-joint": _joint_below,
}

GAPS: Mapping[str, Maker] = {
    "edges-cut": _cut_gap,
    "edges-yes": _flag_gap,
    "trimmed-enough": _trim_gap,
    "sealed-at-all": _sealed_gap,
    "edges-sealed": _sealed_gap,
    "closed-while-wet": _bead_gap,
    "sealer-used": _sealer_gap,
    "surplus-width": _surplus_gap,
    "gap-at-seam": _meet_gap,
    "loaded-after-set": _closed_gap,
    "tape-width": _tape_gap,
    "same-batch": _batch_gap,
    "rolls-in-order": _order_gap,
    "pile-one-way": _pile_gap,
    "pattern-offset": _offset_gap,
    "across-light": _window_gap,
    "near-pivot": _pivot_gap,
    "across-traffic": _way_gap,
    "into-doorway": _door_gap,
}
