"""Bursts of many circuits at once, as exactly as an eye can tell: one step after the other from the sump to the end of the line."""

from __future__ import annotations

from itertools import groupby, pairwise
from math import comb, factorial
from operator import itemgetter

from sumpwise._blocks import product
from sumpwise._math import where
from sumpwise.mixing.circuit.compartments import CIRCULATIONS
from sumpwise.mixing.circuit.flow import flow
from sumpwise.mixing.circuit.state import SIDES, Parameters, State, each

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Sequence
    from typing import Any

CLOSE = 1e-6
"""If something smaller than this still matters, the common series is used."""
SHORT = 3.0
"""Most turnovers of anything before the cooler in one burst."""
CLOSE_BY = 0.5
"""Most by which a burst changes what the sump holds, relative to that: from one term of the series to the next no more is left."""
QUICK = 1.0
"""Fewest turnovers of the cooler in one burst, and for each turnover of anything before it, with which rounding does not show in the closed
form: with fewer it is a series as well."""
FIRST, MOST = 6, 30
"""The series ends after so many terms at the earliest and at the latest."""

UNLIKE = 1e8
"""How much rounding may grow while tanks of the converter and the cooler that turn over at different rates are told apart."""
WIDE = 10.0
"""Volume, in litres, of an imaginary sump of new fluid that models what is drawn in first; the size does not matter."""

_tables: dict[tuple[int, int], tuple[Any, Any]] = {}


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
        for count, alike in groupby(groups, key=itemgetter(0)):
            last = first + sum(size for _, size in alike)
            self.groups.append((count, slice(first, last)))
            first = last
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

    def from_the_end(self, rows: Any) -> Any:
        """The tanks of each circuit from its last one to its first; zero where a circuit has none."""
        import numpy

        turned = numpy.zeros_like(rows)
        for count, circuits in self.groups:
            turned[:count, circuits] = rows[count - 1 :: -1, circuits]
        return turned

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
    inlet of the cooler, :math:`g(u) = \sum g_j u^j / j!`, then feeds m equal tanks that turn over z times each, exactly:

    .. math:: l_i(u) = p_i(u) + e^{-zu} \sum_{k<i} \frac{(zu)^k}{k!} (l_{i-k} - p_{i-k})(0), \qquad
        p_i = \left(1 + \frac{1}{z}\frac{d}{du}\right)^{-i} g = \sum_k \binom{k+i-1}{k} (-z)^{-k} g^{(k)}

    A cooler that hardly turns over is a series as well. Circuits for which a series would be long use the common one.
    """
    return partway(built, state, volume, poured, None, negligible, tanks)[1]


def partway(
    built: Parameters, state: State, volume: Any, poured: Any, at: Any, negligible: float, tanks: Tanks | None = None
) -> tuple[Any, State]:  # fmt: skip
    """The old fraction at the outlet when the share `at` of a burst has been pumped, unless it is None; and the state as `pumped`."""
    import numpy

    def common(built: Parameters, state: State, volume: Any, poured: Any, at: Any, _: Any = None) -> tuple[Any, State]:
        seen = None if at is None else flow(built, state, at * volume, at * poured, negligible=negligible).outlet
        return seen, flow(built, state, volume, poured, negligible=negligible)

    many, sides = len(state.converter), len(CIRCULATIONS)
    counts = many if tanks is None else tanks.counts
    through = (1 - built.bypass) * counts / built.converter * volume
    part = volume / state.sump_volume
    size = numpy.size(through * part)
    if negligible < CLOSE or not numpy.ndim(through * part):
        return common(built, state, volume, poured, at)
    tanks = tanks or Tanks([(many, size)])
    ratio = poured / where(volume > 0, volume, 1.0) if numpy.any(poured) else 0.0
    change, leaving = (ratio - 1) * part, numpy.empty(size)
    leaving[:] = -ratio * part
    turns, held = numpy.empty((sides + 1 + many, size)), numpy.empty((sides, size))
    for k, (place, circulation) in enumerate(SIDES):
        numpy.divide(-built[place], state.sump_volume, out=held[k])
        numpy.divide(built[circulation] * volume, where(built[place] > 0, built[place], 1.0), out=turns[k])
    numpy.multiply(sum(built.circulations, ratio), part, out=turns[sides])
    turns[sides + 1 :] = through
    most = turns.max(axis=0)
    short = (most <= SHORT) & (abs(change) <= CLOSE_BY)
    if not short.all():
        return _sorted(
            built, state, (volume, poured, at), tanks, short,
            lambda b, s, v, p, u, t: partway(b, s, v, p, u, negligible, t), common,
        )  # fmt: skip
    turns[sides] = 1.0
    terms = tanks.room(len(turns))
    _filled(terms[0], (*state.sides, state.sump, *state.converter))
    terms = _series(terms, turns, held, leaving, change, negligible)
    end = numpy.einsum("j,jrn->rn", _table(len(terms), 1)[0][0], terms)
    inlet = tanks.ends(terms[:, sides + 1 :])
    inlet += built.bypass * (terms[:, sides] - inlet)
    seen, cooler = _cooler(inlet, built.cooler, volume, most, state.cooler, at, negligible)
    level = state.sump_volume + (ratio - 1) * volume
    return seen, State(level, end[sides], tanks.level(end[sides + 1 :]), cooler, *end[:sides], numpy.nan)


def _series(terms: Any, turns: Any, held: Any, leaving: Any, change: Any, negligible: float) -> Any:
    """The derivatives by u at the start, for what is at the sides, the sump and the tanks of the converter; the zeroth are given.

    `turns` are the turnovers of the rows in the burst, `held` the volumes at the sides over that of the sump, negative; `leaving` is the
    part of the sump that leaves without coming back, negative, and `change` how the sump grows, in parts of itself.
    """
    import numpy

    sides, taken = len(held), numpy.empty_like(held)
    for j in range(1, MOST + 1):
        before, now = terms[j - 1], terms[j]
        sump, old = now[sides], before[sides]
        numpy.subtract(old, before[:sides], out=now[:sides])
        numpy.multiply(leaving, old, out=sump)
        numpy.subtract(before[sides:-1], before[sides + 1 :], out=now[sides + 1 :])
        now *= turns
        numpy.multiply(held, now[:sides], out=taken)
        for one in taken:
            sump += one
        leaving -= change
        if j >= FIRST and j % 2 == 0 and max(now.max(), -now.min()) <= negligible * factorial(j):
            return terms[: j + 1]  # each term is less than half the one before, from the first that is looked at
    raise ArithmeticError("the series does not end")


def washed(built: Parameters, state: State, volume: Any, negligible: float, tanks: Tanks | None = None) -> State:
    r"""As `pumped` while nothing but new fluid comes from the sump, which stays as it is with its clutches and pockets.

    Notes
    -----
    Of the fluid in the tank of the converter that is d-th from its end, what is in the i-th tank of the cooler some time later is the
    inverse Laplace transform of :math:`a^{d-1} (\lambda + a)^{-d} z^i (\lambda + z)^{-i}`, with a and z the turnovers of one tank of
    each, so :math:`(z - a) F_{d,i} = z F_{d,i-1} - a F_{d-1,i}`. Where both turn over alike, a sump of new fluid is imagined instead.
    """
    through = (1 - built.bypass) * (len(state.converter) if tanks is None else tanks.counts) / built.converter
    if negligible < CLOSE or not getattr(through, "ndim", 0):
        return _from_new_sump(built, state, volume, negligible, tanks)
    import numpy

    tanks, many = tanks or Tanks([(len(state.converter), through.size)]), len(state.cooler)
    onward = many / built.cooler
    apart = onward - through
    clear = abs(apart) * UNLIKE ** (1 / (len(state.converter) + many)) > onward + through
    if not clear.all():
        _, both = _sorted(
            built, state, (volume,), tanks, clear,
            lambda b, s, v, t: (None, washed(b, s, v, negligible, t)),
            lambda b, s, v, t: (None, _from_new_sump(b, s, v, negligible, t)),
        )  # fmt: skip
        return state._replace(converter=both.converter, cooler=both.cooler, discharged=numpy.nan)
    old, cooler = (_filled(numpy.empty((len(parts), through.size)), parts) for parts in state.way)
    left, stays = _stays(through * volume, len(old)), _stays(onward * volume, many)
    far = onward / apart
    near, minus = far - 1, far * stays
    cooler, part = _shifted(cooler, stays), numpy.empty_like(cooler)
    for kept, tank in zip(left, (1 - built.bypass) * tanks.from_the_end(old), strict=True):
        for row, less in zip(part, minus, strict=True):
            numpy.multiply(far, kept, out=row)
            row -= less
            kept = row
        cooler += part * tank
        minus = near * part
    return state._replace(converter=tanks.level(_shifted(old, left)), cooler=cooler, discharged=numpy.nan)


def _from_new_sump(built: Parameters, state: State, volume: Any, negligible: float, tanks: Tanks | None) -> State:
    still = built._replace(**dict.fromkeys(CIRCULATIONS.values(), 0.0))
    new = state._replace(sump=0.0 * state.sump, sump_volume=0.0 * state.sump_volume + WIDE)
    fed = pumped(still, new, volume, volume, negligible, tanks)
    return state._replace(converter=fed.converter, cooler=fed.cooler, discharged=fed.discharged)


def _filled(rows: Any, values: Sequence[Any]) -> Any:
    """Rows of an array set to values, each a number or an array."""
    for row, value in zip(rows, values, strict=True):
        row[:] = value
    return rows


def _stays(turns: Any, tanks: int) -> Any:
    """How much of what was in a tank that turns over so often is still in it, in the next, and so on: an array (tanks, circuits)."""
    import numpy

    shares = numpy.empty((tanks, turns.size))
    numpy.exp(-turns, out=shares[0])
    for k, (before, now) in enumerate(pairwise(shares), 1):
        numpy.multiply(before, turns, out=now)
        now *= 1 / k
    return shares


def _shifted(rows: Any, shares: Any) -> Any:
    """What the same fluid does to tanks in a row if such shares of it stay, go to the next tank, and so on."""
    moved = shares[0] * rows
    for k in range(1, len(rows)):
        moved[k:] += shares[k] * rows[:-k]
    return moved


def _cooler(
    inlet: Any, held: Any, volume: Any, most: Any, cooler: Sequence[Any], at: Any, negligible: float
) -> tuple[Any, Any]:  # fmt: skip
    """The outlet on the way, as for `partway`, and the tanks of a cooler at the end of a burst.

    `inlet` are the derivatives of what flows in at its start, `most` how often whatever turns over fastest before it does so.
    """
    import numpy

    m, size = len(cooler), inlet.shape[1]
    seen: Any = None
    old, z = _filled(numpy.empty((m, size)), cooler), numpy.empty(size)
    z[:] = m / held * volume
    turns = numpy.maximum(z, QUICK * numpy.maximum(most, 1.0))
    at_end, settled = _table(len(inlet), m)
    shrinking = _powers(-1 / turns, len(inlet))
    end = product(settled, product(at_end, inlet) * shrinking)
    off = old - product(settled, inlet * shrinking)
    end += _shifted(off, _stays(turns, m))
    if at is not None:
        part = inlet * _powers(at, len(inlet))
        seen = product(settled[-1:], product(at_end, part) * _powers(-1 / (at * turns), len(inlet)))[0]
        seen += (off[::-1] * _stays(at * turns, m)).sum(axis=0)
    slow = numpy.flatnonzero(turns > z)
    if slow.size:
        few, z, old = inlet.take(slow, axis=1), z[slow], old.take(slow, axis=1)
        end[:, slow] = _dragging(few, z, old, negligible)
        if at is not None:
            at = at[slow] if numpy.ndim(at) else at
            seen[slow] = _dragging(few * _powers(at, len(few)), at * z, old, negligible)[-1]
    return seen, end


def _powers(x: Any, count: int) -> Any:
    """Powers of an array from the zeroth, or of a number as a column."""
    import numpy

    powers = numpy.empty((count, numpy.size(x)))
    powers[0] = 1.0
    for before, now in pairwise(powers):
        numpy.multiply(before, x, out=now)
    return powers


def _dragging(inlet: Any, z: Any, old: Any, negligible: float) -> Any:
    """The same for coolers that barely turn over, which have a series of their own."""
    import numpy

    end, now = old.copy(), numpy.concatenate([inlet[:1], old])
    for j in range(1, MOST + 1):
        now[1:] = z / j * (now[:-1] - now[1:])
        end += now[1:]
        now[0] = inlet[j] / factorial(j) if j < len(inlet) else 0.0
        if j % 2 == 0 and abs(now).max() <= negligible:
            break
    return end


def _table(terms: int, tanks: int) -> tuple[Any, Any]:
    """What turns the derivatives of an inlet at the start into those at the end, and derivatives into what each tank settles to."""
    if (terms, tanks) not in _tables:
        import numpy

        at_end = [[1 / factorial(j - k) if j >= k else 0.0 for j in range(terms)] for k in range(terms)]
        settled = [[comb(k + i - 1, k) for k in range(terms)] for i in range(1, tanks + 1)]
        _tables[terms, tanks] = numpy.array(at_end), numpy.array(settled, dtype=float)
    return _tables[terms, tanks]


def _sorted(
    built: Parameters, state: State, given: Sequence[Any], tanks: Tanks, good: Any, quick: Callable[..., Any], slow: Callable[..., Any]
) -> tuple[Any, State]:  # fmt: skip
    """`quick` for those circuits that are good for it, `slow` for the others, by number of tanks; both as `partway`, with what is given."""
    import numpy

    size = good.size

    def of(chosen: Any, groups: list[tuple[int, int]]) -> tuple[Any, ...]:
        def rows(x: Any) -> Any:
            return x[chosen] if getattr(x, "ndim", 0) else x

        part = state._replace(converter=state.converter[: max(count for count, _ in groups)])
        return Parameters(*map(rows, built)), each(rows, part), *map(rows, given), Tanks(groups)

    whole = each(lambda x: numpy.array(numpy.broadcast_to(x, (size,)), dtype=float), state)
    converter: Any = numpy.array(whole.converter)
    whole, seen = whole._replace(converter=converter, discharged=numpy.nan), numpy.empty(size)

    def put(chosen: Any, part: Any, end: State) -> None:
        seen[chosen] = numpy.nan if part is None else part
        for name in ("sump_volume", "sump", *CIRCULATIONS):
            getattr(whole, name)[chosen] = getattr(end, name)
        for into, rows in zip((whole.converter, whole.cooler), (end.converter, end.cooler), strict=True):
            for tank, row in zip(into, rows, strict=False):
                tank[chosen] = row

    groups = [(count, int(good[circuits].sum())) for count, circuits in tanks.groups]
    if any(size for _, size in groups):
        put(good, *quick(*of(good, groups)))
    for count, circuits in tanks.groups:
        others = numpy.flatnonzero(~good[circuits]) + circuits.start
        if others.size:
            put(others, *slow(*of(others, [(count, others.size)])))
    tanks.level(converter)
    return seen, whole
