"""The laying of a sound job: rolls, lots, drops, spreads, seams, edges, and their spans."""

from __future__ import annotations

from datetime import date, timedelta

from diagnose.model import Facet
from diagnose.physics.sealer import sealer_needed_ml
from diagnose.practice.job.draft import Draft
from diagnose.practice.job.plan import length_m

DROPS_A_ROLL = 3
BEAD_MM = 3.2
WITH_ADHESIVE = ("adhered", "double-stick", "tile")
TAPED = ("stretch-in", "double-stick")
GRAMS_M2 = {"adhered": (370, 430), "double-stick": (370, 430), "tile": (110, 140)}
NOTCH = {"adhered": "2 x 2 x 3 V", "double-stick": "2 x 2 x 3 V", "tile": "1 x 1 x 2 V"}
WAIT_MIN = {"adhered": (10, 16), "double-stick": (10, 16), "tile": (40, 55)}
"""Minutes from the end of spreading to the first carpet."""
LAY_MIN = {"adhered": (8, 14), "double-stick": (8, 14), "tile": (20, 40)}


def put_laying(draft: Draft, start: date) -> None:
    """Put everything that is brought in and laid."""
    drops = draft.ids("drops")
    for number, drop in enumerate(drops):
        _put_drop(draft, drop, f"R{1 + number // DROPS_A_ROLL}")
    for number, roll in enumerate(dict.fromkeys(_roll(draft, drop) for drop in drops)):
        put_roll(draft, roll, 21 + number)
    _put_lots(draft, start)
    if draft.method in WITH_ADHESIVE:
        for number, drop in enumerate(drops, start=1):
            _put_spread(draft, f"SP{number}", drop)
    for seam in draft.ids("seams"):
        _put_seam(draft, seam)
    for edge in draft.ids("edges"):
        _put_edge(draft, edge)


def _roll(draft: Draft, drop: str) -> str:
    return draft.text(f"drops.{drop}.roll")


def put_roll(draft: Draft, roll: str, order: int, batch: str = "") -> None:
    """Put a roll, or a lot of tiles, with its time in the room."""
    first = next(iter(draft.ids("rolls")), "")
    batch = batch or draft.text(f"rolls.{first}.batch") or f"0{draft.between(400, 899, 0):.0f}"
    draft.put(
        f"rolls.{roll}",
        batch=batch,
        roll_number=order,
        order_in_dyeing=order,
        inspected=True,
        stored_where=draft.area,
        stored_flat=True,
        stored_c=draft.between(18, 21),
    )
    if draft.method != "tile":
        draft.put(
            f"rolls.{roll}",
            width_mm=2000,
            length_m=round(length_m(draft) * DROPS_A_ROLL + 1, 1),
            stack_height=1,
            bow_mm=draft.between(2, 8, 0),
            skew_mm=draft.between(2, 12, 0),
            edge_trueness_mm=draft.between(3, 18, 0),
        )
    if "product.repeat_length_mm" in draft.values:
        draft.put(f"rolls.{roll}", repeat_found_mm=draft.number("product.repeat_length_mm"))
    keep = f"conditioning.K{roll[1:]}"
    draft.put(keep, what=f"roll:{roll}", where=draft.area)
    draft.put(keep, unrolled=True, before_c=draft.between(11, 15))
    draft.spans[f"K{roll[1:]}.stay_h"] = draft.between(64.5, 71.5)


def _put_drop(draft: Draft, drop: str, roll: str) -> None:
    under = f"drops.{drop}"
    draft.put(under, roll=roll)
    if draft.method == "tile":
        tens = 10 * 500 + draft.between(-2, 2, 0)
        draft.put(under, tile_layout="quarter-turn", tile_ten_mm=tens)
        draft.put(under, tile_edge_fraction=draft.between(0.55, 0.9, 2))
        return
    needed = round(length_m(draft) * 1000)
    cut = needed + int(draft.between(80, 120, 0))
    draft.put(under, needed_length_mm=needed, cut_length_mm=cut, dry_fitted=True)
    way = draft.one_of(("row-parted", "thread-drawn"))
    for side in ("left", "right"):
        edge = f"{under}.edges.{side}"
        draft.put(edge, cut=way, blade_changed=True, trimmed_mm=draft.between(28, 36, 0))
    if draft.method == "stretch-in":
        wide = 2000
        share = draft.between(1.1, 1.4, 2)
        draft.put(under, stretch_tool="power-stretcher")
        put_stretch(draft, drop, "length", needed, share)
        put_stretch(draft, drop, "width", wide, share + draft.between(0, 0.3, 2))


def put_stretch(draft: Draft, drop: str, way: str, before_mm: float, percent: float) -> None:
    """Put a stretch of so many per cent, measured before and after."""
    after = round(before_mm * (1 + percent / 100) + 0.5)
    draft.values[f"drops.{drop}.{way}_before_mm"] = before_mm
    draft.values[f"drops.{drop}.{way}_after_mm"] = after


def _put_lots(draft: Draft, start: date) -> None:
    backing = draft.facet(Facet.BACKING)
    fits = tuple(dict.fromkeys([backing, "secondary"])) if backing else ("secondary",)
    for name, kind in _kinds(draft).items():
        draft.put(
            f"lots.{name}",
            kind=kind,
            name=f"{kind} of the job (invented)",
            batch=f"{name}{draft.between(1000, 8999, 0):.0f}",
            stored_where=draft.area,
        )
        if kind in ("adhesive", "sealer"):
            fresh = start + timedelta(days=int(draft.between(120, 300, 0)))
            draft.put(f"lots.{name}", expires_on=fresh, for_backings=fits)
        if kind == "adhesive":
            draft.put(f"lots.{name}", frozen=False, stored_low_c=draft.between(9, 15))
            draft.put(f"conditioning.K{name}", what=f"lot:{name}", where=draft.area)
            draft.spans[f"K{name}.stay_h"] = draft.between(64.5, 71.5)
    if "T1" in _kinds(draft):
        draft.put("lots.T1", tape_width_mm=draft.between(75, 95, 0))
    if "U1" in _kinds(draft):
        draft.put("lots.U1", underlay_mm=draft.between(6, 8.5))


def _kinds(draft: Draft) -> dict[str, str]:
    found = {"A1": "adhesive"} if draft.method in WITH_ADHESIVE else {}
    if draft.method != "tile":
        found["L1"] = "sealer"
    if draft.method in TAPED:
        found |= {"T1": "tape", "U1": "underlay"}
    return found


def _put_spread(draft: Draft, spread: str, drop: str) -> None:
    under, method = f"spreads.{spread}", draft.method
    west, east = _ends(draft, drop)
    size = round((east - west) * length_m(draft), 1)
    grams = draft.between(*GRAMS_M2[method], 0)
    draft.put(
        under,
        area=draft.area,
        drops=(drop,),
        lot="A1",
        layer="cushion" if method == "double-stick" else "floor",
        notch=NOTCH[method],
        blade_area_m2=draft.between(20, 110, 0),
        tack="tacky",
        base="closed" if draft.facet(Facet.BACKING) != "secondary" else "porous",
        air_c=draft.between(19.5, 22),
        humidity_percent=draft.between(44, 55, 0),
        floor_c=draft.between(18.5, 19.8),
        fan_used=False,
        area_m2=size,
        mass_used_kg=round(size * grams / 1000, 1),
    )
    wait = draft.between(*WAIT_MIN[method], 0)
    draft.spans |= {
        f"{spread}.wait_min": wait,
        f"{spread}.last_min": wait + draft.between(*LAY_MIN[method], 0),
    }
    if method == "tile":
        return
    draft.put(
        under,
        fold_line_met_wet=True,
        roller_kg=float(draft.one_of(("22", "30", "34"))),
        rolled_along=True,
        rolled_across=True,
        edges_hand_rolled=True,
        transfer_back_percent=100,
        transfer_floor_percent=100,
    )
    draft.spans[f"{spread}.roll_min"] = draft.between(6, 18, 0)
    slow = method == "double-stick" and draft.facet(Facet.CONSTRUCTION) == "woven"
    draft.spans[f"{spread}.again_h"] = draft.between(3.5, 4.5) if slow else draft.between(1, 2)


def _ends(draft: Draft, drop: str) -> tuple[float, float]:
    corners = draft.line(f"drops.{drop}.outline_m")
    return corners[0][0], corners[1][0]


def _put_seam(draft: Draft, seam: str) -> None:
    under = f"seams.{seam}"
    draft.put(under, seen_both_ends=True, roller="smooth")
    draft.spans[f"{seam}.closed_min"] = draft.between(2, 5, 0)
    draft.spans[f"{seam}.loaded_h"] = draft.between(25, 60, 0)
    if draft.method == "tile":
        return
    need = sealer_needed_ml(length_m(draft), 2, BEAD_MM)
    draft.put(
        under,
        edges_sealed=2,
        sealer_lot="L1",
        sealer_used_ml=round(need * draft.between(0.8, 1.1, 2)),
        bead_mm=BEAD_MM,
        forced=False,
        surplus_mm=0,
        face_checked=True,
        face_clean=True,
        pile_freed=True,
        offset_mm=draft.between(0, 2),
    )
    if draft.method != "double-stick":
        draft.put(under, made_by="taped" if draft.method in TAPED else "stuck")
    draft.spans[f"{seam}.bead_min"] = draft.between(4, 14, 0)
    if draft.method in TAPED:
        draft.put(under, tape_lot="T1", heat_shield=True, iron_setting="middle")
        draft.put(under, underlay_joint_offset_mm=draft.between(180, 400, 0))


def _put_edge(draft: Draft, edge: str) -> None:
    under, doorway = f"edges.{edge}", not edge.startswith("E")
    if draft.method in WITH_ADHESIVE:
        draft.put(under, adhesive_to_edge=True, gap_mm=draft.between(0, 1))
        if draft.method != "tile":
            draft.put(under, trimmed_while_open=True, lifted_after_set=False, hand_rolled=True)
    else:
        span = round(length_m(draft), 1)
        thick = draft.number("product.thickness_mm")
        draft.put(
            under,
            tucked=True,
            gully_mm=round(min(thick, 9) - draft.between(0.5, 1.5), 1),
            gripper_width_mm=float(draft.one_of(("25", "33"))),
            gripper_rows=3 if span > 9.1 else 2,
            gripper_fixings_per_piece=2,
            gripper_stuck=True,
            span_m=span,
        )
    if doorway:
        draft.put(under, profile="cover-strip", step_mm=draft.between(0.3, 1.4))
        draft.put(under, joint_offset_mm=draft.between(0, 6, 0), sealed=True)
