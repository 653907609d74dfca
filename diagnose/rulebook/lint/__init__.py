"""Rules of soundness for the rules themselves, one small function each.

Loading has refused unknown keys, words and ids already; what stands here is
what only the whole graph shows.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from diagnose.errors import Position, Problem
from diagnose.rulebook.cases import Case
from diagnose.rulebook.lint import care, direction, pairs, reach, shown, sourced, unused, words
from diagnose.rulebook.lint.items import Look
from diagnose.rulebook.model import Rules

LOOKS: tuple[Look, ...] = (
    sourced.missing_source,
    sourced.support_that_is_none,
    sourced.unknown_code,
    reach.cause_without_link,
    reach.symptom_with_few_causes,
    reach.cause_nothing_speaks_for,
    reach.question_that_says_nothing,
    reach.circle_of_kinds,
    unused.unused_limit,
    unused.unused_remedy,
    unused.unused_caution,
    unused.unused_source,
    unused.unused_act,
    unused.unused_mechanism,
    unused.unused_abbreviation,
    direction.both_ways,
    direction.answer_given_twice,
    direction.alone_without_ticks,
    direction.age_that_never_is,
    direction.settled_by_a_stranger,
    direction.either_or_too_wide,
    direction.link_on_no_floor,
    direction.weight_on_no_floor,
    direction.place_never_met,
    care.cause_without_cure,
    care.remedy_without_steps,
    care.damage_without_caution,
    care.damage_without_consent,
    care.unsafe_make_safe,
    care.check_that_helps_nobody,
    words.unknown_unit,
    words.limit_that_limits_nothing,
    words.unknown_part,
    words.unexplained_short_form,
    shown.headline_without_cases,
    shown.look_alike_off_the_graph,
    pairs.inseparable_pairs,
)
"""Every rule of soundness, in the order of the work."""


def lint_by_name(rules: Rules, cases: Sequence[Case]) -> Mapping[str, tuple[Problem, ...]]:
    """Return the problems that each rule of soundness finds, by its name."""
    return {look.__name__: tuple(look(rules, cases)) for look in LOOKS}


def lint(rules: Rules, cases: Sequence[Case]) -> tuple[Problem, ...]:
    """Return every problem of sound loading rules, by file and line."""
    found = (problem for each in lint_by_name(rules, cases).values() for problem in each)
    return tuple(sorted(found, key=_place))


def _place(problem: Problem) -> tuple[str, int, str]:
    at = problem.at or Position("")
    return at.file, at.line, problem.text
