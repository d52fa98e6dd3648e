"""Every statistic that a study prints against another implementation, at 1e-8 relative."""

import numpy as np
import pytest
from study_routes import ROUTES, apart


@pytest.mark.parametrize("route", ROUTES, ids=lambda route: route.__name__)
@pytest.mark.parametrize("seed", range(3))
def test_each_statistic_is_that_of_another_implementation(route, seed):
    """Source: what stands beside each figure in `study_routes`, on random cohorts with clusters, gaps and ties."""
    differ = {name: apart(ours, theirs) for name, _, ours, theirs in route(np.random.default_rng([seed, 7]))}
    assert {name: found for name, found in differ.items() if not found <= 1e-8} == {}
