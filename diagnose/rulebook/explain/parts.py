"""Pieces that several kinds of page share: floors, weights, cautions, sources."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from diagnose.rulebook.explain.page import CautionShown, Explanation, Row, Section, SourceShown
from diagnose.rulebook.model import Answer, Applies, Cite, Question, Rules, WordScale
from diagnose.rulebook.short_forms import short_forms_in

SUPPORT_WORDS = {"stated": "says so", "inferred": "read out of it", "none": "no source"}
HOW_SURE = {
    "seen": "read in the source",
    "second-hand": "read second-hand",
    "memory": "from memory, to be verified",
    "computed": "computed",
    "data-sheet": "from the data sheet",
}


def plain(word: str) -> str:
    """Return an id or set word as a person reads it: `cement-screed` without hyphens."""
    return word.replace("-", " ")


def listed(words: Iterable[str], last: str = "or") -> str:
    """Return words as a list in a sentence: `a, b or c`."""
    *most, end = list(words) or [""]
    return f"{', '.join(most)} {last} {end}" if most else end


def floors(applies: Applies) -> str:
    """Return the floors that a rule holds for, in words."""
    if not applies:
        return "every floor"
    return "; ".join(f"{facet}: {listed(values)}" for facet, values in applies.items())


def section(title: str, rows: Iterable[Row], note: str = "") -> Iterator[Section]:
    """Yield a section, or nothing if it would be empty."""
    found = tuple(rows)
    if found:
        yield Section(title, found, note)


def facts(pairs: Iterable[tuple[str, str]], title: str = "In short") -> Iterator[Section]:
    """Yield one section of labelled facts, leaving out the empty ones."""
    yield from section(title, (Row(f"{label}: {text}") for label, text in pairs if text))


def in_hundred(scale: WordScale, word: str) -> str:
    """Return a word of a scale with its figure: `often, about 70 in 100`."""
    if word not in scale.words:
        return plain(word)
    return f"{plain(word)}, about {scale.words[word] * 100:.2g} in 100"


def weights_in_words(scale: WordScale) -> str:
    """Return what the words of a scale stand for, in one line."""
    told = ", ".join(f"{plain(word)} {chance * 100:.2g}" for word, chance in scale.words.items())
    return f"In 100 floors with this cause alone, so many would show it: {told} ({scale.source})."


def by_weight(scale: WordScale, pairs: Iterable[tuple[str, Row]]) -> tuple[Row, ...]:
    """Return the rows with the heaviest word first."""
    order = {word: number for number, word in enumerate(scale.words)}
    return tuple(row for _, row in sorted(pairs, key=lambda pair: order.get(pair[0], len(order))))


def answer_rows(rules: Rules, cause: str, *, against: bool = False) -> Iterator[tuple[str, Row]]:
    """Yield (weight word, row) of every answer that speaks for or against a cause."""
    for question in rules.questions.values():
        for answer in question.answers:
            words = answer.speaks_against if against else answer.speaks_for
            if cause in words:
                yield words[cause], answer_row(question, answer, plain(words[cause]))


def answer_row(question: Question, answer: Answer, note: str) -> Row:
    """Return one answer of a question as a line that leads to the question."""
    return Row(f"{question.ask} - {answer.text}", question.id, note)


def named(items: Mapping[str, object], ids: Iterable[str]) -> Iterator[Row]:
    """Yield a line with the name of each item."""
    for name in ids:
        yield Row(str(getattr(items[name], "name", name)), name)


def cautions(rules: Rules, *lists: Iterable[str]) -> tuple[CautionShown, ...]:
    """Return the cautions of several lists once each, in order."""
    ids = dict.fromkeys(name for each in lists for name in each)
    shown = (rules.cautions[name] for name in ids)
    return tuple(CautionShown(each.id, each.name, each.text, each.defer_to) for each in shown)


def sources(rules: Rules, cites: Iterable[Cite]) -> tuple[SourceShown, ...]:
    """Return where an item is from, with clause and how the source was read."""
    return tuple(_source(rules, cite) for cite in cites)


def _source(rules: Rules, cite: Cite) -> SourceShown:
    source = rules.sources[cite.source]
    return SourceShown(
        id=source.id,
        title=source.title,
        year=source.year,
        clause=cite.clause,
        support=SUPPORT_WORDS[cite.support],
        read_as=source.read_as,
        note=cite.note,
    )


def with_short_forms(rules: Rules, page: Explanation) -> Explanation:
    """Return the page with a section that says what its short forms stand for."""
    said = [page.name, page.text, *(caution.text for caution in page.cautions)]
    for each in page.sections:
        for row in each.rows:
            said += [row.text, row.note, *row.points]
    said += [f"{source.title} {source.read_as} {source.note}" for source in page.sources]
    met = dict.fromkeys(short for text in said for short in short_forms_in(text))
    known = (rules.abbreviations[short] for short in met if short in rules.abbreviations)
    rows = (Row(f"{each.short}: {each.long}") for each in known if each.id != page.id)
    return replace(page, sections=(*page.sections, *section("Short forms", rows)))


def teaching(rules: Rules, name: str) -> Iterator[Section]:
    """Yield what is heard on site about an item, and what is nearer the truth."""
    points = (point for point in rules.teaching.values() if name in point.about)
    rows = (
        Row(f'"{point.heard}"', point.id, f"Nearer the truth: {point.better}") for point in points
    )
    yield from section("Heard on site", rows)


def remedies(rules: Rules, ids: Iterable[str], title: str) -> Iterator[Section]:
    """Yield remedies with their steps."""
    found = (rules.remedies[name] for name in ids)
    yield from section(title, (Row(each.name, each.id, "", each.steps) for each in found))
