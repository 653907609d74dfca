"""Where a batch or lot went, as the office sees it."""

from __future__ import annotations

import json


def test_a_batch_is_followed_to_jobs_drops_seams_spreads_and_cases(diagnose, demo):
    seen = diagnose("trace", " 0417 ", "--casebook", demo)
    assert (seen.code, seen.err) == (0, "")
    lines = seen.out.splitlines()
    assert lines[0] == "0417: 1 job used it, with 1 case."
    assert any(line.startswith("larch-house, ") for line in lines)
    for word in ("rolls R1", "drops L1", "seams S1", "spreads SP1"):
        assert any(line.strip().startswith(word) for line in lines), word
    assert any("(open): seam-peaking at seam:S2" in line for line in lines)


def test_lots_are_followed_to_what_they_went_into(diagnose, demo):
    values = json.loads(
        diagnose("job", "show", "larch-house", "--part", "lots", "--json", "--casebook", demo).out
    )
    found = {}
    for lot in ("A1", "S1"):
        seen = diagnose("trace", values[f"lots.{lot}.batch"], "--json", "--casebook", demo)
        (found[lot],) = json.loads(seen.out)["uses"]
        assert found[lot]["parts"] == [f"lots.{lot}"]
    assert values["lots.A1.kind"] == "adhesive"
    assert (found["A1"]["spreads"], found["A1"]["seams"]) == (["SP1", "SP2", "SP3", "SP4"], [])
    assert values["lots.S1.kind"] == "sealer"
    assert (found["S1"]["spreads"], found["S1"]["seams"]) == ([], ["S1", "S2"])


def test_one_of_a_kind_is_said_in_the_singular(diagnose, demo):
    diagnose("job", "log", "rowan-lounge", "rolls.R1.batch=zz 9", "--casebook", demo)
    seen = diagnose("trace", "ZZ  9", "--casebook", demo)
    assert "ZZ 9: 1 job used it, with no case." in seen.out
    assert "  roll R1" in seen.out
    assert "  no case" in seen.out


def test_a_batch_that_nobody_used_is_answered_with_the_nearest(diagnose, demo):
    seen = diagnose("trace", "0419", "--casebook", demo)
    assert (seen.code, seen.out) == (3, "")
    assert "no job used the batch or lot 0419" in seen.err
    assert "did you mean 0417?" in seen.err


def test_a_batch_cannot_steer_the_terminal(diagnose, demo):
    diagnose("job", "log", "rowan-lounge", "rolls.R1.batch=\x1b[2J9", "--casebook", demo)
    seen = diagnose("trace", "\x1b[2J9", "--casebook", demo)
    assert "\x1b" not in seen.out + seen.err
