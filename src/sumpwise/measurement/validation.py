"""Whether first-order propagation can be trusted (JCGM 101:2008 clause 8)."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy

from sumpwise.errors import RangeError
from sumpwise.measurement._model import Model
from sumpwise.measurement.coverage import COVERAGE, coverage_factor, effective_dof
from sumpwise.measurement.reporting import whole_dof
from sumpwise.measurement.sampling import MonteCarlo, numerical_tolerance, until_stable
from sumpwise.quantities.spans import Span
from sumpwise.uncertainty import dof_of

TYPE_CHECKING = False
if TYPE_CHECKING:
    from sumpwise.accepted import FractionLike

STEP = 0.02
"""Step of the first derivatives, in standard uncertainties."""

WIDE = 0.25
"""Step of the second and third derivatives, in standard uncertainties."""

SHAPE = "the shape of the result is not normal, as its interval assumes"
CURVATURE = "the function is curved over the range of its inputs"


@dataclass(frozen=True, slots=True)
class Validation:
    """First order compared with Monte Carlo.

    Attributes
    ----------
    valid : bool
        Whether both ends of the coverage interval agree within the tolerance.
    value, standard_uncertainty : float or Quantity
        The first-order result.
    second_order_uncertainty : float or Quantity
        The standard uncertainty with the next higher-order terms.
    interval : Span
        The first-order coverage interval.
    monte_carlo : MonteCarlo
        The result it is compared with.
    lower_difference, upper_difference, tolerance : float or Quantity
        How far the ends differ, and how far they may.
    reason : str
        Why it is not valid, or an empty text: the shape of the result (although the function is straight enough), the function's
        curvature, a turning point, or draws that did not settle.
    """

    valid: bool
    value: Any
    standard_uncertainty: Any
    second_order_uncertainty: Any
    interval: Span
    monte_carlo: MonteCarlo
    lower_difference: Any
    upper_difference: Any
    tolerance: Any
    reason: str = ""

    def __bool__(self) -> bool:
        return self.valid

    def __repr__(self) -> str:
        return f"<Validation: {self}>"

    def __str__(self) -> str:
        verdict = "first order holds" if self.valid else f"first order does not hold: {self.reason}"
        return f"{verdict}; ends differ by {self.lower_difference:.2g} and {self.upper_difference:.2g}, allowed {self.tolerance:.2g}"


def validate(
    function: Callable[..., Any] | str, inputs: Any, digits: int = 1, coverage: FractionLike = 0.95, seed: Any = None, *,
    most: int = 10**7, part: str = "",
) -> Validation:  # fmt: skip
    """Say whether first-order propagation can be trusted for this function at these inputs.

    Parameters
    ----------
    function, inputs : callable, sequence or mapping
        As for `monte_carlo`.
    digits : int
        How many significant digits of the standard uncertainty matter, 1 to 4.
    coverage, seed : fraction, int
        As for `monte_carlo`.
    most : int
        The most draws to take.
    part : str
        As for `monte_carlo`.

    Returns
    -------
    Validation
        True in a condition if first order holds.

    Raises
    ------
    SumpwiseError
        As `monte_carlo`; or if the function has no finite answer around the best values.

    Notes
    -----
    JCGM 101:2008 clause 8.1: the ends y ± U of the first-order interval must agree with those of the symmetric Monte Carlo interval within
    the numerical tolerance, and the draws must be numerous enough to be stable to a fifth of that (8.2). The uncertainty to the next order
    follows the note to GUM 5.1.2, with derivatives by differences over a quarter of a standard uncertainty.

    Examples
    --------
    A turning point, where first order gives nothing:

    >>> from sumpwise import measured, validate
    >>> x = measured(0, standard=0.005)
    >>> validate(lambda x: x * x, [x], seed=1).valid
    False
    """
    share = COVERAGE.value(coverage, "coverage")
    model = Model(function, inputs, part)
    if not model.sources:
        raise RangeError("has no uncertain input", code="uncertainty.missing", argument="inputs", value=inputs)
    value, slopes, second, bent = _derivatives(model)
    u = math.sqrt(math.fsum(c * c for c in slopes))
    dof = whole_dof(effective_dof(slopes, list(map(dof_of, model.sources))))
    factor = coverage_factor(share, dof)
    reach = factor * u
    drawn = until_stable(model, digits, share, seed, most, 5.0)
    ends = [model.magnitude(end) for end in (drawn.symmetric_interval.lower, drawn.symmetric_interval.upper)]
    lower, upper = abs(value - reach - ends[0]), abs(value + reach - ends[1])
    tolerance = numerical_tolerance(u, digits)
    reason = ""
    if not u:
        reason = "at a turning point it gives no uncertainty at all"
    elif not drawn.stable:
        reason = f"the draws did not settle within {most}"
    elif not (lower <= tolerance and upper <= tolerance):
        reason = SHAPE if bent * factor**2 <= tolerance else CURVATURE
    return Validation(
        not reason, model.answer(value), model.answer(u, spread=True), model.answer(second, spread=True),
        Span(model.answer(value - reach), model.answer(value + reach)), drawn,
        model.answer(lower, spread=True), model.answer(upper, spread=True), model.answer(tolerance, spread=True), reason,
    )  # fmt: skip


def _derivatives(model: Model) -> tuple[float, list[float], float, float]:
    """Value, contributions c·u, the standard uncertainty to the next order (GUM 5.1.2, note), and the curvature, in one vectorised call.

    The curvature is how far the second derivatives together can move the answer, one standard uncertainty from the best values.
    """
    n = len(model.sources)
    points: list[dict[int, float]] = [{}]
    index: dict[tuple[tuple[int, float], ...], int] = {(): 0}

    def place(*moves: tuple[int, float]) -> None:
        key = tuple(sorted(moves))
        if key not in index:
            index[key] = len(points)
            points.append(dict(key))

    for i in range(n):
        for step in (STEP, -STEP, 2 * STEP, -2 * STEP, WIDE, -WIDE, 2 * WIDE, -2 * WIDE):
            place((i, step))
        for j in range(i):
            for a in (WIDE, -WIDE):
                for b in (WIDE, -WIDE):
                    place((i, a), (j, b))
    z = [numpy.array([p.get(i, 0.0) for p in points]) for i in range(n)]
    y = model.evaluate(z, len(points), everywhere=True)
    if not numpy.isfinite(y).all():
        raise RangeError("the function has no finite answer near the best values", code="answer.none", argument="inputs")

    def at(*moves: tuple[int, float]) -> float:
        return float(y[index[tuple(sorted(moves))]])

    centre = at()
    slopes = [(8 * (at((i, STEP)) - at((i, -STEP))) - at((i, 2 * STEP)) + at((i, -2 * STEP))) / (12 * STEP) for i in range(n)]
    variance, bent = math.fsum(c * c for c in slopes), 0.0
    for i in range(n):
        bend = (at((i, WIDE)) - 2 * centre + at((i, -WIDE))) / WIDE**2
        third = (at((i, 2 * WIDE)) - 2 * at((i, WIDE)) + 2 * at((i, -WIDE)) - at((i, -2 * WIDE))) / (2 * WIDE**3)
        variance += bend * bend / 2 + slopes[i] * third
        bent += abs(bend) / 2
        for j in range(i):
            pp, pm, mp, mm = (at((i, a), (j, b)) for a in (WIDE, -WIDE) for b in (WIDE, -WIDE))
            twist = (pp - pm - mp + mm) / (4 * WIDE**2)
            ij2 = ((pp - 2 * at((i, WIDE)) + pm) - (mp - 2 * at((i, -WIDE)) + mm)) / (2 * WIDE**3)
            ji2 = ((pp - 2 * at((j, WIDE)) + mp) - (pm - 2 * at((j, -WIDE)) + mm)) / (2 * WIDE**3)
            variance += twist * twist + slopes[i] * ij2 + slopes[j] * ji2
            bent += abs(twist)
    return centre, slopes, math.sqrt(max(variance, 0.0)), bent
