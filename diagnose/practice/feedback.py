"""What a marked round teaches, in plain words, with the ids of the rules it rests on."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from diagnose.engine.evidence import Answered, CheckSaid, Evidence, answered
from diagnose.engine.network import Network
from diagnose.engine.posterior import Posterior, infer
from diagnose.engine.weights import LeaveOneOut, chance_of, leave_one_out
from diagnose.practice.draw import network_of
from diagnose.practice.mark import Mark
from diagnose.practice.play import Round, evidence
from diagnose.practice.wording import answer_words, causes_words, percent_words
from diagnose.rulebook.model import Cite, LookAlike, Rules, TeachingPoint
from diagnose.walk.steps import in_short

TELLING = 0.3
"""Weight of evidence (log10) from which an answer is said to have told something."""
MOST_OF_A_KIND = 2


class Topic(StrEnum):
    """What a sentence of the feedback is about."""

    RESULT = "result"
    SETTLED = "settled"
    SHOULD_HAVE_TOLD = "should-have-told"
    WOULD_HAVE_TOLD = "would-have-told"
    QUESTION = "question"
    LOOK_ALIKE = "look-alike"
    MISCONCEPTION = "misconception"
    CAUTION = "caution"
    BELIEF = "belief"
    REMEDY = "remedy"


@dataclass(frozen=True, slots=True)
class Remark:
    """One remark, with the ids of the rules and the sources behind it."""

    topic: Topic
    text: str
    rules: tuple[str, ...] = ()
    sources: tuple[str, ...] = ()


def feedback(rules: Rules, round_: Round, mark: Mark) -> tuple[Remark, ...]:
    """Return what there is to learn from a round, the result first."""
    network = network_of(rules, round_.case)
    known = evidence(network, round_)
    whole = infer(network, known)
    without = leave_one_out(network, known, whole=whole)
    return (
        _result(rules, mark),
        *_settled(rules, network, without, mark),
        *_should_have_told(rules, network, without, mark),
        *_would_have_told(rules, network, round_, known, whole, mark),
        *_questions(rules, mark),
        *_look_alikes(rules, mark, round_.case.rival),
        *_misconceptions(rules, mark),
        *_cautions(rules, mark),
        _belief(mark),
        *_remedy(rules, mark),
    )


def _result(rules: Rules, mark: Mark) -> Remark:
    there = causes_words(rules, mark.truth)
    sources = _sources(cite for cause in mark.truth for cite in rules.causes[cause].sources)
    if mark.right:
        return Remark(Topic.RESULT, f"Right: {there}.", mark.truth, sources)
    text = f"What was there: {there}."
    if mark.wrongly_named:
        text += f" You named {causes_words(rules, mark.wrongly_named)}, which was not there."
    if set(mark.leading) == set(mark.stated.causes):
        text += " On the answers you had, the program would have said the same as you."
    return Remark(Topic.RESULT, text, (*mark.truth, *mark.wrongly_named), sources)


def _settled(rules: Rules, network: Network, without: LeaveOneOut, mark: Mark) -> list[Remark]:
    found = []
    for cause in mark.truth:
        if cause not in network.index or cause in mark.missed:
            continue
        weights = without.weights(chance_of(cause))
        for weight in [w for w in weights if w.log10 >= TELLING][:MOST_OF_A_KIND]:
            said = _item(rules, weight.item)
            if said:
                text = f"{said}. That speaks for {_quoted(rules, cause)}."
                found.append(Remark(Topic.SETTLED, text, (cause, _rule(weight.item))))
    return found


def _should_have_told(
    rules: Rules, network: Network, without: LeaveOneOut, mark: Mark
) -> list[Remark]:
    """Answers the learner had that speak for a missed cause or against one wrongly named."""
    told: dict[str, list[tuple[float, str, str, str]]] = {}
    for cause, sign, words in (
        *((cause, 1, "speaks for") for cause in mark.missed),
        *((cause, -1, "speaks against") for cause in mark.wrongly_named),
    ):
        if cause not in network.index:
            continue
        for weight in without.weights(chance_of(cause)):
            said = _item(rules, weight.item)
            if sign * weight.log10 >= TELLING and said:
                row = (-abs(weight.log10), f"{words} {_quoted(rules, cause)}", cause, said)
                told.setdefault(_rule(weight.item), []).append(row)
    found = []
    for rule, rows in told.items():
        rows.sort()
        speaks = " and ".join(words for _, words, _, _ in rows)
        causes = [cause for _, _, cause, _ in rows]
        remark = Remark(Topic.SHOULD_HAVE_TOLD, f"{rows[0][3]}. That {speaks}.", (*causes, rule))
        found.append((rows[0][0], remark))
    found.sort(key=lambda pair: (pair[0], pair[1].text))
    return [remark for _, remark in found[: MOST_OF_A_KIND + 1]]


def _would_have_told(
    rules: Rules,
    network: Network,
    round_: Round,
    known: tuple[Evidence, ...],
    whole: Posterior,
    mark: Mark,
) -> list[Remark]:
    """Questions of the engine's path that were not asked and would have helped."""
    missed = [cause for cause in mark.missed if cause in network.index]
    found: list[tuple[float, Remark]] = []
    for name in mark.best.questions:
        given = round_.case.answers.get(name)
        if name in round_.asked or given is None or not missed:
            continue
        after = infer(network, [*known, answered(name, *given)])
        cause = max(missed, key=lambda each: after.of(each) - whole.of(each))
        rise = after.of(cause) - whole.of(cause)
        if rise >= 0.05:
            text = (
                f'"{in_short(rules.questions[name].ask)}" The floor would have said: '
                f"{answer_words(rules, name, given).rstrip('.')}. That alone takes {_quoted(rules, cause)} "
                f"from {round(whole.of(cause) * 100)} to {percent_words(after.of(cause))}."
            )
            sources = _sources(rules.questions[name].sources)
            found.append((-rise, Remark(Topic.WOULD_HAVE_TOLD, text, (name, cause), sources)))
    found.sort(key=lambda pair: (pair[0], pair[1].text))
    return [remark for _, remark in found[:MOST_OF_A_KIND]]


def _questions(rules: Rules, mark: Mark) -> list[Remark]:
    """The question that gave most away, and those asked after all was settled."""
    found = []
    worst = max(mark.steps, key=lambda step: step.regret, default=None)
    if worst and not (worst.good or worst.after_settled or worst.on_record):
        text = (
            f'At "{in_short(rules.questions[worst.question].ask)}" a better question was '
            f'"{in_short(rules.questions[worst.best].ask)}": it tells '
            f"{_times(worst.best_per_minute, worst.per_minute)} as much for each minute."
        )
        found.append(Remark(Topic.QUESTION, text, (worst.question, worst.best)))
    told = [step.question for step in mark.steps if step.on_record]
    if told:
        asked = " ".join(f'"{in_short(rules.questions[name].ask)}"' for name in told)
        found.append(
            Remark(Topic.QUESTION, f"The record had told you already: {asked}", tuple(told))
        )
    idle = [step.question for step in mark.steps if step.after_settled]
    if idle:
        count = f"{len(idle)} question" + ("s" if len(idle) > 1 else "")
        text = f"{count} asked after the finding was settled already."
        found.append(Remark(Topic.QUESTION, text, tuple(idle)))
    return found


def _times(best: float, own: float) -> str:
    if own <= best / 20:
        return "more than twenty times"
    ratio = best / own
    return f"about {ratio:.1f} times" if ratio < 3 else f"about {ratio:.0f} times"


def _look_alikes(rules: Rules, mark: Mark, rival: str) -> list[Remark]:
    """Pairs of a true cause and one that was named for it, or that was laid in as its double."""
    others = {*mark.wrongly_named, *([rival] if rival else [])}
    found = [
        _pair(rules, pair)
        for pair in rules.look_alikes.values()
        if {pair.cause, pair.taken_for} & {*mark.truth} and {pair.cause, pair.taken_for} & others
    ]
    return found[: MOST_OF_A_KIND + 1]


def _pair(rules: Rules, pair: LookAlike) -> Remark:
    first, second = (_quoted(rules, one) for one in (pair.cause, pair.taken_for))
    text = f"To tell {first} from {second}: {pair.separates}"
    return Remark(Topic.LOOK_ALIKE, text, (pair.id, *pair.questions), _sources(pair.sources))


def misconception_behind(
    rules: Rules, truth: Iterable[str], named: Iterable[str]
) -> tuple[TeachingPoint, ...]:
    """Return the teaching points that fit a wrong answer, the closest first.

    A point about the wrong cause and a true one comes before a point about
    either alone; with no wrong cause, points about the true ones are returned.
    """
    right, wrong = set(truth), set(named) - set(truth)
    scored = []
    for number, point in enumerate(rules.teaching.values()):
        about = set(point.about)
        score = 2 * bool(about & wrong) + bool(about & right)
        if score:
            scored.append((-score, number, point))
    return tuple(point for _, _, point in sorted(scored, key=lambda each: each[:2]))


def _misconceptions(rules: Rules, mark: Mark) -> list[Remark]:
    points = misconception_behind(rules, mark.truth, mark.stated.causes)
    return [
        Remark(
            Topic.MISCONCEPTION,
            f'"{point.heard}" Nearer the truth: {point.better}',
            (point.id,),
            _sources(point.sources),
        )
        for point in points[: 1 if mark.right else MOST_OF_A_KIND]
    ]


def _cautions(rules: Rules, mark: Mark) -> list[Remark]:
    found = []
    for act in mark.skipped_cautions:
        names = ", ".join(rules.cautions[each].name.lower() for each in rules.acts[act].cautions)
        text = f"Before {rules.acts[act].name.lower()} you did not read the caution: {names}."
        found.append(Remark(Topic.CAUTION, text, (act, *rules.acts[act].cautions)))
    return found


def _belief(mark: Mark) -> Remark:
    own, engine = mark.stated.percent, round(mark.on_evidence * 100)
    text = f"You said {own} in a hundred; on the same answers the program gives {engine}."
    if not mark.right and own >= 80:
        text += " So sure and wrong: look at this one again tomorrow."
    elif own - engine >= 25:
        text += " That was surer than the answers allow."
    elif engine - own >= 25:
        text += " You could have trusted the answers more."
    return Remark(Topic.BELIEF, text)


def _remedy(rules: Rules, mark: Mark) -> list[Remark]:
    fitting = [remedy for cause in mark.truth for remedy in rules.causes[cause].remedies]
    if not fitting or mark.stated.remedy in fitting:
        return []
    names = "; ".join(rules.remedies[each].name for each in dict.fromkeys(fitting))
    return [Remark(Topic.REMEDY, f"What mends it: {names}.", tuple(dict.fromkeys(fitting)))]


def _item(rules: Rules, item: Evidence) -> str:
    """Say an item of evidence in the words of its rule; empty for the complaint itself."""
    match item:
        case Answered():
            question = rules.questions[item.question]
            given = tuple(sorted(item.given))
            return f'"{in_short(question.ask)}" - {answer_words(rules, item.question, given).rstrip(".")}'
        case CheckSaid():
            check = rules.checks[item.check]
            return f"The record on {check.name.lower()} ({item.outcome.value.replace('-', ' ')})"
    return ""


def _quoted(rules: Rules, cause: str) -> str:
    """Return a cause's name in quotes, as many hold a comma."""
    return f'"{rules.causes[cause].name}"'


def _rule(item: Evidence) -> str:
    return item.key.partition(":")[2]


def _sources(cites: Iterable[Cite]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(cite.source for cite in cites))
