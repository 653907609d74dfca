"""Forwards and backwards are one network: both give one joint chance.

Forwards, the chance of the record times the chance that the symptom shows
given it; backwards, the walk's own network with the symptom among its
evidence, mentioned or not.
"""

import numpy as np
import pytest

from diagnose.checks.run import run_checks
from diagnose.engine.evidence import SymptomAbsent, SymptomFound, SymptomSeen
from diagnose.engine.posterior import infer_chances
from diagnose.forecast.at_place import at_place, with_few_questions
from diagnose.forecast.suppose import Supposed, chances
from diagnose.record.place import find_place, floor_of, words_at
from diagnose.walk.inspection import Intake, begin

PLACES = [
    ("larch-house", "seam:S2"),
    ("larch-house", "edge:E1"),
    ("larch-house", "doorway:E2"),
    ("larch-house", "area:corridor"),
    ("millbrook-school", "seam:S1"),
    ("quayside-office", "seam:S1"),
    ("quayside-office", "area:open-office"),
    ("beacon-clinic", "doorway:D1"),
    ("rowan-lounge", "seam:S1"),
]


@pytest.mark.parametrize(("name", "at"), PLACES)
def test_both_ways_give_one_joint_chance(name, at, rules, job):
    record = job(name)
    place = find_place(record, at)
    spot = at_place(with_few_questions(rules), record, place)
    log_record, absent = chances(
        spot.network, spot.evidence, [Supposed((s,)) for s in spot.symptoms]
    )
    shown = list(zip(spot.symptoms, absent, strict=True))
    for symptom, is_absent in shown[:: max(1, len(shown) // 6)]:
        intake = Intake(
            (symptom,),
            place,
            floor_of(record, place, None),
            run_checks(rules, record, place),
            record.id,
            words_at(record, place),
        )
        walk = begin(rules, intake)
        told = [item for item in walk.known if item.key in {e.key for e in spot.evidence}]
        backwards = [
            infer_chances(walk.network, [*told, kind(symptom)]).log_evidence
            for kind in (SymptomSeen, SymptomFound, SymptomAbsent)
        ]
        forwards = log_record + np.log1p(-is_absent)
        assert forwards == pytest.approx(np.logaddexp(*backwards[:2]), abs=1e-10)
        assert log_record + np.log(is_absent) == pytest.approx(backwards[2], abs=1e-10)


def test_the_evidence_is_that_of_the_walk(rules, job):
    record = job("rowan-lounge")
    place = find_place(record, "seam:S1")
    spot = at_place(with_few_questions(rules), record, place)
    intake = Intake(
        ("seam-peaking",),
        place,
        floor_of(record, place, None),
        run_checks(rules, record, place),
        record.id,
        words_at(record, place),
    )
    told = {item for item in begin(rules, intake).known if item.key.startswith(("check", "quest"))}
    assert set(spot.evidence) == told
    assert any(item.key == "question:taped-or-stuck" for item in spot.evidence)
