"""Do two results agree: normalised error and zeta score."""

from __future__ import annotations

from typing import Any

from sumpwise import uncertainty
from sumpwise._math import every, sqrt
from sumpwise.errors import RangeError
from sumpwise.measurement.spreads import read_alike
from sumpwise.quantities.boundary import answer, evaluate

TYPE_CHECKING = False
if TYPE_CHECKING:
    from sumpwise.accepted import ValueLike


def _ratio(x: Any, u_x: Any, y: Any, u_y: Any) -> Any:
    return (x - y) / sqrt(u_x * u_x + u_y * u_y)


def _compared(values: dict[str, Any]) -> Any:
    import numpy

    (x, u_x), (y, u_y) = list(values.items())[:2], list(values.items())[2:]
    (first, second), (one, other) = read_alike([x, y], [u_x, u_y])
    best = [uncertainty.nominals(v) for v in (first, one, second, other)]
    try:
        numpy.broadcast_shapes(*map(numpy.shape, best))
    except ValueError:
        raise RangeError(
            "does not fit the other in shape", code="list.length", argument=u_y[0], value=u_y[1], hint="arrays of one length"
        ) from None
    if not every(best[1] + best[3] > 0):
        raise RangeError(
            "two exact values need no score: one of the uncertainties must be greater than 0", code="uncertainty.missing", argument=u_x[0],
            value=u_x[1],
        )  # fmt: skip
    return answer(evaluate(_ratio, best, (False,)), "number")


def normalized_error(x: ValueLike, u_expanded_x: ValueLike, y: ValueLike, u_expanded_y: ValueLike) -> Any:
    """Normalised error of two results with expanded uncertainties.

    Parameters
    ----------
    x, y : any kind, scalar or array
        The two results; only their best values count.
    u_expanded_x, u_expanded_y : same kind, scalar or array
        Their expanded uncertainties, both with the same coverage (usually k = 2).

    Returns
    -------
    float or ndarray
        The results agree when it lies between -1 and 1.

    Raises
    ------
    SumpwiseError
        For results of different kinds, or when both uncertainties are zero.

    See Also
    --------
    zeta_score : the same with standard uncertainties.

    Notes
    -----
    One outside source.

    ISO 13528:2022 clause 9.7 (E_n): (x - y)/√(U_x² + U_y²), for results that are independent of each other.

    Examples
    --------
    >>> from sumpwise import normalized_error
    >>> normalized_error("3.23 L", "0.16 L", "3.6 L", "0.1 L")
    -1.96
    """
    return _compared({"x": x, "u_expanded_x": u_expanded_x, "y": y, "u_expanded_y": u_expanded_y})


def zeta_score(x: ValueLike, u_x: ValueLike, y: ValueLike, u_y: ValueLike) -> Any:
    """Zeta score of two results with standard uncertainties.

    Parameters
    ----------
    x, y : any kind, scalar or array
        The two results; only their best values count.
    u_x, u_y : same kind, scalar or array
        Their standard uncertainties.

    Returns
    -------
    float or ndarray
        Beyond ±2 is questionable, beyond ±3 unsatisfactory.

    Raises
    ------
    SumpwiseError
        For results of different kinds, or when both uncertainties are zero.

    See Also
    --------
    normalized_error : the same with expanded uncertainties.

    Notes
    -----
    One outside source.

    ISO 13528:2022 clause 9.6: (x - y)/√(u_x² + u_y²), for results that are independent of each other.

    Examples
    --------
    >>> from sumpwise import zeta_score
    >>> zeta_score("86 °C", "1 °C", "88 °C", "1 °C")
    -1.414
    """
    return _compared({"x": x, "u_x": u_x, "y": y, "u_y": u_y})


normalized_error.kernel = _ratio  # type: ignore[attr-defined]
zeta_score.kernel = _ratio  # type: ignore[attr-defined]
