"""One value from several measured on separate occasions, such as successive services: their uncertainties, and the spread between."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, NamedTuple

from sumpwise import uncertainty
from sumpwise._math import WIDEST
from sumpwise.errors import RangeError, UnitError, listed, with_article
from sumpwise.measurement.spreads import ANY
from sumpwise.quantities.boundary import PLAIN, answer, argument

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sumpwise.accepted import ArrayLike, ValueLike

_ONE = argument(ANY, minimum=-WIDEST, maximum=WIDEST, scalar=True)

CLOSE = 1e-14
"""The iteration stops when a step changes the variance between by less than this share."""
TINIEST = 1e-10
"""A spread between the values below this share of the largest deviation from the mean counts as zero."""


class Pooled(NamedTuple):
    """The pooled `value`, the `weights` of the values, the standard deviation `between` occasions, and `chi_squared` without it."""

    value: Any
    weights: tuple[float, ...]
    between: Any
    chi_squared: float | None


def pooled(values: Sequence[ValueLike] | ArrayLike) -> Pooled:
    r"""Pool values of one quantity that were measured on separate occasions.

    Scatter beyond what their own uncertainties explain is a spread between the occasions, which enters the weights and the uncertainty of
    the result. An error that several values share, such as the scale of one pail, causes no scatter, and no number of occasions averages
    it out.

    Parameters
    ----------
    values : sequence of any one kind
        From different services, days or people; uncertain, and correlated if they share a source. A column is one value in each row:
        those of `measured` are independent, or share the error that its `shared` names, which then stays whole in the result.

    Returns
    -------
    Pooled
        `.value` and `.between` (a standard deviation) in the unit of the first value, `.weights` (they add up to 1), and `.chi_squared`
        about the weighted mean without a spread between (one degree of freedom fewer than values; None if a value is exact).

    Raises
    ------
    SumpwiseError
        For an empty list, a value that cannot be read, or values of different kinds. All rows make one value, so a bad one is never left
        out.

    See Also
    --------
    best_estimate : several estimates at one moment that rest on the same readings.

    Notes
    -----
    Weighted mean with a component of variance τ² between occasions, by Mandel and Paule (Analytical Chemistry 42 (1970) 1194; Paule and
    Mandel, Journal of Research of the National Bureau of Standards 87 (1982) 377), as used for key comparisons (Kacker, Metrologia
    41 (2004) 132):

    .. math:: \hat x = \sum w_i x_i, \qquad w_i \propto \frac{1}{u_i^2 + \tau^2}, \qquad
              \sum \frac{(x_i - \hat x)^2}{u_i^2 + \tau^2} = n - 1, \qquad u^2(\hat x) = \left(\sum \frac{1}{u_i^2 + \tau^2}\right)^{-1}

    with τ² = 0 if even that leaves the sum below n - 1. Here uᵢ is from the sources that belong to one value alone; each shared source
    adds (Σ wᵢcᵢ)² to u².

    Examples
    --------
    >>> from sumpwise import pooled
    >>> told = pooled(["3.35(8) L", "3.42(6) L", "3.70(8) L"])
    >>> print(f"{told.value:.2f}, between them {told.between:.2f}")
    3.49+/-0.11 liter, between them 0.17 liter
    """
    given = listed(values, "values", "a list of values", "sequence of values")
    if not given:
        raise RangeError(
            "is not a sequence of values: it is empty", code="list.empty", argument="values", value=values, allowed="a list of values"
        )
    reads = [_ONE.read(value, f"values[{i}]") for i, value in enumerate(given)]
    kind = reads[0].kind
    for i, read in enumerate(reads):
        if read.kind != kind and {read.kind, kind} - set(PLAIN):
            problem = f"is {with_article(read.kind)}; expected {with_article(kind)}"
            raise UnitError(problem, code="unit.kind", argument=f"values[{i}]", value=given[i], hint="the same kind as values[0]")
    best = [uncertainty.nominal(read.value) for read in reads]
    own = _own([uncertainty.contributions(read.value) for read in reads])
    # scaled by the largest deviation or uncertainty, so that no square underflows or overflows
    whole = max(*own, *(abs(x - best[0]) for x in best)) or 1.0
    places, variances = [(x - best[0]) / whole for x in best], [(u / whole) ** 2 for u in own]
    between = _between(places, variances)
    weights, mean = _weighted(places, variances, between)
    tau = whole * math.sqrt(between)
    spread = uncertainty.source(0.0, tau * math.sqrt(math.fsum(w * w for w in weights)), name="between occasions")
    terms = [*zip(weights, (read.value for read in reads), strict=True), (1.0, spread)]
    value = answer(uncertainty.combine(best[0] + whole * mean, terms), kind, *reads)
    apart = answer(tau, "interval") if kind == "temperature" else answer(tau, kind, *reads)
    return Pooled(value, tuple(weights), apart, _chi_squared(places, variances))


def _own(parts: list[list[tuple[Any, float]]]) -> list[float]:
    """The standard uncertainty of each value from the sources that no other value shares."""
    seen: dict[Any, int] = {}
    for contributions in parts:
        for cause, part in contributions:
            seen[cause] = seen.get(cause, 0) + (part != 0)
    return [math.hypot(*(part for cause, part in contributions if seen[cause] < 2)) for contributions in parts]


def _weighted(best: list[float], own: list[float], between: float) -> tuple[list[float], float]:
    """Weights and mean; without a spread between, only the exact values count, if there are any."""
    variances = [variance + between for variance in own]
    least = min(variances)
    parts = [least / variance for variance in variances] if least else [float(not variance) for variance in variances]
    whole = math.fsum(parts)
    weights = [part / whole for part in parts]
    return weights, math.fsum(w * x for w, x in zip(weights, best, strict=True))


def _chi_squared(best: list[float], own: list[float]) -> float | None:
    """Chi-squared of the values about their weighted mean; None if one is exact."""
    if not all(own):
        return None
    _, mean = _weighted(best, own, 0.0)
    return math.fsum((x - mean) ** 2 / variance for x, variance in zip(best, own, strict=True))


def _between(best: list[float], own: list[float]) -> float:
    """The variance between, by Newton's method from below: the sum that must equal n - 1 is a convex, falling function of it."""
    middle = math.fsum(best) / len(best)
    far = max(abs(x - middle) for x in best)
    between = (TINIEST * far) ** 2
    if len(best) < 2 or not between:
        return 0.0
    first = True
    while True:
        _, mean = _weighted(best, own, between)
        terms = [((x - mean) ** 2, variance + between) for x, variance in zip(best, own, strict=True)]
        over = math.fsum(square / variance for square, variance in terms) - (len(best) - 1)
        if over <= 0:
            return 0.0 if first else between
        step = over / math.fsum(square / (variance * variance) for square, variance in terms)
        if step <= CLOSE * between:
            return between
        between, first = between + step, False
