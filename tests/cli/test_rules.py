"""`diagnose rules`: lint, schema, graph, export and stats as a person calls them."""

from __future__ import annotations

import csv
import json
import shutil
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from diagnose.cli.app import run
from diagnose.rulebook.schema import schema_names, schema_texts

Call = Callable[..., tuple[int, str, str]]
BROKEN = Path(__file__).parents[1] / "broken" / "rules"
SOUND = BROKEN / "sound"


@pytest.fixture
def call(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Call:
    def at(*args: str) -> tuple[int, str, str]:
        monkeypatch.setattr(sys, "argv", ["diagnose", "rules", *args])
        with pytest.raises(SystemExit) as ended:
            run()
        out, err = capsys.readouterr()
        return int(ended.value.code or 0), out, err

    return at


@pytest.fixture
def broken(tmp_path: Path) -> Callable[[str], str]:
    def at(name: str) -> str:
        folder = tmp_path / "rules"
        shutil.copytree(SOUND, folder)
        shutil.copytree(BROKEN / name, folder, dirs_exist_ok=True)
        return str(folder)

    return at


def test_sound_rules_end_with_0(call: Call) -> None:
    code, out, _ = call("lint", "--rules", str(SOUND))
    assert (code, out.strip()) == (0, "The rules are sound.")


@pytest.mark.parametrize("name", ["unused-limit", "unknown-id"])
def test_a_mistake_ends_with_1_and_is_told(
    name: str, call: Call, broken: Callable[[str], str]
) -> None:
    code, out, _ = call("lint", "--rules", broken(name))
    first, hint = (BROKEN / f"{name}.expected.txt").read_text("utf-8").splitlines()
    assert code == 1
    assert f"- {first}" in out
    assert hint in out
    assert "1 problem found." in out


def test_lint_as_json_names_rule_file_and_line(call: Call, broken: Callable[[str], str]) -> None:
    code, out, _ = call("lint", "--json", "--rules", broken("unused-act"))
    value = json.loads(out)
    assert code == 1
    assert not value["sound"]
    assert value["problems"][0]["rule"] == "unused_act"
    assert (value["problems"][0]["file"], value["problems"][0]["line"]) == ("rules/acts.yaml", 2)


def test_lint_can_add_the_counts(call: Call) -> None:
    code, out, _ = call("lint", "--summary", "--rules", str(SOUND))
    assert code == 0
    assert "Links by support" in out
    assert "1  stated (50%)" in out


def test_a_folder_that_is_not_there_ends_with_3(call: Call) -> None:
    code, _, err = call("lint", "--rules", "no-such-folder")
    assert (code, "there is no folder no-such-folder" in err) == (3, True)


def test_schema_names_kinds_and_shows_one(call: Call) -> None:
    assert call("schema")[1].split() == list(schema_names())
    code, out, _ = call("schema", "causes")
    assert code == 0
    assert out == schema_texts()["causes.json"]
    assert call("schema", "casues")[0] == 3


def test_schemas_are_written_beside_the_rules(call: Call, tmp_path: Path) -> None:
    folder = Path(shutil.copytree(SOUND, tmp_path / "rules"))
    code, _, err = call("schema", "--write", "--rules", str(folder))
    assert code == 0
    assert f"{len(schema_texts())} schemas written" in err
    written = {path.name: path.read_text("utf-8") for path in (folder / "schemas").iterdir()}
    assert written == dict(schema_texts())


@pytest.mark.parametrize(
    ("form", "start"),
    [("dot", "digraph"), ("mermaid", "flowchart"), ("graphml", "<graphml"), ("json", "{")],
)
def test_graph_writes_each_format(form: str, start: str, call: Call) -> None:
    code, out, _ = call("graph", "--symptom", "seam-peaking", "--format", form)
    assert code == 0
    assert out.startswith(start)
    assert "peaking" in out


def test_graph_goes_to_a_file(call: Call, tmp_path: Path) -> None:
    path = tmp_path / "graph.dot"
    code, out, err = call("graph", "--kinds", "symptom,cause", "-o", str(path))
    assert (code, out) == (0, "")
    assert str(path) in err
    assert "question:" not in path.read_text("utf-8")


@pytest.mark.parametrize(
    "args", [["--format", "gif"], ["--symptom", "seam-peeking"], ["--kinds", "coz"]]
)
def test_graph_refuses_what_it_does_not_know(args: list[str], call: Call) -> None:
    code, out, err = call("graph", *args)
    assert (code, out) == (3, "")
    assert "hint: did you mean" in err


def test_export_as_json(call: Call) -> None:
    code, out, _ = call("export", "--rules", str(SOUND))
    assert code == 0
    assert [each["id"] for each in json.loads(out)["causes"]] == ["edges-too-full", "blade-blunt"]


def test_export_as_tables(call: Call, tmp_path: Path) -> None:
    code, _, _ = call("export", "--format", "csv", "-o", str(tmp_path / "tables"))
    assert code == 0
    with (tmp_path / "tables" / "causes.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert "sealer-omitted" in [row["id"] for row in rows]


def test_tables_without_a_folder_say_what_to_do(call: Call) -> None:
    code, _, err = call("export", "--format", "csv")
    assert code == 1
    assert "diagnose rules export --format csv --out tables" in err


def test_a_place_that_cannot_be_written_ends_with_5(call: Call, tmp_path: Path) -> None:
    (tmp_path / "a-file").write_text("", "utf-8")
    for args in (
        ["graph", "-o", str(tmp_path / "no" / "graph.dot")],
        ["export", "--format", "csv", "-o", str(tmp_path / "a-file")],
    ):
        code, _, err = call(*args, "--rules", str(SOUND))
        assert code == 5
        assert "cannot be written" in err


def test_stats_as_json_and_on_screen(call: Call) -> None:
    code, out, _ = call("stats", "--json", "--rules", str(SOUND))
    assert code == 0
    assert json.loads(out)["kinds"]["causes"] == 2
    code, out, _ = call("stats", "--rules", str(SOUND))
    assert "    2  causes" in out


def test_stats_can_name_the_pairs_that_are_hard_to_part(call: Call) -> None:
    code, out, _ = call("stats", "--pairs", "1", "--json", "--rules", str(SOUND))
    assert code == 0
    assert json.loads(out)["hardest_pairs"][0]["pair"] == ["blade-blunt", "edges-too-full"]
    assert "hardest to part" in call("stats", "--pairs", "1", "--rules", str(SOUND))[1]
