"""The plan of an invented job: drops side by side, seams, walls, a door, a window.

The layout is that of `diagnose.practice.site`: drops from west to east, their
pile towards the north, edges E1 to E4 round from the north wall.
"""

from __future__ import annotations

from itertools import pairwise

from diagnose.model import Place
from diagnose.practice.job.draft import Draft

DOOR_M = 0.9
NORTH_DEG, SOUTH_DEG = 90.0, 270.0


def width_m(draft: Draft) -> float:
    """Return how far the room reaches from west to east, m."""
    return draft.site.width_cm / 100


def length_m(draft: Draft) -> float:
    """Return how far the room reaches from south to north, m."""
    return draft.site.length_cm / 100


def drop_lines_m(draft: Draft, place: Place) -> list[float]:
    """Return where drops begin and end, from west to east, m."""
    wide = width_m(draft)
    if draft.method != "tile":
        step = draft.site.drop_cm / 100
        count = round((draft.site.width_cm + 30) / draft.site.drop_cm)
        return [*(step * number for number in range(count)), wide]
    number = int("".join(ch for ch in place.name if ch.isdigit()) or "1")
    count = number + 1 if place.kind in ("seam", "drop") else 2
    return [round(wide * each / count, 2) for each in range(count + 1)]


def lay_out(draft: Draft, place: Place) -> None:
    """Put area, drops, seams, edges, door and window on the plan."""
    wide, long = width_m(draft), length_m(draft)
    area, lines = draft.area, drop_lines_m(draft, place)
    outline = ((0.0, 0.0), (wide, 0.0), (wide, long), (0.0, long))
    draft.put(f"areas.{area}", outline_m=outline)
    for number, (west, east) in enumerate(pairwise(lines), start=1):
        corners = ((west, 0.0), (east, 0.0), (east, long), (west, long))
        draft.put(f"drops.D{number}", area=area, outline_m=corners, pile_direction_deg=NORTH_DEG)
    for number, at in enumerate(lines[1:-1], start=1):
        draft.put(
            f"seams.S{number}",
            area=area,
            drops=(f"D{number}", f"D{number + 1}"),
            line_m=((at, 0.0), (at, long)),
            kind="side",
        )
    walls = ((0.0, long), (wide, long), (wide, 0.0), (0.0, 0.0), (0.0, long))
    for number in range(4):
        line = (walls[number], walls[number + 1])
        draft.put(f"edges.E{number + 1}", area=area, kind="wall", line_m=line)
    name = place.name if place.kind == "doorway" else "DW1"
    put_door(draft, name, (lines[0] + lines[1]) / 2)
    put_window(draft, draft.site.window)


def put_door(draft: Draft, name: str, middle: float) -> None:
    """Put the door into the south wall, and the way of the feet from it."""
    line = ((round(middle - DOOR_M / 2, 2), 0.0), (round(middle + DOOR_M / 2, 2), 0.0))
    door = f"areas.{draft.area}.doors.{name}"
    draft.put(door, line_m=line, leaf_centre_m=(round(middle, 2), 0.0), kept_closed=False)
    draft.put(f"edges.{name}", area=draft.area, kind="doorway", door=name, line_m=line)
    free = _off_the_seams(draft, middle)
    way = ((free, 0.2), (free, round(length_m(draft) - 0.6, 2)))
    draft.put(f"areas.{draft.area}", traffic_m=way, pivots_m=((free, 0.8),))


def put_window(draft: Draft, wall: str) -> None:
    """Put the window into a wall; it takes the place of any other."""
    wide, long = width_m(draft), length_m(draft)
    ends = {
        "north": ((wide * 0.2, long), (wide * 0.8, long)),
        "east": ((wide, long * 0.2), (wide, long * 0.8)),
        "south": ((wide * 0.6, 0.0), (wide * 0.9, 0.0)),
        "west": ((0.0, long * 0.2), (0.0, long * 0.8)),
    }[wall]
    line = tuple((round(x, 2), round(y, 2)) for x, y in ends)
    draft.put(f"areas.{draft.area}.windows.W1", line_m=line, faces=wall)


def seam_x_m(draft: Draft, seam: str) -> float:
    """Return how far east a seam lies, m."""
    return draft.line(f"seams.{seam}.line_m")[0][0]


def drops_at(draft: Draft, seam: str) -> tuple[str, str]:
    """Return the drops to the west and to the east of a seam."""
    number = int(seam[1:])
    return f"D{number}", f"D{number + 1}"


def _off_the_seams(draft: Draft, x: float) -> float:
    """Return the middle of the drop that lies at or just east of x."""
    if draft.method == "tile":
        return round(x, 2)
    step = draft.site.drop_cm / 100
    return round(int(x / step) * step + min(1.0, step / 2), 2)
