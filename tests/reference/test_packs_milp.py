"""The cheapest packs against enumeration of every set, and against an integer programming solver."""

from __future__ import annotations

from fractions import Fraction
from itertools import product

import numpy
import pytest
from scipy import stats
from scipy.optimize import Bounds, LinearConstraint, milp

from sumpwise.buying.covering import UNREACHED, Covering
from sumpwise.buying.packs import cheapest_packs

QUART = Fraction(946352946, 10**9)
IMPERIAL = Fraction(11365225, 10**7)


def every_set(shelf, need):
    """(cost, volume, count) of the best set, from all sets that could be best."""
    most = [int(need // size) + 1 for size, _ in shelf]
    best = None
    for counts in product(*(range(m + 1) for m in most)):
        volume = sum((n * size for n, (size, _) in zip(counts, shelf, strict=True)), Fraction(0))
        if volume >= need:
            rank = (sum((n * price for n, (_, price) in zip(counts, shelf, strict=True)), Fraction(0)), volume, sum(counts))
            best = rank if best is None or rank < best else best
    return best


def small_shelf(generator):
    measures = [(Fraction(1), "L"), (QUART, "qt"), (IMPERIAL, "imp qt")][: int(generator.integers(1, 4))]
    shelf = {}
    for _ in range(int(generator.integers(1, 5))):
        litre, unit = measures[generator.integers(len(measures))]
        size = Fraction(int(generator.integers(1, 25)), 4)
        price = Fraction(int(generator.integers(50, 3000)), 100) if generator.random() < 0.5 else size * 10
        shelf[f"{float(size)} {unit}"] = (size * litre, price)
    return shelf


def alone(covering):
    """Every size a family of its own, as if no two had a common measure."""
    return sorted((([i], covering.sizes[i]) for i in covering.kept), key=lambda family: -family[1])


@pytest.mark.parametrize("apart", [False, True])
@pytest.mark.parametrize("seed", range(150))
def test_enumeration_of_every_set(seed, apart, monkeypatch):
    if apart:
        monkeypatch.setattr(Covering, "_families", alone)
    generator = numpy.random.default_rng(seed)
    shelf = small_shelf(generator)
    need = Fraction(int(generator.integers(1, 60)), 10)
    if numpy.prod([float(need // size) + 2 for size, _ in shelf.values()]) > 20_000:
        need = min(size for size, _ in shelf.values()) * 5
    bought = cheapest_packs({text: price for text, (_, price) in shelf.items()}, f"{need.numerator}/{need.denominator} L")
    cost, volume, count = every_set(list(shelf.values()), need)
    assert (bought.cost, bought.litres.m, bought.count) == (float(cost), volume, count)
    more = bought.next_up
    cost, larger, count = every_set(list(shelf.values()), volume + Fraction(1, 10**15))
    assert (more.cost, more.litres.m, more.count) == (float(cost), larger, count)
    assert bought.cost_per_extra_litre == float((cost - Fraction(str(bought.cost))) / (larger - volume))


def test_an_expensive_pack_may_be_the_next_size_up(monkeypatch):
    """The detour of 8.90 above the best rate is less than the price of another whole pack."""
    for _ in range(2):
        bought = cheapest_packs({"5 L": 10, "5.5 L": 19.9}, "5 L")
        assert (bought.cost, bought.next_up.cost, bought.next_up.packs) == (10, 19.9, {"5.5 L": 1})
        monkeypatch.setattr(Covering, "_families", alone)


@pytest.mark.parametrize("seed", range(20))
def test_every_cell_of_a_table(seed):
    """Cost and count of every volume that can be made up exactly, one pack at a time."""
    generator = numpy.random.default_rng(500 + seed)
    sizes, prices = generator.integers(2, 30, 4).tolist(), generator.integers(1, 50, 4).tolist()
    covering = Covering([Fraction(s) for s in sizes], [Fraction(p) for p in prices], Fraction(40))
    covering.sizes, covering.prices = sizes, prices
    table = covering._table([0, 1, 2, 3], 1)
    best = [(0, 0)]
    for volume in range(1, table.size):
        ways = [best[volume - s] for s in sizes if s <= volume and best[volume - s] is not None]
        steps = [p for s, p in zip(sizes, prices, strict=True) if s <= volume and best[volume - s] is not None]
        best.append(min(((c + p, n + 1) for (c, n), p in zip(ways, steps, strict=True)), default=None))
    assert [None if k == UNREACHED else (k >> covering.bits, k & ((1 << covering.bits) - 1)) for k in table.tolist()] == best


def solved(sizes, prices, need):
    """Cost, then volume, then count of the optimum, each fixed for the next, by branch and cut."""
    whole = {"integrality": numpy.ones(len(sizes)), "bounds": Bounds(0, need // min(sizes) + 1), "options": {"mip_rel_gap": 0}}
    kept = [LinearConstraint(sizes, lb=need)]
    found = []
    for objective in (prices, sizes, numpy.ones(len(sizes))):
        result = milp(objective, constraints=kept, **whole)
        assert result.success
        found.append(round(result.fun))
        kept.append(LinearConstraint(objective, ub=found[-1] + 0.5))
    return found


@pytest.mark.parametrize("seed", range(25))
def test_integer_programming_solver(seed):
    """Sizes in decilitres and prices in hundredths, so that the solver counts in whole numbers."""
    generator = numpy.random.default_rng(1000 + seed)
    sizes = generator.choice(numpy.arange(3, 210), size=12, replace=False)
    prices = numpy.maximum(1, numpy.round(sizes * generator.uniform(80, 130, 12))).astype(int)
    need = int(generator.integers(20, 900))
    bought = cheapest_packs([(f"{s} dL", Fraction(int(p), 100)) for s, p in zip(sizes, prices, strict=True)], f"{need} dL")
    cost, volume, count = solved(sizes.astype(float), prices.astype(float), need)
    assert (round(bought.cost * 100), bought.litres.m * 10, bought.count) == (cost, volume, count)


@pytest.mark.parametrize("risk", [0.4, 0.2, 0.05, 0.01, 1e-6])
def test_normal_quantiles(risk):
    """Contents in thousandths of a litre are the quantile of the need, rounded up."""
    bought = cheapest_packs({"0.001 L": 1}, "12.37(45) L", risk=risk)
    assert bought.count == numpy.ceil(stats.norm.ppf(1 - risk, 12.37, 0.45) * 1000)
    assert bought.probability_short == pytest.approx(stats.norm.sf(float(bought.litres.m), 12.37, 0.45), rel=1e-7)
