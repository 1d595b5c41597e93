"""GUM (JCGM 100:2008): example H.1 from end to end, table G.2, and two general-purpose libraries beside our budgets."""

from __future__ import annotations

import math
import random
import warnings

import GTC
import pytest
from scipy import stats

import sumpwise
from sumpwise import budget, coverage_factor, expanded, measured, monte_carlo, validate
from sumpwise.measurement.coverage import effective_dof


@pytest.fixture
def inputs():
    """Table H.1, in nanometres, °C and 1/°C."""
    difference = (
        measured(215, standard=5.8, dof=24, name="observed difference")
        + measured(0, standard=3.9, dof=5, name="comparator, random")
        + measured(0, standard=6.7, dof=8, name="comparator, systematic")
    )
    return {
        "standard": measured(50_000_623, standard=25, dof=18, name="length of the standard"),
        "difference": difference,
        "expansion": measured(11.5e-6, limits=2e-6, name="expansion of the standard"),
        "spread": measured(0, limits=1e-6, dof=50, name="difference of expansions"),
        "offset": measured(-0.1, standard=0.2, name="mean temperature") + measured(0, limits=0.5, shape="arcsine", name="cycle"),
        "apart": measured(0, limits=0.05, dof=2, name="difference of temperatures"),
    }


def end_gauge(standard, difference, expansion, spread, offset, apart):
    """Equation H.3."""
    return standard + difference - standard * (spread * offset + expansion * apart)


def test_h1_value_and_uncertainty(inputs):
    length = end_gauge(**inputs)
    report = budget(length)
    assert round(report.value) == 50_000_838
    assert f"{report.standard_uncertainty:.2g}" == "32"
    shown = {row.name: abs(row.contribution) for row in report.rows}
    assert shown["length of the standard"] == pytest.approx(25)
    assert shown["difference of expansions"] == pytest.approx(2.9, abs=0.05)
    assert shown["difference of temperatures"] == pytest.approx(16.6, abs=0.05)
    assert budget(inputs["difference"]).standard_uncertainty == pytest.approx(9.7, abs=0.05)
    assert "expansion of the standard" not in shown  # its sensitivity is zero: the second order hint below
    assert report.rows[0].name == "length of the standard"
    assert math.fsum(row.share for row in report.rows) == pytest.approx(1, abs=1e-12)


def test_h1_degrees_of_freedom(inputs):
    # The printed 25.6 follows from the rounded 9.7 nm; unrounded it is 25.4. Taking d as one input with 25.6 gives the printed 16.7.
    lost = 5.8**4 / 24 + 3.9**4 / 5 + 6.7**4 / 8
    assert round(9.7**4 / lost, 1) == 25.6
    assert effective_dof([25, 9.7, 2.9, 16.6], [18, 25.6, 50, 2]) == pytest.approx(16.7, abs=0.1)
    assert budget(inputs["difference"]).dof == pytest.approx(25.45, abs=0.005)
    assert budget(end_gauge(**inputs)).dof == pytest.approx(16.7, abs=0.06)


def test_h1_expanded(inputs):
    report = expanded(end_gauge(**inputs), 0.99)
    assert f"{report.coverage_factor:.2f}" == "2.92"
    # U99 = 93 nm is 2.92 times the rounded 32 nm; unrounded it is 92.5.
    assert round(2.92 * 32) == 93
    assert report.expanded_uncertainty == pytest.approx(2.92 * 31.66, abs=0.05)
    assert report.upper - report.lower == pytest.approx(2 * report.expanded_uncertainty)


def test_h1_second_order(inputs):
    # H.1.7: with the terms 11.7 nm (δα, θ) and 1.7 nm (α, δθ) the uncertainty becomes 34 nm.
    check = validate(end_gauge, inputs, coverage=0.99, digits=1, seed=1)
    assert f"{check.standard_uncertainty:.2g}" == "32"
    assert f"{check.second_order_uncertainty:.2g}" == "34"
    added = check.second_order_uncertainty**2 - check.standard_uncertainty**2
    assert math.sqrt(added) == pytest.approx(math.hypot(11.7, 1.7), abs=0.1)


def test_h1_sampled_dispersion(inputs):
    # JCGM 101 clause 9.5 draws the same inputs; with Student's shapes and inexact limits the standard deviation follows from moments.
    drawn = monte_carlo(end_gauge, inputs, draws=400_000, seed=1)
    variance = 25**2 * 18 / 16 + 5.8**2 * 24 / 22 + 3.9**2 * 5 / 3 + 6.7**2 * 8 / 6
    variance += (50_000_623 * 11.5e-6) ** 2 * 0.05**2 / 3 * (1 + 1 / (3 * 2 * 2))
    variance += 50_000_623**2 * (1e-12 / 3) * (1 + 1 / (3 * 2 * 50)) * (0.1**2 + 0.2**2 + 0.5**2 / 2)
    variance += 50_000_623**2 * (2e-6**2 / 3) * 0.05**2 / 3 * (1 + 1 / (3 * 2 * 2))
    assert drawn.standard_uncertainty == pytest.approx(math.sqrt(variance), rel=5e-3)
    assert f"{drawn.standard_uncertainty:.2g}" == "36"


TABLE_G2 = {
    1: (1.84, 6.31, 12.71, 13.97, 63.66, 235.80),
    2: (1.32, 2.92, 4.30, 4.53, 9.92, 19.21),
    3: (1.20, 2.35, 3.18, 3.31, 5.84, 9.22),
    4: (1.14, 2.13, 2.78, 2.87, 4.60, 6.62),
    5: (1.11, 2.02, 2.57, 2.65, 4.03, 5.51),
    10: (1.05, 1.81, 2.23, 2.28, 3.17, 3.96),
    16: (1.03, 1.75, 2.12, 2.17, 2.92, 3.54),
    20: (1.03, 1.72, 2.09, 2.13, 2.85, 3.42),
    50: (1.01, 1.68, 2.01, 2.05, 2.68, 3.16),
    100: (1.005, 1.660, 1.984, 2.025, 2.626, 3.077),
    math.inf: (1.000, 1.645, 1.960, 2.000, 2.576, 3.000),
}
HEADED = (0.6827, 0.90, 0.95, 0.9545, 0.99, 0.9973)


@pytest.mark.parametrize("dof", TABLE_G2)
def test_table_g2(dof):
    # The columns of one, two and three standard deviations are exact multiples, not the rounded percentages that head them.
    shares = [math.erf(n / math.sqrt(2)) if n else share for n, share in zip((1, 0, 0, 2, 0, 3), HEADED, strict=True)]
    half = 0.0005 if dof >= 100 else 0.005
    for share, printed in zip(shares, TABLE_G2[dof], strict=True):
        assert coverage_factor(share, dof) == pytest.approx(printed, abs=half * 1.0001)


def test_student_quantile_against_scipy():
    for dof in (0.5, 1, 1.5, 2, 3, 4, 5, 7.3, 10, 16.7, 30, 99.9, 300, 999.9, 1000.1, 2500, 1e4, 1e6, 1e9):
        for share in (0.01, 0.1, 0.5, 0.6827, 0.9, 0.95, 0.9545, 0.99, 0.9973, 0.9999, 0.999999):
            assert coverage_factor(share, dof) == pytest.approx(stats.t.isf((1 - share) / 2, dof), rel=1e-10)
    for share in (0.01, 0.5, 0.95, 0.999999):
        assert coverage_factor(share) == pytest.approx(stats.norm.isf((1 - share) / 2), rel=1e-12)


def random_budget(seed):
    """Best values, standard uncertainties, degrees of freedom, and a model of products, sums and shared inputs."""
    rng = random.Random(seed)
    count = rng.randint(3, 7)
    values = [rng.uniform(0.5, 5) for _ in range(count)]
    spreads = [v * rng.uniform(0.001, 0.05) for v in values]
    dofs = [rng.choice([3, 5, 8, 12, 20, 50, math.inf]) for _ in range(count)]
    plan = [(rng.choice("+-*/"), rng.randrange(count)) for _ in range(count + 3)]

    def model(*x):
        total = x[0] * x[1]
        for sign, i in plan:
            total = total + x[i] if sign == "+" else total - x[i] / 3 if sign == "-" else total * x[i] if sign == "*" else total / x[i]
        return total

    return values, spreads, dofs, model


@pytest.mark.parametrize("seed", range(10))
def test_gtc_and_metrolopy_beside_a_random_budget(seed):
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        from metrolopy import gummy

        values, spreads, dofs, model = random_budget(seed)
        theirs = model(*(GTC.ureal(v, u, d) for v, u, d in zip(values, spreads, dofs, strict=True)))
        gums = [gummy(v, u, dof=d) for v, u, d in zip(values, spreads, dofs, strict=True)]
        other = model(*gums)
        other_u, other_dof = float(other.u), float(other.dof)
    sources = [measured(v, standard=u, dof=d, name=f"x{i}") for i, (v, u, d) in enumerate(zip(values, spreads, dofs, strict=True))]
    ours = budget(model(*sources))
    assert ours.value == pytest.approx(theirs.x, rel=1e-9)
    assert ours.standard_uncertainty == pytest.approx(theirs.u, rel=1e-9)
    assert ours.standard_uncertainty == pytest.approx(other_u, rel=1e-9)
    assert ours.dof == pytest.approx(theirs.df, rel=1e-9)
    # metrolopy bounds its degrees of freedom; below its bound they must agree
    if ours.dof < 9999:
        assert ours.dof == pytest.approx(other_dof, rel=1e-9)
    check = validate(model, [sumpwise.measured(v, standard=u) for v, u in zip(values, spreads, strict=True)], digits=1, seed=1, most=20_000)
    assert check.standard_uncertainty == pytest.approx(theirs.u, rel=1e-6)
