"""Draw the reasoning of a finding: what is known, the causes, the symptom.

Reads downwards so that it fits a phone: what was recorded or answered flows
down the right side into the likeliest explanation, the explanations down the
left side into the symptom.  A line is as wide as it weighs; what speaks against is dashed.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from diagnose.reports.bars import Bar, bar_lines
from diagnose.reports.blocks import PictureBlock
from diagnose.reports.svg import (
    FONT,
    WIDTH,
    Shape,
    group,
    label,
    number,
    picture,
    shape,
    wrap,
)
from diagnose.walk.finding import ExplanationLine, Finding, Reason

MOST_ROWS = 5
"""Reasons drawn for a cause of the likeliest explanation; all of them stand in the text."""
MOST_OTHERS = 2
MOST_BARS = 6
LEFT, RIGHT = 46.0, 296.0
EDGE = 10.0
LINE = FONT + 4
GAP = 2.0
TITLE = "What leads to the finding"


def reasoning_picture(finding: Finding) -> PictureBlock:
    """Return the picture of a finding's reasoning, with every line of it in words."""
    drawing = _Drawing()
    words = []
    for cause in finding.causes:
        rows = [reason for reason in finding.reasons if reason.about == cause.id]
        heaviest = sorted(rows, key=lambda reason: -abs(reason.log10))[:MOST_ROWS]
        drawing.reasons(heaviest)
        words += [_reason_words(reason, cause.name) for reason in heaviest]
    for line in finding.explanations[: 1 + MOST_OTHERS]:
        drawing.explanation(line)
        words.append(f"{_names(line)}: {line.odds}.")
    symptom = " and ".join(name for _, name in finding.symptoms)
    drawing.symptom(symptom)
    words.append(f"Any of these could give: {symptom}.")
    if any(reason.log10 < 0 for reason in finding.reasons):
        words.append("What speaks against a cause is drawn dashed.")
    description = " ".join(words)
    svg = picture("reasoning", TITLE, description, drawing.y + 6, drawing.shapes)
    chances = [Bar(_names(line), line.probability) for line in finding.explanations[:MOST_BARS]]
    return PictureBlock(TITLE, description, svg, bar_lines(chances))


def _names(line: ExplanationLine) -> str:
    return " and ".join(line.names) or "None of the causes in the rules"


def _reason_words(reason: Reason, cause: str) -> str:
    way = "for" if reason.log10 >= 0 else "against"
    return f"{reason.text.rstrip('.')} speaks {way} {cause.lower()} ({reason.words})."


@dataclass(slots=True)
class _Drawing:
    """Shapes so far, and the height that they take."""

    shapes: list[Shape] = field(default_factory=list)
    y: float = 8.0
    known: list[tuple[float, Reason]] = field(default_factory=list)
    """Height and reason of every line not yet drawn down."""
    started: list[tuple[float, float]] = field(default_factory=list)
    """Height and width of the line that leaves each explanation."""

    def reasons(self, rows: Sequence[Reason]) -> None:
        """Draw what speaks for and against the likeliest explanation."""
        for reason in rows:
            lines = wrap(reason.text, RIGHT - LEFT - 20, lines=3)
            height = len(lines) * LINE + 6
            sign = "+" if reason.log10 >= 0 else "−"
            role = "for" if reason.log10 >= 0 else "against"
            self._box("panel", LEFT, RIGHT, height)
            self.shapes.append(label(LEFT + 5, self.y + LINE, sign, role=role, bold=True))
            self._text(lines, LEFT + 18)
            self.known.append((self.y + height / 2, reason))
            self.y += height + 5

    def explanation(self, line: ExplanationLine) -> None:
        """Draw an explanation with how likely it is; the first gathers the reasons."""
        if self.known:
            self.y += 12
            self.shapes += _down_the_right(self.known, self.y)
            self.known = []
        names = wrap(_names(line), WIDTH - EDGE - LEFT - 16, lines=3)
        height = (len(names) + 1) * LINE + 8
        self._box("paper", LEFT, WIDTH - EDGE, height, "line")
        self._text(names, LEFT + 8, bold=True)
        odds = label(LEFT + 8, self.y + LINE * (len(names) + 1) - 1, line.odds, role="quiet")
        self.shapes.append(odds)
        self.started.append((self.y + height / 2, 1.2 + 9 * line.probability))
        self.y += height + 10

    def symptom(self, name: str) -> None:
        """Draw the symptom with a line from every explanation."""
        self.y += 8
        lines = wrap(f"Symptom: {name}", WIDTH - 2 * EDGE - 16, lines=3)
        height = len(lines) * LINE + 8
        x = EDGE + 8
        for start, wide in self.started:
            path = f"M{number(LEFT)} {number(start)} H{number(x + 6)} Q{number(x)} {number(start)} "
            path += f"{number(x)} {number(start + 6)} V{number(self.y)}"
            self.shapes.append(shape("path", "none", "for-line", d=path, stroke_width=wide))
            x += 11
        self._box("panel", EDGE, WIDTH - EDGE, height, "mark-line")
        self._text(lines, EDGE + 8, bold=True)
        self.y += height

    def _box(self, role: str, left: float, right: float, height: float, line: str = "") -> None:
        roles = (role, line) if line else (role,)
        box = shape("rect", *roles, x=left, y=self.y, width=right - left, height=height, rx=3)
        self.shapes.append(box)

    def _text(self, lines: Sequence[str], x: float, *, bold: bool = False) -> None:
        for index, line in enumerate(lines):
            self.shapes.append(label(x, self.y + LINE * (index + 1) - 1, line, bold=bold))


def _down_the_right(starts: Sequence[tuple[float, Reason]], foot: float) -> Iterable[Shape]:
    """Yield lines from reasons to what is below; the highest runs outermost."""
    most = max(abs(reason.log10) for _, reason in starts) or 1.0
    widths = [1.2 + 8 * abs(reason.log10) / most for _, reason in starts]
    room = WIDTH - EDGE - RIGHT - 8 - GAP * len(widths)
    shrink = min(1.0, room / sum(widths))
    x = WIDTH - EDGE - 4
    for (y, reason), full in zip(starts, widths, strict=True):
        wide = max(0.8, full * shrink)
        x -= wide / 2
        turn = min(6.0, x - RIGHT)
        path = f"M{number(RIGHT)} {number(y)} H{number(x - turn)} "
        path += f"Q{number(x)} {number(y)} {number(x)} {number(y + turn)} V{number(foot)}"
        role = "for-line" if reason.log10 >= 0 else "against-line"
        dash = {} if reason.log10 >= 0 else {"stroke_dasharray": "5 3"}
        yield group([shape("path", "none", role, d=path, stroke_width=wide, **dash)])
        x -= wide / 2 + GAP
