"""Write a network as plain tables, in the two interchange formats BIF and XMLBIF.

Every node becomes a table of chances given its parents.  A finding with many
parents is written as a chain: the first table takes the leak and the first
parents, each further one the level reached so far and a few parents more.
What a noisy-MAX shows is the greatest of what its parents give each for
itself, so that the chain says exactly what the one great table would.

References
----------
.. [1] Diez and Galan (2003), "Efficient computation for the noisy MAX",
   International Journal of Intelligent Systems 18, for the chain of maxima.
   From memory, to be verified.
.. [2] Interchange Format for Bayesian Networks (BIF) 0.15 and its XML form 0.3,
   where the last state varies quickest.  From memory; read back in the tests.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape

import numpy as np

from diagnose.engine.network import Network
from diagnose.engine.nodes import Finding, level_chances
from diagnose.engine.numbers import NONE_OF_THESE, Array
from diagnose.errors import NotFoundError
from diagnose.rulebook.model import AnswerRule

MOST_PARENTS = 4
"""Parents of a table; an either-or finding keeps all of its few parents."""

NETWORK_NAME = "carpet_diagnosis"

_PRESENCE = ("absent", "present")
_MENTION = ("absent", "not_mentioned", "mentioned")
_DEVIATION = ("in_order", "deviates")
_TICK = ("not_ticked", "ticked")


@dataclass(frozen=True, eq=False, slots=True)
class ChanceTable:
    """One variable with its chances given its parents.

    `chances` has an axis for each parent in their order, then its own states;
    chances over the last axis add up to 1.
    """

    name: str
    states: tuple[str, ...]
    parents: tuple[str, ...]
    chances: Array


@dataclass(frozen=True, eq=False, slots=True)
class _Seen:
    """A finding with the names that it and its levels go by."""

    name: str
    states: tuple[str, ...]
    finding: Finding


def network_tables(network: Network, *, symptom: str = "") -> tuple[ChanceTable, ...]:
    """Return the tables of a network, parents before children.

    Parameters
    ----------
    network : Network
    symptom : id
        Keep only what is coupled to this symptom: the causes that can give it,
        the mechanisms they bring about, every question, check and symptom that
        bears on one of these, and the parents of all that.  What is left out
        has no evidence of its own and changes no chance.  Empty takes all.

    Raises
    ------
    NotFoundError
        The symptom does not belong to the network.

    Notes
    -----
    Names say the kind first: `cause_`, `look_` (what the place of an act shows
    for reasons outside the causes), `mechanism_`, `symptom_`, `question_` and
    `check_`, then the id with underscores for hyphens.  A ticked question has
    a variable for each answer.  Links of a chain end in a number.
    """
    seen = list(_findings(network))
    variables: set[int] = set(range(network.size))
    if symptom:
        if symptom not in network.symptoms:
            raise NotFoundError(f"symptom {symptom} does not belong to this floor")
        seen, variables = _coupled(network, seen, symptom)
    names = _variable_names(network)
    found = [
        ChanceTable(names[v], _PRESENCE, (), np.array([1.0 - p, p]))
        for v, p in enumerate(network.prior)
        if v in variables
    ]
    for number, node in enumerate(network.mechanisms, start=network.roots):
        if number in variables:
            net = np.stack([node.off, np.ones(len(node.off))], axis=1)
            state = Finding(names[number], node.parents, net, np.array([node.leak_off, 1.0]))
            found.extend(_chain(_Seen(names[number], _PRESENCE, state), names))
    for each in seen:
        found.extend(_chain(each, names))
    return tuple(found)


def finding_name(key: str) -> str:
    """Return the name of the variable that stands for a finding of a network.

    Examples
    --------
    >>> finding_name("question:photos-from-the-day.film-on-the-carpet")
    'question_photos_from_the_day__film_on_the_carpet'
    """
    kind, _, rest = key.partition(":")
    return f"{kind}_{_plain(rest)}"


def _plain(name: str) -> str:
    return name.replace(".", "__").replace("-", "_")


def _variable_names(network: Network) -> list[str]:
    return [
        *(f"cause_{_plain(cause)}" for cause in network.causes),
        *(f"look_{_plain(act)}" for act in network.shared),
        *(f"mechanism_{_plain(node.id)}" for node in network.mechanisms),
    ]


def _findings(network: Network) -> Iterator[_Seen]:
    for finding in network.symptoms.values():
        yield _Seen(finding_name(finding.key), _MENTION, finding)
    for asked in network.questions.values():
        levels = tuple(_plain(answer) for answer in (NONE_OF_THESE, *asked.answers))
        states = _TICK if asked.rule is AnswerRule.TICKS else levels
        for finding in asked.findings:
            yield _Seen(finding_name(finding.key), states, finding)
    for finding in network.checks.values():
        yield _Seen(finding_name(finding.key), _DEVIATION, finding)


def _coupled(network: Network, seen: Iterable[_Seen], symptom: str) -> tuple[list[_Seen], set[int]]:
    """Findings that bear on a cause of the symptom, and all variables above them."""
    core = {int(parent) for parent in network.symptoms[symptom].parents}
    above = {
        number: {int(parent) for parent in node.parents}
        for number, node in enumerate(network.mechanisms, start=network.roots)
    }
    core |= {number for number, parents in above.items() if parents & core}
    bearing = {each.name for each in seen if not core.isdisjoint(each.finding.parents.tolist())}
    # The ticks of one question are given together or not at all.
    for asked in network.questions.values():
        ticks = {finding_name(finding.key) for finding in asked.findings}
        if ticks & bearing:
            bearing |= ticks
    kept = [each for each in seen if each.name in bearing]
    variables = core | {int(parent) for each in kept for parent in each.finding.parents}
    variables |= {parent for number in variables & above.keys() for parent in above[number]}
    return kept, variables


def _chain(seen: _Seen, names: Sequence[str]) -> Iterator[ChanceTable]:
    """Tables of one finding; only the last bears its name."""
    finding = seen.finding
    count = len(finding.parents)
    if finding.mixture or count <= MOST_PARENTS:
        yield _table(seen.name, seen.states, (), finding, names)
        return
    levels = np.arange(len(finding.base))
    before: tuple[str, ...] = ()
    first, number = 0, 0
    while first < count:
        last = first + MOST_PARENTS - len(before)
        number += 1
        name = seen.name if last >= count else f"{seen.name}__{number}"
        parents, net = finding.parents[first:last], finding.net[first:last]
        # Reached so far is a leak that is sure to give just that level.
        leaks = (
            [finding.base]
            if not before
            else [np.array(levels >= low, dtype=np.float64) for low in levels]
        )
        parts = [
            _table(name, seen.states, before, Finding("", parents, net, leak), names)
            for leak in leaks
        ]
        yield (
            parts[0]
            if not before
            else ChanceTable(
                name, seen.states, parts[0].parents, np.stack([part.chances for part in parts])
            )
        )
        before, first = (name,), last


def _table(
    name: str,
    states: tuple[str, ...],
    before: tuple[str, ...],
    finding: Finding,
    names: Sequence[str],
) -> ChanceTable:
    """The chances of one finding for every combination of its parents."""
    count = len(finding.parents)
    local = Finding("", np.arange(count), finding.net, finding.base, finding.mixture)
    present = np.moveaxis(np.indices((2,) * count, dtype=np.intp), 0, -1).astype(bool)
    parents = (*before, *(names[int(parent)] for parent in finding.parents))
    return ChanceTable(name, states, parents, level_chances(local, present))


def as_bif(tables: Iterable[ChanceTable], notes: Mapping[str, str]) -> str:
    """Return tables as BIF text; `notes` become remarks before the network."""
    tables = list(tables)
    states = {table.name: table.states for table in tables}
    lines = [f"// {key}: {value}" for key, value in notes.items()]
    lines += [f"network {NETWORK_NAME} {{", "}"]
    for table in tables:
        among = ", ".join(table.states)
        lines += [
            f"variable {table.name} {{",
            f"  type discrete [ {len(table.states)} ] {{ {among} }};",
            "}",
        ]
    for table in tables:
        given = f" | {', '.join(table.parents)}" if table.parents else ""
        lines.append(f"probability ( {table.name}{given} ) {{")
        for place in np.ndindex(table.chances.shape[:-1]):
            words = ", ".join(states[p][at] for p, at in zip(table.parents, place, strict=True))
            start = f"({words})" if words else "table"
            lines.append(f"  {start} {', '.join(_numbers(table.chances[place]))};")
        lines.append("}")
    return "\n".join(lines) + "\n"


def as_xmlbif(tables: Iterable[ChanceTable], notes: Mapping[str, str]) -> str:
    """Return tables as XMLBIF text; `notes` become properties of the network."""
    tables = list(tables)
    lines = ['<?xml version="1.0" encoding="UTF-8"?>', '<BIF VERSION="0.3">', "<NETWORK>"]
    lines.append(f"<NAME>{NETWORK_NAME}</NAME>")
    lines += [f"<PROPERTY>{key} = {escape(value)}</PROPERTY>" for key, value in notes.items()]
    for table in tables:
        lines += ['<VARIABLE TYPE="nature">', f"  <NAME>{table.name}</NAME>"]
        lines += [f"  <OUTCOME>{state}</OUTCOME>" for state in table.states]
        lines.append("</VARIABLE>")
    for table in tables:
        lines += ["<DEFINITION>", f"  <FOR>{table.name}</FOR>"]
        lines += [f"  <GIVEN>{parent}</GIVEN>" for parent in table.parents]
        lines += [f"  <TABLE>{' '.join(_numbers(table.chances))}</TABLE>", "</DEFINITION>"]
    return "\n".join([*lines, "</NETWORK>", "</BIF>"]) + "\n"


FORMATS: Mapping[str, Callable[[Iterable[ChanceTable], Mapping[str, str]], str]] = {
    "bif": as_bif,
    "xmlbif": as_xmlbif,
}


def _numbers(chances: Array) -> list[str]:
    """Shortest figures that read back as the same numbers."""
    return [repr(float(chance)) for chance in chances.ravel()]
