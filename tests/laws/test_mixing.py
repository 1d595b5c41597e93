"""Laws of drains and refills, and of exchange from stirred to plug flow."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from laws.lawbook import law
from sumpwise import drain_refill, drain_refill_series, drains_needed, exchange, volume_needed

SLACK = 1e-12

capacities = st.floats(2, 60)
parts = st.floats(0, 1)
shares = st.floats(0, 1)
counts = st.integers(0, 12)
tanks = st.integers(1, 30)
turnovers = st.floats(0, 6)
reordered = st.lists(parts, min_size=1, max_size=6).flatmap(lambda drains: st.tuples(st.just(drains), st.permutations(drains)))
units = st.sampled_from([("L", 1.0), ("mL", 1000.0), ("US qt", 1 / 0.946352946), ("imp gal", 1 / 4.54609)])


def litres(volume):
    return f"{volume!r} L"


# -- drains and refills


@law("drain_refill")
@settings(deadline=None)
@given(parts, capacities, counts, shares, shares)
def test_a_fill_is_never_fresher_than_its_sources(part, capacity, times, start, purity):
    """Whatever is drained, the fresh fraction stays between what was inside and what is poured in."""
    fresh = drain_refill(litres(part * capacity), litres(capacity), times=times, start=start, purity=purity)
    assert min(start, purity) - SLACK <= fresh <= max(start, purity) + SLACK


@law("drain_refill")
@settings(deadline=None)
@given(st.floats(0, 0.99), capacities, shares, shares, st.floats(0.01, 2))
def test_fresh_fluid_is_conserved(part, capacity, start, purity, poured):
    """What is fresh after a refill is what was fresh in the rest and what came in, whatever the fill grows or shrinks by."""
    drained, refilled = part * capacity, poured * capacity
    fresh = drain_refill(litres(drained), litres(capacity), start=start, purity=purity, refilled=litres(refilled))
    assert fresh * (capacity - drained + refilled) == pytest.approx(start * (capacity - drained) + purity * refilled, abs=1e-9)


@law("drain_refill")
@settings(deadline=None)
@given(parts, capacities, counts, counts, shares, shares)
def test_drains_follow_each_other(part, capacity, first, second, start, purity):
    """Some drains and then some more are as good as all of them at once."""
    drained, volume = litres(part * capacity), litres(capacity)
    halfway = drain_refill(drained, volume, times=first, start=start, purity=purity)
    assert drain_refill(drained, volume, times=second, start=halfway, purity=purity) == pytest.approx(
        drain_refill(drained, volume, times=first + second, start=start, purity=purity), abs=SLACK
    )


@law("drain_refill")
@settings(deadline=None)
@given(parts, capacities, st.integers(1, 12), units)
def test_only_the_share_counts(part, capacity, times, unit):
    """The same share drained gives the same answer whatever the size of the unit and whatever it is measured in."""
    name, size = unit
    measured = drain_refill(f"{part * capacity * size!r} {name}", f"{capacity * size!r} {name}", times=times)
    assert measured == pytest.approx(1 - (1 - part) ** times, abs=1e-9)


@law("drain_refill_series", "drain_refill")
@settings(deadline=None)
@given(parts, capacities, counts, shares, shares)
def test_equal_drains_are_a_series(part, capacity, times, start, purity):
    """A series of equal drains is the closed form."""
    drained, volume = litres(part * capacity), litres(capacity)
    series = drain_refill_series([drained] * times, volume, start=start, purity=purity)
    assert series == pytest.approx(drain_refill(drained, volume, times=times, start=start, purity=purity), abs=SLACK)


@law("drain_refill_series")
@settings(deadline=None)
@given(reordered, capacities, shares)
def test_the_order_of_drains_makes_no_difference(pair, capacity, start):
    """The same drains in another order leave the same fill."""
    one, other = (drain_refill_series([litres(part * capacity) for part in drains], litres(capacity), start=start) for drains in pair)
    assert one == pytest.approx(other, abs=SLACK)


@law("drain_refill_series")
@settings(deadline=None)
@given(parts, shares, capacities)
def test_one_big_drain_beats_two_small_ones(part, split, capacity):
    """The same litres drained at once renew at least as much as drained in two goes."""
    both = [litres(split * part * capacity), litres((1 - split) * part * capacity)]
    assert drain_refill_series(both, litres(capacity)) <= part + SLACK


@law("drains_needed", "drain_refill")
@settings(deadline=None)
@given(st.floats(0.02, 0.95), capacities, st.floats(0.01, 0.99))
@example(0.25, 8.0, 0.9)
def test_enough_drains_and_not_one_more(part, capacity, target):
    """As many drains as are needed meet the target, and one fewer does not."""
    drained, volume = litres(part * capacity), litres(capacity)
    count = drains_needed(drained, volume, target)
    assert drain_refill(drained, volume, times=count) >= target - SLACK
    assert drain_refill(drained, volume, times=count - 1) < target


@law("drains_needed")
@settings(deadline=None)
@given(st.integers(1, 40), st.floats(0.05, 0.7), capacities)
def test_a_target_that_is_met_exactly_needs_no_further_drain(times, part, capacity):
    """The freshness that n drains reach needs n drains."""
    reached = 1 - (1 - part) ** times
    assume(reached < 0.999)  # nearer to 1 the float no longer tells the count
    assert drains_needed(litres(part * capacity), litres(capacity), reached) == times


# -- exchange


@law("exchange", "drain_refill")
@settings(deadline=None)
@given(turnovers, capacities, st.integers(1, 300))
def test_many_small_refills_approach_the_exchange(turnover, capacity, times):
    """Drains in n equal portions renew no less than a stirred exchange of the same litres, and at most its limit's gap more."""
    assume(turnover <= times)
    steps = drain_refill(litres(turnover * capacity / times), litres(capacity), times=times)
    stirred = exchange(litres(turnover * capacity), litres(capacity)).resident
    assert stirred - SLACK <= steps <= stirred + turnover**2 / times + SLACK


@law("exchange")
@settings(deadline=None)
@given(turnovers, st.floats(0, 1), capacities, tanks, st.floats(0, 0.9), st.floats(0, 0.9))
def test_what_stays_is_what_went_in_less_what_went_out(turnover, more, capacity, series, bypass, dead):
    """Between two moments the inside gains the fresh fluid pumped less what left, and the outlet only ever gets fresher."""
    before = exchange(litres(turnover * capacity), litres(capacity), series, bypass, dead)
    after = exchange(litres((turnover + more) * capacity), litres(capacity), series, bypass, dead)
    assert before.outlet <= after.outlet + SLACK
    gain = after.resident - before.resident
    assert more * (1 - after.outlet) - 1e-9 <= gain <= more * (1 - before.outlet) + 1e-9


@law("exchange")
@settings(deadline=None)
@given(turnovers, capacities, tanks)
def test_between_stirred_and_plug_flow(turnover, capacity, series):
    """No chain of tanks does worse than one or better than a plug, and every further tank helps the inside."""
    fresh = exchange(litres(turnover * capacity), litres(capacity), series).resident
    assert -math.expm1(-turnover) - SLACK <= fresh <= min(1.0, turnover) + SLACK
    assert fresh <= exchange(litres(turnover * capacity), litres(capacity), series + 1).resident + SLACK


@law("exchange")
@settings(deadline=None)
@given(turnovers, capacities, tanks)
def test_the_outlet_is_the_oldest_place(turnover, capacity, series):
    """Without bypass what leaves is never fresher than what stays; one stirred tank shows itself."""
    fresh = exchange(litres(turnover * capacity), litres(capacity), series)
    assert fresh.outlet <= fresh.resident + SLACK
    if series == 1:
        assert fresh.outlet == pytest.approx(fresh.resident, abs=SLACK)


@law("exchange")
@settings(deadline=None)
@given(turnovers, capacities, tanks, shares, st.floats(0, 0.95))
def test_bypass_is_fluid_not_pumped_and_dead_is_capacity_not_there(turnover, capacity, series, bypass, dead):
    """Bypass and dead share only thin the flow, the capacity, the outlet and the result."""
    fresh = exchange(litres(turnover * capacity), litres(capacity), series, bypass, dead)
    plain = exchange(litres((1 - bypass) * turnover * capacity), litres((1 - dead) * capacity), series)
    assert fresh.resident == pytest.approx((1 - dead) * plain.resident, abs=1e-9)
    assert 1 - fresh.outlet == pytest.approx((1 - bypass) * (1 - plain.outlet), abs=1e-9)


@law("volume_needed", "exchange")
@settings(deadline=None)
@given(st.floats(0.001, 0.999), capacities, st.integers(1, 200), st.floats(0, 0.9), st.floats(0, 0.9), units)
def test_the_volume_needed_reaches_the_target(target, capacity, series, bypass, dead, unit):
    """Exchanging the volume needed makes the inside as fresh as was asked, in any unit."""
    name, size = unit
    target *= 1 - dead
    volume = volume_needed(target, f"{capacity * size!r} {name}", series, bypass, dead)
    assert exchange(volume, litres(capacity), series, bypass, dead).resident == pytest.approx(target, abs=1e-10)


@law("volume_needed")
@settings(deadline=None)
@given(st.floats(0.001, 0.999), capacities, tanks)
def test_no_target_costs_less_than_itself(target, capacity, series):
    """A share of fresh fluid takes at least as many litres as it is, at most as many as one stirred tank, and fewer with each tank."""
    volume = volume_needed(target, litres(capacity), series).m_as("L") / capacity
    assert target - 1e-9 <= volume <= -math.log1p(-target) + 1e-9
    assert volume_needed(target, litres(capacity), series + 1).m_as("L") / capacity <= volume + 1e-9
