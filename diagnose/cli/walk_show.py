"""What a walk puts on the screen: a question, the act before it, help, why, and the list."""

from __future__ import annotations

from diagnose.cli.screen import Screen
from diagnose.engine.words import odds_words
from diagnose.rulebook.model import Act, Question
from diagnose.walk.advice_words import caution_lines
from diagnose.walk.inspection import Inspection
from diagnose.walk.reason_to_ask import effect_lines, named, why_asked

HARM = {
    "none": "no harm to the floor",
    "lifts-an-edge": "lifts an edge of the carpet",
    "cuts-or-cores": "cuts the carpet or bores into the floor",
}
HELP = {
    "1": "the answer with that number; for several, numbers with blanks between",
    "0": "none of these",
    "c": "cannot tell",
    "why": "what each answer would do",
    "list": "the best questions now",
    "ask ID": "another question of the list",
    "back": "take the last answer back; back ID an earlier one",
    "seen ID": "a further fault that is there",
    "absent ID": "a fault looked for and not there",
    "note ...": "your own words with the next answer",
    "pause": "go on another day",
    "stop": "end here with a finding",
}
MOST_LISTED = 8


def show_help(screen: Screen) -> None:
    """Write what can be typed at a question."""
    wide = max(map(len, HELP))
    for word, text in HELP.items():
        screen.text(text, mark=word.ljust(wide + 1))


def show_question(screen: Screen, inspection: Inspection, number: int, question: Question) -> None:
    """Write a question with its answers and the reason it is asked."""
    screen.heading(f"{number}. {question.ask}")
    if question.help:
        screen.faint(question.help)
    for place, answer in enumerate(question.answers, start=1):
        screen.text(answer.text, mark=f"{place:>2}", indent=1)
    screen.text("none of these", mark=" 0", indent=1)
    screen.text("cannot tell", mark=" c", indent=1)
    screen.faint(f"Why it is asked: {why_asked(inspection, question.id)}")


def show_act(
    screen: Screen, inspection: Inspection, act: Act, question: Question, told: set[str]
) -> None:
    """Write what to do before a question, its cautions first; one already `told` by its name."""
    screen.heading(f"To do first: {act.name}")
    if act.consent:
        screen.text(f"For the question: {question.ask}")
    lines = caution_lines(inspection.rules, act.cautions, inspection.intake.floor)
    for caution in lines:
        if caution.id not in told:
            screen.caution(caution.name, caution.text, caution.defer_to)
    again = [caution.name for caution in lines if caution.id in told]
    if again:
        screen.caution("As told above", f"{'. '.join(again)}.")
    told.update(caution.id for caution in lines)
    screen.text(act.how)
    tools = f"; tools: {', '.join(act.tools)}" if act.tools else ""
    screen.faint(f"About {act.minutes:g} min; {HARM[str(act.damage)]}{tools}.")
    if act.put_back:
        screen.faint(f"Afterwards: {act.put_back}")


def show_why(screen: Screen, inspection: Inspection, question: Question) -> None:
    """Write what each answer would make of what comes first now."""
    first = inspection.posterior.explanations[0]
    now = named(inspection.rules, first.causes)
    screen.text(f"First now: {now}, {odds_words(first.probability)}. With the answer:")
    for text, causes, odds in effect_lines(inspection, question.id):
        what = "the same" if causes == now else causes
        screen.text(f"{text}: {what}, {odds}", mark="-")


def show_list(screen: Screen, inspection: Inspection) -> None:
    """Write the best questions with their ids, minutes and harm."""
    rules = inspection.rules
    for candidate in inspection.advice.candidates[:MOST_LISTED]:
        question = rules.questions[candidate.question]
        harm = str(rules.acts[question.act].damage)
        also = "" if harm == "none" else f", {HARM[harm]}"
        screen.strong(question.id)
        screen.text(f"{question.ask} ({candidate.minutes:g} min{also})", indent=2)
    if not inspection.advice.candidates:
        screen.text("No question is left that would tell more.")
