"""What closed cases say, and how firm a finding is: told, never adopted."""

import json

WALKS = (
    ("larch-house", ("seam-peaking",), "seam:S2", "edges-cut-over-full"),
    ("quayside-office", ("adhesive-ooze-at-seam",), "seam:S1", "adhesive-laid-too-wet"),
)


def closed(diagnose, demo):
    for job, symptoms, place, cause in WALKS:
        options = [word for symptom in symptoms for word in ("-s", symptom)]
        seen = diagnose(
            "walk", job, *options, "--at", place, "--no-input", "--json", "--casebook", demo
        )
        case = json.loads(seen.out)["case"]
        done = diagnose(
            "case", "close", case, "--cause", cause, "--how", "seen", "--casebook", demo
        )
        assert done.code == 0
    return case


def test_without_an_established_cause_there_is_nothing_to_learn(diagnose, demo):
    seen = diagnose("learn", "--casebook", demo)
    assert seen.code == 3
    assert "case close" in seen.err


def test_what_was_seen_raises_a_frequency_and_is_only_proposed(diagnose, demo):
    closed(diagnose, demo)
    learnt = json.loads(diagnose("learn", "--json", "--casebook", demo).out)
    assert learnt["closed_cases"] == 2
    by_cause = {each["cause"]: each for each in learnt["frequencies"]}
    assert set(by_cause) == {cause for *_, cause in WALKS}
    for each in by_cause.values():
        assert each["elicited"] < each["proposed"] < each["interval"][1]
    shown = diagnose("learn", "--casebook", demo)
    assert "Too few to lean on" in shown.out
    again = json.loads(diagnose("learn", "--json", "--casebook", demo).out)
    assert again == learnt


def test_how_firm_a_finding_is(diagnose, demo):
    case = closed(diagnose, demo)
    seen = diagnose("case", "firm", case, "--numbers", "--casebook", demo)
    assert seen.code == 0
    assert "it stays first in" in seen.out
    assert "What would have to be different" in seen.out
    assert "in 100" in seen.out


def test_a_case_closed_without_a_cause_says_that_nothing_is_learnt(diagnose, demo):
    case = json.loads(diagnose("case", "list", "--json", "--casebook", demo).out)[0]["id"]
    seen = diagnose("case", "close", case, "--how", "not opened", "--casebook", demo)
    assert seen.code == 0
    assert "closed without an established cause" in seen.out
    assert f"diagnose case reopen {case} --reason" in seen.out
    learnt = diagnose("learn", "--casebook", demo)
    assert learnt.code == 3
    assert "diagnose case close CASE --cause CAUSE" in learnt.err
