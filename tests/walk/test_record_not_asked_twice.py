"""What the record of a job tells is neither asked again nor counted twice.

Check: the rules themselves; which checks and questions tell one fact is our judgement.
"""

from datetime import date
from functools import cache

import pytest

from diagnose.checks.run import run_checks
from diagnose.data import data_folder
from diagnose.model import Outcome
from diagnose.record.fold import fold
from diagnose.record.place import find_place, floor_of, places_of, words_at
from diagnose.record.sheet import read_sheet
from diagnose.rulebook.load import load_rules
from diagnose.walk.inspection import Intake, begin

SPOKEN = {
    "seam": ("seam-used-before-set", "blade-and-tool", "batch-numbers"),
    "area": ("waiting-time-before-laying", "rolling-on-record", "time-in-the-room-before-laying"),
}
SYMPTOM = {"seam": "open-seam", "area": "bond-loss"}


@cache
def rules():
    return load_rules(data_folder("rules"))


@cache
def job():
    sheet = read_sheet((data_folder("casebook") / "larch-house" / "job.yaml").read_bytes(), "job")
    return fold(sheet.job_id, sheet.texts(), {})


def inspected(at, symptom):
    place = find_place(job(), at)
    floor = floor_of(job(), place, date(2027, 1, 1))
    checks = run_checks(rules(), job(), place)
    return begin(
        rules(), Intake((symptom,), place, floor, checks, job().id, words_at(job(), place))
    )


def first_place(kind):
    return next(str(place) for place in places_of(job()) if place.kind == kind)


@pytest.mark.parametrize("kind", SPOKEN)
def test_what_a_full_record_tells_is_not_asked(kind):
    inspection = inspected(first_place(kind), SYMPTOM[kind])
    for question in SPOKEN[kind]:
        assert question in inspection.network.questions
        assert question not in inspection.open_questions
        assert inspection.settled_by(question)


@pytest.mark.parametrize("question", ["sealer-on-the-cut-edges", "how-the-edge-was-cut"])
def test_what_is_seen_now_is_asked_all_the_same(question):
    inspection = inspected(first_place("seam"), "open-seam")
    told = {r.check for r in inspection.intake.checks if r.outcome is Outcome.IN_ORDER}
    assert told & {"seam-edges-sealed", "edges-cut-along-rows"}
    assert question in inspection.open_questions


def test_a_recorded_word_is_not_an_answer_and_a_check_of_one_cause():
    twice = []
    for question in rules().questions.values():
        causes = {c for a in question.answers for c in (*a.speaks_for, *a.speaks_against)}
        words = {path for answer in question.answers for path in answer.recorded}
        for check in rules().checks.values():
            field = f"{check.looks_at}s.{check.options.get('field', '')}"
            if field in words and causes & {*check.backs}:
                twice.append(f"{question.id} and {check.id}: {field}")
    assert not twice
