"""Suppositions against counting every set of causes, on random networks.

Check: no outside figures; the definition of the model itself, counted out.
"""

from functools import partial

import numpy as np
import pytest

from diagnose.engine import plan as engine_plan
from diagnose.engine.evidence import CheckSaid, NotMentioned, SymptomSeen
from diagnose.errors import NotFoundError
from diagnose.forecast import suppose
from diagnose.forecast.suppose import Supposed, chances
from tests.engine.small_networks import count, draw, level_chances

SUPPOSED = (
    Supposed(),
    Supposed(("symptom-0",)),
    Supposed(("symptom-1", "symptom-3")),
    Supposed((), frozenset({"cause-2"})),
    Supposed(("symptom-2",), frozenset({"cause-0", "cause-5"})),
)


def drawn_without_symptoms(seed):
    drawn = draw(seed, causes=8, mechanisms=seed % 3, shared=seed % 2)
    kept = [i for i in drawn.evidence if not i.key.startswith(("symptom", "not-mentioned"))]
    return drawn.network, tuple(kept)


def by_counting(network, counted, supposed):
    holds = counted.joint.copy()
    for symptom in supposed.symptoms:
        holds *= level_chances(network.symptoms[symptom], counted.states)[:, 0]
    for cause in supposed.causes:
        holds *= ~counted.states[:, network.index[cause]]
    return holds.sum()


@pytest.mark.parametrize("widest", [14, 3, 2])
@pytest.mark.parametrize("seed", range(16))
def test_chances_equal_the_count_whatever_the_width(seed, widest, monkeypatch):
    monkeypatch.setattr(suppose, "plan", partial(engine_plan.plan, widest=widest))
    network, evidence = drawn_without_symptoms(seed)
    counted = count(network, evidence)
    log_evidence, found = chances(network, evidence, SUPPOSED)
    assert log_evidence == pytest.approx(counted.log_evidence, abs=1e-10)
    expected = [by_counting(network, counted, each) for each in SUPPOSED]
    np.testing.assert_allclose(found, expected, rtol=1e-9, atol=1e-12)


def test_a_narrow_width_does_set_factors_aside():
    network, evidence = drawn_without_symptoms(4)
    state = suppose.absorb(network, evidence)
    aside = 0
    for part in suppose.parts(network, state):
        engine_plan.plan(network, state, part, widest=2)
        aside += len(part.set_aside)
    assert aside > 0


@pytest.mark.parametrize("seed", range(8))
def test_the_order_of_the_evidence_does_not_matter(seed):
    network, evidence = drawn_without_symptoms(seed)
    forwards = chances(network, evidence, SUPPOSED)
    backwards = chances(network, evidence[::-1], SUPPOSED)
    assert forwards[0] == backwards[0]
    assert forwards[1].tolist() == backwards[1].tolist()


def test_nothing_can_be_supposed_of_what_is_told():
    network, _ = drawn_without_symptoms(1)
    for told in (SymptomSeen("symptom-0"), NotMentioned()):
        with pytest.raises(NotFoundError, match="already speaks of symptom symptom-0"):
            chances(network, [told], [Supposed(("symptom-0",))])


@pytest.mark.parametrize(
    ("evidence", "supposed", "word"),
    [
        ([], Supposed(("no-such",)), "symptom no-such"),
        ([], Supposed((), frozenset({"no-such"})), "cause no-such"),
        ([CheckSaid("no-such", "deviates")], Supposed(), "check no-such"),
    ],
)
def test_an_unknown_name_is_named(evidence, supposed, word):
    network, _ = drawn_without_symptoms(1)
    with pytest.raises(NotFoundError, match=word):
        chances(network, evidence, [supposed])
