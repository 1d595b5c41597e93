"""The suite is the same on every machine; the deep profile is not."""

from hypothesis import given, settings
from hypothesis import strategies as st

from laws.lawbook import examples


def test_the_same_examples_are_drawn_every_time(pytestconfig):
    usual = settings() if pytestconfig.getoption("--hypothesis-profile") is None else settings.get_profile("same")
    assert (usual.derandomize, usual.database, usual.deadline) == (True, None, None)
    seen = []

    @usual
    @given(st.floats())
    def law(x):
        seen.append(repr(x))

    law()
    first, seen[:] = seen[:], []
    law()
    assert seen == first


def test_the_deep_profile_draws_at_random_and_far_more():
    usual, deep = settings.get_profile("same"), settings.get_profile("deep")
    assert not deep.derandomize
    assert deep.max_examples == 50 * usual.max_examples


def test_a_slow_law_keeps_its_share_of_the_examples():
    now = settings().max_examples / settings.get_profile("same").max_examples
    assert examples(10).max_examples == max(10, int(10 * now))
