"""Ids of the rules in plain words, for screens and sheets of practice."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from diagnose.model import Outcome, Provenance
from diagnose.practice.consistent import fitting_words
from diagnose.practice.draw import PracticeCase, RecordLine
from diagnose.practice.site import floor_words, place_words
from diagnose.rulebook.model import Rules

INVENTED = "Invented for practice: no such floor, person or firm exists."

NONE = "none of these"
CANNOT_TELL = "nobody can tell"
DEVIATES = "deviates"
OUTCOMES: Mapping[Outcome, str] = {
    Outcome.DEVIATES: "deviating",
    Outcome.IN_ORDER: "in order",
    Outcome.NOT_RECORDED: "not recorded",
}
FEW = 4
"""Checks of one state that are still named on the first screen of a case."""

ENTERED = {
    Provenance.ON_THE_DAY: "entered on the day",
    Provenance.LATE: "entered late",
    Provenance.AFTER_COMPLAINT: "entered after the complaint",
    Provenance.STATEMENT: "only said, not written down",
}


def causes_words(rules: Rules, causes: Iterable[str]) -> str:
    """Return the names of causes, joined as in speech, without a capital.

    Several are put in quotes, as a name can hold an "and" or a comma.
    """
    names = [_small(rules.causes[cause].name) for cause in causes]
    if len(names) > 1:
        names = [f'"{name}"' for name in names]
    return " and ".join([", ".join(names[:-1]), names[-1]] if len(names) > 1 else names)


def answer_words(rules: Rules, question: str, given: tuple[str, ...] | None) -> str:
    """Return what the floor says to a question, in the words of its answers."""
    if given is None:
        return CANNOT_TELL
    texts = {answer.id: answer.text for answer in rules.questions[question].answers}
    return "; ".join(texts[each] for each in given) if given else NONE


def percent_words(probability: float) -> str:
    """Return such as "34 in a hundred"."""
    return f"{round(probability * 100)} in a hundred"


def complaint_words(rules: Rules, case: PracticeCase) -> str:
    """Return the complaint as it comes in, and what is seen at the place."""
    names = [_small(rules.symptoms[symptom].name) for symptom in case.symptoms]
    more = f" They also speak of {' and of '.join(names[1:])}." if names[1:] else ""
    looks = " ".join(
        fitting_words(rules.symptoms[symptom].looks_like, case.floor) for symptom in case.symptoms
    )
    return (
        f"On {case.site.weekday} {case.site.caller} rings: {names[0]}, "
        f"{place_words(case.place, case.site)}.{more}\nWhat you see: {looks}"
    )


def facts_words(case: PracticeCase) -> str:
    """Return goods, base and size of the room in two sentences."""
    site = case.site
    size = f"{site.length_cm / 100:.2f} m by {site.width_cm / 100:.2f} m"
    return f"{floor_words(case.floor, site)} The {site.room} is {size}."


def record_words(rules: Rules, line: RecordLine) -> str:
    """Return one line of the record: what was checked and what it gave."""
    return f"{_named(rules, line)}: {_state(line)}"


def record_groups(rules: Rules, case: PracticeCase) -> Mapping[str, tuple[str, ...]]:
    """Return the record by what it says, what is out of order first and with its figures."""
    order = (Outcome.DEVIATES, Outcome.IN_ORDER, Outcome.NOT_RECORDED)
    found: dict[str, list[str]] = {}
    for outcome in order:
        for provenance in Provenance:
            for line in case.record:
                if (line.outcome, line.provenance) == (outcome, provenance):
                    found.setdefault(_state(line), []).append(_named(rules, line, outcome))
    return {state: tuple(names) for state, names in found.items()}


def record_in_short(rules: Rules, case: PracticeCase) -> tuple[str, ...]:
    """Return the record for a screen: deviations in full, of long lists only the number."""
    found = []
    for state, names in record_groups(rules, case).items():
        head = f"{state[:1].upper()}{state[1:]}"
        if state.startswith(DEVIATES):
            found += [f"{head}: {name}" for name in names]
        elif len(names) <= FEW:
            found.append(f"{head}: {'; '.join(names)}.")
        else:
            found.append(f"{head}: {len(names)} checks.")
    return tuple(found)


def checks_by_stage(rules: Rules, case: PracticeCase) -> Mapping[str, str]:
    """Return by stage of the work how many checks say what: "2 in order, 21 not recorded"."""
    counted: dict[str, dict[str, int]] = {}
    for line in case.record:
        states = counted.setdefault(
            rules.checks[line.check].stage, dict.fromkeys(OUTCOMES.values(), 0)
        )
        states[OUTCOMES[line.outcome]] += 1
    return {
        stage: ", ".join(f"{number} {words}" for words, number in states.items() if number)
        for stage, states in counted.items()
    }


def checks_about(rules: Rules, case: PracticeCase, word: str) -> tuple[str, ...]:
    """Return what each check of a stage, or with a word in its name, has to say."""
    asked = word.lower()
    stages = {rules.checks[line.check].stage for line in case.record}
    found = []
    for line in case.record:
        check = rules.checks[line.check]
        if check.stage == asked or (asked not in stages and asked in check.name.lower()):
            later = line.provenance is not Provenance.ON_THE_DAY
            state = _state(line) if later else OUTCOMES[line.outcome]
            known = line.figure and line.outcome is not Outcome.NOT_RECORDED
            found.append(f"{check.name}: {state}{f': {line.figure}' if known else ''}")
    return tuple(found)


def record_paragraphs(rules: Rules, case: PracticeCase) -> tuple[str, ...]:
    """Return the record in a few lines: one for each deviation, one for each other state."""
    found = []
    for state, names in record_groups(rules, case).items():
        if state.startswith(DEVIATES):
            found += [f"{state[:1].upper()}{state[1:]}: {name}" for name in names]
        else:
            found.append(f"{state[:1].upper()}{state[1:]}: {'; '.join(names)}.")
    return tuple(found)


def _named(rules: Rules, line: RecordLine, outcome: Outcome = Outcome.DEVIATES) -> str:
    name = rules.checks[line.check].name
    return f"{name} ({line.figure})" if line.figure and outcome is Outcome.DEVIATES else name


def _state(line: RecordLine) -> str:
    words = {Outcome.DEVIATES: DEVIATES, Outcome.IN_ORDER: "in order"}.get(line.outcome)
    return f"{words} ({ENTERED[line.provenance]})" if words else "not recorded"


def sentence(text: str) -> str:
    """Return a text with a capital at its beginning."""
    return text[:1].upper() + text[1:]


def _small(name: str) -> str:
    """Return a name without its capital, unless it is an abbreviation."""
    return name if name[1:2].isupper() else name[:1].lower() + name[1:]
