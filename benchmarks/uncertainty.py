"""Uncertainty: Monte Carlo against its draws and one sort, running balances against `uncertainties`."""

from __future__ import annotations

import itertools

import numpy
import pint
from timing import Row, once, peak, side_by_side
from uncertainties import ufloat

from sumpwise import Ledger, Vessel, drain_refill, measured, monte_carlo, quantity, volume_correction_factor

DRAWS = 10**6
INPUTS = [measured(v, standard=u) for v, u in ((2.9, 0.1), (7.7, 0.2), (0.1, 0.01), (0.95, 0.01))]


def model(drained, capacity, start, purity):
    return purity - (purity - start) * (1 - drained / capacity)


def draw_and_sort() -> None:
    rng = numpy.random.default_rng(1)
    a, b, c, d = (rng.normal(x.nominal_value, x.std_dev, DRAWS) for x in INPUTS)
    numpy.sort(model(a, b, c, d))


def ledger_of(steps: int) -> Ledger:
    pail, jug = Vessel("pail", "0.25 L", scale=1 / 1.019, scale_uncertainty=0.004), Vessel("jug", "0.05 L")
    ledger = Ledger("847 kg/m³")
    for i in range(steps // 2):
        ledger = ledger.drained(pail, "1.25 L", f"{40 + i % 20} °C").poured(jug, "1.20 L", "17 °C")
    return ledger


def balances(steps: int) -> list[float]:
    return [b.magnitude.std_dev for b in ledger_of(steps).running()]


def by_uncertainties(warm: list[float], cold: float) -> list[float]:
    """The same account with one shared scale error, every reading its own noise, and a running sum; expansion given beforehand."""
    noise, scale = 0.25 * 0.25 / 3**0.5, ufloat(1 / 1.019, 0.004)
    total, found = ufloat(0, 1e-12), []
    for factor in warm:
        total = total - ufloat(1.25, noise) * scale * factor
        found.append(total.std_dev)
        total = total + ufloat(1.20, noise / 5) * cold
        found.append(total.std_dev)
    return found


def single_calls() -> list[Row]:
    """Two uncertain Quantities, and two uncertain texts that are new each time, against the same formula in `uncertainties`."""
    Q = pint.application_registry.get().Quantity
    drained, capacity = ufloat(2.9, 0.1), ufloat(7.7, 0.2)
    given = Q(drained, "liter"), Q(capacity, "liter")
    fresh = itertools.count()

    def by_formula() -> float:
        return (1 - (1 - drained / capacity) ** 3).std_dev

    def two_texts() -> float:
        i = next(fresh)
        return drain_refill(f"2.{i} ± 0.1 L", f"7.{i} ± 0.2 L", 3).std_dev

    def two_parses() -> float:
        i = next(fresh)
        x, y = (ufloat(Q(text).magnitude, 0.1) for text in (f"2.{i} liter", f"7.{i} liter"))
        return (1 - (1 - x / y) ** 3).std_dev

    return [
        side_by_side("drain and refill with two uncertain Quantities, value and σ / the same in `uncertainties`", 1.5,
                     lambda: drain_refill(*given, 3).std_dev, by_formula, number=300),
        side_by_side("two uncertain texts, new each time / the same formula with a pint parse of each", 0.5,
                     two_texts, two_parses, number=100),
    ]  # fmt: skip


ROWS = 10**5


def whole_columns() -> list[Row]:
    """Two columns of values and standard uncertainties against numpy by hand with analytic derivatives: time, and memory at the peak."""
    rng = numpy.random.default_rng(1)
    drained, capacity = rng.uniform(1.0, 4.0, ROWS), rng.uniform(7.0, 9.0, ROWS)
    u_drained, u_capacity = numpy.full(ROWS, 0.1), numpy.full(ROWS, 0.2)
    columns = [measured(quantity(x, "L"), standard=quantity(u, "L")) for x, u in ((drained, u_drained), (capacity, u_capacity))]

    def ours():
        fresh = drain_refill(*columns, 3)
        return fresh.nominal_value, fresh.std_dev

    def by_hand(times=3):
        fresh = 1 - (1 - drained / capacity) ** times
        by_drained = times * (1 - drained / capacity) ** (times - 1) / capacity
        by_capacity = -times * (1 - drained / capacity) ** (times - 1) * drained / capacity**2
        return fresh, numpy.sqrt((by_drained * u_drained) ** 2 + (by_capacity * u_capacity) ** 2)

    held = [peak(call) for call in (ours, by_hand)]
    return [
        side_by_side("10⁵ rows with two uncertain columns / numpy by hand with analytic derivatives", 3.0, ours, by_hand, number=3),
        Row("the same, memory at the peak", 3.0, held[0] / held[1], held[0] / held[1], once(ours, 3), memory=held[0]),
    ]


def rows() -> list[Row]:
    warm = [volume_correction_factor(f"{40 + i % 20} °C", "847 kg/m³") for i in range(200)]
    cold = volume_correction_factor("17 °C", "847 kg/m³")
    growth = min(once(lambda: balances(1600), 1) for _ in range(3)) / min(once(lambda: balances(400), 1) for _ in range(5))
    return [
        *single_calls(),
        *whole_columns(),
        side_by_side("Monte Carlo, 10⁶ draws of 4 inputs / drawing and one sort alone", 1.5,
                     lambda: monte_carlo(model, INPUTS, draws=DRAWS, seed=1), draw_and_sort, rounds=7),
        side_by_side("400 running ledger balances / the same in `uncertainties`", 0.15,
                     lambda: balances(400), lambda: by_uncertainties(warm, cold), rounds=5),
        Row("running balances, 1600 / 400", 6.0, growth, growth, once(lambda: balances(1600), 1), memory=peak(lambda: balances(1600))),
    ]  # fmt: skip
