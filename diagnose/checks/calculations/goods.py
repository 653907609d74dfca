"""The goods against what they are for: class, method, pattern, tiles, heating.

References
----------
.. [1] EN 1307 use classes, second-hand: 21 to 23 domestic, 31 to 33 commercial.
.. [2] Bow and skew: `diagnose.physics.pattern`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping

from diagnose.checks.found import Found, against, in_order, judged, not_for_this, silent
from diagnose.checks.look import Look, hours_between
from diagnose.checks.words import moment, num
from diagnose.physics.pattern import per_breadth_mm_m
from diagnose.physics.tile import ten_tile_deviation_mm


def class_high_enough(look: Look) -> Found | None:
    """Use class of the goods at least that of the contract."""
    given = look.word("product.use_class")
    wanted = look.word("contract.use_class")
    if given is None or wanted is None:
        return None
    one, other = (re.search(r"\d{2}", text) for text in (given, wanted))
    if one is None or other is None:
        return silent(f"use class {given} cannot be compared with {wanted}")
    kept = int(one.group()) >= int(other.group())
    words = f"class {one.group()} for a floor that asks for {other.group()}"
    return judged(kept, words, f"{one.group()} against at least {other.group()}", excess=1.0)


def rated_for(look: Look) -> Found | None:
    """Goods rated for a use that the contract names; otherwise the question is void."""
    wanted = look.flag(f"contract.{look.option('use')}")
    if wanted is False:
        return not_for_this(f"{look.option('what')} are not expected")
    rated = look.flag(f"product.{look.option('rating')}")
    if wanted is None or rated is None:
        return None
    words = "rated" if rated else "not rated"
    line = f"expected: yes; rated: {'yes' if rated else 'no'}"
    return judged(rated, f"goods {words} for {look.option('what')}", line, excess=1.0)


def method_allowed(look: Look) -> Found | None:
    """Method of laying is one that the sheet of the carpet allows."""
    method = look.word("method", needed=False) or look.word("product.method")
    allowed = look.words("product.methods_allowed")
    if method is None or not allowed:
        return None
    kept = method in allowed
    words = "allows" if kept else "does not allow"
    line = f"laid {method}; allowed: {', '.join(allowed)}"
    return judged(kept, f"the sheet of the carpet {words} {method}", line, excess=1.0)


def layout_allowed(look: Look) -> Found | None:
    """Layout of a field of tiles is one that the sheet allows."""
    layout = look.word(look.path("tile_layout"))
    allowed = look.words("product.tile_layouts")
    if layout is None or not allowed:
        return None
    kept = layout in allowed
    words = "allows" if kept else "does not allow"
    line = f"laid {layout}; allowed: {', '.join(allowed)}"
    return judged(kept, f"the sheet of the tiles {words} {layout}", line, excess=1.0)


def ten_tiles(look: Look) -> Found | None:
    """Ten laid tiles against ten nominal sides."""
    measured = look.number(look.path("tile_ten_mm"))
    side = look.number("product.tile_side_mm")
    limit = look.limit()
    if measured is None or side is None or limit is None:
        return None
    off = ten_tile_deviation_mm(measured, side)
    line = f"{num(measured, 'mm')} - 10 × {num(side, 'mm')} = {num(off, 'mm')}"
    return against(off, limit, "ten tiles differ by", line)


def pattern_measured(look: Look) -> Found | None:
    """Bow, skew and repeat of a patterned roll were measured before cutting."""
    if not _patterned(look):
        return not_for_this("no pattern repeat is given")
    names = ("bow_mm", "skew_mm", "repeat_found_mm")
    found = {name: look.number(look.path(name)) for name in names}
    if None in found.values():
        return None
    lines = [
        f"{name.removesuffix('_mm').replace('_', ' ')}: {num(v or 0, 'mm')}"
        for name, v in found.items()
    ]
    return in_order("bow, skew and repeat were measured", *lines)


def distortion(look: Look) -> Found | None:
    """Bow or skew of a roll in mm for each m of its breadth."""
    field = look.option("field")
    if look.number(look.path(field), needed=False) is None and not _patterned(look):
        return not_for_this("no pattern repeat is given")
    offset = look.number(look.path(field))
    width = look.number(look.path("width_mm"), needed=False) or look.number("product.width_mm")
    limit = look.limit("high")
    if offset is None or width is None or limit is None:
        return None
    slope = per_breadth_mm_m(offset, width)
    line = f"{num(abs(offset), 'mm')} / {num(width / 1000, 'm')} = {num(slope, 'mm/m', 1)}"
    return against(slope, limit, look.option("what"), line, side="high", places=1)


def _patterned(look: Look) -> bool:
    names = ("length", "width")
    return any(look.number(f"product.repeat_{name}_mm", needed=False) for name in names)


def number_of_lot(look: Look) -> Found | None:
    """A number of a lot of one kind, such as the thickness of underlay."""
    kind = look.word(look.path("kind"), needed=False)
    if kind is not None and kind != look.option("kind"):
        return not_for_this(f"the lot is {kind}, not {look.option('kind')}")
    value = look.number(look.path(look.option("field")))
    limit = look.limit(look.option("side"))
    if value is None or limit is None:
        return None
    return against(value, limit, look.option("what"), side=look.option("side"))


def change_within(look: Look) -> Found | None:
    """Dimensional change of the laboratory test, growth or shrinkage."""
    value = look.number("product.dimensional_change_percent")
    limit = look.limit("high")
    if value is None or limit is None:
        return None
    line = f"size of {num(value, '%')} = {num(abs(value), '%')}"
    return against(abs(value), limit, "dimensional change", line, side="high")


def heating_off_around(look: Look) -> Found | None:
    """Floor heating off long enough before laying and after it."""
    off, on = (
        look.time(look.path("heating.off_from")),
        look.time(look.path("heating.on_again_from")),
    )
    start, end = look.time("dates.started_at"), look.time("dates.finished_at")
    limit = look.limit("low")
    if off is None or on is None or start is None or end is None or limit is None:
        return None
    before, after = hours_between(off, start), hours_between(end, on)
    if before is None or after is None:
        return silent("a time has no offset, so nothing can be counted")
    lines = (
        f"off {moment(off)}, work began {moment(start)}: {num(before, 'h', 1)}",
        f"work ended {moment(end)}, on again {moment(on)}: {num(after, 'h', 1)}",
    )
    return against(min(before, after), limit, "heating off for", *lines, side="low", places=1)


CALCULATIONS: Mapping[str, Callable[[Look], Found | None]] = {
    "class-high-enough": class_high_enough,
    "rated-for": rated_for,
    "method-allowed": method_allowed,
    "layout-allowed": layout_allowed,
    "ten-tiles": ten_tiles,
    "pattern-measured": pattern_measured,
    "distortion": distortion,
    "number-of-lot": number_of_lot,
    "change-within": change_within,
    "heating-off-around": heating_off_around,
}
