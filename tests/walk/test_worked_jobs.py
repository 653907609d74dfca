"""The invented jobs: the finding is the truth built into them, backed by the record.

Check: the truth of each job is our own invention; that these causes give
these symptoms is from the sources named in rules/.
"""

from functools import cache

import pytest

from diagnose.checks.run import run_checks
from diagnose.data import data_folder
from diagnose.record.fold import fold
from diagnose.record.place import find_place, floor_of, words_at
from diagnose.record.sheet import read_sheet
from diagnose.rulebook.load import load_rules
from diagnose.walk.complaint import read_complaint
from diagnose.walk.conclude import conclude
from diagnose.walk.inspection import Intake, begin
from diagnose.walk.steps import Step, StepKind

JOBS = ("beacon-clinic", "larch-house", "millbrook-school", "quayside-office", "rowan-lounge")


@cache
def rules():
    return load_rules(data_folder("rules"))


def inspected(name, *, with_record=True):
    folder = data_folder("casebook") / name
    sheet = read_sheet((folder / "job.yaml").read_bytes(), "job.yaml")
    job = fold(sheet.job_id, sheet.texts(), {})
    path = folder / "complaint.yaml"
    told = read_complaint(path.read_bytes(), path.name, rules())
    place = find_place(job, told.at)
    floor = floor_of(job, place, told.inspected_at.date())
    intake = Intake(
        told.symptoms,
        place,
        floor,
        run_checks(rules(), job, place) if with_record else (),
        job.id if with_record else "",
        words_at(job, place) if with_record else {},
    )
    return told, begin(rules(), intake, told.steps)


@pytest.mark.parametrize("name", JOBS)
def test_the_first_explanation_is_the_truth(name):
    told, inspection = inspected(name)
    assert set(inspection.posterior.explanations[0].causes) == set(told.truth)


@pytest.mark.parametrize("name", ["larch-house", "millbrook-school", "quayside-office"])
def test_the_finding_has_two_reasons_from_the_record(name):
    told, inspection = inspected(name)
    finding = conclude(inspection, made_at="2026-01-01T00:00:00+00:00", made_by="test")
    backed = [r for r in finding.reasons if r.kind == "record" and r.log10 > 0 and r.inputs]
    assert len(backed) >= 2
    assert {reason.about for reason in backed} >= set(told.truth)


def test_the_record_of_the_clinic_speaks_against_what_is_found():
    _, inspection = inspected("beacon-clinic")
    finding = conclude(inspection, made_at="2026-01-01T00:00:00+00:00", made_by="test")
    against = [r for r in finding.reasons if r.kind == "record" and r.log10 < 0]
    assert any(reason.subject == "seam-sealed" for reason in against)


def test_the_record_makes_the_demo_surer():
    _, with_record = inspected("larch-house")
    _, without = inspected("larch-house", with_record=False)
    cause = "edges-cut-over-full"
    assert with_record.posterior.of(cause) > without.posterior.of(cause)


def test_what_the_record_says_is_not_asked():
    _, inspection = inspected("rowan-lounge")
    assert "taped-or-stuck" not in inspection.open_questions


def test_cannot_tell_changes_nothing():
    _, inspection = inspected("larch-house")
    question = inspection.open_questions[0]
    after = inspection.after(Step(StepKind.CANNOT_TELL, question))
    assert after.posterior.chance.tolist() == inspection.posterior.chance.tolist()
    assert question not in after.open_questions


def test_taking_back_restores_what_was():
    _, inspection = inspected("millbrook-school")
    question = inspection.advice.candidates[0].question
    answer = rules().questions[question].answers[0].id
    there = inspection.after(Step(StepKind.ANSWERED, question, (answer,)))
    back = there.after(Step(StepKind.TAKEN_BACK))
    assert back.held == inspection.held
    assert back.posterior.chance.tolist() == inspection.posterior.chance.tolist()


def test_what_an_answer_would_do_is_what_it_does():
    _, inspection = inspected("quayside-office")
    for candidate in inspection.advice.candidates[:6]:
        asked = inspection.network.questions[candidate.question]
        if len(asked.findings) > 1:
            continue
        for effect in inspection.effects(candidate.question):
            after = inspection.after(
                Step(StepKind.ANSWERED, candidate.question, (effect.answer,))
            ).posterior.explanations[0]
            # told in tenths; the sets left out beforehand can matter afterwards
            assert effect.probability == pytest.approx(after.probability, abs=0.06)
            if after.probability > 0.55:
                assert effect.causes == after.causes


def test_a_moved_date_does_not_make_a_late_entry_early(tmp_path):
    from datetime import UTC, datetime

    from diagnose.cli.job_import import import_sheet
    from diagnose.cli.record_of import job_of
    from diagnose.model import Provenance
    from diagnose.store.cases import open_case
    from diagnose.store.jobs import import_changes
    from diagnose.store.journal import Casebook

    path = data_folder("casebook") / "larch-house" / "job.yaml"
    day = datetime(2026, 3, 3, 15, 40, tzinfo=UTC)
    late = datetime(2026, 5, 2, 9, 0, tzinfo=UTC)
    with Casebook.open(tmp_path / "c.db", create=True) as book:
        import_sheet(book, path, path.read_bytes(), said_by="AB", at=day)
        open_case(
            book,
            symptoms=["seam-peaking"],
            at=datetime(2026, 4, 20, tzinfo=UTC),
            said_by="client",
            job="larch-house",
            place="seam:S2",
        )
        changes = {
            "seams.S2.forced": "no",
            "seams.S2.closed_at": "2026-05-02T08:30:00+00:00",
            "dates.finished_at": "2026-05-02T08:45:00+00:00",
        }
        import_changes(book, "larch-house", changes, said_by="AB", at=late)
        origins = job_of(book, "larch-house").origins
    assert origins["seams.S2.forced"].provenance is Provenance.AFTER_COMPLAINT
    assert origins["seams.S2.edges_sealed"].provenance is Provenance.ON_THE_DAY
