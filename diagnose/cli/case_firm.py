"""How firm a finding is: errors in the numbers, and answers that would turn it."""

from __future__ import annotations

from collections.abc import Iterator

from diagnose.cli.case_numbers import number_blocks
from diagnose.engine.evidence import Answered, CheckSaid, Evidence, SymptomAbsent, SymptomFound
from diagnose.engine.robustness import sentence, survival
from diagnose.engine.smallest_change import Change, smallest_change
from diagnose.engine.words import odds_words
from diagnose.reports.blocks import Block, Heading, Item, Paragraph
from diagnose.rulebook.model import Rules
from diagnose.walk.inspection import Inspection
from diagnose.walk.reason_to_ask import named
from diagnose.walk.steps import in_short

DRAWS = 60
SEED = 1


def firmness_blocks(inspection: Inspection, *, numbers: bool) -> Iterator[Block]:
    """Yield how far the finding of an inspection would survive."""
    network, evidence, rules = inspection.network, inspection.evidence, inspection.rules
    first = inspection.posterior.explanations[0]
    yield Heading(f"How firm it is: {named(rules, first.causes)}")
    yield Paragraph(f"Likeliest now, {odds_words(first.probability)}.")
    found = survival(network, evidence, seed=SEED, draws=DRAWS)
    yield Paragraph(sentence(found), strong=True)
    for each in found:
        size = "moderate" if each.noise == found[0].noise else "gross"
        share = f"{each.stayed} of {each.draws}"
        instead = f"; else most often {named(rules, each.others[0][0])}" if each.others else ""
        yield Item(f"With {size} errors in every judged number it stays first in {share}{instead}.")
    yield Heading("What would have to be different")
    change = smallest_change(network, evidence)
    if change is None:
        yield Paragraph("No change of one or two answers or entries would put another cause first.")
    else:
        yield from _change(rules, change)
    if numbers:
        yield from number_blocks(inspection)


def _change(rules: Rules, change: Change) -> Iterator[Block]:
    name = named(rules, change.leading.causes)
    yield Paragraph(
        f"{name[:1].upper()}{name[1:]} would come first, "
        f"{odds_words(change.leading.probability)}, with:"
    )
    for item, instead in change.instead:
        about, said = _words(rules, item)
        told = "nothing known of it" if instead is None else _words(rules, instead)[1]
        yield Item(f"{about} {told} (now: {said})")


def _words(rules: Rules, item: Evidence) -> tuple[str, str]:
    """Return what an item is about, and what it says of it."""
    match item:
        case Answered(question, answers):
            asked = rules.questions[question]
            texts = [answer.text for answer in asked.answers if answer.id in answers]
            return in_short(asked.ask), "; ".join(texts) or "none of these"
        case CheckSaid(check, outcome):
            return f"{rules.checks[check].name}:", str(outcome).replace("-", " ")
        case SymptomFound(symptom):
            return f"{rules.symptoms[symptom].name}:", "there"
        case SymptomAbsent(symptom):
            return f"{rules.symptoms[symptom].name}:", "not there"
    return item.key, ""
