"""Calculations that any field can use: yes or no, a word, a number, two days.

Their settings stand in the rule: `field` is a path of the part, or of the job
with `job.` before it; `good` and `bad` are the sentences of the two outcomes.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping

from diagnose.checks.found import Found, against, deviates, in_order, judged, silent
from diagnose.checks.look import Look
from diagnose.checks.words import listed, moment


def yes_or_no(look: Look) -> Found | None:
    """Compare a yes-or-no field with `wanted`."""
    path = look.path(look.option("field"))
    value = look.flag(path)
    if value is None:
        return None
    wanted = look.option("wanted", "yes") == "yes"
    words = look.option("good") if value == wanted else look.option("bad")
    line = f"recorded {_yes(value)}, wanted {_yes(wanted)}"
    return judged(value == wanted, words, line)


def word_allowed(look: Look) -> Found | None:
    """Compare a word with the list `refused` or, where given, the list `allowed`."""
    value = look.word(look.path(look.option("field")))
    if value is None:
        return None
    refused, allowed = _list(look.option("refused")), _list(look.option("allowed"))
    unsettled = _list(look.option("unsettled"))
    if value in unsettled:
        return silent(f"recorded as {value}, which settles nothing")
    kept = value not in refused and (not allowed or value in allowed)
    words = look.option("good") if kept else look.option("bad")
    against_what = f"refused: {', '.join(refused)}" if refused else f"allowed: {', '.join(allowed)}"
    return judged(kept, words.replace("{value}", value), f"recorded {value}; {against_what}")


def number_within(look: Look) -> Found | None:
    """Compare one number with the limit, on one side where `side` says so."""
    value = look.number(look.path(look.option("field")))
    limit = look.limit(look.option("side"))
    if value is None or limit is None:
        return None
    return against(value, limit, look.option("what"), side=look.option("side"))


def day_not_after(look: Look) -> Found | None:
    """Compare two days: `first` must not come after `second`."""
    first = look.day(look.path(look.option("first")))
    second = look.day(look.path(look.option("second")))
    if first is None or second is None:
        return None
    days = (second - first).days
    line = f"{moment(first)} to {moment(second)} = {days} days"
    return judged(days >= 0, look.option("good" if days >= 0 else "bad"), line)


def all_yes(look: Look) -> Found | None:
    """Every field of a list has to be yes; one recorded no decides."""
    names = _list(look.option("fields"))
    values = {name: look.flag(look.path(name)) for name in names}
    lines = [f"{_plain(name)}: {_said(value)}" for name, value in values.items()]
    absent = [_plain(name) for name, value in values.items() if value is False]
    if absent:
        return deviates(f"{look.option('bad')}: not {listed(absent)}", *lines)
    if None in values.values():
        return None
    return in_order(look.option("good"), *lines)


def _list(text: str) -> list[str]:
    return [word.strip() for word in text.split(",") if word.strip()]


def _plain(name: str) -> str:
    return name.rsplit(".", 1)[-1].replace("_", " ")


def _yes(value: bool) -> str:
    return "yes" if value else "no"


def _said(value: bool | None) -> str:
    return "not recorded" if value is None else _yes(value)


CALCULATIONS: Mapping[str, Callable[[Look], Found | None]] = {
    "yes-or-no": yes_or_no,
    "all-yes": all_yes,
    "word-allowed": word_allowed,
    "number-within-limit": number_within,
    "day-not-after": day_not_after,
}
