"""What is written as BIF and XMLBIF says the same as the engine, read by another library.

Check: pyAgrum reads the files and infers on its own; nothing of the engine is
used but its posterior, which the other tests hold against brute force.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping
from functools import cache
from pathlib import Path

import numpy as np
import pyagrum as gum
import pytest

from diagnose.cli.app import run
from diagnose.data import data_folder
from diagnose.engine.evidence import Answered, CheckSaid, Evidence, SymptomAbsent, SymptomSeen
from diagnose.engine.export import FORMATS, MOST_PARENTS, ChanceTable, finding_name, network_tables
from diagnose.engine.network import Network, build
from diagnose.engine.nodes import Finding, level_chances
from diagnose.engine.posterior import infer
from diagnose.errors import NotFoundError
from diagnose.model import Floor, Outcome
from diagnose.rulebook.load import load_rules
from diagnose.rulebook.model import AnswerRule, Rules

ENDINGS = {"bif": "bif", "xmlbif": "bifxml"}
TOLERANCE = 1e-7


@cache
def shipped() -> Rules:
    return load_rules(data_folder("rules"))


@cache
def network_of(symptom: str, method: str) -> Network:
    return build(shipped(), Floor({"method": method}), symptoms=(symptom,) if symptom else ())


@pytest.fixture
def read(tmp_path: Path) -> Callable[..., gum.BayesNet]:
    def at(form: str, tables: tuple[ChanceTable, ...]) -> gum.BayesNet:
        path = tmp_path / f"network.{ENDINGS[form]}"
        path.write_text(FORMATS[form](tables, {"floor": "invented & <plain>"}), "utf-8")
        return gum.loadBN(str(path))

    return at


def of_interest(net: gum.BayesNet, names: list[str]) -> gum.LazyPropagation:
    """An inference that leaves out what neither the evidence nor these names need."""
    engine = gum.LazyPropagation(net)
    engine.eraseAllTargets()
    for name in names:
        engine.addTarget(name)
    return engine


def said(network: Network, evidence: list[Evidence]) -> Mapping[str, str]:
    """The evidence as states of the variables that are written."""
    found: dict[str, str] = {}
    for item in evidence:
        match item:
            case SymptomSeen(symptom):
                found[finding_name(f"symptom:{symptom}")] = "mentioned"
            case SymptomAbsent(symptom):
                found[finding_name(f"symptom:{symptom}")] = "absent"
            case CheckSaid(check, outcome):
                deviates = outcome is Outcome.DEVIATES
                found[finding_name(f"check:{check}")] = "deviates" if deviates else "in_order"
            case Answered(question):
                asked = network.questions[question]
                if asked.rule is AnswerRule.TICKS:
                    for answer, finding in zip(asked.answers, asked.findings, strict=True):
                        ticked = "ticked" if answer in item.given else "not_ticked"
                        found[finding_name(finding.key)] = ticked
                else:
                    answer = next(iter(item.given), "none-of-these")
                    found[finding_name(asked.findings[0].key)] = answer.replace("-", "_")
    return found


SETS: tuple[tuple[str, str, tuple[Evidence, ...]], ...] = (
    ("seam-peaking", "stretch-in", (SymptomSeen("seam-peaking"),)),
    (
        "seam-peaking",
        "stretch-in",
        (
            SymptomSeen("seam-peaking"),
            Answered("under-the-tape", ("shrunk-or-brown",)),
            Answered("release-one-wall", ("stays",)),
            Answered("when-first-seen", ("on-the-day",)),
        ),
    ),
    (
        "bond-loss",
        "adhered",
        (
            SymptomSeen("bond-loss"),
            SymptomAbsent("odour"),
            Answered("how-the-laying-went", ("interrupted",)),
            Answered("ridges", ("standing-shiny",)),
        ),
    ),
    (
        "blisters",
        "adhered",
        (
            SymptomSeen("blisters"),
            Answered("feel-of-the-adhesive", ("soft-stringy",)),
            Answered("press-the-blister"),
            CheckSaid("adhesive-used-too-little", Outcome.DEVIATES, "on-the-day"),
        ),
    ),
    (
        "traffic-soiling",
        "tile",
        (
            SymptomSeen("traffic-soiling"),
            Answered("wet-and-agitate", ("many",)),
            Answered("white-cloth", ("sticky",)),
        ),
    ),
)


@pytest.mark.parametrize("form", FORMATS)
@pytest.mark.parametrize(("symptom", "method", "evidence"), SETS)
def test_another_library_reads_the_same_posteriors(
    form: str,
    symptom: str,
    method: str,
    evidence: tuple[Evidence, ...],
    read: Callable[..., gum.BayesNet],
) -> None:
    network = network_of(symptom, method)
    tables = network_tables(network, symptom=symptom)
    written = {table.name for table in tables}
    net = read(form, tables)
    wanted = [table.name for table in tables if table.name.startswith(("cause_", "mechanism_"))]
    engine = of_interest(net, wanted)
    for name, state in said(network, list(evidence)).items():
        engine.addEvidence(name, state)
    engine.makeInference()
    posterior = infer(network, evidence)
    assert posterior.exact
    compared = 0
    for cause in network.causes:
        name = f"cause_{cause.replace('-', '_')}"
        if name in written:
            found = engine.posterior(name)[{name: "present"}]
            assert found == pytest.approx(posterior.of(cause), abs=TOLERANCE), cause
            compared += 1
    for node, chance in zip(network.mechanisms, posterior.chance[network.roots :], strict=True):
        name = f"mechanism_{node.id.replace('-', '_')}"
        if posterior.cut < TOLERANCE and name in written:
            assert engine.posterior(name)[{name: "present"}] == pytest.approx(chance, abs=1e-6)
    assert compared >= len(network.candidates)


@pytest.mark.parametrize("symptom", ["", "shading"])
def test_no_table_has_many_parents_and_each_row_adds_up(symptom: str) -> None:
    network = network_of(symptom, "adhered")
    mixtures = {
        finding_name(asked.findings[0].key)
        for asked in network.questions.values()
        if asked.rule is AnswerRule.EITHER_OR
    }
    before: set[str] = set()
    for table in network_tables(network, symptom=symptom):
        assert table.name not in before
        assert before.issuperset(table.parents), table.name
        assert table.name in mixtures or len(table.parents) <= MOST_PARENTS
        assert table.chances.sum(axis=-1) == pytest.approx(1.0, abs=1e-12)
        assert table.chances.shape[-1] == len(table.states)
        before.add(table.name)


def test_the_whole_network_is_written() -> None:
    network = network_of("", "adhered")
    names = {table.name for table in network_tables(network)}
    keys = [finding.key for finding in (*network.symptoms.values(), *network.checks.values())]
    keys += [finding.key for asked in network.questions.values() for finding in asked.findings]
    assert names.issuperset(map(finding_name, keys))
    assert sum(name.startswith("cause_") for name in names) == len(network.causes)
    assert sum(name.startswith("mechanism_") for name in names) == len(network.mechanisms)


def test_round_a_symptom_less_is_written_but_all_that_bears_on_it() -> None:
    network = network_of("pest-damage", "adhered")
    names = {table.name for table in network_tables(network, symptom="pest-damage")}
    assert len(names) < len(network_tables(network)) / 2
    for number in network.symptoms["pest-damage"].parents:
        cause = network.causes[int(number)]
        assert f"cause_{cause.replace('-', '_')}" in names
        for check in network.checks.values():
            assert number not in check.parents or finding_name(check.key) in names
        for asked in network.questions.values():
            if any(number in finding.parents for finding in asked.findings):
                assert names.issuperset(finding_name(f.key) for f in asked.findings)


def test_a_chain_says_what_the_one_great_table_would(read: Callable[..., gum.BayesNet]) -> None:
    network = network_of("", "adhered")
    finding = max(
        (f for asked in network.questions.values() for f in asked.findings),
        key=lambda each: len(each.parents),
    )
    assert len(finding.parents) > 3 * MOST_PARENTS
    tables = network_tables(network)
    below = finding_name(finding.key)
    wanted = {t.name for t in tables if not t.parents or t.name.startswith(below)}
    wanted |= {t.name for t in tables if t.name.startswith("mechanism_")}
    net = read("bif", tuple(t for t in tables if t.name in wanted))
    roots = [int(number) for number in finding.parents if number < len(network.causes)]
    rng = np.random.default_rng(20)
    for _ in range(6):
        present = np.zeros(network.size, dtype=bool)
        present[roots] = rng.random(len(roots)) < 0.2
        engine = of_interest(net, [below])
        for number, cause in enumerate(network.causes):
            engine.addEvidence(f"cause_{cause.replace('-', '_')}", int(present[number]))
        assert not any(number >= len(network.causes) for number in finding.parents)
        engine.makeInference()
        expected = level_chances(finding, present)
        assert engine.posterior(below).toarray() == pytest.approx(expected, abs=1e-9)


def test_a_small_finding_by_hand() -> None:
    """Noisy-MAX of two causes: P(at most x) = leak(x) times the product of their own."""
    finding = Finding("", np.array([0, 1]), np.array([[0.5, 1.0], [0.2, 1.0]]), np.array([0.9, 1]))
    both = level_chances(finding, np.array([True, True]))
    assert both == pytest.approx([0.09, 0.91])


def test_a_symptom_of_another_floor_is_refused() -> None:
    with pytest.raises(NotFoundError, match="does not belong to this floor"):
        network_tables(network_of("bond-loss", "adhered"), symptom="tile-doming")


def at_the_keyboard(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], *args: str
) -> tuple[int, str, str]:
    monkeypatch.setattr(sys, "argv", ["diagnose", "rules", "export", *args])
    with pytest.raises(SystemExit) as ended:
        run()
    out, err = capsys.readouterr()
    return int(ended.value.code or 0), out, err


@pytest.mark.parametrize("form", FORMATS)
def test_the_command_writes_a_file_that_is_read_back(
    form: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    path = tmp_path / f"floor.{ENDINGS[form]}"
    words = ("--symptom", "tile-doming", "--method", "tile", "--backing", "impervious")
    code, out, _ = at_the_keyboard(
        monkeypatch, capsys, "--format", form, *words, "--out", str(path)
    )
    assert (code, out) == (0, "")
    text = path.read_text("utf-8")
    assert shipped().edition in text
    assert "method tile, backing impervious" in text
    net = gum.loadBN(str(path))
    assert net.variable("symptom_tile_doming").labels() == ("absent", "not_mentioned", "mentioned")


@pytest.mark.parametrize(
    ("args", "code", "hint"),
    [
        (("--format", "bif", "--method", "glued"), 1, "words: adhered"),
        (("--format", "bif", "--symptom", "seam-peeking"), 3, "did you mean seam-peaking"),
        (("--format", "json", "--method", "tile"), 1, "take --format bif or xmlbif"),
        (("--format", "gif"), 3, "did you mean"),
    ],
)
def test_a_slip_is_named_with_a_hint(
    args: tuple[str, ...],
    code: int,
    hint: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    ended, out, err = at_the_keyboard(monkeypatch, capsys, *args)
    assert (ended, out) == (code, "")
    assert hint in err
