"""Mixing and torque, recomputed independently: exact fractions, SciPy's incomplete gamma function, and mpmath at fifty digits."""

from __future__ import annotations

import itertools
from fractions import Fraction

import mpmath
import numpy
import pytest
from scipy.special import gammainc

from sumpwise import (
    applied_torque,
    clamp_load,
    drain_refill,
    drain_refill_series,
    drains_needed,
    exchange,
    setting_band,
    volume_needed,
    wrench_setting,
)

mpmath.mp.dps = 50
SHARES = [Fraction(k, 16) for k in range(17)] + [Fraction(1, 1000), Fraction(999, 1000)]
TURNOVERS = numpy.logspace(-9, 2, 34)
TANKS = (1, 2, 3, 5, 10, 25, 80, 200)


def simulated(drained: Fraction, capacity: Fraction, times: int, start: Fraction, purity: Fraction, refilled: Fraction) -> Fraction:
    """Fresh fraction after draining and refilling step by step, in litres of fresh fluid."""
    volume, fresh = capacity, start * capacity
    for _ in range(times):
        fresh -= fresh * drained / volume
        volume -= drained
        fresh += purity * refilled
        volume += refilled
    return fresh / volume


@pytest.mark.parametrize(("start", "purity"), [(0, 1), (Fraction(1, 4), 1), (Fraction(3, 4), Fraction(1, 2)), (1, 0)])
@pytest.mark.parametrize("times", [0, 1, 2, 5, 17])
def test_drains_in_exact_fractions(times, start, purity):
    for share in SHARES:
        exact = simulated(share, Fraction(1), times, Fraction(start), Fraction(purity), share)
        found = drain_refill.kernel(float(share), 1.0, times, float(start), float(purity))
        assert found == pytest.approx(float(exact), abs=4e-16 * (times + 1))
        assert drain_refill(f"{share} L", "1 L", times, float(start), float(purity)) == found


@pytest.mark.parametrize("times", [0, 1, 2, 3, 8])
def test_refills_other_than_drained_in_exact_fractions(times):
    seen = 0
    capacity, purity = Fraction(77, 10), Fraction(9, 10)
    drains, starts = (Fraction(1, 3), Fraction(2), Fraction(29, 10)), (Fraction(0), Fraction(1, 4))
    for drained, share, start in itertools.product(drains, SHARES, starts):
        refilled = 4 * share
        last = capacity + max(times - 1, 0) * (refilled - drained)
        if last < drained or (times and last - drained + refilled <= 0):
            continue
        seen += 1
        exact = simulated(drained, capacity, times, start, purity, refilled)
        found = drain_refill(f"{drained} L", "7.7 L", times, float(start), "90 %", f"{refilled} L")
        assert found == pytest.approx(float(exact), abs=1e-14)
    assert seen > 20


def test_unequal_drains_in_exact_fractions():
    for drains in itertools.permutations((Fraction(1, 3), Fraction(29, 10), Fraction(4), Fraction(77, 10)), 3):
        left = Fraction(1)
        for drained in drains:
            left *= 1 - drained / Fraction(77, 10)
        exact = Fraction(9, 10) - (Fraction(9, 10) - Fraction(1, 4)) * left
        assert drain_refill_series([f"{d} L" for d in drains], "7.7 L", 0.25, 0.9) == pytest.approx(float(exact), abs=1e-15)


def test_counts_in_exact_fractions():
    for parts, percent in itertools.product(range(2, 30), range(0, 100, 3)):
        left, count, allowed = Fraction(1), 0, 1 - Fraction(percent, 100)
        while left > allowed:
            left *= 1 - Fraction(1, parts)
            count += 1
        assert drains_needed("1 L", f"{parts} L", f"{percent} %") == count


@pytest.mark.parametrize("tanks", TANKS)
def test_tanks_in_series_are_the_incomplete_gamma_function(tanks):
    theta = TURNOVERS
    resident, outlet = exchange.kernel(theta, 1.0, tanks)
    assert outlet == pytest.approx(gammainc(tanks, tanks * theta), abs=1e-13)
    mean = numpy.mean([gammainc(k, tanks * theta) for k in range(1, tanks + 1)], axis=0)
    assert resident == pytest.approx(mean, abs=1e-13)
    bent = exchange.kernel(theta, 1.0, tanks, 0.35, 0.1)
    x = tanks * 0.65 / 0.9 * theta
    assert bent[0] == pytest.approx(0.9 * numpy.mean([gammainc(k, x) for k in range(1, tanks + 1)], axis=0), abs=1e-13)
    assert bent[1] == pytest.approx(0.35 + 0.65 * gammainc(tanks, x), abs=1e-13)


def fresh(theta, tanks):
    """Resident and outlet fresh fraction, at fifty digits."""
    x = tanks * mpmath.mpf(theta)
    parts = [mpmath.gammainc(k, 0, x, regularized=True) for k in range(1, tanks + 1)]
    return mpmath.fsum(parts) / tanks, parts[-1]


@pytest.mark.parametrize("tanks", [1, 2, 5, 25])
def test_exchange_at_fifty_digits(tanks):
    for theta in TURNOVERS[::3]:
        resident, outlet = exchange.kernel(float(theta), 1.0, tanks)
        exact = fresh(float(theta), tanks)
        assert abs(resident - exact[0]) < 1e-15 * (tanks + 3)
        assert abs(outlet - exact[1]) < 1e-15 * (tanks + 3)


@pytest.mark.parametrize("tanks", [1, 2, 5, 25])
@pytest.mark.parametrize("target", [0.001, 0.1, 0.5, 0.9, 0.99, 0.999999, 1 - 1e-9])
def test_volume_needed_at_fifty_digits(target, tanks):
    found = volume_needed.kernel(target, 8.0, tanks)
    exact = mpmath.findroot(lambda theta: fresh(theta, tanks)[0] - mpmath.mpf(target), mpmath.mpf(found) / 8) * 8
    assert abs(found / exact - 1) < 1e-12


def test_drains_at_fifty_digits():
    for share, times in itertools.product(numpy.logspace(-12, 0, 25), (1, 3, 100, 10_000)):
        exact = 1 - (1 - mpmath.mpf(float(share))) ** times
        assert abs(drain_refill.kernel(float(share), 1.0, times) - exact) < 2e-16 * (times + 2)


def test_torque_at_fifty_digits():
    for angle, adapter in itertools.product((-180, -120, -90, 0, 30, 60, 90, 135), (0.0, 45.0, 120.0)):
        lever = (300 + mpmath.mpf(adapter) * mpmath.cos(mpmath.radians(angle))) / 300
        setting = wrench_setting("34 N·m", "300 mm", f"{adapter} mm", f"{angle} deg").magnitude
        assert abs(setting / (34 / lever) - 1) < 1e-15
        assert abs(applied_torque("34 N·m", "300 mm", f"{adapter} mm", f"{angle} deg").magnitude / (34 * lever) - 1) < 1e-15
        band = setting_band("31 N·m", "37 N·m", 0.04, "300 mm", f"{adapter} mm", f"{angle} deg")
        assert abs(band.lower.magnitude / (31 / mpmath.mpf("0.96") / lever) - 1) < 1e-15
        assert abs(band.upper.magnitude / (37 / mpmath.mpf("1.04") / lever) - 1) < 1e-15
    assert abs(clamp_load("34 N·m", "14 mm", 0.2).magnitude / (34 / (mpmath.mpf("0.2") * mpmath.mpf("0.014"))) - 1) < 1e-15
