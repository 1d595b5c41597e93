"""Laws of measurement."""

from __future__ import annotations

import math

import numpy
import pytest
from hypothesis import given
from hypothesis import strategies as st

from laws.lawbook import examples, law
from sumpwise import (
    budget,
    coverage_factor,
    expanded,
    measured,
    monte_carlo,
    monte_carlo_adaptive,
    normalized_error,
    pooled,
    standard_uncertainty,
    validate,
    zeta_score,
)
from sumpwise.measurement.coverage import effective_dof
from sumpwise.quantities.boundary import answer
from sumpwise.uncertainty import combine, nominal, source, standard

values = st.floats(-1e3, 1e3)
sizes = st.floats(1e-3, 1e3)
dofs = st.one_of(st.floats(1, 500), st.just(math.inf))
shapes = st.sampled_from(("rectangular", "triangular", "arcsine", "resolution", "normal"))
shares = st.floats(0.05, 0.999)
factors = st.one_of(st.floats(-10, -1e-3), st.floats(1e-3, 10))


@law("measured", "standard_uncertainty")
@given(values, sizes, shapes, st.floats(0.01, 100))
def test_uncertainty_scales_with_its_limits(value, half, shape, factor):
    """Limits times a factor give the standard uncertainty times that factor, and `measured` carries just that."""
    u = standard_uncertainty(half, shape)
    assert standard_uncertainty(half * factor, shape) == pytest.approx(u * factor, rel=1e-12)
    assert measured(value, limits=half, shape=shape).std_dev == pytest.approx(u, rel=1e-12)
    assert 0 < u < half


@law("measured", "budget")
@given(values)
def test_zero_uncertainty_is_the_plain_number(value):
    """Zero uncertainty equals the plain number."""
    assert measured(value, limits=0) == value
    assert measured(value, limits=0).__class__ is float
    assert budget(measured(value, standard=0)).rows == ()


@law("coverage_factor")
@given(shares, st.floats(0.5, 1e4), st.floats(1.01, 10))
def test_wider_coverage_and_fewer_degrees_of_freedom_ask_for_more(share, dof, factor):
    """The coverage factor grows with the share, falls with the degrees of freedom, and never falls below the normal one."""
    k = coverage_factor(share, dof)
    assert coverage_factor(1 - (1 - share) / factor, dof) > k
    assert coverage_factor(share, dof * factor) <= k * (1 + 1e-12)
    assert k >= coverage_factor(share) * (1 - 1e-12)


@law("coverage_factor")
@given(shares)
def test_closed_forms_of_one_and_two_degrees_of_freedom(share):
    """One and two degrees of freedom have closed forms: tan(πp/2), and p·√(2/(1 - p²))."""
    assert coverage_factor(share, 1) == pytest.approx(math.tan(math.pi * share / 2), rel=1e-11)
    assert coverage_factor(share, 2) == pytest.approx(share * math.sqrt(2 / (1 - share * share)), rel=1e-11)


@law("expanded")
@given(st.lists(st.tuples(sizes, dofs), min_size=1, max_size=6), st.floats(0.01, 100), st.randoms(use_true_random=False))
def test_effective_degrees_of_freedom_lie_between(parts, factor, random):
    """They lie between the smallest and the sum, whatever the order and the unit of the contributions."""
    us, ns = zip(*parts, strict=True)
    dof = effective_dof(us, ns)
    assert min(ns) * (1 - 1e-12) <= dof
    assert dof <= sum(ns) * (1 + 1e-12)
    shuffled = random.sample(parts, len(parts))
    again = effective_dof([-u * factor for u, _ in shuffled], [n for _, n in shuffled])
    assert again == pytest.approx(dof, rel=1e-9)


@law("budget", "expanded")
@given(st.lists(st.tuples(factors, sizes, dofs), min_size=1, max_size=6), st.randoms(use_true_random=False), shares)
def test_a_budget_adds_up_in_any_order(terms, random, share):
    """Shares add to one, contributions in quadrature to u, and the order of the terms changes nothing."""
    sources = [(c, measured(0, standard=u, dof=d, name=str(i))) for i, (c, u, d) in enumerate(terms)]
    result = sum(c * x for c, x in sources)
    report = budget(result)
    assert math.fsum(row.share for row in report.rows) == pytest.approx(1, rel=1e-9)
    assert math.sqrt(math.fsum(row.contribution**2 for row in report.rows)) == pytest.approx(report.standard_uncertainty, rel=1e-12)
    assert [row.share for row in report.rows] == sorted((row.share for row in report.rows), reverse=True)
    other = budget(sum(c * x for c, x in random.sample(sources, len(sources))))
    assert other.standard_uncertainty == pytest.approx(report.standard_uncertainty, rel=1e-12)
    assert {row.name: row.contribution for row in other.rows} == {row.name: row.contribution for row in report.rows}
    reach = expanded(result, share)
    assert reach.expanded_uncertainty == pytest.approx(reach.coverage_factor * report.standard_uncertainty, rel=1e-12)
    assert reach.dof == pytest.approx(report.dof, rel=1e-9)


@law("budget")
@given(sizes, sizes, factors)
def test_correlation_is_that_of_shared_sources(u, v, c):
    """A result is fully correlated with its own multiples and not at all with what shares no source; the coefficient is symmetric."""
    x, y = measured(0, standard=u), measured(0, standard=v)
    assert budget(x, c * x, y).correlations == (pytest.approx(math.copysign(1, c)), 0.0)
    assert budget(x, x + y).correlations[0] == pytest.approx(budget(x + y, x).correlations[0])
    assert budget(x, x + y).correlations[0] == pytest.approx(u / math.hypot(u, v))


@law("normalized_error", "zeta_score")
@given(values, values, sizes, sizes, st.floats(1.0, 4.0))
def test_scores_change_sign_and_not_size(x, y, u, v, k):
    """Swapping the results changes the sign of a score; k times the uncertainties divides it by k."""
    score = zeta_score(x, u, y, v)
    assert zeta_score(y, v, x, u) == -score
    assert normalized_error(x, k * u, y, k * v) == pytest.approx(score / k, rel=1e-9, abs=1e-12)
    assert abs(score) <= abs(x - y) / max(u, v) * (1 + 1e-12)


linear = st.lists(st.tuples(st.floats(0.2, 3), shapes), min_size=2, max_size=4)


@law("monte_carlo")
@examples(20)
@given(linear, st.integers(0, 2**32))
def test_monte_carlo_agrees_with_first_order_away_from_stationary_points(terms, seed):
    """Away from stationary points the draws agree with first order within their own scatter."""
    inputs = [measured(10, limits=0.05 * u, shape=shape) for u, shape in terms]

    def model(*x):
        return x[0] * numpy.exp(0.02 * x[1]) + sum(x[2:])

    drawn = monte_carlo(model, inputs, draws=20_000, seed=seed)
    first = budget(sum(d * x for d, x in zip([math.exp(0.2), 0.2 * math.exp(0.2), 1, 1], inputs, strict=False)))
    assert drawn.standard_uncertainty == pytest.approx(first.standard_uncertainty, rel=0.04)
    scatter = 6 * first.standard_uncertainty / math.sqrt(20_000) + 1e-3
    assert drawn.mean == pytest.approx(10 * math.exp(0.2) + 10 * (len(terms) - 2), abs=scatter)
    short, even = drawn.shortest_interval, drawn.symmetric_interval
    assert short.upper - short.lower <= even.upper - even.lower


@law("monte_carlo", "monte_carlo_adaptive")
@examples(10)
@given(st.floats(-100, 100), sizes, st.integers(0, 2**32))
def test_draws_follow_scale_and_shift(shift, scale, seed):
    """A scaled and shifted answer has scaled and shifted results, draw by draw."""
    x = measured(1, limits=0.5, shape="triangular")
    one = monte_carlo(lambda v: v, [x], draws=1000, seed=seed)
    two = monte_carlo(lambda v: scale * v + shift, [x], draws=1000, seed=seed)
    near = 1e-9 * (abs(scale) + abs(shift))
    assert two.mean == pytest.approx(scale * one.mean + shift, abs=near)
    assert two.standard_uncertainty == pytest.approx(scale * one.standard_uncertainty, abs=near)
    assert two.symmetric_interval.lower == pytest.approx(scale * one.symmetric_interval.lower + shift, abs=near)
    assert two.shortest_interval.upper == pytest.approx(scale * one.shortest_interval.upper + shift, abs=near)
    more = monte_carlo_adaptive(lambda v: scale * v + shift, [x], digits=1, seed=seed)
    assert more.stable
    assert more.mean == pytest.approx(scale + shift, abs=scale * 0.02 + near)


@law("validate")
@examples(10)
@given(st.lists(st.floats(0.1, 5), min_size=1, max_size=4), st.integers(0, 2**32))
def test_first_order_is_exact_for_sums_of_normal_inputs(us, seed):
    """For a sum of normal inputs first order holds, and the next order adds nothing."""
    check = validate("sum", [measured(3, standard=u) for u in us], digits=1, seed=seed)
    assert check.valid
    assert check.second_order_uncertainty == pytest.approx(check.standard_uncertainty, rel=1e-6)
    assert check.standard_uncertainty == pytest.approx(math.sqrt(math.fsum(u * u for u in us)), rel=1e-9)


occasions = st.lists(st.tuples(st.floats(-10, 10), st.floats(0.01, 2)), min_size=1, max_size=6)


def apart(pairs):
    return [source(x, u) for x, u in pairs]


@law("pooled")
@given(occasions)
def test_what_is_pooled_scatters_as_much_as_it_is_said_to(pairs):
    """The squared deviations, each divided by own variance plus variance between, add up to n - 1, or to less if no spread is added."""
    told = pooled(apart(pairs))
    between, mean = told.between, nominal(told.value)
    sum_ = math.fsum((x - mean) ** 2 / (u * u + between**2) for x, u in pairs)
    if between > 1e-9:
        assert sum_ == pytest.approx(len(pairs) - 1, rel=1e-6)
    else:
        assert sum_ <= (len(pairs) - 1) * (1 + 1e-6)
        assert sum_ == pytest.approx(told.chi_squared, rel=1e-6, abs=1e-9)
    assert standard(told.value) == pytest.approx(math.fsum(1 / (u * u + between**2) for _, u in pairs) ** -0.5, rel=1e-9)


@law("pooled")
@given(occasions)
def test_a_spread_between_never_makes_more_certain(pairs):
    """The pooled value lies among the values, and is never more certain than their weighted mean without a spread between them."""
    told = pooled(apart(pairs))
    assert min(x for x, _ in pairs) - 1e-9 <= nominal(told.value) <= max(x for x, _ in pairs) + 1e-9
    assert math.fsum(told.weights) == pytest.approx(1)
    assert standard(told.value) >= math.fsum(1 / (u * u) for _, u in pairs) ** -0.5 * (1 - 1e-9)


@law("pooled")
@given(occasions, st.floats(0.1, 10), st.floats(-5, 5), st.randoms(use_true_random=False))
def test_pooling_follows_scale_shift_and_order(pairs, factor, shift, random):
    """Values in another unit, from another zero or in another order pool to the same."""
    moved = [(factor * x + shift, factor * u) for x, u in pairs]
    random.shuffle(moved)
    one, other = pooled(apart(pairs)), pooled(apart(moved))
    assert nominal(other.value) == pytest.approx(factor * nominal(one.value) + shift, rel=1e-6, abs=1e-6)
    assert standard(other.value) == pytest.approx(factor * standard(one.value), rel=1e-5)
    assert other.between == pytest.approx(factor * one.between, rel=1e-4, abs=1e-4)


@law("pooled")
@given(occasions, st.floats(0.01, 2))
def test_a_shared_error_is_never_averaged_out(pairs, size):
    """An error that all values share leaves their weights and the spread between as they are, and stays whole beside the rest."""
    error = source(0.0, size)
    both = [combine(x, [(1.0, source(x, u)), (1.0, error)]) for x, u in pairs]
    one, other = pooled(apart(pairs)), pooled([answer(x, "volume") for x in both])
    if len(pairs) > 1:
        assert other.weights == pytest.approx(one.weights)
        assert other.between.magnitude == pytest.approx(one.between, rel=1e-6, abs=1e-9)
    assert standard(other.value.magnitude) == pytest.approx(math.hypot(standard(one.value), size), rel=1e-6)
