"""What is written as BIF and XMLBIF says the same as the engine, read by another library.

Check: pyAgrum reads the files and infers on its own; nothing of the engine is
used but its posterior, which the other tests hold against brute force.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from functools import cache
from pathlib import Path
from xml.etree import ElementTree

import numpy as np
import pyagrum as gum
import pytest

from diagnose.data import data_folder
from diagnose.engine.evidence import Answered, CheckSaid, Evidence, SymptomAbsent, SymptomSeen
from diagnose.engine.export import FORMATS, MOST_PARENTS, ChanceTable, finding_name, network_tables
from diagnose.engine.network import Network, build
from diagnose.engine.nodes import level_chances
from diagnose.engine.posterior import infer
from diagnose.errors import NotFoundError
from diagnose.model import Facet, Floor, Outcome
from diagnose.rulebook.load import load_rules
from diagnose.rulebook.model import AnswerRule, Rules

ENDINGS = {"bif": "bif", "xmlbif": "bifxml"}
TOLERANCE = 1e-7


@cache
def shipped() -> Rules:
    return load_rules(data_folder("rules"))


@cache
def network_of(symptom: str, method: str) -> Network:
    return build(shipped(), Floor({Facet.METHOD: method}), symptoms=(symptom,) if symptom else ())


@pytest.fixture
def read(tmp_path: Path) -> Callable[..., gum.BayesNet]:
    def at(form: str, tables: tuple[ChanceTable, ...]) -> gum.BayesNet:
        path = tmp_path / f"network.{ENDINGS[form]}"
        path.write_text(FORMATS[form](tables, {"floor": "invented & <plain>"}), "utf-8")
        return gum.loadBN(str(path))

    return at


def of_interest(net: gum.BayesNet, names: Iterable[str]) -> gum.LazyPropagation:
    """An inference that leaves out what neither the evidence nor these names need."""
    engine = gum.LazyPropagation(net)  # type: ignore[no-untyped-call]
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


def variables_of(network: Network) -> dict[str, int]:
    """Number of each cause and mechanism by the name that is written."""
    names = [f"cause_{cause}" for cause in network.causes]
    names += [f"look_{act}" for act in network.shared]
    names += [f"mechanism_{node.id}" for node in network.mechanisms]
    return {name.replace("-", "_"): number for number, name in enumerate(names)}


SETS: tuple[tuple[str, str, tuple[Evidence, ...], tuple[str, ...]], ...] = (
    ("seam-peaking", "stretch-in", (SymptomSeen("seam-peaking"),), ()),
    (
        "seam-peaking",
        "stretch-in",
        (
            SymptomSeen("seam-peaking"),
            Answered("under-the-tape", ("shrunk-or-brown",)),
            Answered("release-one-wall", ("stays",)),
            Answered("when-first-seen", ("on-the-day",)),
        ),
        (),
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
        ("mechanism_ridges_left_standing",),
    ),
    (
        "blisters",
        "adhered",
        (
            SymptomSeen("blisters"),
            Answered("feel-of-the-adhesive", ("soft-stringy",)),
            Answered("press-the-blister"),
            CheckSaid("adhesive-used-too-little", Outcome.DEVIATES),
        ),
        ("mechanism_adhesive_softened_again",),
    ),
    (
        "traffic-soiling",
        "tile",
        (
            SymptomSeen("traffic-soiling"),
            Answered("wet-and-agitate", ("many",)),
            Answered("white-cloth", ("sticky",)),
        ),
        ("mechanism_film_of_residue_in_the_pile",),
    ),
)


@pytest.mark.parametrize("form", FORMATS)
@pytest.mark.parametrize(("symptom", "method", "evidence", "shown"), SETS)
def test_another_library_reads_the_same_posteriors(
    form: str,
    symptom: str,
    method: str,
    evidence: tuple[Evidence, ...],
    shown: tuple[str, ...],
    read: Callable[..., gum.BayesNet],
) -> None:
    network = network_of(symptom, method)
    tables = network_tables(network, symptom=symptom)
    written = {table.name for table in tables}
    net = read(form, tables)
    engine = of_interest(net, written & variables_of(network).keys())
    for name, state in said(network, list(evidence)).items():
        engine.addEvidence(name, state)
    engine.makeInference()
    posterior = infer(network, evidence)
    assert posterior.exact
    compared = 0
    for name, variable in variables_of(network).items():
        if name in written:
            found = engine.posterior(name)[{name: "present"}]
            assert found == pytest.approx(posterior.chance[variable], abs=TOLERANCE), name
            compared += 1
    assert compared >= len(network.candidates) + len(shown)


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
    assert names.issuperset(variables_of(network))


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
        (f for each in network.questions.values() for f in each.findings if not f.mixture),
        key=lambda each: len(each.parents),
    )
    assert len(finding.parents) > 3 * MOST_PARENTS
    tables = network_tables(network)
    name, variables = finding_name(finding.key), variables_of(network)
    kept = [t for t in tables if t.name in variables or t.name.startswith(("mechanism_", name))]
    net = read("xmlbif", tuple(kept))
    rng = np.random.default_rng(20)
    for _ in range(6):
        present = rng.random(network.size) < 0.1
        engine = of_interest(net, [name])
        for variable, number in variables.items():
            engine.addEvidence(variable, int(present[number]))
        engine.makeInference()
        expected = level_chances(finding, present)
        found = [engine.posterior(name)[level] for level in range(len(expected))]
        assert found == pytest.approx(expected, abs=1e-12)


TWO = (
    ChanceTable("cause_a", ("absent", "present"), (), np.array([0.75, 0.25])),
    ChanceTable(
        "check_b", ("in_order", "deviates"), ("cause_a",), np.array([[0.5, 0.5], [0.125, 0.875]])
    ),
)


def test_two_tables_as_bif() -> None:
    assert FORMATS["bif"](TWO, {"floor": "tile"}) == (
        "// floor: tile\n"
        "network carpet_diagnosis {\n}\n"
        "variable cause_a {\n  type discrete [ 2 ] { absent, present };\n}\n"
        "variable check_b {\n  type discrete [ 2 ] { in_order, deviates };\n}\n"
        "probability ( cause_a ) {\n  table 0.75, 0.25;\n}\n"
        "probability ( check_b | cause_a ) {\n"
        "  (absent) 0.5, 0.5;\n  (present) 0.125, 0.875;\n}\n"
    )


def test_two_tables_as_xmlbif() -> None:
    root = ElementTree.fromstring(FORMATS["xmlbif"](TWO, {"floor": "a < b"}))
    assert root.findtext("NETWORK/PROPERTY") == "floor = a < b"
    assert [each.text for each in root.iter("OUTCOME")][2:] == ["in_order", "deviates"]
    below = root.findall("NETWORK/DEFINITION")[1]
    assert (below.findtext("FOR"), below.findtext("GIVEN")) == ("check_b", "cause_a")
    assert below.findtext("TABLE") == "0.5 0.5 0.125 0.875"


def test_a_symptom_of_another_floor_is_refused() -> None:
    with pytest.raises(NotFoundError, match="does not belong to this floor"):
        network_tables(network_of("bond-loss", "adhered"), symptom="tile-doming")
