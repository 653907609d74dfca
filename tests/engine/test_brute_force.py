"""The sweep against counting every set of causes, on forty random networks.

Check: no outside figures; the definition of the model itself, counted out.
"""

import numpy as np
import pytest

from diagnose.engine.posterior import infer
from tests.engine.small_networks import count, draw


@pytest.mark.parametrize("seed", range(40))
def test_posterior_evidence_and_explanations_equal_the_count(seed):
    drawn = draw(seed, causes=8 if seed % 8 else 12, mechanisms=seed % 3, shared=seed % 2)
    counted = count(drawn.network, drawn.evidence)
    found = infer(drawn.network, drawn.evidence, delta=1e-12)
    assert found.exact
    reached = [v for v in range(drawn.network.size) if v < drawn.network.roots]
    reached += [v for v in found.sets.variables if v >= drawn.network.roots]
    np.testing.assert_allclose(found.chance[reached], counted.chance[reached], rtol=0, atol=1e-10)
    np.testing.assert_allclose(found.chance, counted.chance, rtol=0, atol=1e-9 + found.cut)
    assert found.log_evidence == pytest.approx(counted.log_evidence, abs=1e-10)
    for explanation in found.explanations:
        expected = counted.explanations[explanation.causes]
        assert explanation.probability == pytest.approx(expected, abs=1e-9 + found.cut)


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
