"""Many circuits at once through a history: the same as each by itself, as closely as an eye can tell."""

from __future__ import annotations

from itertools import pairwise

import numpy
import pytest

from sumpwise.inference import replay, swift
from sumpwise.inference.moves import moves
from sumpwise.inference.replay import replayed
from sumpwise.inference.swift import PLENTY, Batch, Tanks
from sumpwise.mixing.circuit.history import CIRCULATE, DRAIN, MIX, POUR, PUMP, History, Operation
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


def led(built, state, *operations):
    return History(built, tuple(map(len, state.way)), operations)


def apart(one, other):
    """The largest difference between two states in anything inside."""
    pairs = [*zip(one[:2], other[:2], strict=True), *zip(one.converter, other.converter, strict=False)]
    pairs += [*zip(one.cooler, other.cooler, strict=True), (one.clutches, other.clutches), (one.pockets, other.pockets)]
    return max(float(numpy.max(abs(a - b))) for a, b in pairs)


def farthest(history, state, manners=None, tanks=None):
    """The largest difference between a batch and the whole series, in a state after any operation or in an outlet half-way."""
    tanks = tanks or Tanks([(len(state.converter), state.sump_volume.size)])
    pumps = [place for place, one in enumerate(history.operations) if one.kind == PUMP]
    seen = dict.fromkeys(pumps)
    together, most = list(replayed(history, manners or {}, PLENTY, tanks, seen, state)), 0.0
    for count, circuits in tanks.groups:

        def rows(x, circuits=circuits):
            return x[circuits] if numpy.ndim(x) else x

        part = history.with_values([rows(value) for value in history.values])
        begun, alone = each(rows, state._replace(converter=state.converter[:count])), dict.fromkeys(pumps)
        manner = {name: rows(value) for name, value in (manners or {}).items()}
        for (_, one), (found, other) in zip(together, replayed(part, manner, halfway=alone, begun=begun), strict=True):
            same = each(rows, one._replace(discharged=0.0))
            inside = resident(found, other._replace(converter=list(other.converter))) - resident(found, same)
            most = max(most, apart(same, other), abs(inside).max())
        most = max(most, *(abs(seen[place][circuits] - alone[place]).max() for place in pumps))
    return most


def those_that_fit(history, state, manners=None):
    """The circuits whose series are short, as a batch; and how many they are."""
    manners = manners or {}
    batch = Batch(list(moves(history, manners, state.sump_volume)), history.built, state, Tanks([(len(state.converter), MANY)]))
    chosen = numpy.flatnonzero(batch.fit)

    def rows(x):
        return x[chosen] if numpy.ndim(x) else x

    part = history.with_values([rows(value) for value in history.values])
    return part, each(rows, state), {name: rows(one) for name, one in manners.items()}, chosen.size


@pytest.fixture
def fitting(monkeypatch):
    """How many circuits went as one batch."""
    sizes, run = [], swift.Batch.run
    monkeypatch.setattr(swift.Batch, "run", lambda self, halfway: sizes.append(self.tanks.counts.size) or run(self, halfway))
    return sizes


@pytest.mark.parametrize("cooler_tanks", [1, 2, 4, 8])
@pytest.mark.parametrize("tanks", [1, 2, 3, 5])
@pytest.mark.parametrize("poured", [0.0, 0.5, 1.0, 1.4])
def test_a_burst_is_the_burst_of_the_whole_series(fitting, tanks, cooler_tanks, poured):
    """Whether their coolers are fast or slow, all give the same as the series for every compartment together."""
    built, state, rng = drawn(10 * tanks + cooler_tanks, tanks, cooler_tanks)
    litres = rng.uniform(0.0, 1.3, MANY)
    history = led(built, state, Operation(PUMP, litres, poured * litres))
    *fast, size = those_that_fit(history, state)
    assert farthest(*fast) < SEEN
    assert fitting == [size]
    assert size > MANY / 4
    assert farthest(history, state) < SEEN


SERVICE = (DRAIN, POUR, PUMP, PUMP, POUR, PUMP, POUR, POUR, CIRCULATE, PUMP, DRAIN, POUR, PUMP, POUR, MIX, PUMP, POUR)


@pytest.mark.parametrize("at_once", [1, 1000, 6000])
@pytest.mark.parametrize("tanks", [1, 3])
def test_a_history_is_that_of_the_whole_series(monkeypatch, fitting, tanks, at_once):
    """With all that cannot be measured, with drives between bursts, and however many bursts go side by side."""
    monkeypatch.setattr(swift, "AT_ONCE", at_once)
    built, state, rng = drawn(tanks, tanks, 4)
    built, state = built._replace(bypass=0.6 * built.bypass), state._replace(sump_volume=3.5 + 0.5 * state.sump_volume)
    sizes = {DRAIN: (0.0, 0.8), POUR: (0.2, 1.2), PUMP: (0.3, 1.0), CIRCULATE: (1.0, 20.0), MIX: (0.0, 0.0)}
    history = led(built, state, *(Operation(kind, rng.uniform(*sizes[kind], MANY), 0.2 * (kind == PUMP)) for kind in SERVICE))
    limits = {"drawn_first": (0.0, 0.5), "drain_back": (0.0, 0.5), "bypass_drift": (-0.1, 0.1)}
    manners = {name: rng.uniform(*ends, MANY) for name, ends in limits.items()}
    *fast, size = those_that_fit(history, state, manners)
    assert farthest(*fast) < SEEN
    assert fitting == [size]
    assert size > MANY / 2
    assert farthest(history, state, manners) < SEEN


@pytest.mark.parametrize("spread", [1.0, 30.0])
@pytest.mark.parametrize("cooler", [(0.3, 1.0), (2.0, 80.0)])
@pytest.mark.parametrize("first", [0.0, 0.3, 0.9])
def test_coolers_and_converters_may_be_as_quick_or_as_slow_as_they_like(first, cooler, spread):
    """Also when hardly anything but new fluid is pumped, and whether the rest of the burst has a short series or not."""
    built, state, rng = drawn(7, 3, 4, cooler)
    built = built._replace(converter=built.converter / rng.uniform(1.0, spread, MANY))
    litres = rng.uniform(0.1, 1.3, MANY)
    history = led(built, state, Operation(POUR, litres), Operation(PUMP, litres, 0.4 * litres))
    manners = {"drawn_first": first * rng.uniform(0.5, 1.0, MANY)}
    *fast, size = those_that_fit(history, state, manners)
    assert farthest(*fast) < SEEN
    assert size > MANY / 10
    assert farthest(history, state, manners) < SEEN


@pytest.mark.parametrize("tanks", [1, 3])
def test_the_longest_of_the_short_series_has_room_enough(fitting, tanks):
    """At the limits of what is called short, with a helper who pours more than is pumped, a series takes nearly fifty terms."""
    rng = numpy.random.default_rng(tanks)
    sump, turns = rng.uniform(0.6, 6.0, MANY), 0.9999 * swift.SHORT
    poured = 1 + 0.9999 * swift.CLOSE_BY * sump
    around = numpy.maximum(turns * sump - poured, 0.0)
    part = rng.choice([0.0, 0.5, 1.0], MANY)
    clutches, pockets = around * part, around * (1 - part)
    sides = (numpy.maximum(one / turns, 0.01) for one in (clutches, pockets))
    built = Parameters(sump, tanks / turns, 0.3, *sides, 0.0, 0.0, clutches, pockets, 0.0)
    old = [rng.integers(0, 2, (count, MANY)) * 1.0 for count in (tanks, 4, 3)]
    state = State(sump, old[2][0], list(old[0]), list(old[1]), old[2][1], old[2][2], 0.0)
    *fast, size = those_that_fit(led(built, state, Operation(PUMP, 1.0, poured)), state)
    assert farthest(*fast) < SEEN
    assert fitting == [size]
    assert size > MANY / 4


def test_nothing_pumped_changes_nothing():
    built, state, _ = drawn(1, 2, 4)
    *_, (_, still) = replayed(led(built, state, Operation(PUMP, numpy.zeros(MANY))), {}, PLENTY, begun=state)
    assert apart(still, state) < 1e-12
    litres = numpy.where(numpy.arange(MANY) % 2, 0.6, 0.0)
    *_, (_, some) = replayed(led(built, state, Operation(PUMP, litres)), {"drawn_first": numpy.full(MANY, 0.2)}, PLENTY, begun=state)
    assert some.cooler[-1][::2] == pytest.approx(state.cooler[-1][::2], abs=1e-12)
    assert (some.cooler[-1][1::2] != state.cooler[-1][1::2]).all()


def test_a_converter_that_turns_over_many_times_goes_through_the_whole_series(fitting):
    built, state, _ = drawn(2, 3, 2)
    built = built._replace(converter=0.01 * built.converter)
    assert farthest(led(built, state, Operation(PUMP, 0.6)), state) < SEEN
    assert not fitting


@pytest.mark.parametrize("groups", [((1, 130), (2, 150), (4, 120)), ((1, 0), (3, 400), (4, 0))])
@pytest.mark.parametrize("converter", [1.0, 0.01])
def test_a_batch_may_begin_as_built_with_the_same_fluid_everywhere(converter, groups):
    """A state is then one number for all circuits and tanks, whichever way they are run; and no circuit need have some number of tanks."""
    built, state, rng = drawn(9, 4, 3)
    built = built._replace(converter=converter * built.converter, bypass=0.3, start=0.2)
    operations = Operation(DRAIN, 0.5), Operation(POUR, 0.5), Operation(PUMP, rng.uniform(0.3, 0.8, MANY)), Operation(MIX)
    history = led(built, state, *operations)
    assert farthest(history, history.start(), tanks=Tanks(groups)) < SEEN


SEVERAL = Tanks([(1, 130), (2, 150), (4, 120)])
"""Numbers of tanks, and how many of the circuits have so many."""


@pytest.mark.parametrize("spread", [1.0, 30.0])
@pytest.mark.parametrize("first", [0.0, 0.5])
def test_converters_of_several_numbers_of_tanks_go_together(first, spread):
    """Each comes out as by itself, whether some need the whole series or not; a row that it does not have holds its mean."""
    built, state, rng = drawn(5, 4, 3)
    built = built._replace(converter=built.converter / rng.uniform(1.0, spread, MANY))
    state = state._replace(converter=SEVERAL.level(numpy.array(state.converter)))
    litres = rng.uniform(0.1, 0.9, MANY)
    operations = Operation(DRAIN, 0.1), Operation(POUR, litres), Operation(PUMP, litres, 0.4 * litres), Operation(PUMP, 0.2)
    manners = {"drawn_first": numpy.full(MANY, first), "drain_back": rng.uniform(0, 0.4, MANY)}
    assert farthest(led(built, state, *operations), state, manners, SEVERAL) < SEEN


@pytest.mark.parametrize("off", [0.0, 1e-12, 1e-6, 1e-3, 0.03, 0.1, 0.2, 0.5])
@pytest.mark.parametrize(("tanks", "cooler_tanks"), [(1, 1), (3, 4), (5, 8)])
def test_tanks_of_the_converter_and_the_cooler_may_turn_over_alike(tanks, cooler_tanks, off):
    """A closed form that tells them apart by how fast they turn over is not used where that would show."""
    built, state, rng = drawn(8, tanks, cooler_tanks)
    built = built._replace(cooler=built.converter / (1 - built.bypass) / tanks * cooler_tanks * (1 + off))
    history = led(built, state, Operation(PUMP, rng.uniform(0.0, 1.0, MANY)))
    *fast, size = those_that_fit(history, state)
    assert size == 0 or (off > 1e-4 and farthest(*fast) < SEEN)
    assert farthest(history, state) < SEEN


def test_plain_numbers_and_calls_for_more_precision_get_the_whole_series(monkeypatch):
    monkeypatch.setattr(replay, "Batch", lambda *_: pytest.fail("as one batch"))
    built, state, _ = drawn(3, 2, 4)
    assert len(list(replayed(led(built, state, Operation(PUMP, 0.6)), {}, 1e-17, begun=state))) == 2
    one = Parameters(3.7, 2.45, 0.62, 0.83, 1.05, 1.6, 0.35, 0.25, 0.017, 0.0)
    begun = State(3.7, 0.5, [0.9], [0.95] * 4, 0.9, 1.0, 0.0)
    ends = [list(replayed(led(one, begun, Operation(PUMP, 1.2)), {}, precise, begun=begun))[-1][1] for precise in (PLENTY, 1e-17)]
    assert 0 < apart(*ends) < SEEN


def test_old_fluid_is_conserved():
    """What is old inside, less what has left by the line: the last tank of the cooler, by fine steps and the trapezium rule."""
    built, state, _ = drawn(4, 3, 4)
    courses = list(replayed(led(built, state, *[Operation(PUMP, 0.01, 0.01)] * 60), {}, PLENTY, begun=state))
    outlets = [now.cooler[-1] for _, now in courses]
    left = sum(0.01 * (before + after) / 2 for before, after in pairwise(outlets))
    assert present(built, courses[-1][1])[1] + left == pytest.approx(present(built, state)[1], abs=2e-3)
