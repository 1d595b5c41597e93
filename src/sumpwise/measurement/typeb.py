"""Type B evaluation: from limits, resolutions and certificates to standard uncertainties (GUM clause 4.3)."""

from __future__ import annotations

import math
from typing import Any

from sumpwise import uncertainty
from sumpwise.errors import RangeError, expect_choice
from sumpwise.measurement.coverage import degrees_of_freedom
from sumpwise.measurement.spreads import kind_of, read_any, read_spread, spread_of_kind
from sumpwise.quantities.boundary import argument, worked_out
from sumpwise.quantities.magnitudes import has_objects

TYPE_CHECKING = False
if TYPE_CHECKING:
    from sumpwise.accepted import ValueLike

DIVISORS = {
    "rectangular": math.sqrt(3.0),
    "triangular": math.sqrt(6.0),
    "arcsine": math.sqrt(2.0),
    "resolution": math.sqrt(12.0),
    "normal": 2.0,
}
"""Divisor of a half-width; for "resolution" that of the whole step, for "normal" the coverage factor of an expanded uncertainty."""

COVERED = argument("number", above=0.0, scalar=True, exact="give the factor alone")
"""A coverage factor."""


def _half_width_kernel(half_width: Any, divisor: Any) -> Any:
    return half_width / divisor


def standard_uncertainty(half_width: ValueLike, shape: str = "rectangular", *, errors: str = "raise") -> Any:
    """Standard uncertainty from a half-width.

    Parameters
    ----------
    half_width : any kind, scalar or array
        Half the width between the limits; for "resolution" the whole step of the display; for "normal" an expanded uncertainty with a
        coverage factor of 2.
    shape : str
        "rectangular", "triangular", "arcsine" (a cycle between limits), "resolution" or "normal".
    errors : str
        What to do with bad rows of an array or a list: "raise" the first error, "mask" the rows with nan, or "collect" the errors
        beside the answer, as `.answer` and `.problems`: row, code and error of each.

    Returns
    -------
    float, ndarray or Quantity
        As `half_width` was given.

    Raises
    ------
    SumpwiseError
        For a negative half-width or an unknown shape.

    Notes
    -----
    GUM (JCGM 100:2008) clause 4.3 and F.2.2.1: a/√3, a/√6, a/√2 (JCGM 101:2008 clause 6.4.6 for the arcsine), step/√12, U/2.

    Examples
    --------
    >>> from sumpwise import standard_uncertainty
    >>> standard_uncertainty("0.0625 L").magnitude
    0.0361
    """
    kind = kind_of(half_width, "half_width")
    return worked_out(
        "standard_uncertainty", _half_width_kernel, {"half_width": (spread_of_kind(kind), half_width)},
        lambda half, reads, gaps: reads[0].answer(half, gaps=gaps), errors, held=[_divisor(shape)],
    )  # fmt: skip


def _divisor(shape: str) -> float:
    expect_choice(shape, DIVISORS, "shape", "distribution shape")
    return DIVISORS[shape]


standard_uncertainty.kernel = _half_width_kernel  # type: ignore[attr-defined]


def _doubtful(x: Any) -> bool:
    return hasattr(x, "nominal_value") or has_objects(x)


def measured(
    value: ValueLike, limits: ValueLike | None = None, standard: ValueLike | None = None, expanded: ValueLike | None = None, k: float = 2,
    shape: str = "rectangular", *, dof: float = math.inf, name: str = "", shared: str = "",
) -> Any:  # fmt: skip
    """Make a measured value with an uncertainty.

    Every call is a separate measurement, independent of all others unless `shared` says otherwise; using one result twice means using the
    same measurement twice, even through copies and pickles.

    Parameters
    ----------
    value : any kind, scalar or array
        Best value; a plain number if dimensionless. An array is a column in which each row is a separate measurement.
    limits : same kind as value, scalar or (for an array of values) array, optional
        Half-width of the limits around the value, with the distribution `shape`; for the shape "resolution" the step of the display.
    standard : same kind as value, scalar or (for an array of values) array, optional
        Standard uncertainty; the distribution is normal.
    expanded : same kind as value, scalar or (for an array of values) array, optional
        Expanded uncertainty with coverage factor `k`; the distribution is normal.
    k : float
        Coverage factor of `expanded`.
    shape : str
        Shape of `limits`: "rectangular", "triangular", "arcsine", "resolution"; or "normal", for limits of two standard uncertainties.
    dof : float
        Degrees of freedom of the uncertainty: 1/(2r²) for limits that are themselves uncertain by the share r (GUM G.4.2).
    name : str
        Its name in a budget.
    shared : str
        The instrument or standard whose error this is: values that name the same one share its error, each scaled by its own uncertainty,
        wherever and whenever they are made.

    Returns
    -------
    Quantity or uncertain number
        In the unit of `value`, with an uncertain magnitude; a plain one if the uncertainty is zero. For arrays the magnitude is a column:
        its `.nominal_value` and `.std_dev` are arrays, and each row is an uncertain number.

    Raises
    ------
    SumpwiseError
        Unless exactly one of `limits`, `standard` and `expanded` is given, and is finite and not negative.

    Notes
    -----
    GUM (JCGM 100:2008) clauses 4.2 and 4.3. For a temperature, uncertainties in °C, °F and K are intervals.

    Each row of a column has an error of its own, independent of all other rows and columns. With `shared`, one error moves all rows
    together, each by its own uncertainty, and the same error is in every column that names it: in the difference of two such rows it
    cancels. The column is one thing, so there is no `errors`: a row that cannot be read, is nan or is masked refuses all of it.

    Examples
    --------
    >>> from sumpwise import measured, quantity
    >>> reading = measured("3.35 L", limits="0.0625 L", name="pail reading")
    >>> print(f"{reading.magnitude.std_dev:.3f} L")
    0.036 L
    >>> apart = measured(quantity([3.30, 3.42], "L"), standard="0.03 L")
    >>> together = measured(quantity([3.30, 3.42], "L"), standard="0.03 L", shared="scale of the pail")
    >>> print(f"{apart[1] - apart[0]:.2f}, {together[1] - together[0]:.2f}")
    0.12+/-0.04 liter, 0.12+/-0 liter
    """
    given = [(word, spread) for word, spread in (("limits", limits), ("standard", standard), ("expanded", expanded)) if spread is not None]
    if len(given) != 1:
        words = ", ".join(word for word, _ in given) or "none of them"
        raise RangeError("takes exactly one of limits, standard and expanded", code="argument.together", argument="measured", value=words)
    k, dof = COVERED.value(k, "k"), degrees_of_freedom(dof)
    read = read_any(value, "value")
    if _doubtful(read.value):
        raise RangeError(
            "has an uncertainty already", code="uncertainty.unexpected", argument="value", value=value,
            hint="give it once, here or in the text",
        )  # fmt: skip
    [(word, spread)] = given
    size = read_spread(spread, read.kind, word)
    if getattr(size, "ndim", 0) and not getattr(read.value, "ndim", 0):
        raise RangeError(
            "gives several uncertainties to one value", code="list.length", argument=word, value=spread,
            hint="give one half-width, the most that the value may be off" if word == "limits" else "give one",
        )  # fmt: skip
    if _doubtful(size):
        raise RangeError(
            "is an uncertainty and must not have its own", code="uncertainty.unexpected", argument=word, value=spread
        )  # fmt: skip
    if word == "limits":
        u = size / _divisor(shape)
        drawn = "rectangular" if shape == "resolution" else shape
    else:
        u, drawn = (size if word == "standard" else size / k), "normal"
    if getattr(read.value, "ndim", 0):
        common = uncertainty.shared(shared, shape=drawn, dof=dof) if shared else None
        try:
            return read.answer(uncertainty.measurements(read.value, u, shape=drawn, dof=dof, name=name, shared=common))
        except ValueError:
            raise RangeError(
                "is not as long as the values", code="list.length", argument=word, value=spread, hint="one for each row, or one for all",
            ) from None  # fmt: skip
    if shared and u:
        return read.answer(uncertainty.combine(float(read.value), [(u, uncertainty.shared(shared, shape=drawn, dof=dof))]))
    return read.answer(uncertainty.source(float(read.value), u, shape=drawn, dof=dof, name=name or (str(value) if read.written else "")))
