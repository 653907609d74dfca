"""Pages about what is done and where it is from: remedies, cautions, sources, teaching."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from diagnose.rulebook.explain.page import Explanation, Row
from diagnose.rulebook.explain.parts import (
    cautions,
    facts,
    floors,
    named,
    section,
    sources,
    teaching,
)
from diagnose.rulebook.kinds import KINDS
from diagnose.rulebook.model import (
    Abbreviation,
    Caution,
    Link,
    Remedy,
    Rules,
    Source,
    TeachingPoint,
)


def remedy_page(rules: Rules, item: Remedy) -> Explanation:
    """Return the page of a remedy: its steps, and what it is for."""
    causes = [cause.id for cause in rules.causes.values() if item.id in cause.remedies]
    symptoms = [each.id for each in rules.symptoms.values() if item.id in each.make_safe]
    return Explanation(
        id=item.id,
        kind="remedy",
        name=item.name,
        text="Makes the place safe at once." if item.make_safe else "",
        cautions=cautions(rules, item.cautions),
        sections=(
            *section("Steps", (Row(f"{n}. {step}") for n, step in enumerate(item.steps, start=1))),
            *facts((("Damage to the floor", item.damage.replace("-", " ")),)),
            *section("For these causes", named(rules.causes, causes)),
            *section("Makes safe", named(rules.symptoms, symptoms)),
            *teaching(rules, item.id),
        ),
        sources=sources(rules, item.sources),
    )


def caution_page(rules: Rules, item: Caution) -> Explanation:
    """Return the page of a caution: the hazard, and where it is met."""
    return Explanation(
        id=item.id,
        kind="caution",
        name=item.name,
        text=item.text,
        cautions=(),
        sections=(
            *facts((("Has the last word", item.defer_to), ("Floors", floors(item.applies)))),
            *section("Met at", _met(rules, item)),
            *teaching(rules, item.id),
        ),
        sources=sources(rules, item.sources),
    )


def source_page(rules: Rules, item: Source) -> Explanation:
    """Return the page of a source: how it was read, and which rules rest on it."""
    return Explanation(
        id=item.id,
        kind="source",
        name=item.title,
        text=item.note,
        cautions=(),
        sections=(
            *facts(
                (
                    ("Year", item.year),
                    ("Edition", item.edition),
                    ("Sort", item.kind.replace("-", " ")),
                    ("How it was read", item.read_as),
                    ("Name in a contract", item.code),
                    ("Address", item.address),
                )
            ),
            *section("Rules that cite it", _citing(rules, item)),
        ),
        sources=(),
    )


def teaching_page(rules: Rules, item: TeachingPoint) -> Explanation:
    """Return the page of something heard on site."""
    return Explanation(
        id=item.id,
        kind="teaching point",
        name=f'"{item.heard}"',
        text=item.better,
        cautions=(),
        sections=(*section("About", (_any_row(rules, name) for name in item.about)),),
        sources=sources(rules, item.sources),
    )


def abbreviation_page(rules: Rules, item: Abbreviation) -> Explanation:
    """Return the page of a short form: what it stands for."""
    return Explanation(item.short, "abbreviation", item.short, item.long, (), (), ())


def title(item: Any) -> str:
    """Return what an item is called: its name, question or title."""
    for attribute in ("name", "ask", "title", "heard", "short"):
        if hasattr(item, attribute):
            return str(getattr(item, attribute))
    return str(item.id)


def _words_for(rules: Rules, item: Any) -> str:
    if isinstance(item, Link):
        return f"{rules.causes[item.cause].name} gives {rules.symptoms[item.symptom].name}"
    return title(item)


def _any_row(rules: Rules, name: str) -> Row:
    for kind in KINDS[:-1]:
        if item := getattr(rules, kind.key).get(name):
            return Row(title(item), name, kind.word)
    return Row(name, name)


def _met(rules: Rules, item: Caution) -> Iterator[Row]:
    for kind in KINDS[:-1]:
        for other in getattr(rules, kind.key).values():
            if item.id in getattr(other, "cautions", ()):
                yield Row(title(other), other.id, kind.word)


def _citing(rules: Rules, item: Source) -> Iterator[Row]:
    for kind in KINDS[:-1]:
        for other in getattr(rules, kind.key).values():
            cites = [*getattr(other, "sources", ())]
            cites += [value.cite for value in other.values] if kind.key == "limits" else []
            found = [cite for cite in cites if cite.source == item.id]
            if found:
                clauses = ", ".join(dict.fromkeys(cite.clause for cite in found if cite.clause))
                note = f"{kind.word}{f', clause {clauses}' if clauses else ''}"
                yield Row(_words_for(rules, other), other.id, note)
