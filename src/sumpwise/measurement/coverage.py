"""Coverage factors from Student's distribution, and the degrees of freedom of a combined uncertainty."""

from __future__ import annotations

import math
from statistics import NormalDist
from typing import TYPE_CHECKING, Any

from sumpwise.errors import RangeError
from sumpwise.quantities.boundary import argument

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sumpwise.accepted import FractionLike

COVERAGE = argument("fraction", above=0.0, below=1.0, scalar=True, exact="give the probability alone")
"""A coverage probability."""

DOF = argument("number", above=0.0, scalar=True, exact="an uncertainty that is itself known to a share r has 1/(2r²) of them")
"""Finite degrees of freedom."""

MANY = 2000.0
"""Degrees of freedom above which the expansion in 1/ν is exact to 12 digits, up to a coverage of 1 - 1e-9."""


def coverage_factor(coverage: FractionLike = 0.95, dof: float = math.inf) -> float:
    """Coverage factor from Student's distribution: the k for which ±k·u covers a given probability.

    Parameters
    ----------
    coverage : fraction
        Probability to cover, between 0 and 1.
    dof : float
        Degrees of freedom of the standard uncertainty, greater than 0, not necessarily whole; infinite for the normal distribution.

    Returns
    -------
    float

    Raises
    ------
    RangeError
        If the probability is not between 0 and 1, or the degrees of freedom are not above 0.

    See Also
    --------
    expanded : the expanded uncertainty of a result.

    Notes
    -----
    GUM (JCGM 100:2008) clause G.3 and Table G.2. The tail area is half the regularised incomplete beta function
    I(ν/(ν + t²); ν/2, 1/2), computed by its continued fraction (Abramowitz & Stegun 26.5.8) and solved by Newton's method. The start is
    the normal quantile, which is below the root of a concave function, so every step comes closer from the same side. Above a thousand
    degrees of freedom the expansion A&S 26.7.5 is used.

    Examples
    --------
    >>> from sumpwise import coverage_factor
    >>> coverage_factor(0.99, dof=16)
    2.9208
    """
    share, freedom = COVERAGE.value(coverage, "coverage"), degrees_of_freedom(dof)
    try:
        return _student(share, freedom)
    except (ArithmeticError, ValueError):
        raise RangeError("is too small for a finite coverage factor", code="range.outside", argument="dof", value=dof) from None


def degrees_of_freedom(value: Any, name: str = "dof") -> float:
    """Degrees of freedom: a plain number above 0, or infinity."""
    return math.inf if value.__class__ is float and value == math.inf else float(DOF.value(value, name))


def _student(coverage: float, dof: float) -> float:
    tail = (1.0 - coverage) / 2.0
    t = -NormalDist().inv_cdf(tail)
    if dof > MANY:
        return _expansion(t, dof)
    scale = math.exp(math.lgamma((dof + 1) / 2) - math.lgamma(dof / 2)) / math.sqrt(dof * math.pi)
    for _ in range(200):
        step = (_tail(t, dof) - tail) / (scale * (1.0 + t * t / dof) ** (-(dof + 1) / 2))
        t += step
        if abs(step) <= 1e-15 * t:
            break
    return t


def _expansion(z: float, dof: float) -> float:
    """Abramowitz & Stegun 26.7.5: Student's quantile from the normal one, in powers of 1/ν."""
    if dof > 1e17:
        return z
    s = z * z
    return z * (
        1
        + (s + 1) / (4 * dof)
        + ((5 * s + 16) * s + 3) / (96 * dof**2)
        + (((3 * s + 19) * s + 17) * s - 15) / (384 * dof**3)
        + ((((79 * s + 776) * s + 1482) * s - 1920) * s - 945) / (92160 * dof**4)
    )


def _tail(t: float, dof: float) -> float:
    """Share of Student's distribution above t >= 0."""
    a, b = dof / 2, 0.5
    x, y = dof / (dof + t * t), t * t / (dof + t * t)
    if t == 0.0:
        return 0.5
    front = math.exp(math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log(y))
    if x < (a + 1) / (a + b + 2):
        return 0.5 * front * _fraction(x, a, b) / a
    return 0.5 - 0.5 * front * _fraction(y, b, a) / b


def _fraction(x: float, a: float, b: float) -> float:
    """Continued fraction of the incomplete beta function (A&S 26.5.8), by the modified Lentz method."""
    tiny = 1e-300
    c, d = 1.0, 1.0 - (a + b) * x / (a + 1)
    d = 1.0 / (d or tiny)
    value = d
    for m in range(1, 2000):
        for term in (m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m)), -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))):
            d = 1.0 / (1.0 + term * d or tiny)
            c = 1.0 + term / c or tiny
            value *= c * d
        if abs(c * d - 1.0) < 1e-16:
            break
    return value


def effective_dof(contributions: Sequence[float], dofs: Sequence[float]) -> float:
    """Effective degrees of freedom of independent contributions c·u, in one unit, to one standard uncertainty: each with its own, above 0.

    Those of a standard uncertainty that is known exactly are infinite, and so are the effective ones if all are. Signs do not matter.

    Notes
    -----
    Welch and Satterthwaite, GUM (JCGM 100:2008) equation G.2b: ν = u⁴ / Σ (uᵢ⁴/νᵢ), u² = Σ uᵢ².

    Examples
    --------
    GUM H.1.6, from the unrounded contributions:

    >>> from sumpwise.measurement.coverage import effective_dof
    >>> effective_dof([25, 9.69, 2.9, 16.6], [18, 25.6, 50, 2])
    16.7
    """
    largest = max((abs(u) for u in contributions), default=0.0)
    if not math.isfinite(largest):
        raise RangeError("must be finite", code="number.not_finite", argument="contributions", value=contributions)
    if largest == 0.0:
        return math.inf
    squares = [(u / largest) ** 2 for u in contributions]
    lost = math.fsum(s * s / dof for s, dof in zip(squares, dofs, strict=True))
    return math.fsum(squares) ** 2 / lost if lost else math.inf
