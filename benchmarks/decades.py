"""Ten years of changes in ten thousand scenarios: mean age of every rhythm under uncertain shares and start."""

from __future__ import annotations

import numpy
from timing import Row, alone, side_by_side

from sumpwise import FluidHistory, Job, compare_methods
from sumpwise.ageing.rates import age_over

SCENARIOS = 10_000
RHYTHMS = {
    "nothing": ((), ()),
    "drain yearly": (tuple(range(11)), ("drain",) * 11),
    "drain every second year": (tuple(range(0, 11, 2)), ("drain",) * 6),
    "exchange at 0 and 5": ((0, 5), ("exchange",) * 2),
    "three drains now, then drains": ((0, 0, 0, 2.5, 5, 7.5), ("drain",) * 6),
    "exchange now, then drains": ((0, 2.5, 5, 7.5), ("exchange", "drain", "drain", "drain")),
}


def compare() -> dict[str, tuple[float, float, float]]:
    """The comparison of the demo job, and quantiles of the mean age of each rhythm."""
    compare_methods(Job.demo())
    rng = numpy.random.default_rng(1)
    share = {"drain": rng.normal(0.375, 0.03, SCENARIOS), "exchange": rng.normal(0.77, 0.05, SCENARIOS)}
    start = rng.normal(-9, 0.5, SCENARIOS)
    found = {}
    for name, (moments, what) in RHYTHMS.items():
        ages = age_over(start, [float(m) for m in moments], [share[w] for w in what], 0.0, 10.0)
        found[name] = tuple(numpy.quantile(numpy.broadcast_to(ages, SCENARIOS), [0.025, 0.5, 0.975]))
    return found


def ages(changes: int) -> None:
    """A history of daily changes, each share in doubt by itself, and its ages at the end."""
    history = FluidHistory("-1 y")
    for day in range(changes):
        history = history.replace("0.010(2)", f"{day} d")
    _ = history.mean_age("40 y"), history.average_age("0 y", "40 y"), history.share_older_than("1 y", at="40 y")


def rows() -> list[Row]:
    return [
        alone("ten-year comparison with 10 000 scenarios, seconds", 2.0, compare),
        side_by_side("history of 10⁴ changes, ages with uncertain shares / 10³", 12.0,
                     lambda: ages(10_000), lambda: ages(1000), rounds=9),
    ]  # fmt: skip
