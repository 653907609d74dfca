"""The check before leaving site on the invented jobs.

Check: the truth of each job is our own invention; that these causes give
these symptoms is from the sources named in rules/.
"""

import pytest

from diagnose.errors import NotFoundError
from diagnose.forecast.at_place import at_place, symptoms_at
from diagnose.forecast.leave_site import leave_site, stands_out
from diagnose.model import Outcome, Place
from diagnose.record.fold import fold
from diagnose.record.place import find_place
from diagnose.walk.complaint import read_complaint

JOBS = ("beacon-clinic", "larch-house", "millbrook-school", "quayside-office", "rowan-lounge")
SHOWN_BY_THE_RECORD = [
    ("larch-house", "seam:S2", "seam-peaking", 2),
    ("millbrook-school", "seam:S1", "fraying-edge", 3),
    ("millbrook-school", "seam:S1", "edge-lift-at-seam", 4),
    ("quayside-office", "seam:S1", "adhesive-ooze-at-seam", 1),
]


def forecast_at(found, place):
    return next(each for each in found.places if each.place == place)


@pytest.fixture(scope="module")
def found(checked):
    return {name: checked(name) for name in JOBS}


@pytest.mark.parametrize(("name", "at", "symptom", "within"), SHOWN_BY_THE_RECORD)
def test_the_complaint_that_came_was_among_the_first_expected(found, name, at, symptom, within):
    callbacks = forecast_at(found[name], at).callbacks
    rank = [callback.symptom for callback in callbacks].index(symptom)
    assert rank < within
    assert stands_out(callbacks[rank])
    assert callbacks[rank].because


@pytest.mark.parametrize(("name", "at", "symptom", "_"), SHOWN_BY_THE_RECORD)
def test_the_reasons_are_checks_that_back_the_truth(found, rules, job, name, at, symptom, _):
    from diagnose.data import data_folder

    path = data_folder("casebook") / name / "complaint.yaml"
    truth = read_complaint(path.read_bytes(), path.name, rules).truth
    causes = {c for c in truth if f"{c}.{symptom}" in rules.links}
    callback = next(c for c in forecast_at(found[name], at).callbacks if c.symptom == symptom)
    assert causes & set(rules.checks[callback.because[0].check].backs)


def test_a_record_in_order_gives_no_warning(found):
    clinic = found["beacon-clinic"]
    assert not clinic.hazards
    assert not [c for place in clinic.places for c in place.callbacks if stands_out(c)]


@pytest.mark.parametrize("name", JOBS)
def test_a_sound_job_forecasts_low(found, name):
    for place in found[name].places:
        for callback in place.callbacks:
            assert callback.sound < 0.15
            assert callback.times == pytest.approx(callback.chance / callback.sound)


def test_a_job_with_every_check_in_order_is_a_sound_job(rules, job):
    record = job("larch-house")
    spot = at_place(rules, record, find_place(record, "S2"))
    in_order = spot.with_in_order([item.check for item in spot.evidence if hasattr(item, "check")])
    assert spot.forecast_given(in_order) == spot.sound
    for symptom, chance in spot.sound.items():
        assert chance <= spot.forecast_given(())[symptom]


def test_a_reason_is_the_forecast_without_its_check(rules, job):
    record = job("larch-house")
    spot = at_place(rules, record, find_place(record, "S2"))
    callback = spot.forecast.callbacks[0]
    assert [b.without for b in callback.because] == sorted(b.without for b in callback.because)
    for reason in callback.because:
        assert reason.outcome is Outcome.DEVIATES
        again = spot.forecast_given(spot.silent_on((reason.check,)))
        assert reason.without == again[callback.symptom]
        assert callback.chance - reason.without >= 0.01


@pytest.mark.parametrize("name", JOBS)
def test_no_symptom_is_counted_twice_at_one_spot(found, name):
    spots = {}
    for place in found[name].places:
        kind, _, what = place.place.partition(":")
        spot = ("edge", what) if kind == "doorway" else (kind, what)
        for callback in place.callbacks:
            assert (spot, callback.symptom) not in spots
            spots[spot, callback.symptom] = place.place


@pytest.mark.parametrize("name", JOBS)
def test_every_symptom_of_the_floor_is_forecast_somewhere(found, rules, job, name):
    here = {callback.symptom for place in found[name].places for callback in place.callbacks}
    whole = at_place(rules, job(name), Place("job"))
    kinds = {place.place.partition(":")[0] for place in found[name].places}
    expected = {s for s in whole.symptoms if kinds & {*rules.symptoms[s].shows_at}}
    assert expected - here == set()


def test_seam_faults_are_left_to_the_seams(found, rules):
    room = {c.symptom for c in forecast_at(found["millbrook-school"], "area:room-4").callbacks}
    assert "fraying-edge" not in room
    assert "blisters" in room


def test_one_place_takes_all_that_shows_there(rules, job):
    record = job("millbrook-school")
    place = find_place(record, "area:room-4")
    only = leave_site(rules, record, place)
    assert [each.place for each in only.places] == ["area:room-4"]
    names = {callback.symptom for callback in only.places[0].callbacks}
    assert "fraying-edge" in names
    assert names <= set(symptoms_at(rules, "area"))
    assert only.at == "area:room-4"


def test_a_danger_stands_with_what_makes_it_safe(found):
    hazards = found["larch-house"].hazards
    assert (hazards[0].place, hazards[0].callback.symptom) in {
        ("seam:S2", "seam-peaking"),
        ("seam:S2", "over-full-seam"),
    }
    assert hazards[0].make_safe
    assert "trip-raised-seam" in [caution.id for caution in found["larch-house"].cautions]


def test_every_deviation_is_at_a_part_with_its_working(found):
    school = found["millbrook-school"]
    late = next(d for d in school.deviations if d.check == "carpet-laid-past-open-time")
    assert late.part == "spread:SP2"
    assert late.result.working
    assert late.result.limit.set_by
    assert not school.clean


def test_an_empty_record_is_clean_and_all_gaps(rules):
    nothing = leave_site(rules, fold("blank", {"method": "adhered"}, {}))
    assert nothing.clean
    assert not nothing.put_right
    assert nothing.record_now
    assert [place.place for place in nothing.places] == ["job"]


def test_a_place_that_is_not_there_is_named(rules, job):
    with pytest.raises(NotFoundError):
        leave_site(rules, job("larch-house"), Place("seam", "S9"))
