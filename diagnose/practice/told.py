"""A case, a round and its mark as plain data for machines, and nothing hidden by slip."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from diagnose.practice.draw import PracticeCase
from diagnose.practice.feedback import Remark
from diagnose.practice.item import Item
from diagnose.practice.mark import Mark
from diagnose.practice.play import Round, given, spent
from diagnose.practice.saved import order_data, stated_data
from diagnose.practice.site import plan_lines
from diagnose.practice.wording import (
    INVENTED,
    answer_words,
    complaint_words,
    facts_words,
    record_words,
)
from diagnose.rulebook.model import Rules

VERSION = 1


def case_data(rules: Rules, case: PracticeCase, *, key: bool = False) -> dict[str, Any]:
    """Return a case as plain data; what was wrong only with the key."""
    data: dict[str, Any] = {
        "name": case.name,
        "note": INVENTED,
        "order": order_data(case.order),
        "edition": case.edition,
        "complaint": complaint_words(rules, case),
        "facts": facts_words(case),
        "plan": list(plan_lines(case.floor, case.site)),
        "place": str(case.place),
        "symptoms": list(case.symptoms),
        "floor": {facet.value: value for facet, value in case.floor.facets.items()},
        "record": [
            {
                "check": line.check,
                "outcome": line.outcome.value,
                "entered": line.provenance.value,
                "figure": line.figure,
                "words": record_words(rules, line),
            }
            for line in case.record
        ],
    }
    if key:
        data["causes"] = list(case.truth)
        data["taken_for"] = case.rival
        data["answers"] = {name: list(answers) for name, answers in case.answers.items()}
    return data


def round_told(rules: Rules, round_: Round) -> dict[str, Any]:
    """Return what a round has come to so far, without the key."""
    minutes, harm = spent(rules, round_)
    return {
        "case": case_data(rules, round_.case),
        "minutes": f"{minutes:g}",
        "minutes_allowed": round_.allowed.minutes,
        "harm": f"{harm:g}",
        "harm_allowed": round_.allowed.harm,
        "asked": [
            {
                "question": move.question,
                "caution_read": move.caution_read,
                "answers": None if said is None else list(said),
                "words": answer_words(rules, move.question, said),
            }
            for move in round_.moves
            for said in [given(round_, move.question)]
        ],
        "stated": stated_data(round_.stated) if round_.stated else None,
    }


def mark_data(mark: Mark, remarks: Sequence[Remark]) -> dict[str, Any]:
    """Return a mark with its remarks as plain data."""
    return {
        "points": mark.total,
        "parts": [
            {"name": part.name, "points": part.points, "of": part.of, "why": part.why}
            for part in mark.parts
        ],
        "right": mark.right,
        "causes": list(mark.truth),
        "missed": list(mark.missed),
        "wrongly_named": list(mark.wrongly_named),
        "brier": round(mark.brier, 4),
        "log_score_bits": round(mark.log_score_bits, 3),
        "engine_on_your_answers": round(mark.on_evidence, 4),
        "engine_would_say": list(mark.leading),
        "questions": [
            {
                "question": step.question,
                "gain_bit": round(step.gain_bit, 4),
                "bit_per_minute": round(step.per_minute, 5),
                "best": step.best,
                "best_bit_per_minute": round(step.best_per_minute, 5),
                "regret": round(step.regret, 5),
                "as_good_as_best": step.good,
                "after_settled": step.after_settled,
                "on_record": step.on_record,
            }
            for step in mark.steps
        ],
        "best_path": {
            "questions": list(mark.best.questions),
            "minutes": f"{mark.best.minutes:g}",
            "found": list(mark.best.found.causes),
            "probability": round(mark.best.found.probability, 4),
            "stop": mark.best.stop,
        },
        "feedback": [
            {
                "topic": remark.topic.value,
                "text": remark.text,
                "rules": list(remark.rules),
                "sources": list(remark.sources),
            }
            for remark in remarks
        ],
    }


def item_data(item: Item, *, key: bool = False) -> dict[str, Any]:
    """Return a short question as plain data; the answer only with the key."""
    data: dict[str, Any] = {
        "id": item.id,
        "kind": item.kind.value,
        "ask": item.ask,
        "options": [option.text for option in item.options],
        "subject": item.subject,
        "stage": item.stage,
    }
    if key:
        data["key"] = [number + 1 for number in item.key]
        data["why"] = item.why
        data["rules"] = list(item.rules)
        data["sources"] = list(item.sources)
    return data
