"""The floor plan shows every drop and seam, keeps labels apart, and cannot run."""

from __future__ import annotations

import itertools
import re
from dataclasses import replace
from types import ModuleType
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from diagnose.model import Place
from diagnose.record import model as record
from diagnose.reports.labels import Box, Sheet, Wish, cross
from diagnose.reports.plan import PlanDrawing, complaint_pins, draw_area, draw_job
from diagnose.reports.svg import ROLES, page_colours

JOBS = ("beacon-clinic", "larch-house", "millbrook-school", "quayside-office", "rowan-lounge")
FIELD, MARGIN = Box(12, 34, 246, 300), Box(268, 34, 90, 300)


def test_plan_names_every_drop_and_seam(made: ModuleType) -> None:
    job = made.a_job().the_job()
    drawn = " ".join(drawing.svg for drawing in draw_job(job))
    assert drawn
    for name in (*job.drops, *job.seams):
        assert name in drawn


def test_plan_of_hostile_text_is_sound_xml_without_scripts(made: ModuleType) -> None:
    for drawing in draw_job(made.a_job().hostile_job()):
        tree = ElementTree.fromstring(drawing.svg)
        tags = {element.tag.rsplit("}", 1)[-1] for element in tree.iter()}
        assert "script" not in tags
        assert not [
            key for element in tree.iter() for key in element.attrib if key.startswith("on")
        ]


def test_a_complaint_is_pinned_in_its_own_area_only(made: ModuleType) -> None:
    job = made.a_job().the_job()
    pins = complaint_pins(job)
    here, there = draw_area(job, "day-room", pins), draw_area(job, "corridor", pins)
    assert here is not None
    assert there is not None
    assert here.pinned == ("complaint Q1",)
    assert "Pinned: complaint Q1 at seam:S1." in here.description
    assert there.pinned == ()
    for place in (there.svg, there.description):
        assert "complaint" not in place
        assert "Pinned" not in place


def test_every_colour_of_a_plan_has_a_dark_counterpart(made: ModuleType) -> None:
    for drawing in draw_job(made.a_job().the_job()):
        for element in ElementTree.fromstring(drawing.svg).iter():
            roles = element.attrib.get("class", "").split()
            for kind in ("fill", "stroke"):
                colour = element.attrib.get(kind, "none")
                own = [ROLES[role][1] for role in roles if ROLES[role][0] == kind]
                assert colour == "none" or colour.startswith("url(#") or colour in own
    dark = page_colours("dark")
    assert all(f".{role}{{" in dark for role in ROLES)


def luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.2 defines it."""
    parts = [int(colour[index : index + 2], 16) / 255 for index in (1, 3, 5)]
    red, green, blue = (p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


@pytest.mark.parametrize("column", [1, 2], ids=["light", "dark"])
@pytest.mark.parametrize("ground", ["paper", "panel", "band"])
def test_text_and_lines_stand_out(column: int, ground: str) -> None:
    """Contrast 4.5 for text and 3 for lines: WCAG 2.2, 1.4.3 and 1.4.11."""
    for role, least in [
        ("ink", 4.5), ("quiet", 4.5), ("mark", 4.5), ("for", 4.5), ("against", 4.5),
        ("line", 3.0), ("faint", 3.0), ("mark-line", 3.0), ("for-line", 3.0), ("against-line", 3.0),
    ]:  # fmt: skip
        one, other = luminance(ROLES[role][column]), luminance(ROLES[ground][column])
        ratio = (max(one, other) + 0.05) / (min(one, other) + 0.05)
        assert ratio >= least, f"{role} on {ground}: {ratio:.2f}"


def assert_labels_apart(drawing: PlanDrawing) -> None:
    for one, other in itertools.combinations(drawing.labels, 2):
        assert not one.box.overlaps(other.box), (one.wish.text, other.wish.text)
        if one.led and other.led:
            assert not cross(one, other), (one.wish.text, other.wish.text)


def test_labels_of_the_invented_jobs_keep_apart(made: ModuleType) -> None:
    jobs = [made.invented_job(name) for name in JOBS]
    drawn = [plan for job in [*jobs, made.a_job().the_job()] for plan in draw_job(job)]
    assert len(drawn) >= 8
    for drawing in drawn:
        assert_labels_apart(drawing)


def test_a_crowded_corridor_has_no_crossing_leaders(made: ModuleType) -> None:
    a_job = made.a_job()
    job = a_job.the_job()
    doors = tuple(
        record.Door(id=f"D{n}", line_m=((2.0 * n, 2), (2.0 * n + 1, 2))) for n in range(1, 9)
    )
    readings = {
        f"M{n}": record.Reading(
            id=f"M{n}", kind="moisture-humidity", value=60 + n, unit="%", area="corridor",
            point_m=(1.1 * n, 0.3 + 0.2 * (n % 7)),
        )
        for n in range(1, 15)
    }  # fmt: skip
    crowded = replace(
        job,
        areas={**job.areas, "corridor": replace(job.areas["corridor"], doors=doors)},
        readings=readings,
    )
    drawing = draw_area(crowded, "corridor", [("complaint", Place("seam", "S2"))])
    assert drawing is not None
    assert sum(label.led for label in drawing.labels) >= 10
    assert_labels_apart(drawing)
    low = max(label.box.y + label.box.height for label in drawing.labels)
    height = re.search(r'viewBox="0 0 \S+ (\S+)"', drawing.svg)
    assert height
    assert low < float(height[1])


points = st.tuples(st.floats(12, 258), st.floats(34, 334))


@given(st.lists(points, min_size=2, max_size=25), st.booleans())
def test_labels_never_overlap_and_leaders_never_cross(
    at: list[tuple[float, float]], all_taken: bool
) -> None:
    sheet = Sheet(FIELD, MARGIN, [FIELD] if all_taken else [])
    placed = sheet.place(Wish(f"label {index}", x, y) for index, (x, y) in enumerate(at))
    assert len(placed) == len(at)
    for one, other in itertools.combinations(placed, 2):
        assert not one.box.overlaps(other.box)
        assert not (one.led and other.led and cross(one, other))
    assert all(label.box.y + label.box.height <= sheet.bottom() for label in placed if label.led)
