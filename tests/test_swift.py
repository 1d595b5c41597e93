"""Bursts of many circuits at once: the same as each by itself, as closely as an eye can tell."""

from __future__ import annotations

import numpy
import pytest

from sumpwise.inference import swift
from sumpwise.inference.prior import PLENTY
from sumpwise.inference.swift import pumped
from sumpwise.mixing.circuit.flow import flow
from sumpwise.mixing.circuit.state import Parameters, State, present

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
    pairs = [*zip(one[:2], other[:2], strict=True), *zip(one.converter, other.converter, strict=True)]
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
    both = swift._apart
    monkeypatch.setattr(swift, "_apart", lambda *given: ways.append(numpy.size(given[3])) or both(*given))
    exact = flow(built, state, litres, poured * litres)
    assert apart(pumped(built, state, litres, poured * litres, PLENTY), exact) < SEEN
    assert sum(ways) > MANY / 2


def test_nothing_pumped_changes_nothing():
    built, state, _ = drawn(1, 2, 4)
    still = pumped(built, state, numpy.zeros(MANY), numpy.zeros(MANY), PLENTY)
    assert apart(still, state) < 1e-12
    some = pumped(built, state, numpy.where(numpy.arange(MANY) % 2, 0.6, 0.0), 0.0, PLENTY)
    assert some.cooler[-1][::2] == pytest.approx(state.cooler[-1][::2], abs=1e-12)
    assert (some.cooler[-1][1::2] != state.cooler[-1][1::2]).all()


def test_a_slow_cooler_goes_through_the_common_series(monkeypatch):
    built, state, _ = drawn(2, 3, 1, cooler=(60.0, 80.0))
    monkeypatch.setattr(swift, "_apart", lambda *_: pytest.fail("taken apart"))
    assert apart(pumped(built, state, 0.6, 0.0, PLENTY), flow(built, state, 0.6)) < SEEN


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
