"""How Hypothesis draws examples: the same everywhere by default, at random and far more in the deep profile; and what tests share."""

import pytest
from hypothesis import HealthCheck, settings

# results depend neither on the speed of the machine nor on earlier runs
everywhere = settings(database=None, deadline=None, suppress_health_check=[HealthCheck.too_slow], print_blob=True)
settings.register_profile("same", everywhere, derandomize=True, max_examples=100)
settings.register_profile("deep", everywhere, derandomize=False, max_examples=5000)
settings.load_profile("same")  # --hypothesis-profile=deep comes after this


@pytest.fixture(scope="session")
def report():
    """Every check value, recomputed once for all tests that look at the report."""
    from sumpwise import verify

    return verify()
