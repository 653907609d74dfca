"""Places of a job: found by name, with the parts that belong to them."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from diagnose.errors import NotFoundError
from diagnose.model import Facet, Place
from diagnose.record.fold import fold
from diagnose.record.model import (
    Area,
    ClimateLog,
    Complaint,
    Conditioning,
    Door,
    Drop,
    Edge,
    Heating,
    Job,
    Later,
    Lot,
    Photo,
    Product,
    Reading,
    Roll,
    Seam,
    Spread,
    Subfloor,
)
from diagnose.record.place import find_place, floor_of, parts_at, places_of
from diagnose.record.plan_touch import touches
from diagnose.record.sheet import read_sheet

CASEBOOK = Path(__file__).parents[2] / "casebook"


@pytest.fixture(scope="module")
def larch() -> Job:
    path = CASEBOOK / "larch-house" / "job.yaml"
    sheet = read_sheet(path.read_bytes(), path.name)
    return fold(sheet.job_id, sheet.texts())


def ids(parts: tuple[object, ...]) -> list[str]:
    return [part.id for part in parts]  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("seam:S2", Place("seam", "S2")),
        ("seam S2", Place("seam", "S2")),
        (" Seam : s2 ", Place("seam", "S2")),
        ("S2", Place("seam", "S2")),
        ("L4", Place("drop", "L4")),
        ("corridor", Place("area", "corridor")),
        ("edge:E2", Place("edge", "E2")),
        ("E2", Place("edge", "E2")),
        ("doorway:E2", Place("doorway", "E2")),
        ("doorway:D1", Place("doorway", "E2")),
        ("D1", Place("doorway", "E2")),
        ("job", Place("job")),
        ("", Place("job")),
    ],
)
def test_a_place_is_found_by_its_name(larch: Job, text: str, place: Place) -> None:
    assert find_place(larch, text) == place


@pytest.mark.parametrize(
    ("text", "message", "near"),
    [
        ("seam:S9", "no seam S9", ("seam:S1", "seam:S2")),
        ("corridr", "no place corridr", ("area:corridor",)),
        ("lot:A1", "lot is no kind of place", ()),
        ("seem:S1", "seem is no kind of place", ("seam",)),
        ("doorway:E1", "no doorway E1", ("doorway:E2",)),
        ("x" * 5000, "no place xxx", None),
    ],
)
def test_a_place_that_is_not_there_names_near_ones(
    larch: Job, text: str, message: str, near: tuple[str, ...] | None
) -> None:
    with pytest.raises(NotFoundError, match=message) as caught:
        find_place(larch, text)
    assert len(str(caught.value)) < 200
    if near is not None:
        assert caught.value.near == near


def test_a_bare_name_that_two_places_have_is_asked_back() -> None:
    job = Job(id="j", seams={"X": Seam(id="X")}, drops={"X": Drop(id="X")})
    with pytest.raises(NotFoundError, match="X can be seam:X or drop:X") as caught:
        find_place(job, "X")
    assert caught.value.near == ("seam:X", "drop:X")


def test_every_place_of_a_job_has_its_parts(larch: Job) -> None:
    for place in places_of(larch):
        assert parts_at(larch, place).place == place
        assert find_place(larch, str(place)) == place


def test_a_seam_brings_its_drops_and_all_they_were_laid_with(larch: Job) -> None:
    parts = parts_at(larch, Place("seam", "S2"))
    assert ids(parts.seams) == ["S2"]
    assert ids(parts.drops) == ["L2", "L3"]
    assert ids(parts.rolls) == ["R1", "R2"]
    assert ids(parts.spreads) == ["SP2", "SP3"]
    assert ids(parts.lots) == ["A1", "S1"]
    assert ids(parts.areas) == ["day-room"]
    assert ids(parts.edges) == ["E1"]  # the seam runs into the wall E1, not to the door
    assert ids(parts.readings) == ["M1", "M2", "M3", "P1", "W1", "F1", "T1"]
    assert ids(parts.conditioning) == ["K1", "K2", "K3"]


def test_a_drop_brings_its_seams_and_the_edges_it_touches(larch: Job) -> None:
    parts = parts_at(larch, Place("drop", "L3"))
    assert (ids(parts.seams), ids(parts.edges)) == (["S2"], ["E1"])
    assert (ids(parts.rolls), ids(parts.conditioning)) == (["R2"], ["K2", "K3"])


def test_a_doorway_brings_its_door_and_the_drop_in_it(larch: Job) -> None:
    parts = parts_at(larch, Place("doorway", "E2"))
    assert [(each.area, each.door.id) for each in parts.doors] == [("day-room", "D1")]
    assert (ids(parts.drops), ids(parts.edges)) == (["L1"], ["E2"])


def test_an_area_brings_only_its_own(larch: Job) -> None:
    parts = parts_at(larch, Place("area", "corridor"))
    assert (ids(parts.drops), ids(parts.spreads), ids(parts.seams)) == (["L4"], ["SP4"], [])
    assert ids(parts.readings) == ["M4"]


def test_the_job_brings_everything(larch: Job) -> None:
    parts = parts_at(larch, Place("job"))
    assert len(parts.drops) == len(larch.drops)
    assert len(parts.readings) == len(larch.readings)
    assert len(parts.doors) == 2


@pytest.mark.parametrize("place", [Place("seam", "S9"), Place("lot", "A1"), Place("doorway", "")])
def test_parts_of_a_place_that_is_not_there(larch: Job, place: Place) -> None:
    with pytest.raises(NotFoundError):
        parts_at(larch, place)


def test_what_names_no_part_counts_where_it_can() -> None:
    job = Job(
        id="j",
        areas={"a": Area(id="a", climate="C1"), "b": Area(id="b")},
        drops={"L1": Drop(id="L1", area="a", roll="R1"), "L2": Drop(id="L2", area="b")},
        rolls={"R1": Roll(id="R1"), "R2": Roll(id="R2")},
        spreads={"SP1": Spread(id="SP1", area="a"), "SP2": Spread(id="SP2", area="b")},
        lots={"U": Lot(id="U", kind="underlay"), "A": Lot(id="A", kind="adhesive")},
        climate={name: ClimateLog(id=name) for name in ("C1", "C2")},
        readings={
            "M1": Reading(id="M1", kind="step"),
            "M2": Reading(id="M2", kind="step", at_part="roll:R1", area="b"),
            "M3": Reading(id="M3", kind="step", at_part="roll:R2", area="a"),
            "M4": Reading(id="M4", kind="step", area="b"),
        },
        conditioning={
            "K1": Conditioning(id="K1", what="underlay", where="b"),
            "K2": Conditioning(id="K2", what="underlay", where="van"),
            "K3": Conditioning(id="K3", what="roll:R2"),
        },
        later={"V1": Later(id="V1", kind="leak"), "V2": Later(id="V2", kind="leak", area="b")},
        complaints={"C1": Complaint(id="C1", at="drop:L1"), "C2": Complaint(id="C2", at="drop:L2")},
        photos={"F1": Photo(id="F1", of="spread:SP1"), "F2": Photo(id="F2", of="spread:SP2")},
    )
    parts = parts_at(job, Place("drop", "L1"))
    assert ids(parts.spreads) == ["SP1"]
    assert ids(parts.lots) == ["U"]
    assert ids(parts.climate) == ["C1", "C2"]
    assert ids(parts.readings) == ["M1", "M2"]
    assert ids(parts.conditioning) == ["K2"]
    assert ids(parts.later) == ["V1"]
    assert ids(parts.complaints) == ["C1"]
    assert ids(parts.photos) == ["F1"]


def test_doors_of_one_name_on_different_lines_are_named_with_their_area() -> None:
    one, other = (Door(id="D1", line_m=((x, 0), (x + 1, 0))) for x in (0, 7))
    job = Job(id="j", areas={"a": Area(id="a", doors=(one,)), "b": Area(id="b", doors=(other,))})
    assert [str(place) for place in places_of(job)][3:] == ["doorway:a/D1", "doorway:b/D1"]
    assert [each.area for each in parts_at(job, find_place(job, "doorway:b/D1")).doors] == ["b"]


def test_a_doorway_seam_belongs_to_the_doorway() -> None:
    line = ((2.0, 0.0), (3.0, 0.0))
    job = Job(
        id="j",
        areas={"a": Area(id="a", doors=(Door(id="D1", line_m=line),))},
        edges={"E1": Edge(id="E1", area="a", kind="doorway", door="D1", line_m=line)},
        seams={
            "S1": Seam(id="S1", area="a", kind="doorway", line_m=((2, 0.2), (3, 0.2))),
            "S2": Seam(id="S2", area="a", kind="side", line_m=((5, 0), (5, 4))),
        },
    )
    assert ids(parts_at(job, Place("doorway", "E1")).seams) == ["S1"]


def test_the_floor_has_the_facets_and_age_of_the_record(larch: Job) -> None:
    floor = floor_of(larch, Place("seam", "S2"), date(2026, 4, 2))
    assert floor.age_days == 30
    assert floor.facets == {
        Facet.METHOD: "adhered",
        Facet.PILE: "loop",
        Facet.CONSTRUCTION: "tufted",
        Facet.BACKING: "impervious",
        Facet.FIBRE: "polyamide",
        Facet.SUBFLOOR: "cement-screed",
        Facet.HEATING: "none",
    }


def test_the_age_is_unknown_before_completion_or_without_a_day(larch: Job) -> None:
    assert floor_of(larch, Place("job"), None).age_days is None
    assert floor_of(larch, Place("job"), date(2026, 3, 2)).age_days is None
    assert floor_of(larch, Place("job"), date(2026, 3, 3)).age_days == 0


def test_facets_that_differ_or_are_odd_are_left_out(larch: Job) -> None:
    areas = {
        "a": Area(id="a", subfloor=Subfloor(kind="concrete"), heating=Heating(kind="none")),
        "b": Area(id="b", subfloor=Subfloor(kind="timber-sheet"), heating=Heating(kind="none")),
    }
    job = replace(larch, areas=areas, method=None, product=Product(method="tile", pile="shaggy"))
    assert floor_of(job, Place("job"), None).facets == {
        Facet.METHOD: "tile",
        Facet.HEATING: "none",
    }
    assert floor_of(job, Place("area", "a"), None).facets[Facet.SUBFLOOR] == "concrete"


SQUARE = ((0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0))


@pytest.mark.parametrize(
    ("line", "touching"),
    [
        (((0, 4), (9, 4)), True),
        (((1, 1), (2, 1)), True),
        (((-1, 2), (5, 2)), True),
        (((4.05, 1), (4.05, 2)), True),
        (((4.2, 1), (4.2, 2)), False),
        (((-1, 1), (-1, 3)), False),
        (((0, 1),), True),
        ((), True),
    ],
)
def test_a_line_touches_an_outline(line: tuple[tuple[float, float], ...], touching: bool) -> None:
    assert touches(line, SQUARE, outline=True) is touching


def test_an_open_line_is_not_closed() -> None:
    assert not touches(((0, 2), (0, 2)), SQUARE)
    assert touches(((0, 2), (0, 2)), SQUARE, outline=True)
