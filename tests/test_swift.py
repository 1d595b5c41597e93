"""Bursts of many circuits at once: the same as each by itself, as closely as an eye can tell."""

from __future__ import annotations

import numpy
import pytest

from sumpwise.inference import swift
from sumpwise.inference.prior import PLENTY
from sumpwise.inference.swift import Tanks, partway, pumped, washed
from sumpwise.mixing.circuit.flow import flow
from sumpwise.mixing.circuit.state import Parameters, State, each, present, resident

MANY = 400
SEEN = 1e-5
"""Old fraction below which a difference shows in no vial: a five-hundredth of the least that is read of a match."""


def drawn(seed, tanks, cooler_tanks, cooler=(0.3, 1.0)):
    """Circuits as wide as the ranges of a sheet and wider, half-way through a service."""
    rng = numpy.random.default_rng(seed)

    def between(low, high):
        return rng.uniform(low, high, MANY)

    built = Parameters(
        between(2.5, 6.0), between(1.2, 4.0), between(*cooler), between(0.3, 1.5), between(0.3, 2.0), 0.0, between(0.0, 0.9),
        between(0.05, 0.5), between(0.003, 0.1), 0.0,
    )  # fmt: skip
    parts = [[between(0.0, 1.0) for _ in range(count)] for count in (tanks, cooler_tanks)]
    return built, State(between(1.5, 5.0), between(0.0, 1.0), *parts, between(0.0, 1.0), between(0.0, 1.0), 0.0), rng


def apart(one, other):
    """The largest difference between two states in anything inside."""
    pairs = [*zip(one[:2], other[:2], strict=True), *zip(one.converter, other.converter, strict=False)]
    pairs += [*zip(one.cooler, other.cooler, strict=True), (one.clutches, other.clutches), (one.pockets, other.pockets)]
    return max(float(numpy.max(abs(a - b))) for a, b in pairs)


@pytest.mark.parametrize("cooler_tanks", [1, 2, 4, 8])
@pytest.mark.parametrize("tanks", [1, 2, 3, 5])
@pytest.mark.parametrize("poured", [0.0, 0.5, 1.0, 1.4])
def test_a_burst_is_the_burst_of_the_whole_series(monkeypatch, tanks, cooler_tanks, poured):
    """Whether their coolers are fast or slow, all give the same as the series for every compartment together."""
    built, state, rng = drawn(10 * tanks + cooler_tanks, tanks, cooler_tanks)
    litres = rng.uniform(0.0, 1.3, MANY)
    ways = []
    short = swift._cooler
    monkeypatch.setattr(swift, "_cooler", lambda *given: ways.append(given[0].shape[1]) or short(*given))
    exact = flow(built, state, litres, poured * litres)
    assert apart(pumped(built, state, litres, poured * litres, PLENTY), exact) < SEEN
    assert sum(ways) > MANY / 2


@pytest.mark.parametrize("spread", [1.0, 30.0])
@pytest.mark.parametrize("cooler", [(0.3, 1.0), (2.0, 80.0)])
@pytest.mark.parametrize("some", [0.5, "each its own"])
def test_the_outlet_on_the_way_is_that_of_a_shorter_burst(some, cooler, spread):
    """Also of a burst that has hardly begun, and whether the rest of the burst has a short series or not."""
    built, state, rng = drawn(7, 3, 4, cooler)
    built = built._replace(converter=built.converter / rng.uniform(1.0, spread, MANY))
    litres, at = rng.uniform(0.1, 1.3, MANY), some if some == 0.5 else rng.uniform(0.0, 1.0, MANY)
    if some != 0.5:
        at[:20] = 1e-6
    seen, end = partway(built, state, litres, 0.4 * litres, at, PLENTY)
    assert abs(seen - flow(built, state, at * litres, 0.4 * at * litres).outlet).max() < SEEN
    assert apart(end, pumped(built, state, litres, 0.4 * litres, PLENTY)) == 0


def test_nothing_pumped_changes_nothing():
    built, state, _ = drawn(1, 2, 4)
    still = pumped(built, state, numpy.zeros(MANY), numpy.zeros(MANY), PLENTY)
    assert apart(still, state) < 1e-12
    some = pumped(built, state, numpy.where(numpy.arange(MANY) % 2, 0.6, 0.0), 0.0, PLENTY)
    assert some.cooler[-1][::2] == pytest.approx(state.cooler[-1][::2], abs=1e-12)
    assert (some.cooler[-1][1::2] != state.cooler[-1][1::2]).all()


@pytest.mark.parametrize("cooler", [(0.05, 0.1), (2.0, 80.0)])
def test_a_cooler_may_be_as_quick_or_as_slow_as_it_likes(cooler):
    built, state, _ = drawn(2, 3, 2, cooler=cooler)
    assert apart(pumped(built, state, 0.6, 0.0, PLENTY), flow(built, state, 0.6)) < SEEN


def test_a_converter_that_turns_over_many_times_goes_through_the_common_series(monkeypatch):
    built, state, _ = drawn(2, 3, 2)
    built = built._replace(converter=0.01 * built.converter)
    monkeypatch.setattr(swift, "_cooler", lambda *_: pytest.fail("taken for short"))
    assert apart(pumped(built, state, 0.6, 0.0, PLENTY), flow(built, state, 0.6)) < SEEN


SEVERAL = ((1, 130), (2, 150), (4, 120))
"""Numbers of tanks, and how many of the circuits have so many."""


def by_number(built, state):
    """The circuits with each number of tanks by themselves."""
    first = 0
    for tanks, size in SEVERAL:
        some = slice(first, first + size)
        first += size

        def rows(x, some=some):
            return x[some] if numpy.ndim(x) else x

        yield some, Parameters(*map(rows, built)), each(rows, state._replace(converter=state.converter[:tanks]))


@pytest.mark.parametrize("spread", [1.0, 30.0])
def test_converters_of_several_numbers_of_tanks_go_together(spread):
    """Each comes out as by itself, whether some need the common series or not; a row that it does not have holds its mean."""
    built, state, rng = drawn(5, 4, 3)
    built = built._replace(converter=built.converter / rng.uniform(1.0, spread, MANY))
    state = state._replace(converter=Tanks(SEVERAL).level(numpy.array(state.converter)))
    litres = rng.uniform(0.1, 1.0, MANY)
    together = pumped(built, state, litres, 0.4 * litres, PLENTY, Tanks(SEVERAL))
    inside = resident(built, together)
    for some, parts, begun in by_number(built, state):
        alone = flow(parts, begun, litres[some], 0.4 * litres[some])
        assert apart(each(lambda x, some=some: x[some], together._replace(discharged=litres)), alone) < SEEN
        assert inside[some] == pytest.approx(resident(parts, alone), abs=SEEN)


@pytest.mark.parametrize("spread", [1.0, 30.0])
def test_new_fluid_from_the_sump_is_a_flow_from_a_sump_of_new_fluid(spread):
    built, state, rng = drawn(6, 4, 3)
    built = built._replace(converter=built.converter / rng.uniform(1.0, spread, MANY))
    state = state._replace(converter=Tanks(SEVERAL).level(numpy.array(state.converter)))
    litres = rng.uniform(0.0, 0.6, MANY)
    together = washed(built, state, litres, PLENTY, Tanks(SEVERAL))
    for some, parts, begun in by_number(built, state):
        new = begun._replace(sump=0.0, sump_volume=5.0)
        alone = flow(parts._replace(clutch_circulation=0.0, pocket_circulation=0.0), new, litres[some], litres[some])
        pairs = zip([*together.converter[: len(alone.converter)], *together.cooler], [*alone.converter, *alone.cooler], strict=True)
        assert max(abs(one[some] - other).max() for one, other in pairs) < SEEN
    assert all(getattr(together, name) is getattr(state, name) for name in ("sump_volume", "sump", "clutches", "pockets"))


@pytest.mark.parametrize("off", [0.0, 1e-12, 1e-6, 1e-3, 0.03, 0.1, 0.2, 0.5])
@pytest.mark.parametrize(("tanks", "cooler_tanks"), [(1, 1), (3, 4), (5, 8)])
def test_tanks_of_the_converter_and_the_cooler_may_turn_over_alike(tanks, cooler_tanks, off):
    """A closed form that tells them apart by how fast they turn over is not used where that would show."""
    built, state, rng = drawn(8, tanks, cooler_tanks)
    built = built._replace(cooler=built.converter / (1 - built.bypass) / tanks * cooler_tanks * (1 + off))
    litres = rng.uniform(0.0, 1.0, MANY)
    new = state._replace(sump=0.0, sump_volume=5.0)
    alone = flow(built._replace(clutch_circulation=0.0, pocket_circulation=0.0), new, litres, litres)
    together = washed(built, state, litres, PLENTY)
    pairs = zip([*together.converter, *together.cooler], [*alone.converter, *alone.cooler], strict=True)
    assert max(abs(one - other).max() for one, other in pairs) < SEEN


def test_plain_numbers_and_calls_for_more_precision_get_the_common_series():
    built, state, _ = drawn(3, 2, 4)
    assert apart(pumped(built, state, 0.6, 0.0, 1e-17), flow(built, state, 0.6)) == 0
    one = Parameters(3.7, 2.45, 0.62, 0.83, 1.05, 1.6, 0.35, 0.25, 0.017, 0.0)
    begun = State(3.7, 0.5, [0.9], [0.95] * 4, 0.9, 1.0, 0.0)
    assert apart(pumped(one, begun, 1.2, 0.0, PLENTY), flow(one, begun, 1.2)) < SEEN


def test_old_fluid_is_conserved():
    """What is old inside, less what has left by the line: the last tank of the cooler, by fine steps and the trapezium rule."""
    built, state, _ = drawn(4, 3, 4)
    left, before, now = 0.0, state.cooler[-1], state
    for _ in range(60):
        now = pumped(built, now, numpy.full(MANY, 0.01), numpy.full(MANY, 0.01), PLENTY)
        left, before = left + 0.01 * (before + now.cooler[-1]) / 2, now.cooler[-1]
    assert present(built, now)[1] + left == pytest.approx(present(built, state)[1], abs=2e-3)
