"""The key below a floor plan: hatches of the batches and the signs used."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from diagnose.record.model import Area, Job
from diagnose.reports.plan_frame import PLAN_LEFT
from diagnose.reports.plan_hatch import hatch_id
from diagnose.reports.svg import WIDTH, Shape, label, polygon, polyline, shape, shorten

ROW = 20.0


def key_of(
    job: Job, area: Area, letters: Mapping[str, str], name: str, top: float, pinned: bool
) -> tuple[list[Shape], float]:
    """Return the key's shapes from `top` down, and the height of the whole sheet."""
    rows = [*_batches(letters, name), *_signs(job, area, pinned)]
    shapes: list[Shape] = []
    for index, (sign, text) in enumerate(rows):
        y = top + index * ROW
        shapes += [*_moved(sign, y), _row_label(text, y)]
    return shapes, top + len(rows) * ROW + 6


def _moved(sign: Iterable[Shape], y: float) -> list[Shape]:
    move = {"transform": f"translate({PLAN_LEFT:g} {y:.1f})"}
    return [Shape("g", move, children=tuple(sign))]


def _row_label(text: str, y: float) -> Shape:
    return label(PLAN_LEFT + 34, y + 11, shorten(text, WIDTH - PLAN_LEFT - 40))


def _batches(letters: Mapping[str, str], name: str) -> Iterable[tuple[list[Shape], str]]:
    for batch, letter in letters.items():
        box: dict[str, Any] = {"x": 0.0, "y": 1.0, "width": 26.0, "height": 13.0}
        swatch = [
            shape("rect", "panel", "faint", stroke_width=0.8, **box),
            shape("rect", fill=f"url(#{hatch_id(name, letter)})", **box),
        ]
        yield swatch, f"{letter}: batch {batch}"


def _signs(job: Job, area: Area, pinned: bool) -> Iterable[tuple[list[Shape], str]]:
    drops = [drop for drop in job.drops.values() if drop.area == area.id]
    if any(drop.pile_direction_deg is not None for drop in drops):
        yield _arrow(), "way the pile lies"
    if any(seam.area == area.id and seam.line_m for seam in job.seams.values()):
        yield [polyline([(0, 8), (26, 8)], "line", stroke_width=2, stroke_dasharray="7 3")], "seam"
    if area.doors:
        yield [polyline([(0, 8), (26, 8)], "line", stroke_width=3, stroke_dasharray="2 2")], "door"
    if area.windows:
        yield _window(), "window, daylight from here"
    if len(area.traffic_m) >= 2:
        yield (
            [
                polyline(
                    [(2, 8), (26, 8)],
                    "faint",
                    stroke_width=2,
                    stroke_dasharray="1 4",
                    stroke_linecap="round",
                )
            ],
            "main traffic",
        )
    if any(reading.area == area.id and reading.point_m for reading in job.readings.values()):
        yield [polygon([(13, 4), (17, 8), (13, 12), (9, 8)], "ink")], "reading"
    if pinned:
        ring = shape("circle", "paper", "mark-line", cx=13, cy=8, r=6.5, stroke_width=2)
        sign = label(13, 12, "!", role="mark", anchor="middle", bold=True)
        yield [ring, sign], "complaint"


def _arrow() -> list[Shape]:
    shaft = polyline([(0, 8), (20, 8)], "line", stroke_width=1.5)
    return [shaft, polygon([(26, 8), (20, 5), (20, 11)], "ink")]


def _window() -> list[Shape]:
    frame = polyline([(0, 5), (26, 5)], "for-line", stroke_width=4)
    rays = [
        polyline([(x, 8), (x, 15)], "for-line", stroke_width=1.2, stroke_dasharray="3 2")
        for x in (6.0, 13.0, 20.0)
    ]
    return [frame, *rays]
