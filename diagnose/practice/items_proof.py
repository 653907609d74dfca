"""Prove of a short question that its key is right and no other option is.

Each proof starts from the finished item, as the learner sees it, and goes back
to the rules and the engine; it trusts nothing that the maker concluded.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from diagnose.practice.graph import CLEARLY, SAME, SEPARATES, graph
from diagnose.practice.item import Item, ItemKind, Option, alike, kin
from diagnose.rulebook.model import Rules


def doubts(rules: Rules, item: Item) -> tuple[str, ...]:
    """Return why a question is not fair; nothing if it is."""
    texts = [option.text.strip().lower() for option in item.options]
    found = [] if len(set(texts)) == len(texts) else ["two options say the same"]
    if not item.key or not all(0 <= number < len(texts) for number in item.key):
        found.append("the key is no option")
        return tuple(found)
    found += PROOFS[item.kind](rules, item)
    return tuple(found)


def _right(item: Item) -> Option:
    return item.options[item.key[0]]


def _wrong(item: Item) -> list[Option]:
    return [option for number, option in enumerate(item.options) if number != item.key[0]]


def _as_good_as_said(item: Item) -> list[str]:
    key = _right(item).text
    return [f"{o.rule} says nearly the same" for o in _wrong(item) if alike(key, o.text)]


def _which_cause(rules: Rules, item: Item) -> list[str]:
    """The engine, told the same, takes the key for the likeliest by far."""
    (_, symptom), *shown = item.shown
    names = [_right(item).rule, *(option.rule for option in _wrong(item))]
    own, *others = graph(rules).chances(symptom, shown, names)
    return [
        f"{name} is not far enough behind the key"
        for name, chance in zip(names[1:], others, strict=True)
        if chance * CLEARLY > own
    ]


def _what_separates(rules: Rules, item: Item) -> list[str]:
    pair = rules.look_alikes[item.rules[0]]
    compiled = graph(rules)

    def apart(question: str) -> float:
        return compiled.distance(question, pair.cause, pair.taken_for)

    found = [f"{o.rule} parts them too" for o in _wrong(item) if apart(o.rule) > SAME]
    return found + (["the key does not part them"] if apart(_right(item).rule) < SEPARATES else [])


def _what_to_record(rules: Rules, item: Item) -> list[str]:
    cause = item.rules[1]
    near = kin(rules, cause)
    found = [
        f"{o.rule} tells of it too" for o in _wrong(item) if near & {*rules.checks[o.rule].backs}
    ]
    found += _as_good_as_said(item)
    return found + ([] if cause in rules.checks[_right(item).rule].backs else ["the key does not"])


def _which_caution(rules: Rules, item: Item) -> list[str]:
    step = item.rules[0]
    due = rules.acts[step].cautions if step in rules.acts else rules.remedies[step].cautions
    found = [f"{option.rule} is due too" for option in _wrong(item) if option.rule in due]
    return found + ([] if _right(item).rule in due else ["the key is not due"])


def _steps_in_order(rules: Rules, item: Item) -> list[str]:
    placed = tuple(item.options[number].text for number in item.key)
    return [] if placed == rules.remedies[item.rules[0]].steps else ["the key is another order"]


def _heard_on_site(rules: Rules, item: Item) -> list[str]:
    point = rules.teaching[item.rules[0]]
    said = point.better if _right(item).text == "Sound" else point.heard
    return [] if f'"{said}"' in item.ask else ["the key belongs to another sentence"]


def _where_on_record(rules: Rules, item: Item) -> list[str]:
    cause = rules.causes[item.rules[0]]
    shared = [
        f"{option.rule} shows in the same check"
        for option in _wrong(item)
        for check in rules.checks.values()
        if cause.id in check.backs and option.rule in check.backs
    ]
    kin_ = [
        f"{option.rule} is the wider or the narrower cause"
        for option in _wrong(item)
        if cause.kind_of == option.rule or rules.causes[option.rule].kind_of == cause.id
    ]
    return (
        shared
        + kin_
        + _as_good_as_said(item)
        + ([] if _right(item).text == cause.on_record else ["the key is not its"])
    )


def _which_limit(rules: Rules, item: Item) -> list[str]:
    limit = rules.limits[item.rules[0]]
    edges = {
        tuple(f"{edge:g}" for edge in (value.low, value.high) if edge is not None)
        for value in limit.values
    }

    def stated(option: Option) -> tuple[str, ...]:
        words = option.text.removesuffix(limit.unit).split()
        return tuple(word for word in words if word not in ("at", "most", "least", "to"))

    found = [f"{o.text} is a figure of it too" for o in _wrong(item) if stated(o) in edges]
    return found + ([] if stated(_right(item)) in edges else ["the key is no figure of it"])


def _what_first(rules: Rules, item: Item) -> list[str]:
    found = [f"{o.rule} makes safe too" for o in _wrong(item) if rules.remedies[o.rule].make_safe]
    safe = _right(item).rule in rules.symptoms[item.rules[0]].make_safe
    return found + ([] if safe else ["the key does not make it safe"])


def _read_a_picture(rules: Rules, item: Item) -> list[str]:
    lines = item.ask.split("\n")
    if item.subject == "reading:plan":
        arrows = [mark for mark in lines[2] if mark in "↑↓"]
        turns = [n for n in range(1, len(arrows)) if arrows[n] != arrows[n - 1]]
        right = [f"S{n}, between D{n} and D{n + 1}" for n in turns]
    else:
        most = float(lines[-1].split("above ")[1].split(" %")[0])
        readings = [(" ".join(line.split()[:3]), int(line.split()[-2])) for line in lines[1:-1]]
        right = [day for day, value in readings if value > most]
    return [] if right == [_right(item).text] else ["the picture shows something else"]


PROOFS: Mapping[ItemKind, Callable[[Rules, Item], list[str]]] = {
    ItemKind.WHICH_CAUSE: _which_cause,
    ItemKind.WHAT_SEPARATES: _what_separates,
    ItemKind.WHAT_TO_RECORD: _what_to_record,
    ItemKind.WHICH_CAUTION: _which_caution,
    ItemKind.STEPS_IN_ORDER: _steps_in_order,
    ItemKind.HEARD_ON_SITE: _heard_on_site,
    ItemKind.WHERE_ON_RECORD: _where_on_record,
    ItemKind.WHICH_LIMIT: _which_limit,
    ItemKind.WHAT_FIRST: _what_first,
    ItemKind.READ_A_PICTURE: _read_a_picture,
}
