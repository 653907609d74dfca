"""A sound job: goods, base, people and dates, with nothing amiss and nothing left out.

Every figure is invented and lies within the limits of the rules that ship; a
test holds that no check deviates.  Times are given as spans (see `draft`).
"""

from __future__ import annotations

from datetime import date, timedelta

from diagnose.model import Facet, Place
from diagnose.practice.chance import pick
from diagnose.practice.job.draft import Draft
from diagnose.practice.job.plan import lay_out, length_m, width_m
from diagnose.practice.job.sound_laid import put_laying
from diagnose.practice.job.sound_read import put_readings

FIRST_MONDAY = date(2023, 10, 2)
"""Long enough ago that the complaint, too, lies behind whoever practises."""
YEAR_DAYS = 364
"""Whole weeks, so that a Monday stays one."""
WEEKS = (*range(10), *range(14, 22))
"""Work begins in the cold half of the year, when heating and frost matter, not at Christmas."""
WEEKDAYS = (0, 0, 3)
"""Monday or Thursday, so that what is done three days before is no Sunday's work."""
ZONE = "Europe/London"
TIMBER = ("timber-boards", "timber-sheet")
SCREEDS = ("cement-screed", "calcium-sulfate-screed")
MINERAL = ("concrete", *SCREEDS)
PEOPLE = ("AB", "CD", "EF", "GH", "JK", "LM", "NP", "RS", "TW")


def put_sound(
    draft: Draft, place: Place, title: str, *, plain: bool = False, age_days: float = 0.0
) -> date:
    """Fill a draft with a sound job; return the day on which the work begins.

    A job that is to be `age_days` old at the complaint begins so many years earlier.
    """
    start = FIRST_MONDAY - timedelta(days=YEAR_DAYS * int(age_days // YEAR_DAYS))
    start += timedelta(days=7 * pick(draft.rng, WEEKS))
    start += timedelta(days=pick(draft.rng, WEEKDAYS))
    people = sorted(PEOPLE, key=lambda _: draft.rng.random())
    draft.values |= {
        "title": title,
        "invented": True,
        "zone": ZONE,
        "method": draft.method,
        f"people.{people[0]}": "fitter",
        f"people.{people[1]}": "second fitter",
        f"people.{people[2]}": "site manager",
    }
    draft.put("site", name=title, storey="ground")
    draft.put("site", built_year=1960 + int(draft.rng.random() * 60), asbestos_survey="clear")
    _put_contract(draft, start)
    _put_product(draft, plain=plain)
    draft.put(f"areas.{draft.area}", name=draft.site.room.capitalize(), use=draft.site.room)
    lay_out(draft, place)
    _put_base(draft)
    put_laying(draft, start)
    put_readings(draft)
    _put_handover(draft, people[0])
    return start


def _put_contract(draft: Draft, start: date) -> None:
    ordered = start - timedelta(days=40 + int(draft.rng.random() * 20))
    draft.put(
        "contract",
        client=f"{draft.site.caller} (invented)",
        ordered=f"{draft.site.colour} carpet, {width_m(draft):g} m by {length_m(draft):g} m",
        ordered_on=ordered,
        chosen_by="specifier",
        use_class="33",
        expected_use=f"a {draft.site.room} in daily use",
        castor_chairs=True,
        rolling_loads=False,
    )
    if draft.method != "tile":
        agreed = ordered - timedelta(days=2 + int(draft.rng.random() * 6))
        draft.put("contract", seam_plan_agreed_on=agreed)


def _put_product(draft: Draft, *, plain: bool) -> None:
    for facet in (Facet.PILE, Facet.CONSTRUCTION, Facet.BACKING, Facet.FIBRE):
        if draft.facet(facet):
            draft.values[f"product.{facet}"] = draft.facet(facet)
    draft.put(
        "product",
        name=f"{draft.site.colour} sample (invented)",
        method=draft.method,
        total_mass_g_m2=draft.between(1900, 2900, 0),
        thickness_mm=draft.between(6.5, 9.5),
        use_class="33",
        castor_rated=True,
        light_fastness=6,
        thermal_resistance_m2k_w=draft.between(0.08, 0.15, 2),
        dimensional_change_percent=draft.between(0.05, 0.2, 2),
        methods_allowed=(draft.method,),
        data_sheet="carpet sheet, issue 3 (invented)",
    )
    if draft.method == "tile":
        layouts = ("monolithic", "quarter-turn")
        draft.put("product", tile_side_mm=500, tile_layouts=layouts)
    else:
        draft.put("product", width_mm=2000)
    if draft.method != "tile" and not plain:
        repeat = pick(draft.rng, (80, 120, 160, 240))
        draft.put("product", repeat_length_mm=repeat, repeat_width_mm=repeat * 5 // 8)


def _put_base(draft: Draft) -> None:
    kind = draft.facet(Facet.SUBFLOOR)
    area, under = f"areas.{draft.area}", f"areas.{draft.area}.subfloor"
    draft.put(
        area,
        weathertight=True,
        wet_trades_finished=True,
        painting_finished=True,
        overhead_work_finished=True,
        ventilation_running=True,
    )
    draft.put(
        under,
        kind=kind,
        old_adhesive="removed",
        removal="mechanical",
        smoothing="smoothing compound",
        smoothing_mm=3,
        smoothing_dried_h=draft.between(28, 60, 0),
        primer="primer of the same maker",
        cleaned="vacuumed",
        scratch_sound=True,
        gaps_sealed=True,
        moving_joint=False,
        painted=False,
    )
    if kind in TIMBER:
        draft.put(under, treated_timber=False, board_gap_mm=draft.between(0.2, 0.8))
        draft.put(under, overlay_fixing_grid_mm=150, overlay_fixing_edge_mm=100)
    if kind in MINERAL:
        draft.put(under, damp_proof_membrane="yes", dries_from="one-face")
        draft.put(under, thickness_mm=draft.between(50, 75, 0))
        draft.put(under, age_days=draft.between(200, 420, 0))
    if kind == "old-floor":
        draft.put(under, asphalt_age_days=draft.between(400, 4000, 0))
    warm = draft.facet(Facet.HEATING) or "none"
    draft.put(f"{area}.heating", kind=warm)
    if warm == "underfloor":
        draft.put(
            f"{area}.heating",
            surface_max_c=draft.between(24, 26.5),
            bond_line_max_c=draft.between(23, 26),
            ramp_c_per_day=draft.between(2, 4.5),
            carpet_approved=True,
            services_located=True,
        )
        draft.spans |= {"heating.off_before_h": draft.between(208, 216, 0)}
        draft.spans |= {"heating.on_after_h": draft.between(52, 80, 0)}


def _put_handover(draft: Draft, fitter: str) -> None:
    draft.put(
        "completion",
        walked_over=True,
        self_check_by=fitter,
        protection="breathable-paper",
        heating_on=True,
        care_advice_given=True,
        traffic_hours_told=True,
        warm_limit_told=True,
        last_trade=True,
    )
    draft.spans["traffic_h"] = draft.between(25, 50, 0)
    draft.spans["furniture_h"] = draft.between(73, 100, 0)


def area_id(room: str) -> str:
    """Return the id of a room: `reading-room`."""
    return "-".join(room.replace("-", " ").split())
