"""Laws of drain and refill and of exchange, in fractions and through the units."""

from __future__ import annotations

import math
from contextlib import suppress

import numpy
import pint
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from uncertainties import ufloat

from laws.lawbook import examples, law
from sumpwise import (
    RangeError,
    SumpwiseError,
    drain_refill,
    drain_refill_series,
    drains_needed,
    exchange,
    monte_carlo,
    quantity,
    volume_needed,
)

Q = pint.application_registry.get().Quantity
OTHER = pint.UnitRegistry()
UNITS = ("L", "mL", "US qt", "imp pt", "in³")

shares = st.floats(0.0, 1.0)
inner = st.floats(0.01, 0.99)
litres = st.floats(0.1, 1e3)
counts = st.integers(0, 60)
tanks = st.integers(1, 200)
few = st.integers(1, 30)
units = st.sampled_from(UNITS)
NEAR = 1e-12


def of(number: float, unit: str = "L"):
    return quantity(number, unit)


@law("drain_refill")
@given(shares, litres, counts, counts, shares, shares)
def test_drains_compose(share, volume, first, second, start, purity):
    """Doing n drains and then m from where they ended is n + m drains."""
    drained = of(share * volume)
    half = drain_refill(drained, of(volume), first, start, purity)
    assert drain_refill(drained, of(volume), second, half, purity) == pytest.approx(
        drain_refill(drained, of(volume), first + second, start, purity), abs=NEAR
    )


@law("drain_refill")
@given(shares, litres, counts, shares, shares)
def test_fresh_and_poured_fluid_are_conserved(share, volume, times, start, purity):
    """Fresh fluid inside after a drain is what was inside, less the fresh share of the drain, plus the fresh share of the refill."""
    before = drain_refill(of(share * volume), of(volume), times, start, purity)
    after = drain_refill(of(share * volume), of(volume), times + 1, start, purity)
    assert volume * after == pytest.approx(volume * before - share * volume * before + share * volume * purity, abs=NEAR * volume)


@law("drain_refill")
@given(shares, litres, counts, shares, shares)
def test_the_fill_stays_between_start_and_purity(share, volume, times, start, purity):
    """The fresh fraction lies between the start and what is poured, and gets closer to the latter with every drain."""
    answers = [drain_refill(of(share * volume), of(volume), n, start, purity) for n in (0, times, times + 1)]
    low, high = min(start, purity), max(start, purity)
    assert answers[0] == pytest.approx(start, abs=1e-15)
    assert all(low - NEAR <= a <= high + NEAR for a in answers)
    assert abs(answers[2] - purity) <= abs(answers[1] - purity) + NEAR


@law("drain_refill")
@given(shares, litres, st.integers(0, 40), shares, shares)
def test_refilling_what_was_drained_is_the_usual_case(share, volume, times, start, purity):
    """Naming what was drained as the refill changes nothing."""
    drained = of(share * volume)
    assert drain_refill(drained, of(volume), times, start, purity, refilled=drained) == pytest.approx(
        drain_refill(drained, of(volume), times, start, purity), abs=NEAR
    )


@law("drain_refill")
@given(inner, litres, shares, shares, st.floats(0.0, 3.0))
def test_another_refill_than_was_drained_changes_the_volume(share, volume, start, purity, factor):
    """With another refill than was drained, fresh fluid is conserved at the volume that each cycle leaves."""
    drained, refilled = share * volume, factor * share * volume
    left = volume - drained + refilled
    assume(left - drained + refilled > 1e-6 * volume)
    assume(left >= drained)
    once = drain_refill(of(drained), of(volume), 1, start, purity, of(refilled))
    assert left * once == pytest.approx((volume - drained) * start + refilled * purity, abs=NEAR * max(volume, left))
    twice = drain_refill(of(drained), of(volume), 2, start, purity, of(refilled))
    assert twice == pytest.approx(drain_refill(of(drained), of(left), 1, once, purity, of(refilled)), abs=NEAR)


@law("drain_refill", "drain_refill_series", "exchange", "drains_needed")
@given(inner, litres, inner, units, units)
def test_units_change_no_fraction(share, volume, target, one, two):
    """A fraction and a count do not depend on the units or the registry in which the volumes are given."""
    drained, capacity = of(share * volume), of(volume)
    from_one = OTHER.Quantity(share * volume * 1000, "mL"), quantity(capacity, one)
    shown = quantity(drained, two)
    assert drain_refill(shown, capacity, 3) == pytest.approx(drain_refill(drained, capacity, 3), abs=NEAR)
    assert drain_refill(*from_one, 3) == pytest.approx(drain_refill(drained, capacity, 3), abs=NEAR)
    assert drain_refill_series([shown, drained], from_one[1]) == pytest.approx(drain_refill_series([drained] * 2, capacity), abs=NEAR)
    assert exchange(shown, from_one[1], 4) == pytest.approx(exchange(drained, capacity, 4), abs=NEAR)
    assert abs(drains_needed(shown, from_one[1], target) - drains_needed(drained, capacity, target)) <= 1


@law("drain_refill", "drain_refill_series", "exchange")
@given(shares, litres, st.floats(0.5, 100.0), shares, shares)
def test_only_the_ratio_of_volumes_counts(share, volume, factor, start, purity):
    """All volumes made larger by one factor leave every fraction as it was."""
    small, large = (of(share * volume), of(volume)), (of(share * volume * factor), of(volume * factor))
    assume(large[0].magnitude <= large[1].magnitude)
    assert drain_refill(*large, 2, start, purity) == pytest.approx(drain_refill(*small, 2, start, purity), abs=NEAR)
    assert drain_refill_series([large[0]], large[1], start, purity) == pytest.approx(
        drain_refill_series([small[0]], small[1], start, purity), abs=NEAR
    )
    assert exchange(*large, 3) == pytest.approx(exchange(*small, 3), abs=NEAR)


@law("drain_refill_series")
@given(st.lists(shares, max_size=8), litres, shares, shares, st.randoms(use_true_random=False))
def test_the_order_of_drains_makes_no_difference(parts, volume, start, purity, random):
    """Unequal drains in any order give one answer, that of single drains done one after the other."""
    drains = [of(p * volume) for p in parts]
    fresh = drain_refill_series(drains, of(volume), start, purity)
    assert drain_refill_series(random.sample(drains, len(drains)), of(volume), start, purity) == pytest.approx(fresh, abs=NEAR)
    step = start
    for drained in drains:
        step = drain_refill(drained, of(volume), 1, step, purity)
    assert step == pytest.approx(fresh, abs=NEAR)


@law("drain_refill_series", "drain_refill")
@given(shares, litres, st.integers(0, 12), shares, shares)
def test_equal_drains_are_a_series(share, volume, times, start, purity):
    """A series of equal drains is the drain repeated."""
    drained = of(share * volume)
    assert drain_refill_series([drained] * times, of(volume), start, purity) == pytest.approx(
        drain_refill(drained, of(volume), times, start, purity), abs=NEAR
    )


@law("drain_refill_series")
@given(st.lists(inner, min_size=2, max_size=6), litres)
def test_equal_drains_change_least(parts, volume):
    """Of all series with one sum and count, that of equal drains leaves the most old fluid; one drain of the sum leaves the least."""
    total = sum(parts)
    unequal = drain_refill_series([of(p * volume) for p in parts], of(volume))
    assert drain_refill_series([of(total / len(parts) * volume)] * len(parts), of(volume)) <= unequal + NEAR
    if total <= 1:
        assert unequal <= drain_refill(of(total * volume), of(volume)) + NEAR


@law("drains_needed", "drain_refill")
@given(st.floats(0.002, 1.0), litres, st.floats(0.0, 0.999999))
def test_enough_drains_meet_the_target(share, volume, target):
    """As many drains as are needed meet the target, and one fewer does not."""
    drained = of(share * volume)
    count = drains_needed(drained, of(volume), target)
    assert drain_refill(drained, of(volume), count) >= target - NEAR
    if count:
        assert drain_refill(drained, of(volume), count - 1) < target


@law("drains_needed")
@given(st.floats(0.01, 0.9), litres, inner, inner)
def test_a_higher_target_needs_no_fewer_drains(share, volume, one, two):
    """More is needed for a higher target, and less with a larger drain."""
    low, high = sorted((one, two))
    assert drains_needed(of(share * volume), of(volume), low) <= drains_needed(of(share * volume), of(volume), high)
    assert drains_needed(of(min(1.0, 1.1 * share) * volume), of(volume), low) <= drains_needed(of(share * volume), of(volume), low)


@law("drains_needed")
@given(st.integers(1, 60), st.integers(2, 40))
def test_a_target_that_is_just_met_needs_no_drain_more(times, parts):
    """A target that is exactly what n drains give is met by n drains."""
    target = 1 - (1 - 1 / parts) ** times
    assume(target < 1)
    assume((1 - 1 / parts) ** times > 1e-9)
    assert drains_needed("1 L", f"{parts} L", target) == times


@law("exchange")
@given(st.floats(0.0, 8.0), litres, tanks, shares, st.floats(0.0, 0.99))
def test_fresh_fluid_is_conserved_by_an_exchange(turnovers, volume, count, bypass, dead):
    """What went in fresh is inside, or has left through the outlet: the resident grows by what the outlet does not carry off."""
    h = 1e-4
    at = [exchange(of((turnovers + k * h) * volume), of(volume), count, bypass, dead) for k in range(5)]
    rise = (-25 * at[0].resident + 48 * at[1].resident - 36 * at[2].resident + 16 * at[3].resident - 3 * at[4].resident) / (12 * h)
    assert rise == pytest.approx(1 - at[0].outlet, abs=2e-7)


@law("exchange")
@given(st.floats(0.0, 8.0), litres, tanks, shares, st.floats(0.0, 0.99))
def test_an_exchange_is_bounded_by_stirred_and_plug_flow(turnovers, volume, count, bypass, dead):
    """More tanks leave no less inside: never less than one stirred tank, never more than plug flow, and all within 0 and 1."""
    pumped = of(turnovers * volume)
    fresh = exchange(pumped, of(volume), count, bypass, dead)
    assert 0 <= fresh.resident <= 1
    assert 0 <= fresh.outlet <= 1
    assert exchange(pumped, of(volume), 1, bypass, dead).resident <= fresh.resident + NEAR
    assert fresh.resident <= exchange(pumped, of(volume), min(200, count + 1), bypass, dead).resident + NEAR
    assert fresh.resident <= min(1 - dead, (1 - bypass) * turnovers) + NEAR
    assert fresh.outlet >= bypass - NEAR


@law("exchange", "drain_refill")
@given(st.floats(0.0, 4.0), litres)
def test_one_stirred_tank_is_the_limit_of_small_drains(turnovers, volume):
    """One stirred tank is the limit of many small drains and refills, its outlet as fresh as its inside."""
    fresh = exchange(of(turnovers * volume), of(volume))
    assert fresh.resident == fresh.outlet == pytest.approx(1 - math.exp(-turnovers), abs=NEAR)
    many = drain_refill(of(turnovers * volume / 10_000), of(volume), 10_000)
    assert many == pytest.approx(fresh.resident, abs=turnovers**2 * math.exp(-turnovers) / 15_000 + NEAR)


@law("exchange")
@given(st.floats(0.0, 5.0), tanks, shares, st.floats(0.0, 0.99))
def test_dead_share_and_bypass_only_rescale(turnovers, count, bypass, dead):
    """A dead share acts as a smaller unit beside old fluid; a bypass acts as a smaller flow beside fresh fluid."""
    fresh = exchange(of(turnovers), "1 L", count, bypass, dead)
    bare = exchange(of((1 - bypass) * turnovers / (1 - dead)), "1 L", count)
    assert fresh.resident == pytest.approx((1 - dead) * bare.resident, abs=NEAR)
    assert fresh.outlet == pytest.approx(bypass + (1 - bypass) * bare.outlet, abs=NEAR)


@law("volume_needed", "exchange")
@given(st.floats(0.0, 0.999), litres, tanks, st.floats(0.0, 0.9), st.floats(0.0, 0.9), units)
def test_the_volume_needed_reaches_the_target(target, volume, count, bypass, dead, unit):
    """Exchanging the volume needed gives the target inside, in whatever unit."""
    assume(target < 0.9999 * (1 - dead))
    capacity = quantity(of(volume), unit)
    needed = volume_needed(target, capacity, count, bypass, dead)
    assert needed.units == capacity.units
    assert exchange(needed, capacity, count, bypass, dead).resident == pytest.approx(target, abs=1e-11)


@law("volume_needed")
@given(inner, inner, litres, tanks)
def test_more_freshness_needs_more_volume(one, two, volume, count):
    """A higher target needs more, more tanks need less, and the need grows as the capacity."""
    low, high = sorted((one, two))
    need = [volume_needed(t, of(volume), count).magnitude for t in (low, high)]
    assert low * volume * (1 - NEAR) <= need[0] <= need[1] * (1 + NEAR)
    assert volume_needed(high, of(volume), min(200, count + 1)).magnitude <= need[1] * (1 + NEAR)
    assert volume_needed(low, of(3 * volume), count).magnitude == pytest.approx(3 * need[0], rel=NEAR)


@law("drain_refill", "drain_refill_series", "drains_needed", "exchange", "volume_needed")
@given(st.lists(st.floats(0.05, 0.95), min_size=1, max_size=5), st.integers(0, 6), st.integers(1, 6), inner, inner)
def test_an_array_is_its_elements(parts, times, count, start, target):
    """An answer for an array is the array of the answers for its elements."""
    drained, each = Q(numpy.array(parts) * 8, "L"), [of(p * 8) for p in parts]
    pairs = [
        (drain_refill(drained, "8 L", times, start), [drain_refill(d, "8 L", times, start) for d in each]),
        (drain_refill(each, "8 L", times, 0, start, "1 L") if times < 2 else numpy.zeros(1),
         [drain_refill(d, "8 L", times, 0, start, "1 L") for d in each] if times < 2 else [0.0]),
        (drain_refill_series([drained, "1 L"], "8 L"), [drain_refill_series([d, "1 L"], "8 L") for d in each]),
        (drains_needed(drained, "8 L", target), [drains_needed(d, "8 L", target) for d in each]),
        (exchange(drained, "8 L", count, start).resident, [exchange(d, "8 L", count, start).resident for d in each]),
        (exchange(drained, "8 L", count, start).outlet, [exchange(d, "8 L", count, start).outlet for d in each]),
        (volume_needed(target, drained, count).magnitude, [volume_needed(target, d, count).magnitude for d in each]),
    ]  # fmt: skip
    for whole, single in pairs:
        assert whole == pytest.approx(numpy.array(single), rel=1e-13, abs=1e-14)


@law("drain_refill", "drain_refill_series", "exchange", "volume_needed")
@given(inner, st.floats(1.0, 20.0), st.integers(1, 5), st.integers(1, 6))
def test_what_is_certain_stays_plain(share, volume, times, count):
    """Uncertain numbers of vanishing uncertainty give the plain answers, and plain arguments give plain numbers."""
    sure = (of(share * volume), of(volume))
    hazy = (Q(ufloat(share * volume, 1e-9 * volume), "L"), of(volume))
    for answer, plain in (
        (drain_refill(*hazy, times), drain_refill(*sure, times)),
        (drain_refill_series([hazy[0]] * times, hazy[1]), drain_refill_series([sure[0]] * times, sure[1])),
        (exchange(*hazy, count).resident, exchange(*sure, count).resident),
        (volume_needed(share, Q(ufloat(volume, 1e-9), "L"), count).magnitude, volume_needed(share, sure[1], count).magnitude),
    ):
        assert type(plain) is float
        assert answer.nominal_value == pytest.approx(plain, rel=1e-15)
        assert answer.std_dev < 1e-6


@law("drain_refill", "drain_refill_series", "exchange")
@given(st.floats(0.05, 0.9), st.floats(4.0, 12.0), st.integers(1, 5), inner, st.floats(0.001, 0.03), st.floats(0.001, 0.03))
def test_uncertainty_passes_as_by_the_rules_of_derivatives(share, volume, times, start, ud, uv):
    """First-order uncertainty is that of symbolic derivatives through the same arithmetic, source by source."""
    drained, capacity, begun = ufloat(share * volume, ud), ufloat(volume, uv), ufloat(start, 0.01)
    by_rule = 1 - (1 - begun) * (1 - drained / capacity) ** times
    passed = drain_refill(Q(drained, "L"), Q(capacity, "L"), times, begun)
    series = drain_refill_series([Q(drained, "L")] * times, Q(capacity, "L"), begun)
    for answer in (passed, series):
        assert answer.nominal_value == pytest.approx(by_rule.nominal_value, rel=1e-12)
        for source, slope in by_rule.derivatives.items():
            assert answer.derivatives[source] == pytest.approx(slope, rel=1e-7, abs=1e-9)
    turned = exchange(Q(drained, "L"), Q(capacity, "L")).resident
    gone = math.exp(-share)
    assert turned.derivatives[drained] == pytest.approx(gone / volume, rel=1e-8)
    assert turned.derivatives[capacity] == pytest.approx(-gone * share / volume, rel=1e-8)


@law("drain_refill", "volume_needed")
@examples(10)
@given(st.floats(0.2, 0.6), st.integers(1, 4), st.integers(0, 2**32))
def test_first_order_agrees_with_draws(share, times, seed):
    """Away from turning points the draws of Monte Carlo agree with the first-order uncertainty, within their own scatter."""
    drained, capacity = ufloat(8 * share, 0.05), ufloat(8.0, 0.1)
    first = drain_refill(Q(drained, "L"), Q(capacity, "L"), times)
    drawn = monte_carlo(lambda d, v: drain_refill.kernel(d, v, times), [drained, capacity], draws=20_000, seed=seed)
    assert drawn.mean == pytest.approx(first.nominal_value, abs=6 * first.std_dev / math.sqrt(20_000) + first.std_dev / 30)
    assert drawn.standard_uncertainty == pytest.approx(first.std_dev, rel=0.05)
    need = volume_needed(0.9, Q(capacity, "L"), times).magnitude
    assert need.std_dev == pytest.approx(need.nominal_value * 0.1 / 8, rel=1e-9)


@law("drain_refill", "exchange", "volume_needed", "drains_needed", "drain_refill_series")
@given(st.floats(allow_nan=True, allow_infinity=True), st.floats(allow_nan=True, allow_infinity=True), st.integers(-3, 300), st.floats())
def test_any_numbers_answer_finitely_or_are_refused(one, two, count, share):
    """Whatever the numbers, the answer is finite and within its bounds, or there is one error of the library."""
    first, second = Q(one, "L"), Q(two, "L")
    for call in (
        lambda: drain_refill(first, second, count, share),
        lambda: drain_refill(first, second, count, share, 0.5, second),
        lambda: drain_refill_series([first] * max(count % 5, 0), second, share),
        lambda: exchange(first, second, count, share, share).resident,
        lambda: exchange(first, second, count, share).outlet,
    ):
        with suppress(SumpwiseError):
            assert -1e-12 <= call() <= 1 + 1e-12
    for amount in (lambda: volume_needed(share, second, count).magnitude, lambda: drains_needed(first, second, share)):
        with suppress(SumpwiseError):
            assert 0 <= amount() < math.inf


@law("drains_needed")
@given(st.floats(1e-300, 1e-5), inner)
def test_hopeless_targets_are_refused(share, target):
    """A drain so small that ten thousand of them would not do is refused at once."""
    assume(math.log1p(-target) < 10_001 * math.log1p(-share))
    with pytest.raises(RangeError):
        drains_needed(of(share), "1 L", target)
