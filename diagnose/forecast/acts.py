"""What can still be put right or written down, and what each would save."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from operator import attrgetter

from diagnose.checks.parts import Part
from diagnose.forecast.at_place import AtPlace
from diagnose.forecast.values import Eased, PutRight, RecordNow
from diagnose.model import CheckResult, Outcome
from diagnose.rulebook.model import Check, Rules
from diagnose.walk.advice_words import caution_lines

Asked = Mapping[str, Sequence[tuple[Part, CheckResult]]]
"""Check to each part it applies to, with what it found there."""


def acts_of(rules: Rules, spots: Sequence[AtPlace], asked: Asked) -> tuple[PutRight, ...]:
    """Return what can still be put right, the most trouble removed by the minute first.

    An act puts in order every check that names it, at all parts where it
    deviates; the forecast is then worked out anew.  Trouble is the expected
    number of symptoms that show.
    """
    acts = []
    for text, checks in _groups(rules, spots, Outcome.DEVIATES, "put_right"):
        eased = [
            Eased(str(spot.place), s, rules.symptoms[s].name, spot.now[s], after[s])
            for spot, here in _where(spots, Outcome.DEVIATES, checks)
            for after in [spot.forecast_given(spot.with_in_order(here))]
            for s in spot.symptoms
        ]
        if not eased:
            continue
        parts = _parts(asked, checks, Outcome.DEVIATES)
        each = max(check.put_right_minutes for check in checks)
        acts.append(
            PutRight(
                act=text,
                checks=tuple(check.id for check in checks),
                parts=parts,
                minutes=max(each, 1.0) * max(len(parts), 1),
                removed=sum(one.before - one.after for one in eased),
                most=max(eased, key=lambda one: one.before - one.after),
                cautions=caution_lines(rules, (c for check in checks for c in check.cautions)),
            )
        )
    return cheapest_order(acts)


def cheapest_order(acts: Iterable[PutRight]) -> tuple[PutRight, ...]:
    """Return acts by what they remove a minute, the most first; equals stay in the order given.

    Where one thing is amiss and the time of an act does not hang on those
    before it, no other order takes less time on average until it is found.

    References
    ----------
    .. [1] Kadane, Simon (1977), Annals of Statistics 5, 237-255.  Read as a
       statement in later abstracts; held against all orders in the tests.
    """
    return tuple(sorted(acts, key=attrgetter("per_minute"), reverse=True))


def gaps_of(rules: Rules, spots: Sequence[AtPlace], asked: Asked) -> tuple[RecordNow, ...]:
    """Return what is worth writing down now, by how much its absence would hurt.

    For each symptom that may show: the chance that it does, times how much
    less likely those of its causes that these checks speak for would then be,
    were the entry there and in order.
    """
    gaps = []
    for text, checks in _groups(rules, spots, Outcome.NOT_RECORDED, "record_now"):
        hurts, most, worst = 0.0, None, -1.0
        for spot, here in _where(spots, Outcome.NOT_RECORDED, checks):
            in_order = spot.suspected_given(spot.with_in_order(here), here)
            for symptom, (shows, before) in spot.suspected_given(spot.evidence, here).items():
                after = in_order[symptom][1]
                hurts += shows * (before - after)
                if shows * (before - after) > worst:
                    worst = shows * (before - after)
                    name = rules.symptoms[symptom].name
                    most = Eased(str(spot.place), symptom, name, before, after)
        if most is None:
            continue
        put_right = dict.fromkeys(check.put_right for check in checks if check.put_right)
        gaps.append(
            RecordNow(
                what=text,
                checks=tuple(check.id for check in checks),
                parts=_parts(asked, checks, Outcome.NOT_RECORDED),
                hurts=hurts,
                most=most,
                if_not_done=" ".join(put_right),
            )
        )
    return tuple(sorted(gaps, key=attrgetter("hurts"), reverse=True))


def _groups(
    rules: Rules, spots: Sequence[AtPlace], outcome: Outcome, field: str
) -> list[tuple[str, list[Check]]]:
    """Return the checks with an outcome anywhere, by the text of one of their fields."""
    there = {check.id for spot in spots for check in spot.checks_that(outcome)}
    found: dict[str, list[Check]] = {}
    for check in rules.checks.values():
        if check.id in there and getattr(check, field):
            found.setdefault(getattr(check, field), []).append(check)
    return list(found.items())


def _where(
    spots: Iterable[AtPlace], outcome: Outcome, checks: Iterable[Check]
) -> list[tuple[AtPlace, list[str]]]:
    """Return the places where one of the checks has the outcome, and which do."""
    wanted = {check.id for check in checks}
    pairs = [(spot, [c.id for c in spot.checks_that(outcome) if c.id in wanted]) for spot in spots]
    return [(spot, here) for spot, here in pairs if here]


def _parts(asked: Asked, checks: Iterable[Check], outcome: Outcome) -> tuple[str, ...]:
    parts = [
        str(part)
        for check in checks
        for part, result in asked.get(check.id, ())
        if result.outcome is outcome
    ]
    return tuple(dict.fromkeys(parts))
