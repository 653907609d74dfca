"""The sweep against counting every set of causes, on forty random networks.

Check: no outside figures; the definition of the model itself, counted out.
"""

import numpy as np
import pytest

from diagnose.engine.evidence import CheckSaid
from diagnose.engine.posterior import infer, infer_chances
from tests.engine.small_networks import count, draw


@pytest.mark.parametrize("seed", range(40))
def test_posterior_evidence_and_explanations_equal_the_count(seed):
    drawn = draw(seed, causes=8 if seed % 8 else 12, mechanisms=seed % 3, shared=seed % 2)
    counted = count(drawn.network, drawn.evidence)
    found = infer(drawn.network, drawn.evidence, delta=1e-12)
    assert found.exact
    np.testing.assert_allclose(found.chance, counted.chance, rtol=0, atol=1e-10)
    assert found.log_evidence == pytest.approx(counted.log_evidence, abs=1e-10)
    for explanation in found.explanations:
        expected = counted.explanations[explanation.causes]
        assert explanation.probability == pytest.approx(expected, abs=1e-9 + found.cut)


@pytest.mark.parametrize("seed", range(12))
def test_mechanisms_that_no_evidence_reached_are_exact_however_few_sets_are_listed(seed):
    drawn = draw(seed, causes=9, mechanisms=3, shared=0)
    evidence = drawn.evidence[:3] + tuple(i for i in drawn.evidence if isinstance(i, CheckSaid))
    counted = count(drawn.network, evidence)
    for found in (
        infer(drawn.network, evidence, delta=0.3),
        infer_chances(drawn.network, evidence),
    ):
        assert not found.reached[drawn.network.roots :].any()
        np.testing.assert_allclose(found.chance, counted.chance, rtol=0, atol=1e-10)


@pytest.mark.parametrize("seed", range(10))
def test_what_is_left_out_is_known(seed):
    drawn = draw(seed, causes=8)
    counted = count(drawn.network, drawn.evidence)
    found = infer(drawn.network, drawn.evidence, delta=0.05)
    listed = sum(each.probability for each in found.explanations)
    assert listed == pytest.approx(1 - found.cut, abs=1e-9)
    assert found.cut <= 0.05 + 1e-12
    for each in found.explanations:
        assert each.probability <= counted.explanations[each.causes] + 1e-9
