"""Adhesive: laid in time, enough of it, right for back and base, above the dew point.

Times count from the end of spreading, as data sheets do; the record seldom
says more.  Amounts are compared per m2.

References
----------
.. [1] CRI 104/105 12.2 and the definitions of CRI 105 (2019): open time runs
   from spreading to placing.
.. [2] Geometry of the notch: `diagnose.physics.adhesive`.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from diagnose.checks.found import Found, against, deviates, in_order, judged, not_for_this, silent
from diagnose.checks.look import Look, hours_between
from diagnose.checks.words import moment, num
from diagnose.physics.adhesive import Notch, notch, parse_notch, used_per_m2
from diagnose.physics.air import dew_point_c
from diagnose.physics.guard import OutOfRangeError

DENSITY_LOW_KG_L = 1.2
DENSITY_HIGH_KG_L = 1.5
"""Band of densities of dispersion adhesives; from memory, to be verified."""


def laid_too_soon(look: Look) -> Found | None:
    """First carpet into the adhesive no sooner than the waiting time; tack not wet."""
    return _laid(look, "low", "laid_at", "wet", "the first carpet")


def laid_too_late(look: Look) -> Found | None:
    """Last carpet into the adhesive within the open time; tack not dry."""
    return _laid(look, "high", "laid_end_at, laid_at", "dry", "the last carpet")


def _laid(look: Look, side: str, ends: str, bad_tack: str, who: str) -> Found | None:
    tack = look.word(look.path("tack"), needed=False)
    start = look.time(look.path("ended_at"), needed=False) or look.time(look.path("started_at"))
    names = [look.path(name.strip()) for name in ends.split(",")]
    end = next((t for name in names if (t := look.time(name, needed=False))), None)
    end = end or look.time(names[-1])
    limit = look.limit(side)
    if start is None or end is None or limit is None:
        return _tack_only(tack, bad_tack)
    hours = hours_between(start, end)
    if hours is None or hours < 0:
        reason = "a time has no offset" if hours is None else "laid before the spreading ended"
        return _tack_only(tack, bad_tack) or silent(f"{reason}: the times do not fit")
    minutes = hours * 60
    line = f"{moment(start)} spread, {moment(end)} laid: {num(minutes, 'min')}"
    found = against(minutes, limit, f"{who} laid after", line, side=side, places=0)
    if tack == bad_tack and limit.holds(minutes, side):
        words = f"adhesive recorded as {tack} when laid, {num(minutes, 'min', 0)} after spreading"
        return deviates(words, *found.working, f"state when laid: {tack}", excess=0.1)
    return found


def _tack_only(tack: str | None, bad: str) -> Found | None:
    if tack == bad:
        return deviates(f"adhesive recorded as {tack} when laid", f"state when laid: {tack}")
    return None


def mass_for_area(look: Look) -> Found | None:
    """Adhesive used per m2 against the sheet's rate, on one side."""
    side = look.option("side", "low")
    mass = look.number(look.path("mass_used_kg"))
    area = look.number(look.path("area_m2"))
    limit = look.limit(side)
    if mass is None or area is None or limit is None:
        return None
    if area <= 0 or mass < 0:
        return silent(f"{num(mass, 'kg')} on {num(area, 'm²')} cannot be worked out")
    rate = used_per_m2(mass, area) * 1000
    line = f"used / area = {num(mass, 'kg')} / {num(area, 'm²')} = {num(rate, 'g/m²', 0)}"
    return against(rate, limit, "adhesive used", line, side=side, places=0)


def use_fits_notch(look: Look) -> Found | None:
    """What was used lies in the band that the recorded notch can spread.

    A share of 0.35 to 0.6 of the full groove is what published rates of such
    notches come to.  A mass is turned into a volume with both ends of a band
    of densities, so that only a clear misfit deviates.
    """
    shape = _notch(look)
    area = look.number(look.path("area_m2"))
    band = _volume_band_l(look)
    if shape is None or area is None or band is None:
        return None
    if area <= 0:
        return silent(f"an area of {num(area, 'm²')} cannot be worked out")
    low, high = (used_per_m2(volume, area) for volume in band)
    least, most = shape.likely_l_m2
    lines = (
        f"full groove = {num(shape.groove_mm2, 'mm²')} / pitch"
        f" {num(shape.width_mm + shape.gap_mm, 'mm')} = {num(shape.full_l_m2, 'L/m²', 3)}",
        f"of that 0.35 to 0.6 = {num(least, '', 3)} to {num(most, 'L/m²', 3)}",
        f"used = {num(low, '', 3)} to {num(high, 'L/m²', 3)} on {num(area, 'm²')}",
    )
    if high < least:
        words = f"at most {num(high, 'L/m²')} used; this notch spreads {num(least, 'L/m²')} or more"
        return deviates(words, *lines, excess=(least - high) / least)
    words = f"{num(low)} to {num(high, 'L/m²')} used; this notch spreads {num(least)} to {num(most, 'L/m²')}"
    return in_order(words, *lines)


def _volume_band_l(look: Look) -> tuple[float, float] | None:
    volume = look.number(look.path("volume_used_l"), needed=False)
    if volume is not None and volume >= 0:
        return volume, volume
    mass = look.number(look.path("mass_used_kg"))
    if mass is None or mass < 0:
        return None
    return mass / DENSITY_HIGH_KG_L, mass / DENSITY_LOW_KG_L


def notch_reaches_rate(look: Look) -> Found | None:
    """A notch whose full groove holds less than the rate needed cannot spread it."""
    shape = _notch(look)
    limit = look.limit("low")
    if shape is None or limit is None or limit.low is None:
        return None
    line = (
        f"full groove = {num(shape.groove_mm2, 'mm²')} / pitch"
        f" {num(shape.width_mm + shape.gap_mm, 'mm')} = {num(shape.full_l_m2, 'L/m²', 3)}, a ceiling"
    )
    return against(shape.full_l_m2, limit, "the notch holds at the very most", line, side="low")


def _notch(look: Look) -> Notch | None:
    shape = look.word(look.path("notch_shape"), needed=False)
    sizes = [
        look.number(look.path(f"notch_{name}_mm"), needed=False)
        for name in ("width", "depth", "gap")
    ]
    width, depth, gap = sizes
    if width is not None and depth is not None and gap is not None and shape:
        return notch(width, depth, gap, shape)
    text = look.word(look.path("notch"))
    if text is None:
        return None
    try:
        return parse_notch(text, shape)
    except (OutOfRangeError, ArithmeticError):
        look.lack(f"notch in a readable form ({text} is not)")
        return None


def margin_over_dew_point(look: Look) -> Found | None:
    """Floor surface warmer than the dew point of the air while spreading."""
    floor = look.number(look.path("floor_c"))
    air = look.number(look.path("air_c"))
    humidity = look.number(look.path("humidity_percent"))
    limit = look.limit("low")
    if floor is None or air is None or humidity is None or limit is None:
        return None
    dew = dew_point_c(air, humidity)
    lines = (
        "Magnus: g = ln(RH/100) + 17.62 t/(243.12 + t); dew point = 243.12 g/(17.62 - g)",
        f"t = {num(air, '°C')}, RH = {num(humidity, '%')}: dew point {num(dew, '°C', 1)}",
        f"floor - dew point = {num(floor)} - {num(dew, '', 1)} = {num(floor - dew, 'K', 1)}",
    )
    return against(floor - dew, limit, "floor above the dew point by", *lines, places=1)


def suits_backing(look: Look) -> Found | None:
    """The lot's sheet names the backing of the carpet."""
    lot = look.word(look.path(look.option("lot", "lot")))
    backing = look.word("product.backing")
    if lot is None:
        return None
    look.also("lot", lot)
    named = look.words(f"lots.{lot}.for_backings")
    if not named or backing is None:
        return None
    line = f"lot {lot} is for: {', '.join(named)}; the backing is {backing}"
    words = "names" if backing in named else "does not name"
    return judged(backing in named, f"the sheet of lot {lot} {words} the {backing} backing", line)


def tacky_on_closed_base(look: Look) -> Found | None:
    """On a closed base below an impervious back water cannot leave: not laid wet."""
    base = look.word(look.path("base"))
    tack = look.word(look.path("tack"))
    if base is not None and base != "closed":
        return not_for_this(f"the base is {base}")
    if base is None or tack is None:
        return None
    backing = look.word("product.backing", needed=False) or "unknown"
    line = f"base {base}, backing {backing}, adhesive {tack} when laid"
    return judged(tack != "wet", f"laid into {tack} adhesive on a closed base", line)


CALCULATIONS: Mapping[str, Callable[[Look], Found | None]] = {
    "laid-too-soon": laid_too_soon,
    "laid-too-late": laid_too_late,
    "mass-for-area": mass_for_area,
    "use-fits-notch": use_fits_notch,
    "notch-reaches-rate": notch_reaches_rate,
    "margin-over-dew-point": margin_over_dew_point,
    "suits-backing": suits_backing,
    "tacky-on-closed-base": tacky_on_closed_base,
}
