"""Laws of buying and of judging a quote."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from laws.lawbook import law
from sumpwise.buying.packs import cheapest_packs, give_leftovers
from sumpwise.buying.quotes import check_claim, claim_bounds, cost_per_litre_year, cost_per_point

units = st.sampled_from(["L", "qt", "imp qt", "dL"])
sizes = st.builds(lambda n, unit: f"{n / 4} {unit}", st.integers(1, 80), units)
prices = st.integers(1, 10_000).map(lambda cents: Fraction(cents, 100))
shelves = st.dictionaries(sizes, prices, min_size=1, max_size=6)
needs = st.integers(0, 400).map(lambda n: Fraction(n, 10))
shares = st.floats(0, 1)
litres = st.floats(0, 50)


def text(need):
    return f"{need.numerator}/{need.denominator} L"


@law("cheapest_packs")
@given(shelves, needs)
def test_a_purchase_is_what_it_says(shelf, need):
    """A purchase covers the need, its cost and volume are those of its packs, and no pack of it can be left out."""
    bought = cheapest_packs(shelf, text(need))
    assert bought.litres.m >= need * (1 - Fraction(1, 10**12))
    assert bought.count == sum(bought.packs.values())
    assert bought.cost == pytest.approx(float(sum(n * shelf[name] for name, n in bought.packs.items())))
    assert bought.volume.m_as("L") == pytest.approx(float(bought.litres.m), rel=1e-14)
    for name in bought.packs:
        alone = cheapest_packs({name: 1}, "1e-6 L").litres.m
        assert bought.litres.m - alone < need


@law("cheapest_packs")
@given(shelves, needs, sizes, prices)
def test_one_more_size_never_raises_the_optimum(shelf, need, size, price):
    """Another pack size on the shelf never makes the purchase more expensive."""
    if size not in shelf:
        assert cheapest_packs(shelf | {size: price}, text(need)).cost <= cheapest_packs(shelf, text(need)).cost


@law("cheapest_packs")
@given(shelves, needs, needs)
def test_less_never_costs_more(shelf, one, other):
    """A smaller need never costs more than a larger one, nor does a need between two cost less than the smaller."""
    low, middle, high = sorted((one, other, (one + other) / 2))
    assert cheapest_packs(shelf, text(low)).cost <= cheapest_packs(shelf, text(middle)).cost <= cheapest_packs(shelf, text(high)).cost


@law("cheapest_packs")
@given(shelves, needs)
def test_the_next_size_up_is_the_optimum_for_more(shelf, need):
    """The next size up holds more, costs no less, and is what a need just above the volume would buy."""
    bought = cheapest_packs(shelf, text(need))
    more = bought.next_up
    assert more.litres.m > bought.litres.m
    assert more.cost >= bought.cost
    assert bought.cost_per_extra_litre >= 0
    again = cheapest_packs(shelf, text(bought.litres.m + Fraction(1, 10**9)))
    assert (again.cost, again.litres.m, again.count) == (more.cost, more.litres.m, more.count)


@law("cheapest_packs")
@given(shelves, needs, st.integers(1, 1000))
def test_prices_in_another_currency(shelf, need, rate):
    """Multiplying all prices changes the cost alone."""
    bought = cheapest_packs(shelf, text(need))
    other = cheapest_packs({size: price * rate for size, price in shelf.items()}, text(need))
    assert (other.packs, other.litres.m) == (bought.packs, bought.litres.m)
    assert other.cost == pytest.approx(bought.cost * rate)


@law("cheapest_packs")
@given(shelves, st.integers(1, 300), st.integers(1, 300), st.sampled_from([0.4, 0.2, 0.05, 0.001]))
def test_the_risk_is_kept(shelf, need, spread, risk):
    """The probability of running short is at most the accepted risk, and no risk costs less than a larger one."""
    uncertain = f"{need / 10} ± {spread / 100} L (k = 1)"
    bought = cheapest_packs(shelf, uncertain, risk=risk)
    assert bought.probability_short <= risk * (1 + 1e-9)
    assert bought.cost >= cheapest_packs(shelf, uncertain, risk=0.5).cost


@law("cheapest_packs")
@given(shelves, needs)
def test_no_uncertainty_equals_the_plain_need(shelf, need):
    """A need with zero uncertainty buys what the plain need buys."""
    plain = cheapest_packs(shelf, f"{float(need)} L")
    certain = cheapest_packs(shelf, f"{float(need)} ± 0 L")
    assert (certain.packs, certain.cost, certain.probability_short) == (plain.packs, plain.cost, 0)


@law("give_leftovers")
@given(litres, st.lists(st.tuples(st.floats(0.01, 10), st.sampled_from(["a", "b"])), max_size=6))
def test_leftovers_are_conserved(left, components):
    """What is given and what remains add up to what was left, and another specification gets nothing."""
    named = [(f"case {i}", f"{volume!r} L", specification) for i, (volume, specification) in enumerate(components)]
    given_away = give_leftovers(f"{left!r} L", named, "A")
    total = sum(v.m_as("L") for v in given_away.given.values()) + given_away.remaining.m_as("L")
    assert total == pytest.approx(left, abs=1e-9)
    assert not {name for name, _, specification in named if specification == "b"} & set(given_away.given)
    assert set(given_away.given) | set(given_away.refused) == {name for name, _, _ in named}


@law("claim_bounds")
@given(litres, st.floats(0.1, 50), shares, shares)
def test_plug_flow_is_the_most_any_exchange_can_reach(pumped, capacity, part, start):
    """Full stirring reaches at most plug flow, more with a drain first, and nothing gets older."""
    drained = part * min(pumped, capacity)
    stirred, plug = claim_bounds.kernel(pumped, capacity, drained, start)
    assert start - 1e-12 <= claim_bounds.kernel(pumped, capacity, 0.0, start)[0] <= stirred + 1e-12
    assert stirred <= plug + 1e-12
    assert plug <= 1


@law("claim_bounds")
@given(litres, st.floats(0.1, 50), shares, st.floats(0.1, 10))
def test_bounds_know_only_turnovers(pumped, capacity, start, factor):
    """Bounds depend on the ratio of fluid to capacity alone."""
    one = claim_bounds.kernel(pumped, capacity, 0.0, start)
    assert claim_bounds.kernel(pumped * factor, capacity * factor, 0.0, start) == pytest.approx(one, rel=1e-9, abs=1e-12)


@law("check_claim")
@given(st.floats(0, 0.999), st.floats(0.1, 40), st.floats(0.5, 20), st.floats(0, 0.9))
def test_verdicts_follow_the_bounds(claimed, pumped, capacity, start):
    """A verdict says where the claim lies relative to the bounds, and more fluid never makes a claim less possible."""
    rank = {"impossible": 0, "possible only as plug flow": 1, "plausible": 2}
    found, more = (check_claim(claimed, f"{p!r} L", f"{capacity!r} L", start=start) for p in (pumped, 1.5 * pumped))
    assert rank[more.verdict] >= rank[found.verdict]
    if found.verdict == "plausible":
        assert claimed <= found.stirred + 1e-9
        assert found.tanks == 1
    elif found.verdict == "impossible":
        assert claimed > found.plug
        assert found.tanks is None
    else:
        assert found.stirred < claimed <= found.plug + 1e-9
        assert found.tanks is None or found.tanks > 1
    enough = check_claim(claimed, found.stirred_volume * (1 + 1e-9), f"{capacity!r} L", start=start)
    assert enough.verdict == "plausible"


@law("cost_per_point", "cost_per_litre_year")
@given(st.floats(0, 1000), st.floats(0.5, 1), st.floats(0, 0.4), st.floats(0.1, 10))
def test_twice_the_money_is_twice_the_price(cost, fresh, start, factor):
    """A cost per result is proportional to the money, and inversely proportional to the result."""
    assert cost_per_point.kernel(cost * factor, fresh, start) == pytest.approx(factor * cost_per_point.kernel(cost, fresh, start))
    assert cost_per_point.kernel(cost, fresh, start) * 100 * (fresh - start) == pytest.approx(cost)
    one = cost_per_litre_year.kernel(cost, 8.0, 1e6 * fresh, 1e6 * start)
    assert cost_per_litre_year.kernel(cost, 8.0 * factor, 1e6 * fresh, 1e6 * start) * factor == pytest.approx(one)
