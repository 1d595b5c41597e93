"""JCGM 101:2008 clauses 9.2 (additive model) and 9.4 (comparison loss): Monte Carlo and its validation against the printed results."""

from __future__ import annotations

import math

import pytest

from sumpwise import drain_refill, measured, monte_carlo, monte_carlo_adaptive, validate


def added(a, b, c, d):
    return a + b + c + d


def normals():
    return [measured(0, standard=1) for _ in range(4)]


def rectangulars(*limits):
    return [measured(0, limits=a) for a in limits]


def test_9_2_2_normal():
    drawn = monte_carlo(added, normals(), seed=1)
    assert drawn.mean == pytest.approx(0, abs=0.008)
    assert drawn.standard_uncertainty == pytest.approx(2.0, abs=0.006)
    assert drawn.symmetric_interval.lower == pytest.approx(-3.92, abs=0.02)
    assert drawn.symmetric_interval.upper == pytest.approx(3.92, abs=0.02)
    assert validate(added, normals(), digits=1, seed=1)


def test_9_2_3_rectangular():
    # Analytic ends of the 95 % interval: ±2√3 (2 - (3/5)^(1/4)) = ±3.8794.
    exact = 2 * math.sqrt(3) * (2 - 0.6**0.25)
    assert exact == pytest.approx(3.88, abs=0.005)
    drawn = monte_carlo(added, rectangulars(*[math.sqrt(3)] * 4), seed=2)
    assert drawn.standard_uncertainty == pytest.approx(2.0, abs=0.006)
    assert drawn.symmetric_interval.upper == pytest.approx(exact, abs=0.02)
    assert drawn.symmetric_interval.lower == pytest.approx(-exact, abs=0.02)
    # First order gives ±3.92, off by 0.04: within the 0.05 that two digits allow.
    assert validate(added, rectangulars(*[math.sqrt(3)] * 4), digits=1, seed=1)
    coarse = validate(added, rectangulars(*[math.sqrt(3)] * 4), digits=2, seed=1)
    assert coarse.interval.upper == pytest.approx(3.92, abs=0.005)
    assert coarse.upper_difference == pytest.approx(3.92 - exact, abs=0.01)
    assert coarse.tolerance == pytest.approx(0.05)
    assert coarse


def test_9_2_4_one_dominant_rectangular():
    # One input ten times as wide: u = 10.1, Monte Carlo ±17.0, first order ±19.9 (table 4).
    wide = rectangulars(math.sqrt(3), math.sqrt(3), math.sqrt(3), 10 * math.sqrt(3))
    drawn = monte_carlo(added, wide, seed=3)
    assert drawn.standard_uncertainty == pytest.approx(10.1, abs=0.06)
    assert drawn.symmetric_interval.upper == pytest.approx(17.0, abs=0.06)
    check = validate(added, wide, digits=2, seed=1, most=2_000_000)
    assert check.interval.upper == pytest.approx(19.9, abs=0.06)
    assert not check
    assert "shape" in check.reason, "a sum is straight: only its shape is not normal"


def test_curvature_does_not_depend_on_the_shape_of_the_array():
    check = validate(lambda x: x * x, [measured(1, standard=0.1)], digits=2, seed=1)
    assert "curved" in check.reason
    assert "shape" not in check.reason
    # drawn to 3.3 ± 0.3 L, the fresh fraction is a straight function of one rectangular input
    assert "shape" in validate(drain_refill, ["3.3 ± 0.3 L", "8.85 L"], digits=2, seed=3).reason


def correlated(x1, r):
    """Both parts of a reflection coefficient with u = 0.005 and correlation r."""
    shared = measured(0, standard=0.005)
    own = measured(0, standard=0.005)
    return [x1 + shared, r * shared + math.sqrt(1 - r * r) * own if r else own]


def loss(x1, x2):
    return x1 * x1 + x2 * x2


@pytest.mark.parametrize(("x1", "r"), [(0.0, 0.0), (0.010, 0.0), (0.050, 0.0), (0.0, 0.9), (0.010, 0.9), (0.050, 0.9)])
def test_9_4_comparison_loss(x1, r):
    # Equations 40 to 42 of clause 9.4: exact mean and variance of the sum of squares of two correlated normal inputs.
    u = 0.005
    mean = x1**2 + 2 * u**2
    variance = 4 * u**2 * x1**2 + 2 * u**4 + 2 * u**4 + 4 * (r * u**2) ** 2
    drawn = monte_carlo(loss, correlated(x1, r), draws=400_000, seed=4)
    assert drawn.mean == pytest.approx(mean, abs=4 * math.sqrt(variance / 400_000))
    assert drawn.standard_uncertainty == pytest.approx(math.sqrt(variance), rel=0.012)


@pytest.mark.parametrize(("x1", "r", "printed"), [(0.0, 0.0, 50), (0.0, 0.9, 67), (0.010, 0.0, 112), (0.010, 0.9, 121), (0.050, 0.0, 502)])
def test_9_4_printed_uncertainties(x1, r, printed):
    drawn = monte_carlo(loss, correlated(x1, r), seed=5)
    assert drawn.standard_uncertainty * 1e6 == pytest.approx(printed, rel=0.012)


def test_9_4_first_order_fails_at_the_turning_point():
    check = validate(loss, correlated(0.0, 0.0), digits=1, seed=1)
    assert check.standard_uncertainty == pytest.approx(0, abs=1e-12)
    assert not check
    assert "turning point" in check.reason
    assert check.second_order_uncertainty == pytest.approx(50e-6, rel=1e-6)  # exact for a quadratic model


def test_9_4_shortest_interval_starts_at_the_bound():
    drawn = monte_carlo(loss, correlated(0.0, 0.0), seed=6)
    # The sum of squares is exponential with mean 2u²: the shortest 95 % interval is [0, -2u² ln 0.05].
    assert drawn.shortest_interval.lower == pytest.approx(0, abs=1e-6)
    assert drawn.shortest_interval.upper == pytest.approx(-2 * 0.005**2 * math.log(0.05), rel=0.01)
    assert drawn.symmetric_interval.lower == pytest.approx(-2 * 0.005**2 * math.log(0.975), rel=0.03)


def test_adaptive_until_the_digits_are_stable():
    drawn = monte_carlo_adaptive(added, normals(), digits=2, seed=1)
    assert drawn.stable
    assert drawn.draws % 10_000 == 0
    assert drawn.draws > 20_000
    again = monte_carlo_adaptive(added, normals(), digits=2, seed=1)
    assert (again.mean, again.draws) == (drawn.mean, drawn.draws)
    short = monte_carlo_adaptive(added, normals(), digits=3, seed=1, most=30_000)
    assert short.stable is False
    assert short.draws == 30_000


def test_adaptive_takes_larger_rounds_for_a_coverage_close_to_one():
    drawn = monte_carlo_adaptive(added, normals(), digits=1, coverage=0.9999, seed=1, most=10**7)
    assert drawn.draws % 1_000_000 == 0  # J, the smallest whole number not below 100/(1 - p)
