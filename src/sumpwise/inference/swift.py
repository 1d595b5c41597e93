"""Bursts of many circuits at once, as exactly as an eye can tell: the cooler is computed separately from what feeds it."""

from __future__ import annotations

from math import comb, perm

from sumpwise._math import exp, maximum, where
from sumpwise.mixing.circuit.flow import CLOSENESS, Rates, flow, series, turnovers
from sumpwise.mixing.circuit.state import Parameters, State, each

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

CLOSE = 1e-6
"""If something smaller than this still matters, the common series is used."""
QUICK = 0.5
"""Least number of turnovers of the cooler per turnover of what feeds it: with fewer, rounding would begin to show."""
SHORT = 3.0
"""Most turnovers of anything before the cooler in one burst."""

_tables: dict[tuple[int, int], tuple[Any, Any]] = {}


def pumped(built: Parameters, state: State, volume: Any, poured: Any, negligible: float) -> State:
    r"""As `flow` with the line open; if arrays need little precision, what has left is not reported.

    Notes
    -----
    A cooler with its lines turns over several times in a burst, the rest of the circuit hardly once, and one series for all has as many
    terms as the cooler asks for. Nothing comes back from it while the line is open, so the rest is a short series of its own. The inlet of
    the cooler, :math:`g(u) = \sum g_j u^j` with u from 0 to 1, then feeds m equal tanks that turn over z times each, exactly:

    .. math:: l_i(u) = p_i(u) + e^{-zu} \sum_{k<i} \frac{(zu)^k}{k!} (l_{i-k} - p_{i-k})(0), \qquad
        p_i = \left(1 + \frac{1}{z}\frac{d}{du}\right)^{-i} g = \sum_k \binom{k+i-1}{k} (-z)^{-k} g^{(k)}

    Circuits whose cooler is much slower than what feeds it use the common series.
    """
    if negligible < CLOSE:
        return flow(built, state, volume, poured, negligible=negligible)
    ratio = poured / where(volume > 0, volume, 1.0)
    rates = turnovers(built, state)
    fastest = maximum(maximum(rates.converter, rates.clutches), rates.pockets)
    fastest = maximum(fastest, (ratio + built.clutch_circulation + built.pocket_circulation) / state.sump_volume)
    apart = (QUICK * fastest <= rates.cooler) & (fastest * volume <= SHORT)
    apart = apart & (abs(ratio - 1) * volume <= CLOSENESS * state.sump_volume)
    if not getattr(apart, "ndim", 0) or not apart.any():
        return flow(built, state, volume, poured, negligible=negligible)
    if apart.all():
        return _apart(built, rates, state, volume, ratio, negligible)
    import numpy

    def of(chosen: Any) -> tuple[Parameters, State, Any, Any]:
        def rows(x: Any) -> Any:
            return x[chosen] if getattr(x, "ndim", 0) else x

        return Parameters(*map(rows, built)), each(rows, state), rows(volume), rows(poured)

    def together(quick: Any, slow: Any) -> Any:
        both = numpy.empty(apart.shape)
        both[apart], both[~apart] = quick, slow
        return both

    return each(together, pumped(*of(apart), negligible), flow(*of(~apart), negligible=negligible))


def _apart(built: Parameters, rates: Rates, state: State, volume: Any, ratio: Any, negligible: float) -> State:
    """The same for circuits that all have a fast cooler."""
    import numpy

    fed: list[Any] = []
    rest = series(built, rates, 0.0, state._replace(cooler=[]), volume, ratio - 1, ratio, False, negligible, fed)
    z = rates.cooler * volume
    inlet = numpy.array(numpy.broadcast_arrays(*fed, z)[:-1])
    at_end, tanks = _table(len(inlet), len(state.cooler))
    shrinking = numpy.empty_like(inlet)
    shrinking[0] = 1.0
    step = -1 / where(z > 0, z, 1.0)
    for k in range(1, len(inlet)):
        numpy.multiply(shrinking[k - 1], step, out=shrinking[k])
    end = tanks @ ((at_end @ inlet) * shrinking)
    inlet *= at_end.diagonal()[:, None]
    inlet *= shrinking
    off = [old - steady for old, steady in zip(state.cooler, tanks @ inlet, strict=True)]
    weight = exp(-z)
    for k in range(len(off)):
        for i in range(k, len(off)):
            end[i] += weight * off[i - k]
        weight = weight * z / (k + 1)
    return rest._replace(cooler=list(end), discharged=numpy.nan)


def _table(terms: int, tanks: int) -> tuple[Any, Any]:
    """Factors that turn the terms of an inlet into its derivatives at the end, and those into the value each tank settles to."""
    if (terms, tanks) not in _tables:
        import numpy

        at_end = [[perm(j, k) if j >= k else 0 for j in range(terms)] for k in range(terms)]
        settled = [[comb(k + i - 1, k) for k in range(terms)] for i in range(1, tanks + 1)]
        _tables[terms, tanks] = numpy.array(at_end, dtype=float), numpy.array(settled, dtype=float)
    return _tables[terms, tanks]
