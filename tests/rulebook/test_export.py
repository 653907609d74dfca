"""What is exported is all that the rules hold, and no more."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest

from diagnose.data import data_folder
from diagnose.rulebook.cases import load_cases
from diagnose.rulebook.export import as_tables, as_value, table_text
from diagnose.rulebook.kinds import KINDS
from diagnose.rulebook.load import load_rules
from diagnose.rulebook.model import Rules
from diagnose.rulebook.stats import stats

SOUND = Path(__file__).parents[1] / "broken" / "rules" / "sound"


@pytest.fixture(scope="module")
def shipped() -> Rules:
    return load_rules(data_folder("rules"))


def test_json_holds_every_item(shipped: Rules) -> None:
    value = json.loads(json.dumps(as_value(shipped)))
    for kind in KINDS[:-1]:
        assert [item["id"] for item in value[kind.key]] == list(getattr(shipped, kind.key))
    assert value["edition"] == shipped.edition
    assert value["scale"]["link_strength"]["words"] == dict(shipped.scale.link_strength.words)


def test_json_holds_what_an_item_says() -> None:
    value = as_value(load_rules(SOUND))
    asked = value["questions"][1]
    assert asked["rule"] == "graded"
    assert asked["answers"][0]["age_days"] == [0, 30]
    assert asked["answers"][1]["speaks_for"] == {"blade-blunt": "strong"}
    assert value["causes"][0]["applies"] == {"method": ["adhered", "stretch-in"]}
    assert value["limits"][0]["values"][0]["high"] == 30
    assert "at" not in value["limits"][0]["values"][0]


def test_tables_are_read_back_row_by_row(shipped: Rules) -> None:
    for name, table in as_tables(shipped).items():
        rows = list(csv.reader(io.StringIO(table_text(table))))
        assert tuple(map(tuple, rows)) == (table[0], *table[1]), name
        assert {len(row) for row in rows} == {len(table[0])}, name


def test_the_tables_hold_every_item_and_weight(shipped: Rules) -> None:
    tables = as_tables(shipped)
    for kind in KINDS[:-1]:
        if getattr(shipped, kind.key):
            columns, rows = tables[kind.key]
            assert [row[columns.index("id")] for row in rows] == list(getattr(shipped, kind.key))
    answers = [answer for each in shipped.questions.values() for answer in each.answers]
    weights = sum(len(each.speaks_for) + len(each.speaks_against) for each in answers)
    assert len(tables["weights"][1]) == weights
    assert len(tables["answers"][1]) == len(answers)


def test_a_cell_says_yes_no_numbers_and_lists_as_a_person_writes_them() -> None:
    tables = as_tables(load_rules(SOUND))
    columns, rows = tables["acts"]
    act = dict(zip(columns, rows[1], strict=True))
    assert (act["consent"], act["together"], act["minutes"]) == ("yes", "no", "10")
    columns, rows = tables["symptoms"]
    assert rows[0][columns.index("shows_at")] == "seam; doorway"
    assert rows[0][columns.index("applies")] == "method: adhered; stretch-in"


def test_counts_by_hand() -> None:
    rules = load_rules(SOUND)
    counted = stats(rules, load_cases(SOUND, rules))
    assert counted.kinds["causes"] == 2
    assert counted.causes_by_stage["cutting"] == 2
    assert counted.links_by_support == {"stated": 1, "inferred": 0, "none": 1}
    assert counted.links_by_strength == {"often": 1, "rarely": 1}
    assert (counted.answers, counted.weights) == (4, 4)
    assert counted.without_case == ("blade-blunt",)
