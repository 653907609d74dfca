"""The rule graph as nodes and edges, and as DOT, Mermaid, GraphML or JSON.

Edges run the way things happen: a cause gives a symptom, brings about a hidden
state, makes a question be answered so and a record deviate, and is put right
by a remedy.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from diagnose.errors import NotFoundError
from diagnose.rulebook.model import Rules
from diagnose.text import clean, nearest

NODE_KINDS = ("symptom", "cause", "mechanism", "question", "check", "remedy")
_SHAPES = {
    "symptom": ("box", "#ffe3c4"),
    "cause": ("ellipse", "#d7e8ff"),
    "mechanism": ("hexagon", "#ececec"),
    "question": ("note", "#e6f4dc"),
    "check": ("component", "#f7e2f2"),
    "remedy": ("folder", "#ffffff"),
}
_MERMAID = {
    "symptom": ("[", "]"),
    "cause": ("([", "])"),
    "mechanism": ("{{", "}}"),
    "question": ("[/", "/]"),
    "check": ("[[", "]]"),
    "remedy": ("(", ")"),
}


@dataclass(frozen=True, slots=True)
class GraphNode:
    """One item; `key` is `kind:id`, since kinds may share an id."""

    key: str
    kind: str
    id: str
    label: str


@dataclass(frozen=True, slots=True)
class GraphEdge:
    """One relation between two items, with its weight as a word."""

    start: str
    end: str
    relation: str
    """`gives`, `brings-about`, `shows`, `speaks-for`, `deviates`, `put-right-by`, `kind-of`."""
    word: str
    detail: str = ""
    """Answer of a question, or why a cause gives a symptom."""


@dataclass(frozen=True, slots=True)
class RuleGraph:
    """Nodes and edges, in file order."""

    nodes: tuple[GraphNode, ...]
    edges: tuple[GraphEdge, ...]


def rule_graph(
    rules: Rules, *, symptom: str = "", kinds: tuple[str, ...] = NODE_KINDS
) -> RuleGraph:
    """Return the graph of all rules, or of one symptom with its causes and what shows them.

    Raises
    ------
    NotFoundError
        The symptom or a kind is not known.
    """
    for kind in kinds:
        if kind not in NODE_KINDS:
            raise NotFoundError(f"the graph has no kind {kind}", NODE_KINDS)
    if symptom and symptom not in rules.symptoms:
        near = nearest(symptom, rules.symptoms)
        raise NotFoundError(f"no symptom is called {symptom}", near)
    causes = {link.cause for link in rules.links.values() if link.symptom == symptom}
    edges = [edge for edge in _edges(rules) if not symptom or _is_near(edge, symptom, causes)]
    edges = [e for e in edges if _kind(e.start) in kinds and _kind(e.end) in kinds]
    met = {key for edge in edges for key in (edge.start, edge.end)}
    met |= {f"symptom:{symptom}"} if symptom else set()
    nodes = (n for n in _nodes(rules) if n.kind in kinds and (n.key in met or not symptom))
    return RuleGraph(tuple(nodes), tuple(edges))


def as_networkx(graph: RuleGraph) -> Any:
    """Return the graph as a networkx MultiDiGraph with plain attributes."""
    import networkx

    found = networkx.MultiDiGraph()
    for node in graph.nodes:
        found.add_node(node.key, kind=node.kind, item=node.id, label=node.label)
    for edge in graph.edges:
        attributes = {"relation": edge.relation, "word": edge.word, "detail": edge.detail}
        found.add_edge(edge.start, edge.end, **attributes)
    return found


def as_graphml(graph: RuleGraph) -> str:
    """Return the graph as GraphML."""
    import networkx

    return "\n".join(networkx.generate_graphml(as_networkx(graph))) + "\n"


def as_json(graph: RuleGraph) -> str:
    """Return the graph as JSON in the node-link form that networkx reads."""
    data = {
        "directed": True,
        "multigraph": True,
        "graph": {},
        "nodes": [
            {"id": node.key, "kind": node.kind, "item": node.id, "label": node.label}
            for node in graph.nodes
        ],
        "edges": [
            {
                "source": edge.start,
                "target": edge.end,
                "key": number,
                "relation": edge.relation,
                "word": edge.word,
                "detail": edge.detail,
            }
            for number, edge in enumerate(graph.edges)
        ],
    }
    return json.dumps(data, ensure_ascii=True, indent=2) + "\n"


def as_dot(graph: RuleGraph) -> str:
    """Return the graph in the DOT language."""
    lines = ["digraph rules {", "  rankdir=LR;", '  node [style=filled, fontname="sans-serif"];']
    for node in graph.nodes:
        shape, fill = _SHAPES[node.kind]
        label = _quoted(node.label)
        lines.append(f'  {_quoted(node.key)} [label={label}, shape={shape}, fillcolor="{fill}"];')
    for edge in graph.edges:
        label = _quoted(edge.word or edge.relation.replace("-", " "))
        tip = _quoted(edge.detail)
        lines.append(
            f"  {_quoted(edge.start)} -> {_quoted(edge.end)} [label={label}, tooltip={tip}];"
        )
    return "\n".join([*lines, "}"]) + "\n"


def as_mermaid(graph: RuleGraph) -> str:
    """Return the graph as a Mermaid flow chart."""
    number = {node.key: f"n{count}" for count, node in enumerate(graph.nodes)}
    lines = ["flowchart LR"]
    for node in graph.nodes:
        left, right = _MERMAID[node.kind]
        lines.append(f'  {number[node.key]}{left}"{_entities(node.label)}"{right}')
    for edge in graph.edges:
        word = edge.word or edge.relation.replace("-", " ")
        lines.append(f'  {number[edge.start]} -->|"{_entities(word)}"| {number[edge.end]}')
    return "\n".join(lines) + "\n"


FORMATS: Mapping[str, Callable[[RuleGraph], str]] = {
    "dot": as_dot,
    "mermaid": as_mermaid,
    "graphml": as_graphml,
    "json": as_json,
}
"""Format to the function that writes it."""


def _nodes(rules: Rules) -> Iterator[GraphNode]:
    kinds: dict[str, Mapping[str, Any]] = {
        "symptom": rules.symptoms,
        "cause": rules.causes,
        "mechanism": rules.mechanisms,
        "question": rules.questions,
        "check": rules.checks,
        "remedy": rules.remedies,
    }
    for kind, items in kinds.items():
        for item in items.values():
            label = item.ask if kind == "question" else item.name
            yield GraphNode(f"{kind}:{item.id}", kind, item.id, label)


def _edges(rules: Rules) -> Iterator[GraphEdge]:
    for link in rules.links.values():
        ends = (f"cause:{link.cause}", f"symptom:{link.symptom}")
        yield GraphEdge(*ends, "gives", link.strength, link.because)
    for cause in rules.causes.values():
        start = f"cause:{cause.id}"
        if cause.kind_of:
            yield GraphEdge(start, f"cause:{cause.kind_of}", "kind-of", "")
        for remedy in cause.remedies:
            yield GraphEdge(start, f"remedy:{remedy}", "put-right-by", "")
    for mechanism in rules.mechanisms.values():
        start = f"mechanism:{mechanism.id}"
        for name, word in mechanism.brought_about_by.items():
            yield GraphEdge(f"cause:{name}", start, "brings-about", word)
        for name, word in mechanism.answers.items():
            asked, _, answer = name.partition(".")
            yield GraphEdge(start, f"question:{asked}", "shows", word, answer)
    for question in rules.questions.values():
        for given in question.answers:
            for name, word in given.speaks_for.items():
                ends = (f"cause:{name}", f"question:{question.id}")
                yield GraphEdge(*ends, "speaks-for", word, given.text)
    for check in rules.checks.values():
        for name, word in check.backs.items():
            yield GraphEdge(f"cause:{name}", f"check:{check.id}", "deviates", word)


def _is_near(edge: GraphEdge, symptom: str, causes: set[str]) -> bool:
    """Whether an edge joins the symptom and its causes, or leads on from one of them."""
    start, end = edge.start.partition(":")[2], edge.end.partition(":")[2]
    if edge.relation == "gives":
        return end == symptom
    return edge.start.startswith("cause:") and start in causes


def _kind(key: str) -> str:
    return key.partition(":")[0]


def _quoted(text: str) -> str:
    kept = clean(text).replace("\n", " ").replace("\t", " ")
    escaped = kept.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'


def _entities(text: str) -> str:
    kept = clean(text).replace("\n", " ")
    escapes = (("#", "#35;"), ("&", "#amp;"), ('"', "#quot;"), ("<", "#lt;"), (">", "#gt;"))
    for char, entity in escapes:
        kept = kept.replace(char, entity)
    return kept
