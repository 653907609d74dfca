"""Sheets for a trainer: questions, cases and class results, the key apart.

A sheet is a list of lines that know what they are; it is written as Markdown
or as plain text from the same lines.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from diagnose.practice.analysis import (
    calibration,
    item_figures,
    mean_brier,
    missed_causes,
    weak_stages,
)
from diagnose.practice.draw import PracticeCase, network_of
from diagnose.practice.item import Item, ItemKind
from diagnose.practice.measures import confidence_marks
from diagnose.practice.progress import Progress
from diagnose.practice.site import plan_lines
from diagnose.practice.wording import (
    INVENTED,
    answer_words,
    causes_words,
    complaint_words,
    facts_words,
    record_paragraphs,
)
from diagnose.rulebook.model import Rules
from diagnose.text import clean

LETTERS = "ABCDEFGHIJ"
MARKS = "Marks: right 1, 2 or 3 as sure as you say you are; wrong 0, -2 or -6."

ITEMS_READ = (
    "Share: how many got it right, from 0 to 1. Item-rest: from -1 to 1, how far those who got it "
    "right did better in the other questions too; near 0 or below, look at the question again."
)
INLINE = r"([\\`*_\[\]<>#|~&$])"
"""Characters that Markdown could read as markup anywhere."""
FLOORS_INVENTED = "Floors, rooms and findings in the questions are invented."


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a sheet: `title`, `head`, `text`, `option`, `row` or `picture`."""

    kind: str
    text: str
    cells: tuple[str, ...] = ()


def question_sheet(items: Sequence[Item], title: str) -> list[Line]:
    """Return the questions without their answers."""
    lines = [Line("title", title), Line("text", f"{MARKS} {FLOORS_INVENTED}")]
    for number, item in enumerate(items, start=1):
        first, *rest = item.ask.split("\n")
        lines += [Line("head", f"Question {number}"), Line("text", first)]
        drawn = item.kind is ItemKind.READ_A_PICTURE
        lines += [Line("picture" if drawn else "text", each) for each in rest[:-1]]
        lines += [Line("text", each) for each in rest[-1:]]
        lines += [
            Line("option", f"{LETTERS[n]}. {option.text}") for n, option in enumerate(item.options)
        ]
        asked = "Order: ........" if item.kind is ItemKind.STEPS_IN_ORDER else "Answer: ...."
        lines.append(Line("text", f"{asked}   How sure (1, 2, 3): ...."))
    return lines


def answer_key(items: Sequence[Item], title: str) -> list[Line]:
    """Return the key of a question sheet, to be kept apart from it."""
    lines = [Line("title", f"{title}: key")]
    for number, item in enumerate(items, start=1):
        letters = ", ".join(LETTERS[each] for each in item.key)
        lines.append(Line("head", f"{number}. {letters}"))
        lines.append(Line("text", item.why))
        ids = ", ".join(item.rules)
        sources = ", ".join(item.sources)
        if ids or sources:
            lines.append(Line("text", f"Rules: {ids or 'none'}. Sources: {sources or 'none'}."))
    return lines


def case_sheet(rules: Rules, cases: Sequence[PracticeCase], title: str) -> list[Line]:
    """Return invented cases for the class, without what was wrong."""
    lines = [Line("title", title), Line("text", INVENTED)]
    for case in cases:
        lines.append(Line("head", f"Case {case.name}"))
        lines += [Line("text", part) for part in complaint_words(rules, case).split("\n")]
        lines.append(Line("text", facts_words(case)))
        lines += [Line("picture", row) for row in plan_lines(case.floor, case.site)]
        lines += [Line("option", text) for text in record_paragraphs(rules, case)]
        lines.append(Line("text", "Cause: ............   How sure: .... %   Remedy: ............"))
    return lines


def case_key(rules: Rules, cases: Sequence[PracticeCase], title: str) -> list[Line]:
    """Return what was wrong in the cases, and what each question would show."""
    lines = [Line("title", f"{title}: key"), Line("text", INVENTED)]
    for case in cases:
        lines.append(Line("head", f"Case {case.name}: {causes_words(rules, case.truth)}"))
        for name in network_of(rules, case).questions:
            said = answer_words(rules, name, case.answers.get(name))
            lines.append(Line("option", f"{name}: {rules.questions[name].ask} {said}"))
    return lines


def class_sheet(rules: Rules, progress: Progress) -> list[Line]:
    """Return who did what, how well beliefs fit, and which causes are missed."""
    lines = [Line("title", "Class sheet")]
    lines.append(_row("who", "cases", "right", "points", "Brier", "questions", "marks"))
    for pupil in progress.pupils:
        own = progress.of(pupil)
        brier = mean_brier(own.cases)
        points = [case.points for case in own.cases]
        marks = sum(confidence_marks(item.right, item.confidence) for item in own.items)
        lines.append(
            _row(
                pupil,
                str(len(own.cases)),
                str(sum(case.right for case in own.cases)),
                str(round(sum(points) / len(points))) if points else "-",
                f"{brier:.2f}" if brier is not None else "-",
                str(len(own.items)),
                str(marks),
            )
        )
    lines += _class_beliefs(progress)
    lines += _class_gaps(rules, progress)
    return lines


def _class_beliefs(progress: Progress) -> list[Line]:
    lines = [Line("head", "Said and true"), _row("said", "findings", "right", "mean said")]
    for band in calibration(progress.cases):
        cells = (f"{band.low} to {band.high} %", str(band.stated), str(band.right))
        lines.append(_row(*cells, f"{band.mean_percent:.0f} %"))
    return lines if len(lines) > 2 else []


def _class_gaps(rules: Rules, progress: Progress) -> list[Line]:
    missed = [(c, m, n) for c, (m, n) in missed_causes(progress.cases).items() if m]
    if not missed:
        return []
    lines = [Line("head", "Causes missed"), _row("cause", "missed", "of")]
    for cause, count, there in missed:
        name = rules.causes[cause].name if cause in rules.causes else cause
        lines.append(_row(name, str(count), str(there)))
    lines += [Line("head", "Weak stages"), _row("stage", "missed", "of")]
    stages = weak_stages(rules, progress.cases).items()
    lines += [_row(stage, str(count), str(there)) for stage, (count, there) in stages if count]
    return lines


def item_sheet(progress: Progress) -> list[Line]:
    """Return how each question did with the class."""
    lines = [
        Line("title", "How the questions did"),
        Line("text", ITEMS_READ),
        _row("question", "about", "right", "of", "share", "item-rest", "verdict"),
    ]
    subjects = {result.item: result.subject for result in progress.items}
    for each in item_figures(progress.items):
        few = each.verdict.startswith("too few")
        share = "-" if few else f"{each.difficulty:.2f}"
        rest = "-" if few or each.item_rest is None else f"{each.item_rest:.2f}"
        about = subjects.get(each.item, "").partition(":")[2].replace("-", " ")
        cells = (each.item, about, str(each.right), str(each.asked), share, rest, each.verdict)
        lines.append(_row(*cells))
    return lines


def _row(*cells: str) -> Line:
    return Line("row", "", cells)


def as_markdown(lines: Iterable[Line]) -> str:
    """Return a sheet as Markdown; nothing in it is read as markup but ours."""
    out: list[str] = []
    before = ""
    for line in lines:
        text = _escaped(line.text)
        match line.kind:
            case "title":
                out += [f"# {text}", ""]
            case "head":
                out += ["", f"## {text}", ""]
            case "option":
                out.append(f"- {text}")
            case "picture":
                out.append(f"    {clean(line.text)}")
            case "row":
                out.append("| " + " | ".join(_cell(cell) for cell in line.cells) + " |")
                if before != "row":
                    out.append("|" + " --- |" * len(line.cells))
            case _:
                out += ["", text, ""]
        before = line.kind
    return re.sub(r"\n{3,}", "\n\n", "\n".join(out)).strip() + "\n"


def as_text(lines: Iterable[Line], width: int = 76) -> str:
    """Return a sheet as plain text."""
    rows = list(lines)
    widths = _widths(rows)
    out: list[str] = []
    for line in rows:
        text = clean(line.text)
        match line.kind:
            case "title":
                out += [*_wrapped(text, width), "=" * min(width, len(text)), ""]
            case "head":
                out += ["", *_wrapped(text, width), ""]
            case "option":
                out += _wrapped(text, width, "  ", "     ")
            case "picture":
                out.append(f"  {text}")
            case "row":
                cells = (clean(c).ljust(w) for c, w in zip(line.cells, widths, strict=False))
                out.append("  ".join(cells).rstrip())
            case _:
                out += _wrapped(text, width)
    return "\n".join(out).strip() + "\n"


def _wrapped(text: str, width: int, first: str = "", then: str = "") -> list[str]:
    import textwrap

    return textwrap.wrap(
        text, width, initial_indent=first, subsequent_indent=then, break_on_hyphens=False
    )


def as_csv(lines: Iterable[Line]) -> str:
    """Return the rows of a sheet as CSV; no cell can start a formula.

    A sheet without rows gives its lines, each with what it is.
    """
    kept = list(lines)
    rows = [line.cells for line in kept if line.kind == "row"]
    out = io.StringIO()
    writer = csv.writer(out, quoting=csv.QUOTE_ALL, lineterminator="\r\n")
    for row in rows or [(line.kind, line.text) for line in kept]:
        writer.writerow([_safe_cell(clean(cell)) for cell in row])
    return out.getvalue()


def _safe_cell(cell: str) -> str:
    if re.fullmatch(r"-?\d+(\.\d+)?", cell) or cell == "-":
        return cell
    return f"'{cell}" if cell[:1] in "=+-@\t\r" else cell


def _widths(lines: Sequence[Line]) -> list[int]:
    rows = [line.cells for line in lines if line.kind == "row"]
    longest = max((len(row) for row in rows), default=0)
    return [max(len(row[n]) for row in rows if len(row) > n) for n in range(longest)]


def _cell(text: str) -> str:
    """Return the text of a table's cell; no list can begin in it."""
    return re.sub(INLINE, r"\\\1", " ".join(clean(text).split()))


def _escaped(text: str) -> str:
    marked = re.sub(r"^([-+])", r"\\\1", _cell(text))
    return re.sub(r"^(\d+)([.)])", r"\1\\\2", marked)
