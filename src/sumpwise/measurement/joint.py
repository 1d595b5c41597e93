"""One value from several that rest on the same readings: generalised least squares."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, NamedTuple

from sumpwise import uncertainty
from sumpwise.errors import RangeError, expect_few, listed
from sumpwise.quantities.boundary import answer, argument

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sumpwise.accepted import ArrayLike, VolumeLike

_VOLUME = argument("volume", scalar=True)

TINIEST = 1e-100
"""A standard uncertainty below this many litres, or this share of the largest one, counts as zero."""

MOST_ALIKE = 1e-10
"""The least share of its variance that an estimate must not share with others; with less they are the same estimate."""


class BestEstimate(NamedTuple):
    """The combined `value`, the `weights` of the estimates (they add up to 1), and `chi_squared` for their spread about it."""

    value: Any
    weights: tuple[float, ...]
    chi_squared: float

    @property
    def chance(self) -> float:
        """Probability that consistent estimates would differ by as much or more: below 1 % they contradict each other."""
        return beyond(self.chi_squared, len(self.weights) - 1)


def best_estimate(
    estimates: Sequence[VolumeLike] | ArrayLike, covariance: Sequence[Sequence[float]] | ArrayLike | None = None
) -> BestEstimate:
    r"""Best value of a volume from several estimates that share sources of error.

    The level by the stick and the level by the ledger, for example, both rest on the first stick reading: treated as independent, they
    would count it twice.

    Parameters
    ----------
    estimates : sequence of volumes
        At most 500. Uncertain, and correlated if they share a source; or plain if `covariance` is given. A column is one estimate in each
        row: those of `measured` are independent, or share the error that its `shared` names.
    covariance : array of numbers, n by n, optional
        Covariance of the estimates, in litres squared; by default that of the uncertain numbers.

    Returns
    -------
    BestEstimate
        `.value` in the unit of the first estimate, `.weights` and `.chi_squared` (with one degree of freedom fewer than estimates). A
        weight may be negative or above 1: one estimate can cancel the error of another.

    Raises
    ------
    SumpwiseError
        For more than 500 estimates, for one that cannot be read or is exact, for estimates that rest on exactly the same sources (such as a
        column of which all the uncertainty is shared), or for a matrix that is not a covariance. All rows make one value, so a bad one is
        never left out.

    Notes
    -----
    Aitken's estimator, with the covariance matrix V of the estimates y (JCGM 100, F.1.2, for correlated input):

    .. math:: \hat y = \sum w_i y_i, \qquad w = \frac{V^{-1} 1}{1^T V^{-1} 1}, \qquad u^2(\hat y) = \frac{1}{1^T V^{-1} 1}

    Examples
    --------
    >>> from sumpwise import best_estimate
    >>> best_estimate(["1.00 L", "1.30 L"], [[0.01, 0.0], [0.0, 0.02]]).weights
    (0.667, 0.333)
    """
    given = listed(estimates, "estimates", "a list of volumes", "sequence of estimates")
    if not given:
        raise RangeError(
            "is not a sequence of estimates: it is empty", code="list.empty", argument="estimates", value=estimates,
            allowed="a list of volumes",
        )  # fmt: skip
    expect_few(given, "estimates", "estimates")
    askers = [_VOLUME.read(estimate, f"estimates[{i}]") for i, estimate in enumerate(given)]
    read = [asker.value for asker in askers]
    if covariance is None:
        found = joined(read, uncertainty.by_source(read)[1], estimates)
    else:
        weights, value, spread, spent = _weighed(read, _checked(covariance, len(read)), estimates, covariance)
        found = BestEstimate(uncertainty.source(value, spread, name="best estimate"), weights, spent)
    return found._replace(value=answer(found.value, "volume", *askers))


def joined(estimates: Sequence[Any], parts: Any, given: Any) -> BestEstimate:
    """The same for uncertain numbers whose contributions from each source are known, a row for each; `given` is what messages show."""
    weights, value, _, spent = _weighed(estimates, parts @ parts.T, given)
    return BestEstimate(uncertainty.combine(value, list(zip(weights, estimates, strict=True))), weights, spent)


def _weighed(estimates: Sequence[Any], matrix: Any, given: Any, covariance: Any = None) -> tuple[tuple[float, ...], float, float, float]:
    """The weights of estimates, what they give and its standard uncertainty, and their chi-squared about it."""
    import numpy

    best, spread = numpy.array(list(map(uncertainty.nominal, estimates))), matrix.diagonal() ** 0.5
    least = int(spread.argmin())
    if not spread[least] > max(TINIEST, TINIEST * spread.max()):
        raise RangeError("is exact", code="uncertainty.missing", argument=f"estimates[{least}]", value=given, allowed="uncertain values")
    sizes, axes = numpy.linalg.eigh(matrix / numpy.outer(spread, spread))
    if sizes[0] < MOST_ALIKE:
        if covariance is None:
            raise RangeError(
                "rest on exactly the same sources", code="evidence.one_source", argument="estimates", value=given,
                hint="leave one of them out",
            )  # fmt: skip
        raise RangeError(
            "is not the covariance of separate estimates", code="uncertainty.covariance", argument="covariance", value=covariance,
            allowed="positive definite",
        )  # fmt: skip
    pull = axes @ ((1.0 / spread) @ axes / sizes) / spread
    total = float(pull.sum())
    weights = pull / total
    value = float(weights @ best)
    with numpy.errstate(all="ignore"):
        spent = float((((best - value) / spread @ axes) ** 2 / sizes).sum())
    return tuple(weights.tolist()), value, total**-0.5, answer(spent, "number")


def beyond(chi_squared: float, freedom: int) -> float:
    """Upper tail of the chi-squared distribution, in closed form for a whole number of degrees of freedom."""
    half = chi_squared / 2
    if not freedom:
        return 1.0
    tail = math.erfc(math.sqrt(half)) if freedom % 2 else 0.0
    for k in range(freedom // 2):
        power = k + 0.5 * (freedom % 2)
        tail += math.exp(power * math.log(half) - half - math.lgamma(power + 1)) if half else float(not power)
    return min(tail, 1.0)


def _checked(covariance: Any, size: int) -> Any:
    import numpy

    try:
        matrix = numpy.array(covariance, dtype=float)
    except (TypeError, ValueError):
        raise RangeError(
            "is not a matrix of numbers", code="uncertainty.covariance", argument="covariance", value=covariance,
            hint="give plain numbers, in litres squared",
        ) from None  # fmt: skip
    if matrix.shape != (size, size) or not numpy.isfinite(matrix).all() or not numpy.allclose(matrix, matrix.T, rtol=1e-9, atol=0):
        raise RangeError(
            "is not a covariance", code="uncertainty.covariance", argument="covariance", value=covariance,
            allowed=f"a symmetric matrix, {size} by {size}",
        )  # fmt: skip
    if not (matrix.diagonal() >= 0).all():
        raise RangeError(
            "is not a covariance", code="uncertainty.covariance", argument="covariance", value=covariance,
            allowed="variances that are not negative",
        )  # fmt: skip
    return matrix
