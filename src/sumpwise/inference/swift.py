"""Bursts of many circuits at once, as exactly as an eye can tell: one step after the other from the sump to the end of the line."""

from __future__ import annotations

from itertools import pairwise
from math import comb, factorial, perm

from sumpwise._math import exp, maximum, where
from sumpwise.mixing.circuit.compartments import CIRCULATIONS
from sumpwise.mixing.circuit.flow import CLOSENESS, flow, turnovers
from sumpwise.mixing.circuit.state import Parameters, Rates, State, each

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Any

CLOSE = 1e-6
"""If something smaller than this still matters, the common series is used."""
SHORT = 3.0
"""Most turnovers of anything before the cooler in one burst."""
QUICK = 0.5
"""Fewest turnovers of the cooler in one burst, and for each turnover of anything before it, with which rounding does not show in the closed
form: with fewer it is a series as well."""
FIRST, MOST = 6, 30
"""The series ends after these many terms at the earliest and at the latest."""

WIDE = 10.0
"""Volume, in litres, of an imaginary sump of new fluid that models what is drawn in first; the size does not matter."""

_tables: dict[tuple[int, int], tuple[Any, Any, Any]] = {}


class Tanks:
    """How many tanks the converter of each circuit of a batch has.

    A batch has as many rows of tanks as its largest converter. Rows that a circuit does not have hold the mean of those it has, so that
    the mean over all rows is the mean over its own.
    """

    __slots__ = ("_room", "counts", "groups")

    def __init__(self, groups: Sequence[tuple[int, int]]) -> None:
        """From pairs: a number of tanks, and how many circuits in a row have it."""
        import numpy

        self._room: dict[int, Any] = {}
        self.groups: list[tuple[int, slice]] = []
        first = 0
        for count, size in groups:
            self.groups.append((count, slice(first, first + size)))
            first += size
        self.counts: Any = numpy.repeat([float(count) for count, _ in groups], [size for _, size in groups])

    def room(self, rows: int) -> Any:
        """Memory for the terms of a series of so many rows, the same each time it is asked for."""
        import numpy

        if rows not in self._room:
            self._room[rows] = numpy.empty((MOST + 1, rows, self.counts.size))
        return self._room[rows]

    def joined(self, later: Tanks) -> Tanks:
        """Both batches, one after the other."""
        return Tanks([(count, circuits.stop - circuits.start) for count, circuits in (*self.groups, *later.groups)])

    def ends(self, rows: Any) -> Any:
        """The last tank of each circuit; `rows` has the tanks in its last dimension but one."""
        import numpy

        if len(self.groups) == 1:
            return rows[..., self.groups[0][0] - 1, :]
        return numpy.concatenate([rows[..., count - 1, circuits] for count, circuits in self.groups], axis=-1)

    def level(self, rows: Any) -> Any:
        """The same tanks, with the mean in each row that a circuit does not have."""
        for count, circuits in self.groups:
            if count < len(rows):
                rows[count:, circuits] = sum(rows[1:count, circuits], start=rows[0, circuits]) / count
        return rows


def pumped(built: Parameters, state: State, volume: Any, poured: Any, negligible: float, tanks: Tanks | None = None) -> State:
    r"""As `flow` with the line open; if arrays need little precision, what has left is not reported.

    Parameters
    ----------
    tanks : Tanks, optional
        If the converters of the circuits have different numbers of tanks; by default all of them have those of the state.

    Notes
    -----
    While the line is open nothing comes back from the cooler, nor from the converter, so each is fed by what is before it and no more. The
    sump with its clutches and pockets, and the converter behind it, are short series in u, which goes from 0 to 1 during the burst. The
    inlet of the cooler, :math:`g(u) = \sum g_j u^j`, then feeds m equal tanks that turn over z times each, exactly:

    .. math:: l_i(u) = p_i(u) + e^{-zu} \sum_{k<i} \frac{(zu)^k}{k!} (l_{i-k} - p_{i-k})(0), \qquad
        p_i = \left(1 + \frac{1}{z}\frac{d}{du}\right)^{-i} g = \sum_k \binom{k+i-1}{k} (-z)^{-k} g^{(k)}

    A cooler that hardly turns over is a series as well. Circuits for which a series would be long use the common one.
    """
    if negligible < CLOSE:
        return flow(built, state, volume, poured, negligible=negligible)
    ratio = poured / where(volume > 0, volume, 1.0)
    rates = turnovers(built, state)
    if tanks is not None:
        rates = rates._replace(converter=rates.converter * (tanks.counts / len(state.converter)))
    fastest = maximum(rates.converter, sum(built.circulations, ratio) / state.sump_volume)
    for side in CIRCULATIONS:
        fastest = maximum(fastest, getattr(rates, side))
    short = (fastest * volume <= SHORT) & (abs(ratio - 1) * volume <= CLOSENESS * state.sump_volume)
    if not getattr(short, "ndim", 0):
        return flow(built, state, volume, poured, negligible=negligible)
    tanks = tanks or Tanks([(len(state.converter), short.size)])
    if short.all():
        return _short(built, rates, state, volume, ratio, fastest * volume, negligible, tanks)
    return _sorted(built, state, volume, poured, negligible, tanks, short)


def washed(built: Parameters, state: State, volume: Any, negligible: float, tanks: Tanks | None = None) -> State:
    """As `pumped` while nothing but new fluid comes from the sump, which stays as it is with its clutches and pockets."""
    turns = (1 - built.bypass) * (len(state.converter) if tanks is None else tanks.counts) / built.converter * volume
    if negligible < CLOSE or not getattr(turns, "ndim", 0) or not (turns <= SHORT).all():
        still = built._replace(**dict.fromkeys(CIRCULATIONS.values(), 0.0))
        new = state._replace(sump=0.0 * state.sump, sump_volume=0.0 * state.sump_volume + WIDE)
        fed = pumped(still, new, volume, volume, negligible, tanks)
        return state._replace(converter=fed.converter, cooler=fed.cooler, discharged=fed.discharged)
    import numpy

    tanks = tanks or Tanks([(len(state.converter), turns.size)])
    terms = tanks.room(len(state.converter) + 1)
    terms[:, 0] = 0.0
    for row, old in zip(terms[0, 1:], state.converter, strict=True):
        row[:] = old
    for j in range(1, MOST + 1):
        tank = terms[j, 1:]
        numpy.multiply(turns, terms[j - 1, :-1] - terms[j - 1, 1:], out=tank)
        tank *= 1 / j
        if _ends(terms, j, negligible):
            break
    terms = terms[: j + 1]
    cooler = _cooler(built, terms, volume, turns, state.cooler, negligible, tanks)
    return state._replace(converter=tanks.level(terms[:, 1:].sum(axis=0)), cooler=cooler, discharged=numpy.nan)


def _short(
    built: Parameters, rates: Rates, state: State, volume: Any, ratio: Any, most: Any, negligible: float, tanks: Tanks
) -> State:  # fmt: skip
    """A burst of circuits for which the series are short.

    `most` is how often whatever turns over fastest before the cooler does so.
    """
    import numpy

    size, sides = tanks.counts.size, len(CIRCULATIONS)
    terms = tanks.room(sides + 1 + len(state.converter))
    for row, old in zip(terms[0], (*state.sides, state.sump, *state.converter), strict=True):
        row[:] = old
    part = volume / state.sump_volume
    change, through = (ratio - 1) * part, rates.converter * volume
    turns, held, leaving = numpy.empty((sides, size)), numpy.empty((sides, size)), numpy.empty(size)
    for k, name in enumerate(CIRCULATIONS):
        turns[k], held[k] = getattr(rates, name) * volume, -getattr(built, name) / state.sump_volume
    leaving[:] = -ratio * part
    for j in range(1, MOST + 1):
        before, now = terms[j - 1], terms[j]
        sump = now[sides]
        numpy.multiply(turns, before[sides] - before[:sides], out=now[:sides])
        numpy.multiply(leaving, before[sides], out=sump)
        for taken in held * now[:sides]:
            sump += taken
        leaving -= change
        numpy.multiply(through, before[sides:-1] - before[sides + 1 :], out=now[sides + 1 :])
        now *= 1 / j
        if _ends(terms, j, negligible):
            break
    terms = terms[: j + 1]
    cooler = _cooler(built, terms[:, sides:], volume, most, state.cooler, negligible, tanks)
    end = terms.sum(axis=0)
    return State(state.sump_volume + (ratio - 1) * volume, end[sides], tanks.level(end[sides + 1 :]), cooler, *end[:sides], numpy.nan)


def _ends(terms: Any, j: int, negligible: float) -> bool:
    """Whether what follows term j is negligible: from the first that is looked at, each term is less than half the one before."""
    if j < FIRST or j % 2:
        return False
    if j == MOST:
        raise ArithmeticError("the series does not end")
    return bool(abs(terms[j]).max() <= negligible)


def _cooler(
    built: Parameters, terms: Any, volume: Any, most: Any, cooler: Sequence[Any], negligible: float, tanks: Tanks
) -> Any:  # fmt: skip
    """The tanks of the cooler at the end of a burst; `terms` are those of the sump and of the converter's tanks."""
    import numpy

    inlet = tanks.ends(terms[:, 1:])
    inlet = inlet + built.bypass * (terms[:, 0] - inlet)
    m, size = len(cooler), inlet.shape[1]
    old, z = numpy.empty((m, size)), numpy.empty(size)
    for row, tank in zip(old, cooler, strict=True):
        row[:] = tank
    z[:] = m / built.cooler * volume
    slow = numpy.flatnonzero(z < QUICK * numpy.maximum(most, 1.0))
    turns = numpy.maximum(z, QUICK)
    at_start, at_end, settled = _table(len(inlet), m)
    shrinking = numpy.empty_like(inlet)
    shrinking[0], step = 1.0, -1 / turns
    for before, now in pairwise(shrinking):
        numpy.multiply(before, step, out=now)
    end = settled @ ((at_end @ inlet) * shrinking)
    off = old - settled @ (inlet * at_start * shrinking)
    weight = exp(-turns)
    for k in range(m):
        end[k:] += weight * off[: m - k]
        weight = weight * turns / (k + 1)
    if slow.size:
        end[:, slow] = _dragging(inlet.take(slow, axis=1), z[slow], old.take(slow, axis=1), negligible)
    return end


def _dragging(inlet: Any, z: Any, old: Any, negligible: float) -> Any:
    """The same for coolers that barely turn over, which have a series of their own."""
    import numpy

    end, now = old.copy(), numpy.concatenate([inlet[:1], old])
    for j in range(1, MOST + 1):
        now[1:] = z / j * (now[:-1] - now[1:])
        end += now[1:]
        now[0] = inlet[j] if j < len(inlet) else 0.0
        if j % 2 == 0 and abs(now).max() <= negligible:
            break
    return end


def _table(terms: int, tanks: int) -> tuple[Any, Any, Any]:
    """What turns the terms of an inlet into its derivatives at the start and at the end, and those into what each tank settles to."""
    if (terms, tanks) not in _tables:
        import numpy

        at_start = [[factorial(j)] for j in range(terms)]
        at_end = [[perm(j, k) if j >= k else 0 for j in range(terms)] for k in range(terms)]
        settled = [[comb(k + i - 1, k) for k in range(terms)] for i in range(1, tanks + 1)]
        _tables[terms, tanks] = tuple(numpy.array(one, dtype=float) for one in (at_start, at_end, settled))  # type: ignore[assignment]
    return _tables[terms, tanks]


def _sorted(
    built: Parameters, state: State, volume: Any, poured: Any, negligible: float, tanks: Tanks, short: Any
) -> State:  # fmt: skip
    """The same with the common series for those circuits that are not `short`."""
    import numpy

    size = short.size

    def of(chosen: Any, count: int) -> tuple[Parameters, State, Any, Any]:
        def rows(x: Any) -> Any:
            return x[chosen] if getattr(x, "ndim", 0) else x

        part = state._replace(converter=state.converter[:count])
        return Parameters(*map(rows, built)), each(rows, part), rows(volume), rows(poured)

    whole = each(lambda x: numpy.array(numpy.broadcast_to(x, (size,)), dtype=float), state)
    converter: Any = numpy.array(whole.converter)
    whole = whole._replace(converter=converter, discharged=numpy.nan)

    def put(chosen: Any, end: State) -> None:
        for name in ("sump_volume", "sump", *CIRCULATIONS):
            getattr(whole, name)[chosen] = getattr(end, name)
        for into, rows in zip((whole.converter, whole.cooler), (end.converter, end.cooler), strict=True):
            for tank, row in zip(into, rows, strict=False):
                tank[chosen] = row

    groups = [(count, int(short[circuits].sum())) for count, circuits in tanks.groups]
    quick = [one for one in groups if one[1]]
    if quick:
        put(short, pumped(*of(short, len(state.converter)), negligible, Tanks(quick)))
    for count, circuits in tanks.groups:
        long = numpy.flatnonzero(~short[circuits]) + circuits.start
        if long.size:
            put(long, flow(*of(long, count), negligible=negligible))
    tanks.level(converter)
    return whole
