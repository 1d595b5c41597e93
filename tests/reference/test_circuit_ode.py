"""The circuit against an ODE solver, matrix exponentials, high-precision arithmetic and the closed forms of its parts."""

import math
import random

import mpmath
import numpy as np
import pint
import pytest
from scipy.integrate import solve_ivp
from scipy.linalg import expm
from scipy.special import gammainc

from sumpwise import uncertainty
from sumpwise.mixing.circuit import Circuit
from sumpwise.mixing.circuit.flow import flow
from sumpwise.mixing.circuit.state import Answers, Parameters, State


def right_hand_side(k, cl, h, w, n, m, b, c, e, p, s0, closed):
    """The equations of the circuit for **fresh** fractions, written down a second time: (s, k1..kn, l1..lm, h, w, fresh volume out)."""

    def change(x, y):
        s, ks, ls, hh, ww = y[0], y[1 : 1 + n], y[1 + n : 1 + n + m], y[-3], y[-2]
        volume = s0 if closed else s0 + (p - 1) * x
        back = ls[-1] - s if closed else 0.0
        inlet = (1 - b) * ks[-1] + b * s
        return np.concatenate([
            [((0 if closed else p * (1 - s)) + c * (hh - s) + e * (ww - s) + back) / volume],
            (1 - b) * n / k * (np.concatenate([[s], ks[:-1]]) - ks),
            m / cl * (np.concatenate([[inlet], ls[:-1]]) - ls),
            [c / h * (s - hh) if h else 0.0, e / w * (s - ww) if w else 0.0, 0.0 if closed else ls[-1]],
        ])  # fmt: skip

    return change


def parts(circuit):
    return [float(getattr(circuit, name)) for name in Answers._fields[:7]]


@pytest.mark.parametrize("seed", range(12))
def test_random_circuits_against_solve_ivp_at_rtol_1e_12(seed):
    draw = random.Random(seed)
    n, m = draw.choice([1, 2, 5]), draw.choice([1, 3, 4, 8])
    k, cl = draw.uniform(0.5, 3), draw.uniform(0.3, 1)
    h, w = draw.choice([0, draw.uniform(0.2, 1.5)]), draw.choice([0, draw.uniform(0.2, 1.5)])
    b, c, e = draw.choice([0, 1, draw.random()]), draw.uniform(0, 1) * (h > 0), draw.uniform(0, 0.3) * (w > 0)
    volume, start = draw.uniform(1.5, 5), draw.random() / 2
    volumes = [f"{litres!r} L" for litres in (volume, k, cl, h, w)]
    circuit = Circuit(*volumes, 0, n, m, bypass=b, clutch_circulation=c, pocket_circulation=e, start=start)

    def mean():
        weights, fresh = [volume, k, cl, h, w], [y[0], y[1 : 1 + n].mean(), y[1 + n : 1 + n + m].mean(), y[-3], y[-2]]
        return np.dot(weights, fresh) / sum(weights)

    y = np.full(4 + n + m, start)
    y[-1] = 0.0
    for _ in range(6):
        what = draw.choice(["pump", "pump", "circulate", "drain", "pour", "mix"])
        if what == "drain":
            x = draw.uniform(0, 0.9 * volume)
            circuit, y[-1], volume = circuit.drain(f"{x!r} L"), y[-1] + x * y[0], volume - x
            continue
        if what == "pour":
            x = draw.uniform(0, 4)
            circuit, y[0], volume = circuit.pour(f"{x!r} L"), (volume * y[0] + x) / (volume + x), volume + x
            continue
        if what == "mix":
            circuit = circuit.mix()
            y[:-1] = mean()
            continue
        closed = what == "circulate"
        x = draw.uniform(0, 6) if closed else draw.uniform(0, 0.95 * volume)
        p = draw.choice([0, 1, draw.uniform(0, 2)])
        circuit = circuit.circulate(f"{x!r} L") if closed else circuit.pump(f"{x!r} L", poured=f"{p * x!r} L")
        y = solve_ivp(right_hand_side(k, cl, h, w, n, m, b, c, e, p, volume, closed), (0, x), y, "DOP853", rtol=1e-12, atol=1e-14).y[:, -1]
        volume += 0 if closed else (p - 1) * x
    expected = [mean(), y[n + m], y[0], y[1 : 1 + n].mean(), y[1 + n : 1 + n + m].mean(), y[-3], y[-2]]
    assert parts(circuit) == pytest.approx(expected, abs=1e-9)
    assert circuit.discharged.m_as("L") == pytest.approx(y[-1], abs=1e-9)
    assert circuit.sump_volume.m_as("L") == pytest.approx(volume, rel=1e-12)


@pytest.mark.parametrize("tanks", [(1, 1), (1, 4), (3, 20)])
@pytest.mark.parametrize("volume", [0.01, 1.25, 7.0, 40.0])
def test_a_constant_sump_against_the_matrix_exponential(tanks, volume):
    """Matched pumping and driving have constant coefficients: y(x) = exp(Ax) y(0), by another algorithm altogether."""
    n, m = tanks
    k, cl, h, w, b, c, e, s0 = 2.45, 0.62, 0.83, 1.05, 0.35, 0.25, 0.017, 3.9
    for closed in (True, False):
        change = right_hand_side(k, cl, h, w, n, m, b, c, e, 1.0, s0, closed)
        size = 4 + n + m
        constant = change(0.0, np.zeros(size))
        matrix = np.zeros((size + 1, size + 1))
        matrix[:size, :size] = np.array([change(0.0, row) - constant for row in np.eye(size)]).T
        matrix[:size, size] = constant
        start = np.concatenate([np.linspace(0.1, 0.9, size - 1), [0.0]])
        expected = (expm(matrix * volume) @ np.append(start, 1.0))[:size]
        old = 1 - start
        state = State(s0, old[0], list(old[1 : 1 + n]), list(old[1 + n : 1 + n + m]), old[-3], old[-2], 0.0)
        built = Parameters(s0, k, cl, h, w, 0.0, b, c, e, 0.0)
        _, s, ks, ls, hh, ww, left = flow(built, state, volume, 0.0 if closed else volume, closed)
        assert [1 - u for u in (s, *ks, *ls, hh, ww)] == pytest.approx(list(expected[:-1]), abs=1e-12)
        assert left == pytest.approx(expected[-1], abs=1e-12 * max(1, volume))


@pytest.mark.parametrize(("sump", "pumped", "poured"), [(3.9, 1.25, 0.0), (3.9, 3.8, 0.0), (3.0, 6.0, 4.0), (1.0, 2.0, 3.5)])
def test_a_varying_sump_against_thirty_digits(sump, pumped, poured):
    """Sump with clutch circuits and pockets under unmatched pouring, integrated by mpmath with 30 digits."""
    h, w, c, e, p = 0.83, 1.05, 0.25, 0.017, poured / pumped
    with mpmath.workdps(30):

        def change(x, y):
            volume = sump + (mpmath.mpf(p) - 1) * x
            return [(-p * y[0] + c * (y[1] - y[0]) + e * (y[2] - y[0])) / volume, c * (y[0] - y[1]) / h, e * (y[0] - y[2]) / w]

        expected = [float(v) for v in mpmath.odefun(change, 0, [mpmath.mpf("0.3"), 1, 1])(pumped)]
    state = State(sump, 0.3, [1.0], [1.0] * 4, 1.0, 1.0, 0.0)
    after = flow(Parameters(sump, 2.45, 0.62, h, w, 0.0, 0.35, c, e, 0.0), state, pumped, poured)
    assert [after.sump, after.clutches, after.pockets] == pytest.approx(expected, abs=1e-13)


INPUTS = {
    "sump": (3.7, 0.1), "converter": (2.45, 0.2), "cooler": (0.62, 0.05), "clutches": (0.83, 0.1), "pockets": (1.05, 0.1),
    "bypass": (0.35, 0.05), "clutch_circulation": (0.25, 0.03), "pocket_circulation": (0.017, 0.004), "burst": (1.25, 0.02),
}  # fmt: skip


def with_thirty_digits(sump, converter, cooler, clutches, pockets, bypass, clutch_circulation, pocket_circulation, burst):
    """Inside and at the outlet, after a drain, a pour, a matched exchange, a drive and another exchange, by matrix exponentials in mpmath.

    One tank each; matched pouring keeps the sump's volume, so the equations have constant coefficients.
    """
    b, c, e = bypass, clutch_circulation, pocket_circulation
    volumes = [sump, converter, cooler, clutches, pockets]

    def through(y, x, closed):
        into_sump = [-(1 + c + e), 0, 1, c, e] if closed else [-(1 + c + e), 0, 0, c, e]
        change = mpmath.matrix([
            [v / sump for v in into_sump],
            [(1 - b) / converter, -(1 - b) / converter, 0, 0, 0],
            [b / cooler, (1 - b) / cooler, -1 / cooler, 0, 0],
            [c / clutches, 0, 0, -c / clutches, 0],
            [e / pockets, 0, 0, 0, -e / pockets],
        ])  # fmt: skip
        return mpmath.expm(change * x) * y

    old = mpmath.matrix([1 - burst / sump, 1, 1, 1, 1])
    for x, closed in ((burst, False), (mpmath.mpf(2), True), (burst, False)):
        old = through(old, x, closed)
    return 1 - sum(v * y for v, y in zip(volumes, old, strict=True)) / sum(volumes), 1 - old[2]


def emptied_with_thirty_digits(sump, converter, cooler, clutches, pockets, bypass, clutch_circulation, pocket_circulation, burst):
    """The same answers after a drain, a pour, a burst that lowers the sump, its pour and a burst with a third poured meanwhile.

    Power series in what is pumped, of 60 terms: the sump holds S + (p − 1) x, so (S + (p − 1) x) s' = −p s + c (h − s) + e (w − s).
    """
    b, c, e = bypass, clutch_circulation, pocket_circulation

    def through(old, held, x, p):
        s, k, cl, h, w = ([value] for value in old)
        for j in range(60):
            s.append(((c * (h[j] - s[j]) + e * (w[j] - s[j]) - p * s[j]) - (p - 1) * j * s[j]) / held / (j + 1))
            k.append((1 - b) * (s[j] - k[j]) / converter / (j + 1))
            cl.append(((1 - b) * k[j] + b * s[j] - cl[j]) / cooler / (j + 1))
            h.append(c * (s[j] - h[j]) / clutches / (j + 1))
            w.append(e * (s[j] - w[j]) / pockets / (j + 1))
        return [mpmath.fsum(term * x**j for j, term in enumerate(terms)) for terms in (s, k, cl, h, w)]

    old = through([1 - burst / sump, 1, 1, 1, 1], sump, burst, mpmath.mpf(0))
    old[0] *= (sump - burst) / sump
    old = through(old, sump, burst, mpmath.mpf(1) / 3)
    volumes = [sump - burst * 2 / 3, converter, cooler, clutches, pockets]
    return 1 - sum(v * y for v, y in zip(volumes, old, strict=True)) / sum(volumes), 1 - old[2]


def matched(circuit, burst):
    return circuit.pump(burst, poured=burst).circulate("2 L").pump(burst, poured=burst)


def emptied(circuit, burst):
    return circuit.pump(burst).pour(burst).pump(burst, poured=burst / 3)


@pytest.mark.parametrize(
    ("way", "exactly", "rounding"), [(matched, with_thirty_digits, 1e-12), (emptied, emptied_with_thirty_digits, 2e-12)]
)  # fmt: skip
def test_derivatives_against_high_precision(way, exactly, rounding):
    """Every derivative of two answers by nine inputs, against differences taken with thirty digits.

    Differences over steps of 2.5e-4 of a value round to 4e-13 for each last digit of an answer: two of them, or five after three bursts.
    """
    given = {name: uncertainty.source(value, u, name=name) for name, (value, u) in INPUTS.items()}
    litre = pint.get_application_registry().Quantity
    shares = ("bypass", "clutch_circulation", "pocket_circulation")
    made = {name: value if name in shares else litre(value, "litre") for name, value in given.items()}
    burst = made.pop("burst")
    circuit = way(Circuit(**made, cooler_tanks=1).drain(burst).pour(burst), burst)
    told = [circuit.resident, circuit.outlet]
    with mpmath.workdps(30):
        at = [mpmath.mpf(value) for value, _ in INPUTS.values()]
        for one, expected in zip(told, exactly(*at), strict=True):
            assert uncertainty.nominal(one) == pytest.approx(float(expected), abs=1e-14)
        for i, name in enumerate(INPUTS):
            step = mpmath.mpf("1e-9")
            up, down = (exactly(*at[:i], at[i] + sign * step, *at[i + 1 :]) for sign in (1, -1))
            for one, high, low in zip(told, up, down, strict=True):
                slope = float((high - low) / (2 * step))
                assert uncertainty.derivatives(one)[given[name]] == pytest.approx(slope, rel=1e-9, abs=rounding)


@pytest.mark.parametrize("volume", [0.0, 0.3, 2.0, 9.0, 50.0])
def test_matched_pouring_into_one_tank_is_exponential(volume):
    """S s' = 1 − s: s = 1 − exp(−V/S)."""
    sump = Circuit("2 L", "1 L", "1 L").pump(f"{volume} L", poured=f"{volume} L").sump_fresh
    assert sump == pytest.approx(-math.expm1(-volume / 2), abs=1e-13)


@pytest.mark.parametrize(("pumped", "poured"), [(1.0, 0.5), (1.9, 0.0), (1.9, 1.7), (3.0, 6.0), (0.4, 4.0), (3.9, 2.0)])
def test_unmatched_pouring_into_one_tank_is_a_power_law(pumped, poured):
    """S s' = p (1 − s), S' = p − 1: old share = (S₀/S)^(p/(p − 1))."""
    p = poured / pumped
    sump = Circuit("2 L", "1 L", "1 L").pump(f"{pumped} L", poured=f"{poured} L").sump_fresh
    assert 1 - sump == pytest.approx((2 / (2 - pumped + poured)) ** (p / (p - 1)), abs=1e-13)


@pytest.mark.parametrize("tanks", [1, 2, 4, 20, 200])
@pytest.mark.parametrize("volume", [0.1, 0.5, 1.0, 2.5])
def test_a_step_into_tanks_in_series_is_the_incomplete_gamma_function(tanks, volume):
    """Levenspiel, 3rd ed., ch. 14: F = 1 − exp(−Nθ) Σ (Nθ)ⁱ/i! = P(N, Nθ); a drained and refilled sump of 5 L feeds pure new fluid."""
    full = Circuit("5 L", "0.5 L", "0.8 L", bypass=1, cooler_tanks=tanks, converter_tanks=3).drain("5 L").pour("5 L").pump(f"{volume} L")
    assert full.outlet == pytest.approx(gammainc(tanks, tanks * volume / 0.8), abs=1e-12)
    through = Circuit("5 L", "0.4 L", "0.4 L", cooler_tanks=tanks, converter_tanks=tanks).drain("5 L").pour("5 L").pump(f"{volume} L")
    assert through.outlet == pytest.approx(gammainc(2 * tanks, 2 * tanks * volume / 0.8), abs=1e-12)
