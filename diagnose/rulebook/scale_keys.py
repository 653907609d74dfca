"""The keys of scale.yaml: scales of words, and single numbers with their ranges."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from diagnose.rulebook import model
from diagnose.rulebook.fields import Choice, Log, MapOf, Number, Text
from diagnose.rulebook.records import Field, Record
from diagnose.yaml_text import Node

SCALES = (
    "link_strength",
    "answer_for",
    "answer_against",
    "check_backs",
    "how_common",
    "trust",
    "damage_minutes",
    "probability_words",
    "weight_words",
)


def _named_scale(name: str) -> Callable[..., model.WordScale]:
    def make(**values: object) -> model.WordScale:
        return model.WordScale(name=name, **values)  # type: ignore[arg-type]

    return make


def _scale_record(name: str) -> Record:
    return Record(
        "scale",
        _named_scale(name),
        (
            Field("source", Text(), "where the scale is from"),
            Field("note", Text(blank=True), "what a reader should know", default=""),
            Field("words", MapOf(Text(), Number(), least=1), "word to number"),
        ),
    )


def empty_scale(name: str) -> model.WordScale:
    """Return the scale that stands in where scale.yaml does not have it."""
    return model.WordScale(name=name, words={}, source="")


_CHANCE = (0.0001, 0.9999)
NUMBERS: Mapping[str, tuple[float, float]] = {
    "leak": _CHANCE,
    "background": _CHANCE,
    "usual_background": _CHANCE,
    "sighting_background": _CHANCE,
    "mention_rate": _CHANCE,
    "check_false_alarm": _CHANCE,
    "not_recorded_in_order": _CHANCE,
    "not_recorded_deviation": _CHANCE,
    "mechanism_leak": _CHANCE,
    "together_share": _CHANCE,
    "together_part": _CHANCE,
    "settle_at": (0.5, 0.9999),
    "least_gain_bit": (0.0, 5.0),
    "wrong_finding_minutes": (1.0, 100_000.0),
    "bit_of_wrong_finding": (0.0, 1.0),
}
"""Single numbers of the scale, each with its least and greatest value."""


@dataclass(frozen=True, slots=True)
class _Numbers:
    """Numbers by name, each within its range; no other names."""

    def read(self, node: Node, log: Log) -> dict[str, float]:
        values: dict[str, float] = MapOf(Choice(tuple(NUMBERS)), Number()).read(node, log)
        given = {key: each for key, _, each in node.items()}
        for name, value in values.items():
            low, high = NUMBERS[name]
            if not low <= value <= high:
                hint = f"{name} lies between {low:g} and {high:g}"
                raise log.refuse(given[name], f"{name} cannot be {value:g}", hint)
        return values

    def schema(self) -> dict[str, object]:
        numbers = {
            name: {"type": "number", "minimum": low, "maximum": high}
            for name, (low, high) in NUMBERS.items()
        }
        return {"type": "object", "properties": numbers, "additionalProperties": False}


SCALE = Record(
    "scale file",
    model.Scale,
    (
        *(
            Field(name, _scale_record(name), "words and their numbers", default=empty_scale(name))
            for name in SCALES
        ),
        Field("numbers", _Numbers(), "single numbers by name", default={}),
    ),
)
