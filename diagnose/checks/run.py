"""Ask checks of parts and places, and turn what they find into results."""

from __future__ import annotations

from collections.abc import Sequence

from diagnose.checks.found import Found, not_for_this, silent
from diagnose.checks.look import Look
from diagnose.checks.parts import Part, area_of, facets_of, place_of, select_parts
from diagnose.checks.registry import CALCULATIONS
from diagnose.checks.words import listed
from diagnose.model import CheckResult, Floor, Outcome, Place, Provenance
from diagnose.physics.guard import OutOfRangeError
from diagnose.record.model import Job
from diagnose.rulebook.applies import applies_to
from diagnose.rulebook.model import Check, Rules

ALWAYS_THERE = ("spread", "drop", "roll", "area", "job")
"""Parts that a stuck floor always has: none recorded is a gap, not an absence."""

_TRUST = tuple(Provenance)
WORST_FIRST = (Outcome.DEVIATES, Outcome.NOT_RECORDED, Outcome.IN_ORDER, Outcome.DOES_NOT_APPLY)


def run_checks(rules: Rules, job: Job, place: Place) -> tuple[CheckResult, ...]:
    """Return one result for each check that applies at a place, in rule order.

    Of several parts the worst decides: deviates before not recorded before in
    order.  Checks that do not apply are left out.

    Raises
    ------
    NotFoundError
        When the job has no such place.
    """
    parts = {
        kind: select_parts(job, place, kind)
        for kind in dict.fromkeys(check.looks_at for check in rules.checks.values())
    }
    found = (
        _of_parts(check, rules, job, place, parts[check.looks_at])
        for check in rules.checks.values()
    )
    return tuple(result for result in found if result is not None)


def check_at(check: Check, rules: Rules, job: Job, place: Place) -> CheckResult | None:
    """Return the result of one check at a place; None when it does not apply there."""
    return _of_parts(check, rules, job, place, select_parts(job, place, check.looks_at))


def _of_parts(
    check: Check, rules: Rules, job: Job, place: Place, parts: Sequence[Part]
) -> CheckResult | None:
    if not parts:
        return _nothing_there(check, job, place)
    asked = [_asked(check, rules, job, part, place) for part in parts]
    heard = [(look, found) for look, found in asked if found.outcome != Outcome.DOES_NOT_APPLY]
    if not heard:
        return None
    look, found = min(heard, key=lambda pair: (WORST_FIRST.index(pair[1].outcome), -pair[1].excess))
    return _merged(check, place, look, found, heard)


def run_check(check: Check, rules: Rules, job: Job, part: Part) -> CheckResult:
    """Return what a check says about one part, `does-not-apply` included."""
    look, found = _asked(check, rules, job, part)
    return _result(check, place_of(job, part), look, found)


def _asked(
    check: Check, rules: Rules, job: Job, part: Part, place: Place | None = None
) -> tuple[Look, Found]:
    look = Look.of(check, rules.limits, job, part)
    if not applies_to(check.applies, Floor(facets_of(job, area_of(job, part)))):
        return look, not_for_this("does not apply to this floor")
    if (void := _void(look)) is not None:
        return look, void
    calculation = CALCULATIONS.get(check.calculation)
    if calculation is None:
        return look, silent(f"no calculation is called {check.calculation}")
    try:
        found = calculation(look)
    except OutOfRangeError as error:
        return look, silent(f"cannot be worked out: {error}")
    except OverflowError:
        return look, silent("cannot be worked out: a number or time is beyond all measure")
    return look, found or silent(_gap_text(look))


def _void(look: Look) -> Found | None:
    """Return that a check is void where its setting `void_if` says so.

    The setting is `field=word, word`: where the record has one of these words
    the question does not arise.
    """
    field, _, words = look.option("void_if").partition("=")
    if not words:
        return None
    value = look.word(look.path(field.strip()), needed=False)
    if value is None or value not in {word.strip() for word in words.split(",")}:
        return None
    return not_for_this(f"does not arise: recorded as {value}")


def _gap_text(look: Look) -> str:
    if not look.missing:
        return f"nothing is recorded of {look.part.words}"
    return f"not recorded: {listed(look.missing)}"


def _nothing_there(check: Check, job: Job, place: Place) -> CheckResult | None:
    if check.looks_at not in ALWAYS_THERE or not applies_to(check.applies, Floor(facets_of(job))):
        return None
    missing = f"any {check.looks_at} at {place}"
    summary = f"not recorded: {missing}"
    return CheckResult(check.id, place, Outcome.NOT_RECORDED, summary, missing=(missing,))


def _result(check: Check, place: Place, look: Look, found: Found) -> CheckResult:
    return CheckResult(
        check=check.id,
        at=place,
        outcome=found.outcome,
        summary=found.summary,
        working=found.working,
        inputs=tuple(look.inputs),
        missing=tuple(look.missing),
        limit=look.used,
        objects=tuple(look.objects),
        provenance=_least_trusted(look),
    )


def _least_trusted(look: Look) -> Provenance:
    entries = [used.entry for used in look.inputs if used.entry]
    return max((entry.provenance for entry in entries), key=_TRUST.index, default=_TRUST[0])


def _merged(
    check: Check, place: Place, look: Look, found: Found, heard: Sequence[tuple[Look, Found]]
) -> CheckResult:
    """Return the result of the deciding part, with what was heard of the others."""
    result = _result(check, place, look, found)
    if len(heard) == 1:
        return result
    said = [
        f"{listed([each.part.id for each, other in heard if other.outcome == outcome])}: {word}"
        for outcome, word in (
            (Outcome.DEVIATES, "deviates"),
            (Outcome.NOT_RECORDED, "not recorded"),
            (Outcome.IN_ORDER, "in order"),
        )
        if any(other.outcome == outcome for _, other in heard)
    ]
    parts = f"{len(heard)} {check.looks_at}s looked at"
    missing = dict.fromkeys(words for each, _ in heard for words in each.missing)
    objects = dict.fromkeys([*look.objects, *(name for each, _ in heard for name in each.objects)])
    return CheckResult(
        check=result.check,
        at=place,
        outcome=result.outcome,
        summary=f"{look.part.words}: {result.summary}",
        working=(*result.working, f"{parts}; {'; '.join(said)}"),
        inputs=result.inputs,
        missing=tuple(missing),
        limit=result.limit,
        objects=tuple(objects),
        provenance=trusted(
            result.outcome,
            [(other.outcome, _least_trusted(each)) for each, other in heard],
        ),
    )


def trusted(outcome: Outcome, heard: Sequence[tuple[Outcome, Provenance]]) -> Provenance:
    """Return how far a result over several parts is believed.

    "In order" claims something of every part, so the least trusted decides;
    for "deviates" one part is enough, so the most trusted that deviates does.
    """
    those = [provenance for other, provenance in heard if other is outcome]
    if outcome is Outcome.DEVIATES:
        return min(those, key=_TRUST.index)
    return max(those, key=_TRUST.index)
