"""Turn one node of a sheet into the canonical text of its field."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import tzinfo

from diagnose.record.codec import NO, YES, json_text, number_text
from diagnose.record.fields import FieldRule, near_names
from diagnose.record.ranges import Bounds
from diagnose.record.sheet_numbers import (
    NotReadableError,
    in_unit,
    listed,
    read_number,
    short,
)
from diagnose.record.sheet_times import read_day, read_time
from diagnose.record.words import TRADE_WORDS
from diagnose.yaml_text import Node

LONGEST_TEXT = 10_000
MOST_POINTS = 10_000
MOST_WORDS = 500
FARTHEST_M = 1_000
_YES = ("yes", "true", "y")
_NO = ("no", "false", "n")
_LEAST_POINTS = {"outline_m": 3, "pivots_m": 1}


@dataclass(frozen=True, slots=True)
class Reading:
    """Canonical text of a value, and what to ask about it, if anything."""

    text: str
    query: str = ""


def read_value(rule: FieldRule, node: Node, zone: tzinfo | None) -> Reading:
    """Return the canonical text of a node for its field.

    Raises
    ------
    NotReadableError
        When the node does not hold what the field takes; says what it takes.
    """
    if rule.kind == "time":
        return Reading(read_time(plain_text(node), zone))
    return _READERS[rule.kind](rule, node)


def plain_text(node: Node) -> str:
    """Return the text of a node, trimmed and in one Unicode form (NFC)."""
    if node.kind != "text":
        raise NotReadableError("one value is needed")
    return unicodedata.normalize("NFC", node.text.strip())


def shown(node: Node, depth: int = 3) -> str:
    """Return what a node holds, cut to a line's length, for a message."""
    if node.kind == "text":
        return short(node.text) or '""'
    if depth == 0:
        return "…"
    if node.kind == "list":
        held = [shown(inner, depth - 1) for inner in node.list()[:6]]
        return short(f"[{', '.join(held)}{', …' if len(node.list()) > 6 else ''}]")
    pairs = [f"{key}: {shown(inner, depth - 1)}" for key, _, inner in node.items()[:6]]
    return short(f"{{{', '.join(pairs)}{', …' if len(node.items()) > 6 else ''}}}")


def check_bounds(text: str, bounds: Bounds, unit: str, decimals: bool = True) -> str:
    """Return a question about an unusual number, empty for a usual one.

    With `decimals` a missing decimal point may be the mistake, and is hinted at.

    Raises
    ------
    NotReadableError
        When a number lies where it cannot be true.
    """
    value = float(text)
    beside = f" {unit}" if unit else ""
    if not bounds.low <= value <= bounds.high:
        hint = _decimal_hint(value, bounds) if decimals else ""
        raise NotReadableError(f"{_span(bounds.low, bounds.high)}{beside} is possible", hint)
    if not bounds.usual_low <= value <= bounds.usual_high:
        return f"{text}{beside} is unusual; {_span(bounds.usual_low, bounds.usual_high)} is usual"
    return ""


def one_of(text: str, words: tuple[str, ...]) -> str:
    """Return the allowed word that `text` is, whatever its capitals.

    Raises
    ------
    NotReadableError
        When it is none of them, naming them and the nearest.
    """
    wanted = text.casefold().replace(" ", "-").replace("_", "-")
    found = next((word for word in words if word.casefold() in (wanted, text.casefold())), None)
    if found is not None:
        return found
    right = next((word for word in TRADE_WORDS.get(wanted, ()) if word in words), None)
    if right is not None:
        raise NotReadableError(f"allowed are {listed(words)}", f"write {right} for {short(text)}")
    near = near_names(text, list(words), 1)
    hint = f"did you mean {near[0]}?" if near else ""
    raise NotReadableError(f"allowed are {listed(words)}", hint)


def _decimal_hint(value: float, bounds: Bounds) -> str:
    low, high = max(bounds.low, bounds.usual_low), min(bounds.high, bounds.usual_high)
    fits = (value / power for power in (10, 100, 1000) if low <= value / power <= high)
    found = next(fits, None)
    if found is None:
        return "is another unit meant?"
    return f"is a decimal point missing? {number_text(round(found, 6))} would fit"


def _span(low: float, high: float) -> str:
    return f"{low:g} to {high:g}"


def _text(rule: FieldRule, node: Node) -> Reading:
    text = plain_text(node)
    if len(text) > LONGEST_TEXT:
        raise NotReadableError(f"a text holds at most {LONGEST_TEXT} characters")
    if rule.words:
        return Reading(one_of(text, rule.words))
    return Reading(text)


def _number(rule: FieldRule, node: Node) -> Reading:
    written = read_number(plain_text(node))
    text = in_unit(written, rule.unit)
    if rule.kind == "whole":
        whole, _, rest = text.partition(".")
        if rest.strip("0"):
            raise NotReadableError("a whole number is needed")
        text = whole
    decimals = rule.kind == "number" and text == written.text
    return Reading(text, check_bounds(text, rule.bounds, rule.unit, decimals))


def _yes_no(rule: FieldRule, node: Node) -> Reading:
    text = plain_text(node).casefold()
    if text in _YES:
        return Reading(YES)
    if text in _NO:
        return Reading(NO)
    raise NotReadableError("allowed are yes or no", "leave the line out if it is not known")


def _day(rule: FieldRule, node: Node) -> Reading:
    return Reading(read_day(plain_text(node)))


def _words(rule: FieldRule, node: Node) -> Reading:
    nodes = node.list() if node.kind == "list" else [node]
    if node.kind == "map":
        raise NotReadableError("a list of words is needed", "such as [L1, L2]")
    texts = [plain_text(inner) for inner in nodes]
    if not all(texts):
        raise NotReadableError("a word of the list is empty")
    if rule.words:
        texts = [one_of(text, rule.words) for text in texts]
    if len(texts) > MOST_WORDS:
        raise NotReadableError(f"a list holds at most {MOST_WORDS} words")
    for number, text in enumerate(texts):
        if text in texts[:number]:
            raise NotReadableError(f"the list holds {short(text)} twice")
    return Reading(json_text(tuple(texts)))


def _point(rule: FieldRule, node: Node) -> Reading:
    return Reading(json_text(_pair(node)))


def _line(rule: FieldRule, node: Node) -> Reading:
    return Reading(json_text(_pairs(node, _LEAST_POINTS.get(rule.name, 2))))


def _lines(rule: FieldRule, node: Node) -> Reading:
    if node.kind != "list":
        raise NotReadableError("a list of lines is needed", "such as [[[0, 0], [4, 0]]]")
    return Reading(json_text(tuple(_pairs(inner, 2) for inner in node.list())))


def _colour(rule: FieldRule, node: Node) -> Reading:
    lab = _numbers(node, 3, "L*, a* and b* are needed", "such as [52.1, 3.4, -8.0]")
    if not (0 <= lab[0] <= 100 and all(-200 <= value <= 200 for value in lab[1:])):
        raise NotReadableError("L* lies between 0 and 100, a* and b* between -200 and 200")
    return Reading(json_text(lab))


def _log(rule: FieldRule, node: Node) -> Reading:
    raise NotReadableError(
        "this comes from the file of a logger, never from a sheet",
        "leave the line out and import the file",
    )


def _pairs(node: Node, least: int) -> tuple[tuple[float, ...], ...]:
    if node.kind != "list":
        raise NotReadableError("a list of points is needed", "such as [[0, 0], [4, 0]]")
    if not least <= len(node.list()) <= MOST_POINTS:
        raise NotReadableError(f"{least} points or more are needed (at most {MOST_POINTS})")
    return tuple(_pair(inner) for inner in node.list())


def _pair(node: Node) -> tuple[float, ...]:
    pair = _numbers(node, 2, "a point is x and y in metres", "such as [4, 0.5]")
    if any(abs(value) > FARTHEST_M for value in pair):
        hint = "plans are in metres; was it written in millimetres?"
        raise NotReadableError(f"a point lies within {FARTHEST_M} m of the origin", hint)
    return pair


def _numbers(node: Node, count: int, text: str, hint: str) -> tuple[float, ...]:
    if node.kind != "list" or len(node.list()) != count:
        raise NotReadableError(text, hint)
    found = [read_number(plain_text(inner)) for inner in node.list()]
    if any(written.unit for written in found):
        raise NotReadableError(text, hint)
    return tuple(written.value for written in found)


_READERS: Mapping[str, Callable[[FieldRule, Node], Reading]] = {
    "text": _text,
    "number": _number,
    "whole": _number,
    "yes-no": _yes_no,
    "date": _day,
    "words": _words,
    "point": _point,
    "line": _line,
    "lines": _lines,
    "colour": _colour,
    "log": _log,
}
