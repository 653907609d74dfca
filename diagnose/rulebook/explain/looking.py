"""Pages about how something is found out: questions, acts, checks, limits, hidden states."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from diagnose.rulebook.explain.page import Explanation, Row
from diagnose.rulebook.explain.parts import (
    HOW_SURE,
    by_weight,
    cautions,
    facts,
    floors,
    in_hundred,
    listed,
    named,
    plain,
    section,
    sources,
    teaching,
)
from diagnose.rulebook.model import (
    Act,
    AnswerRule,
    Check,
    Damage,
    Limit,
    LimitValue,
    Mechanism,
    Question,
    Rules,
)

_RULE_WORDS = {
    AnswerRule.GRADED: "one answer; a later one in the list covers those before it",
    AnswerRule.TICKS: "any number of answers can be true",
    AnswerRule.EITHER_OR: "one answer; one of the causes made what is looked at",
}
_DAMAGE_WORDS = {
    Damage.NONE: "none",
    Damage.LIFTS_AN_EDGE: "lifts an edge",
    Damage.CUTS_OR_CORES: "cuts or cores",
}


def question_page(rules: Rules, item: Question) -> Explanation:
    """Return the page of a question: how to answer it and what each answer says."""
    act = rules.acts.get(item.act)
    opened = f"{act.name} ({minutes(act.minutes)})" if act else "asking"
    return Explanation(
        id=item.id,
        kind="question",
        name=item.ask,
        text=item.help,
        cautions=cautions(rules, act.cautions if act else ()),
        sections=(
            *facts(
                (
                    ("Answered by", listed(map(plain, item.who))),
                    ("Takes", minutes(item.minutes)),
                    ("Opened by", opened),
                    ("Damage", _DAMAGE_WORDS[act.damage] if act else ""),
                    ("Consent needed first", "yes" if act and act.consent else ""),
                    ("Asked at", listed(map(plain, item.asks_at))),
                    ("Floors", floors(item.applies)),
                    ("How to answer", _RULE_WORDS[item.rule]),
                )
            ),
            *section("What each answer says", _answers(rules, item)),
            *section("Needless where the record has", named(rules.checks, item.settled_by)),
            *section("The act", named(rules.acts, [act.id] if act else [])),
            *section("Parts these look-alikes", _pairs(rules, item)),
            *teaching(rules, item.id),
        ),
        sources=sources(rules, item.sources),
    )


def act_page(rules: Rules, item: Act) -> Explanation:
    """Return the page of an act: how it is done, what it costs, what it opens."""
    opens = (q for q in rules.questions.values() if q.act == item.id)
    return Explanation(
        id=item.id,
        kind="act",
        name=item.name,
        text=item.how,
        cautions=cautions(rules, item.cautions),
        sections=(
            *facts(
                (
                    ("Takes", f"{minutes(item.minutes)}, paid once"),
                    ("Tools", listed(item.tools, "and")),
                    ("Damage", _DAMAGE_WORDS[item.damage]),
                    ("Consent needed first", "yes" if item.consent else "no"),
                    ("Made good by", item.put_back),
                    (
                        "Its answers",
                        "hang together and do not count as independent" if item.together else "",
                    ),
                )
            ),
            *section("Questions it opens", (Row(q.ask, q.id, minutes(q.minutes)) for q in opens)),
            *teaching(rules, item.id),
        ),
        sources=sources(rules, item.sources),
    )


def check_page(rules: Rules, item: Check) -> Explanation:
    """Return the page of a check: what it compares, and what a deviation says."""
    scale = rules.scale.check_backs
    backs = (
        (word, Row(rules.causes[cause].name, cause, in_hundred(scale, word)))
        for cause, word in item.backs.items()
    )
    settles = (q for q in rules.questions.values() if item.id in q.settled_by)
    time = minutes(item.put_right_minutes) if item.put_right_minutes else ""
    return Explanation(
        id=item.id,
        kind="check",
        name=item.name,
        text=f"A comparison of the record, at each {plain(item.looks_at)}.",
        cautions=cautions(rules, item.cautions),
        sections=(
            *facts(
                (
                    ("Stage", plain(item.stage)),
                    ("Floors", floors(item.applies)),
                    ("Needs on the record", listed(item.needs, "and")),
                    ("Put right before leaving", item.put_right),
                    ("That takes", time),
                    ("Write down now", item.record_now),
                    ("Calculation", plain(item.calculation)),
                )
            ),
            *section("A deviation speaks for", by_weight(scale, backs)),
            *section("Limits", _limit_rows(rules, (item.limit, *item.more_limits))),
            *section("Makes it needless to ask", (Row(q.ask, q.id) for q in settles)),
            *teaching(rules, item.id),
        ),
        sources=sources(rules, item.sources),
    )


def limit_page(rules: Rules, item: Limit) -> Explanation:
    """Return the page of a limit: every source's figure, and who set it."""
    checks = [
        check.id for check in rules.checks.values() if item.id in (check.limit, *check.more_limits)
    ]
    return Explanation(
        id=item.id,
        kind="limit",
        name=item.name,
        text=f"{item.quantity}. {item.note}".strip(),
        cautions=(),
        sections=(
            *section(
                "Figures",
                _values(rules, item),
                "The data sheet of the job comes first, then the code named in the contract, then"
                " general codes, then common practice.",
            ),
            *section("Checks that use it", named(rules.checks, checks)),
            *teaching(rules, item.id),
        ),
        sources=sources(rules, (value.cite for value in item.values)),
    )


def mechanism_page(rules: Rules, item: Mechanism) -> Explanation:
    """Return the page of a hidden state: what brings it about and what shows it."""
    links, weights = rules.scale.link_strength, rules.scale.answer_for
    brought = (
        (word, Row(rules.causes[cause].name, cause, in_hundred(links, word)))
        for cause, word in item.brought_about_by.items()
    )
    return Explanation(
        id=item.id,
        kind="mechanism",
        name=item.name,
        text="A state below the surface that several causes bring about and several answers show.",
        cautions=(),
        sections=(
            *section("Brought about by", by_weight(links, brought)),
            *section("Shown by", by_weight(weights, _shown(rules, item.answers))),
        ),
        sources=sources(rules, item.sources),
    )


def minutes(number: float) -> str:
    """Return a length of time in words: `2 minutes`."""
    return f"{number:g} minute{'' if number == 1 else 's'}"


def bounds(value: LimitValue, unit: str) -> str:
    """Return the figure of a limit in words: `at most 75 % RH`."""
    if value.low is not None and value.high is not None:
        if value.low == value.high:
            return f"exactly {value.low:g} {unit}"
        return f"{value.low:g} to {value.high:g} {unit}"
    if value.low is not None:
        return f"at least {value.low:g} {unit}"
    return f"at most {value.high:g} {unit}" if value.high is not None else "no figure"


def _answers(rules: Rules, item: Question) -> Iterator[Row]:
    states: dict[str, list[str]] = {}
    for mechanism in rules.mechanisms.values():
        for name, word in mechanism.answers.items():
            states.setdefault(name, []).append(f"shows {mechanism.name} ({plain(word)})")
    for answer in item.answers:
        points = [f"for {rules.causes[c].name} ({plain(w)})" for c, w in answer.speaks_for.items()]
        points += [
            f"against {rules.causes[c].name} ({plain(w)})" for c, w in answer.speaks_against.items()
        ]
        points += states.get(f"{item.id}.{answer.id}", [])
        notes = ["A sound floor gives this answer."] if answer.usual else []
        notes += [answer.means] if answer.means else []
        yield Row(answer.text, "", " ".join(notes), tuple(points))


def _pairs(rules: Rules, item: Question) -> Iterator[Row]:
    for pair in rules.look_alikes.values():
        if item.id in pair.questions:
            one, other = rules.causes[pair.cause].name, rules.causes[pair.taken_for].name
            yield Row(f"{one}, or {other}", pair.id, pair.separates)


def _limit_rows(rules: Rules, names: Iterable[str]) -> Iterator[Row]:
    for name in filter(None, names):
        limit = rules.limits[name]
        said = (f"{bounds(v, limit.unit)} ({plain(v.set_by)})" for v in limit.values)
        yield Row(limit.name, name, "; ".join(dict.fromkeys(said)))


def _values(rules: Rules, item: Limit) -> Iterator[Row]:
    for value in item.values:
        source = rules.sources[value.cite.source]
        said = [f"set by {plain(value.set_by)}", HOW_SURE[value.sure], source.title]
        said += [f"clause {value.cite.clause}"] if value.cite.clause else []
        said += [f"holds for {plain(k)} {listed(words)}" for k, words in value.when.items()]
        yield Row(bounds(value, item.unit), source.id, "; ".join(said))


def _shown(rules: Rules, answers: Mapping[str, str]) -> Iterator[tuple[str, Row]]:
    for name, word in answers.items():
        asked, _, given = name.partition(".")
        question = rules.questions[asked]
        text = next(answer.text for answer in question.answers if answer.id == given)
        yield word, Row(f"{question.ask} - {text}", asked, plain(word))
