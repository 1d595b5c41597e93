"""Whether two results agree: normalised error and zeta score."""

from __future__ import annotations

from typing import Any

from sumpwise._math import every, sqrt
from sumpwise.errors import RangeError
from sumpwise.measurement.spreads import kind_of, spread_of_kind
from sumpwise.quantities.arguments import unlimited
from sumpwise.quantities.boundary import answer, worked_out

TYPE_CHECKING = False
if TYPE_CHECKING:
    from sumpwise.accepted import ValueLike


def _ratio(x: Any, u_x: Any, y: Any, u_y: Any) -> Any:
    return (x - y) / sqrt(u_x * u_x + u_y * u_y)


def _compared(function: str, values: dict[str, Any], errors: str) -> Any:
    x, u_x, y, u_y = values
    kind = kind_of(values[x], x)
    result, spread = unlimited(kind), spread_of_kind(kind)

    def comparable(*best: Any) -> None:
        import numpy

        try:
            numpy.broadcast_shapes(*map(numpy.shape, best))
        except ValueError:
            raise RangeError(
                "does not have the same shape as the other", code="list.length", argument=u_y, value=values[u_y], hint="equal shapes"
            ) from None
        if not every(best[1] + best[3] > 0):
            raise RangeError(
                "two exact values have no score: at least one uncertainty must be greater than 0", code="uncertainty.missing",
                argument=u_x, value=values[u_x],
            )  # fmt: skip

    return worked_out(
        function, _ratio, {x: (result, values[x]), u_x: (spread, values[u_x]), y: (result, values[y]), u_y: (spread, values[u_y])},
        lambda score, reads, gaps: answer(score, "number", gaps=gaps), errors, judge=comparable, counted=True,
    )  # fmt: skip


def normalized_error(x: ValueLike, u_expanded_x: ValueLike, y: ValueLike, u_expanded_y: ValueLike, *, errors: str = "raise") -> Any:
    """Normalised error of two results with expanded uncertainties.

    Parameters
    ----------
    x, y : any kind, scalar or array
        The two results; only their best values are used.
    u_expanded_x, u_expanded_y : same kind, scalar or array
        Their expanded uncertainties, both with the same coverage (usually k = 2).
    errors : str
        What to do with bad rows of an array or a list: "raise" the first error, "mask" the rows with nan, or "collect" the errors
        beside the answer, as `.answer` and `.problems`: row, code and error of each.

    Returns
    -------
    float or ndarray
        The results agree if it is between -1 and 1.

    Raises
    ------
    SumpwiseError
        For results of different kinds, or if both uncertainties are zero.

    See Also
    --------
    zeta_score : the same with standard uncertainties.

    Notes
    -----
    ISO 13528:2022 clause 9.7 (E_n): (x - y)/√(U_x² + U_y²), for results that are independent of each other.

    Examples
    --------
    >>> from sumpwise import normalized_error
    >>> normalized_error("3.23 L", "0.16 L", "3.6 L", "0.1 L")
    -1.96
    """
    return _compared("normalized_error", {"x": x, "u_expanded_x": u_expanded_x, "y": y, "u_expanded_y": u_expanded_y}, errors)


def zeta_score(x: ValueLike, u_x: ValueLike, y: ValueLike, u_y: ValueLike, *, errors: str = "raise") -> Any:
    """Zeta score of two results with standard uncertainties.

    Parameters
    ----------
    x, y : any kind, scalar or array
        The two results; only their best values are used.
    u_x, u_y : same kind, scalar or array
        Their standard uncertainties.
    errors : str
        What to do with bad rows of an array or a list: "raise" the first error, "mask" the rows with nan, or "collect" the errors
        beside the answer, as `.answer` and `.problems`: row, code and error of each.

    Returns
    -------
    float or ndarray
        Beyond ±2 is questionable, beyond ±3 unsatisfactory.

    Raises
    ------
    SumpwiseError
        For results of different kinds, or if both uncertainties are zero.

    See Also
    --------
    normalized_error : the same with expanded uncertainties.

    Notes
    -----
    ISO 13528:2022 clause 9.6: (x - y)/√(u_x² + u_y²), for results that are independent of each other.

    Examples
    --------
    >>> from sumpwise import zeta_score
    >>> zeta_score("86 °C", "1 °C", "88 °C", "1 °C")
    -1.414
    """
    return _compared("zeta_score", {"x": x, "u_x": u_x, "y": y, "u_y": u_y}, errors)


normalized_error.kernel = _ratio  # type: ignore[attr-defined]
zeta_score.kernel = _ratio  # type: ignore[attr-defined]
