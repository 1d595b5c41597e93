"""Ages against fills kept litre by litre: exact cohorts in Fractions, a crowd of drops, and renewal theory."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import numpy
import pytest
from scipy import stats

from sumpwise.ageing.history import FluidHistory
from sumpwise.ageing.rates import mean_age_after, mean_age_average, mean_age_before


def random_case(seed):
    """An irregular history: moments in tenths of a day, some twice, shares in hundredths, zero and one included."""
    generator = numpy.random.default_rng(seed)
    moments = sorted(Fraction(int(m), 10) for m in generator.integers(0, 400, generator.integers(1, 12)))
    return moments, [Fraction(int(s), 100) for s in generator.integers(0, 101, len(moments))]


def cohorts_at(moments, shares, at):
    """Birth -> share, every filling on its own, without any shortcut."""
    fill = {Fraction(0): Fraction(1)}
    for moment, share in zip(moments, shares, strict=True):
        if moment <= at:
            fill = {birth: part * (1 - share) for birth, part in fill.items()}
            fill[moment] = fill.get(moment, Fraction(0)) + share
    assert sum(fill.values()) == 1
    return fill


def built(moments, shares):
    history = FluidHistory("0 d")
    for moment, share in zip(moments, shares, strict=True):
        history = history.replace(float(share), f"{float(moment)} d")
    return history


def mean(fill, at):
    return sum(part * (at - birth) for birth, part in fill.items())


@pytest.mark.parametrize("seed", range(40))
def test_exact_cohorts(seed):
    moments, shares = random_case(seed)
    history = built(moments, shares)
    for at in (Fraction(0), Fraction(37, 10), moments[0], moments[-1], Fraction(41), Fraction(60)):
        fill = cohorts_at(moments, shares, at)
        text = f"{float(at)} d"
        assert history.mean_age(text).m_as("day") == pytest.approx(float(mean(fill, at)), rel=1e-12, abs=1e-12)
        for age in (Fraction(0), Fraction(5), Fraction(101, 10), at - moments[0] if at >= moments[0] else Fraction(1), at):
            older = sum(part for birth, part in fill.items() if at - birth >= age)
            assert history.share_older_than(f"{float(age)} d", at=text) == pytest.approx(float(older), rel=1e-12, abs=1e-15)
        found = {}
        for cohort in history.distribution(text):
            age = round(cohort.age.m_as("day"), 6)
            found[age] = found.get(age, 0) + cohort.share
        expected = {round(float(at - birth), 6): float(part) for birth, part in fill.items() if part}
        assert found == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("seed", range(20))
def test_exact_integral_of_the_mean_age(seed):
    moments, shares = random_case(seed)
    since, until = Fraction(31, 10), Fraction(45)
    knots = sorted({since, until, *(m for m in moments if since < m < until)})
    area = sum((mean(cohorts_at(moments, shares, a), a) + (b - a) / 2) * (b - a) for a, b in pairwise(knots))
    found = built(moments, shares).average_age(f"{float(since)} d", f"{float(until)} d").m_as("day")
    assert found == pytest.approx(float(area / (until - since)), rel=1e-12)


def test_a_crowd_of_drops():
    generator = numpy.random.default_rng(20)
    drops = numpy.zeros(200_000)
    history = FluidHistory("0 y")
    for year, share in ((1, 0.4), (2.5, 0.25), (3, 0.6), (6, 0.1)):
        drops[generator.random(drops.size) < share] = year
        history = history.replace(share, f"{year} y")
    ages = 7 - drops
    assert abs(ages.mean() - history.mean_age("7 y").m_as("year")) < 4 * ages.std() / drops.size**0.5
    for age in (1, 2, 4.5, 6.9):
        share = history.share_older_than(f"{age} y", at="7 y")
        assert abs((ages >= age).mean() - share) <= 4 * (share * (1 - share) / drops.size) ** 0.5


@pytest.mark.parametrize("share", [Fraction(3, 11), Fraction(3, 8), Fraction(1, 2), Fraction(77, 100)])
def test_renewal_theory(share):
    """A litre stays a geometric number X of intervals; ages follow from its moments (mean E[X], stationary age E[X²]/(2 E[X]))."""
    first, second = 1 / share, (2 - share) / share**2
    assert mean_age_before(float(share), "2 y").m_as("year") == pytest.approx(2 * float(first), rel=1e-12)
    assert mean_age_average(float(share), "2 y").m_as("year") == pytest.approx(2 * float(second / (2 * first)), rel=1e-12)
    stays = stats.geom(float(share))
    assert mean_age_average(float(share), "2 y").m_as("year") == pytest.approx(2 * stays.moment(2) / (2 * stays.mean()), rel=1e-12)
    assert mean_age_after(float(share), "2 y").m_as("year") == pytest.approx(2 * (stays.mean() - 1), rel=1e-12, abs=1e-15)


@pytest.mark.parametrize("share", [0.2, 0.375, 0.9])
def test_a_long_rhythm_settles_where_the_formulas_say(share):
    history = FluidHistory("0 y")
    for year in range(1, 301):
        history = history.replace(share, f"{year} y")
    assert history.mean_age("300 y").m_as("year") == pytest.approx(mean_age_after(share, "1 y").m_as("year"), rel=1e-12)
    assert history.mean_age("301 y").m_as("year") == pytest.approx(mean_age_before(share, "1 y").m_as("year"), rel=1e-12)
    assert history.average_age("300 y", "301 y").m_as("year") == pytest.approx(mean_age_average(share, "1 y").m_as("year"), rel=1e-12)
    for k in (1, 2, 5):
        assert history.share_older_than(f"{k} y", at="300 y") == pytest.approx((1 - share) ** k, rel=1e-12)
