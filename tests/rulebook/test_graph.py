"""The graph holds the rules' own edges, and every format can be read back."""

from __future__ import annotations

import io
import json
import re
from pathlib import Path

import networkx
import pytest

from diagnose.data import data_folder
from diagnose.errors import NotFoundError
from diagnose.rulebook.graph import (
    FORMATS,
    NODE_KINDS,
    GraphEdge,
    GraphNode,
    RuleGraph,
    as_dot,
    as_graphml,
    as_json,
    as_mermaid,
    as_networkx,
    rule_graph,
)
from diagnose.rulebook.load import load_rules
from diagnose.rulebook.model import Rules

SOUND = Path(__file__).parents[1] / "broken" / "rules" / "sound"
DOT_NODE = re.compile(r'^  "((?:[^"\\]|\\.)*)" \[label="((?:[^"\\]|\\.)*)", shape=', re.M)
DOT_EDGE = re.compile(r'^  "((?:[^"\\]|\\.)*)" -> "((?:[^"\\]|\\.)*)" \[', re.M)


@pytest.fixture(scope="module")
def sound() -> Rules:
    return load_rules(SOUND)


@pytest.fixture(scope="module")
def shipped() -> Rules:
    return load_rules(data_folder("rules"))


def test_a_small_graph_has_the_edges_of_its_rules(sound: Rules) -> None:
    graph = rule_graph(sound)
    edges = {(edge.start, edge.relation, edge.end, edge.word) for edge in graph.edges}
    assert ("cause:edges-too-full", "gives", "symptom:seam-peaking", "often") in edges
    assert ("cause:blade-blunt", "deviates", "check:blade-changed", "strong") in edges
    assert ("cause:blade-blunt", "put-right-by", "remedy:cut-the-seam-anew", "") in edges
    pressure = "mechanism:edges-under-pressure"
    assert ("cause:edges-too-full", "brings-about", pressure, "often") in edges
    assert (pressure, "shows", "question:shape-of-the-ridge", "strong") in edges
    assert ("cause:blade-blunt", "speaks-for", "question:edge-of-the-sample", "strong") in edges


def test_every_edge_has_both_its_ends(shipped: Rules) -> None:
    for symptom in ("", *shipped.symptoms):
        graph = rule_graph(shipped, symptom=symptom)
        keys = {node.key for node in graph.nodes}
        assert {key for edge in graph.edges for key in (edge.start, edge.end)} <= keys


def test_the_neighbourhood_of_a_symptom_holds_all_its_causes_and_no_other(shipped: Rules) -> None:
    for symptom in shipped.symptoms:
        graph = rule_graph(shipped, symptom=symptom, kinds=("symptom", "cause"))
        causes = {node.id for node in graph.nodes if node.kind == "cause"}
        linked = {link.cause for link in shipped.links.values() if link.symptom == symptom}
        wider = {shipped.causes[cause].kind_of for cause in linked} - {""}
        assert causes == linked | wider
        assert [node.id for node in graph.nodes if node.kind == "symptom"] == [symptom]


def test_kinds_that_are_not_wanted_stay_out(sound: Rules) -> None:
    graph = rule_graph(sound, kinds=("cause", "remedy"))
    assert {node.kind for node in graph.nodes} == {"cause", "remedy"}
    assert {edge.relation for edge in graph.edges} == {"put-right-by"}


def test_unknown_symptoms_and_kinds_are_told(sound: Rules) -> None:
    with pytest.raises(NotFoundError) as caught:
        rule_graph(sound, symptom="seam-peeking")
    assert caught.value.near == ("seam-peaking",)
    with pytest.raises(NotFoundError) as caught:
        rule_graph(sound, kinds=("coz",))
    assert caught.value.near == NODE_KINDS


def test_graphml_and_json_come_back_as_the_same_graph(shipped: Rules) -> None:
    graph = rule_graph(shipped, symptom="seam-peaking")
    own = as_networkx(graph)
    read = networkx.read_graphml(io.BytesIO(as_graphml(graph).encode()), force_multigraph=True)
    assert dict(read.nodes(data=True)) == dict(own.nodes(data=True))
    data = json.loads(as_json(graph))
    from_json = networkx.node_link_graph(data, edges="edges")
    assert dict(from_json.nodes(data=True)) == dict(own.nodes(data=True))

    def told(found: networkx.MultiDiGraph) -> list[tuple[str, str, str, str, str]]:
        rows = found.edges(data=True)
        return sorted((a, b, d["relation"], d["word"], d["detail"]) for a, b, d in rows)

    assert told(read) == told(own) == told(from_json)


def test_dot_names_every_node_and_edge(shipped: Rules) -> None:
    graph = rule_graph(shipped)
    text = as_dot(graph)
    assert [key for key, _ in DOT_NODE.findall(text)] == [node.key for node in graph.nodes]
    assert DOT_EDGE.findall(text) == [(edge.start, edge.end) for edge in graph.edges]


def test_mermaid_names_every_node_and_edge(shipped: Rules) -> None:
    graph = rule_graph(shipped, symptom="fraying-edge")
    lines = as_mermaid(graph).splitlines()
    assert len(lines) == 1 + len(graph.nodes) + len(graph.edges)


@pytest.mark.parametrize("form", FORMATS)
def test_text_from_a_rule_cannot_leave_its_quotes(form: str) -> None:
    nasty = 'a "quoted"\\ name];\n <b>&amp;</b> \x1b[2J'
    nodes = (GraphNode("cause:a", "cause", "a", nasty), GraphNode("symptom:b", "symptom", "b", "b"))
    graph = RuleGraph(nodes, (GraphEdge("cause:a", "symptom:b", "gives", "often", nasty),))
    if form == "graphml":
        nasty_free = GraphNode("cause:a", "cause", "a", nasty.replace("\x1b", ""))
        graph = RuleGraph((nasty_free, nodes[1]), ())
        read = networkx.read_graphml(io.BytesIO(as_graphml(graph).encode()))
        assert read.nodes["cause:a"]["label"] == nasty_free.label
        return
    text = FORMATS[form](graph)
    assert "\x1b" not in text
    if form == "json":
        assert json.loads(text)["nodes"][0]["label"] == nasty
    elif form == "dot":
        assert len(DOT_NODE.findall(text)) == 2
        assert len(DOT_EDGE.findall(text)) == 1
    else:
        assert text.count('"') == 2 * 3
        assert len(text.splitlines()) == 4
