"""Many circuits through one history, as exactly as an eye can tell: first the sumps, then the converters, then the coolers."""

from __future__ import annotations

from functools import cache
from itertools import accumulate, groupby, pairwise
from math import comb, cos, factorial, pi, prod
from operator import itemgetter

from sumpwise._blocks import product
from sumpwise._math import where
from sumpwise.inference.moves import driven
from sumpwise.mixing.circuit.history import DRAIN, POUR, PUMP
from sumpwise.mixing.circuit.state import SIDES, Parameters, State

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Any

    from sumpwise.inference.moves import Move

PLENTY = 1e-5
"""A negligible part of an old fraction that is compared with what a person saw."""
SHORT = 3.0
"""Most turnovers of anything before the cooler in one burst."""
CLOSE_BY = 0.5
"""Most by which a burst changes what the sump holds, relative to that: from one term of the series to the next no more is left."""
FIRST, MOST = 8, 50
"""A series ends after so many terms at the earliest; and none of those called short takes more, by a search at their limits."""
ROUNDING = 1e8, 1e7
"""How much rounding may grow while tanks of the converter and the cooler that turn over at different rates are told apart, and in the
closed form of a cooler that hardly turns over."""
AT_ONCE = 6000
"""Bursts, times circuits, that are worked out together behind the sump: little enough for the processor's cache."""


class Tanks:
    """How many tanks the converter of each circuit of a batch has.

    A batch has as many rows of tanks as its largest converter. Rows that a circuit does not have hold the mean of those it has, so that
    the mean over all rows is the mean over its own.
    """

    __slots__ = ("counts", "groups")

    def __init__(self, groups: Sequence[tuple[int, int]]) -> None:
        """From pairs: a number of tanks, and how many circuits in a row have it."""
        import numpy

        self.groups: list[tuple[int, slice]] = []
        first = 0
        for count, alike in groupby(groups, key=itemgetter(0)):
            last = first + sum(size for _, size in alike)
            if last > first:
                self.groups.append((count, slice(first, last)))
            first = last
        self.counts: Any = numpy.repeat([float(count) for count, _ in groups], [size for _, size in groups])

    def joined(self, later: Tanks) -> Tanks:
        """Both batches, one after the other."""
        return Tanks([(count, circuits.stop - circuits.start) for count, circuits in (*self.groups, *later.groups)])

    def only(self, places: Any) -> Tanks:
        """Those at some places of the batch, which are in order."""
        import numpy

        ends = numpy.searchsorted(places, [0, *(circuits.stop for _, circuits in self.groups)]).tolist()
        return Tanks([(count, last - first) for (count, _), (first, last) in zip(self.groups, pairwise(ends), strict=True)])

    def ends(self, rows: Any) -> Any:
        """The last tank of each circuit; `rows` has the tanks in its second dimension."""
        import numpy

        return numpy.concatenate([rows[:, count - 1, ..., circuits] for count, circuits in self.groups], axis=-1)

    def from_the_end(self, rows: Any) -> Any:
        """The tanks of each circuit from its last one to its first; zero where a circuit has none."""
        import numpy

        turned = numpy.zeros_like(rows)
        for count, circuits in self.groups:
            turned[:count, ..., circuits] = rows[count - 1 :: -1, ..., circuits]
        return turned

    def level(self, rows: Any) -> Any:
        """The same tanks, with the mean in each row that a circuit does not have."""
        for count, circuits in self.groups:
            if count < len(rows):
                rows[count:, ..., circuits] = sum(rows[1:count, ..., circuits], start=rows[0, ..., circuits]) / count
        return rows


class Batch:
    r"""Circuits on their way through a history.

    Notes
    -----
    While the line is open nothing comes back from the cooler, nor from the converter, so each is fed by what is before it and no more. The
    sump with its clutches and pockets is a short series in u, which goes from 0 to 1 while a burst pumps what has not been drawn in first.
    An empty converter behind it is another one, and an empty cooler behind that has a closed form: the inlet of the cooler,
    :math:`g(u) = \sum g_j u^j / j!`, feeds m equal tanks that turn over z times each, exactly:

    .. math:: l_i(u) = p_i(u) - e^{-zu} \sum_{k<i} \frac{(zu)^k}{k!} p_{i-k}(0), \qquad
        p_i = \left(1 + \frac{1}{z}\frac{d}{du}\right)^{-i} g = \sum_k \binom{k+i-1}{k} (-z)^{-k} g^{(k)}

    A cooler that hardly turns over is a series as well. What the tanks hold when a burst begins is washed out by all that is pumped,
    whatever it is. From tanks of the converter that turn over a times it flows out as :math:`e^{-av} q(v)`, with a polynomial q, while v
    goes from 0 to 1; so it settles in the cooler to :math:`e^{-av} (z / (z - a))^i p_i(v)`, with q in place of g and z − a in place of z.
    So the bursts between two drives go side by side, all but their sumps.
    """

    def __init__(self, moves: Sequence[Move], built: Parameters, state: State, tanks: Tanks) -> None:
        """From the moves of a history, and the circuits before it."""
        import numpy

        self.moves, self.built, self.state, self.tanks, self.done, self.least = moves, built, state, tanks, 0, FIRST
        self.places = [place for place, move in enumerate(moves) if move.kind == PUMP]
        bursts, sides = [moves[place] for place in self.places], len(SIDES)
        self.volume = self.rows([one.volume for one in bursts])
        self.rest = self.volume - self.rows([one.quick for one in bursts])
        poured, start = self.rows([one.poured for one in bursts]), self.rows([one.start for one in bursts])
        self.bypass = self.rows([one.bypass for one in bursts])
        self.onward = self.rows([len(state.cooler) / built.cooler])
        self.through = (1 - self.bypass) * tanks.counts / self.rows([one.converter for one in bursts])
        self.turns, self.taken = (numpy.empty((len(bursts), rows, tanks.counts.size)) for rows in (sides, sides + 1))
        for k, (place, circulation) in enumerate(SIDES):
            self.taken[:, k] = -built[place] / start
            self.turns[:, k] = built[circulation] / where(built[place] > 0, built[place], 1.0) * self.volume
        self.change, self.taken[:, -1] = (poured - self.rest) / start, poured / -start
        self.most = numpy.maximum(self.through * self.rest, (sum(built.circulations) * self.volume + poured) / start)
        numpy.maximum(self.most, self.turns.max(axis=1), out=self.most)

    def rows(self, values: Sequence[Any]) -> Any:
        """Values of all circuits, each a number or an array, as the rows of one array."""
        return filled_rows(values, self.tanks.counts.size)

    @property
    def fit(self) -> Any:
        """Which circuits have short series, and converters and coolers that do not turn over alike: `run` takes only such."""
        apart = abs(self.onward - self.through) * ROUNDING[0] ** (1 / sum(map(len, self.state.way))) > self.onward + self.through
        return (apart & (self.most <= SHORT) & (abs(self.change) <= CLOSE_BY)).all(axis=0)

    def run(self, halfway: dict[int, Any]) -> list[tuple[Parameters, State]]:
        """The parameters and the states at the start and after each move; for `halfway` see `replayed`."""
        import numpy

        built, state, found = self.built, self.state, []
        sides, sump = self.rows(state.sides), self.rows([state.sump])[0]
        most = min(len(self.places), max(1, AT_ONCE // sump.size))
        # all derivatives in one block, larger than all else together: then an allocator keeps memory for the next batch
        shapes = (MOST + 1, len(sides) + 1, sump.size), (MOST + 1, 1 + len(state.converter), most, sump.size)
        terms, chain = _side_by_side(*shapes)
        orders = [(one, one[:-1], one[-1]) for one in terms]
        waiting: list[tuple[Any, int]] = []
        for move in self.moves:
            found.append((built, state))
            if move.kind == PUMP:
                if len(waiting) == most:
                    state = self._followed(found, waiting, chain, halfway)
                if move.share is not None:
                    built = built._replace(converter=move.converter)
                mixed = sump
                length, sides, sump = self._pumped(self.done + len(waiting), sides, sump * move.dilution, terms, orders)
                chain[:length, 0, len(waiting)] = terms[:length, -1]
                waiting.append((mixed, length))
            elif move.kind == POUR:
                sump = sump * (1 - move.volume / where(move.level > 0, move.level, 1.0))
            elif move.kind != DRAIN:
                state = driven(built, self._followed(found, waiting, chain, halfway), move)
                sides, sump = self.rows(state.sides), self.rows([state.sump])[0]
            state = State(move.level, sump, *state.way, *sides, numpy.nan)
        found.append((built, state))
        self._followed(found, waiting, chain, halfway)
        return found

    def _pumped(self, burst: int, sides: Any, sump: Any, terms: Any, orders: list[tuple[Any, Any, Any]]) -> tuple[int, Any, Any]:
        """How many derivatives by u a burst takes, and at its end what is at the sides and the sump.

        The derivatives at its start go into `terms`: those of the sump from the zeroth, those at the sides from the first. `orders` are the
        same arrays, of each order all, those at the sides and those of the sump.
        """
        import numpy

        turns, taken, change, j = self.turns[burst], self.taken[burst], self.change[burst], 0
        subtract, multiply, add, parts, leaving = numpy.subtract, numpy.multiply, numpy.add, sides, taken[-1]
        first, second, third = each = numpy.empty_like(taken)
        terms[0, -1] = sump
        while True:
            now, more, old = orders[j]
            subtract(old, parts, more)
            multiply(more, turns, more)
            if j >= self.least and _small(now, j):
                break
            j += 1
            multiply(now, taken, each)
            new = orders[j][-1]
            add(first, second, new)
            add(new, third, new)
            subtract(leaving, change, leaving)
            parts = more
        self.least = max(FIRST, j - 1)  # the next burst hardly needs fewer
        weights = _table(j + 2, 1)[0][:2, 1:]  # those of the first to the last but one order, and from the zeroth
        end = product(weights, terms[: j + 1].swapaxes(0, 1))
        return j + 1, sides + end[:-1, 0], end[-1, 1]

    def _followed(
        self, found: list[tuple[Parameters, State]], waiting: list[tuple[Any, int]], chain: Any, halfway: dict[int, Any]
    ) -> State:  # fmt: skip
        """Let the bursts that wait go on behind the sump, and put that into what was found; the state after them.

        They wait with what the sump held before each, and how many derivatives of it are in `chain`.
        """
        if waiting:
            some = slice(self.done, self.done + len(waiting))
            places, self.done = self.places[some], some.stop
            half = any(place in halfway for place in places)
            converters, coolers, outlets = self._behind(some, found[places[0]][1], waiting, chain[:, :, : len(waiting)], half)
            for k, (place, after) in enumerate(pairwise([*places, len(found) - 1])):
                for one in range(place + 1, after + 1):
                    built, state = found[one]
                    found[one] = built, state._replace(converter=converters[:, k], cooler=coolers[:, k])
                if place in halfway:
                    halfway[place] = outlets[k]
            waiting.clear()
        return found[-1][1]

    def _behind(self, some: slice, begun: State, waiting: list[tuple[Any, int]], chain: Any, half: bool) -> tuple[Any, Any, Any]:
        """The converters and the coolers at the end of some bursts, and, if that is asked for, the outlets at half of each.

        `chain` has room for derivatives of the sump, where they already are, and of each tank of the converter.
        """
        import numpy

        volume, rest = self.volume[some], self.rest[some]
        through, bypass = self.through[some], self.bypass[some]
        lengths = [length for _, length in waiting]
        for k, length in enumerate(lengths):
            chain[length : max(lengths), 0, k] = 0.0
        chain = _one_after_the_other(chain, max(lengths), through * rest)
        kept, inlet, through_it = _at_end(chain[:, 1:]), chain[:, 0], self.tanks.ends(chain[:, 1:])
        inlet -= through_it
        inlet *= bypass
        inlet += through_it
        del through_it
        inlet = _plainer(inlet)
        parts = numpy.array([0.5, 1.0] if half else [1.0])[:, None, None] * volume
        left, stays = _stays(through * parts, len(kept)), _stays(self.onward * parts, len(begun.cooler))
        given, converter = numpy.empty((len(kept), 1 + len(parts), *rest.shape)), self.rows(begun.converter)
        for k, ((sump, _), place) in enumerate(zip(waiting, self.places[some], strict=True)):
            share, held = self.moves[place].share, given[:, 0, k]
            held[:] = converter if share is None else converter + share * (sump - converter)
            given[:, 1:, k] = _shifted(given[:, :1, k], left[:, :, k])
            converter = kept[:, k]
            converter += given[:, -1, k]
        far, given = self.onward / (self.onward - through), self.tanks.from_the_end(given)
        given *= (1 - bypass) * _powers(1 - far, len(given))[:, None]
        given = _settled(given, len(stays))
        given *= _powers(far, len(given) + 1)[1:, None]
        at = numpy.maximum(1 - 0.5 * volume / where(rest > 0, rest, 1.0), 0.0) if half else None
        growth = numpy.maximum(self.most[some], len(inlet) * abs(self.change[some]))
        end, outlets = _through_empty(inlet, self.onward * rest, growth, len(stays), at)
        end += given[:, -1]
        if half:
            outlets += given[-1, 1]
        cooler = self.rows(begun.cooler)
        for k in range(len(waiting)):
            before, cooler = cooler - given[:, 0, k], end[:, k]
            if half:
                outlets[k] += (before[::-1] * stays[:, 0, k]).sum(axis=0)
            cooler += _shifted(before, stays[:, -1, k])
        return self.tanks.level(kept), end, outlets


def _side_by_side(*shapes: tuple[int, ...]) -> list[Any]:
    """Arrays of such shapes in one block of memory."""
    import numpy

    ends = [0, *accumulate(map(prod, shapes))]
    block = numpy.empty(ends[-1])
    return [block[first:last].reshape(shape) for (first, last), shape in zip(pairwise(ends), shapes, strict=True)]


def filled_rows(values: Sequence[Any], size: int) -> Any:
    """Values, each a number or an array of that size, as the rows of one array."""
    import numpy

    found = numpy.empty((len(values), size))
    for row, value in zip(found, values, strict=True):
        row[:] = value
    return found


def _small(now: Any, j: int) -> bool:
    """Whether derivatives of this order no longer matter: from the first that is looked at, a term is less than half the one before."""
    return bool(max(now.max(initial=0.0), -now.min(initial=0.0)) <= PLENTY * factorial(j))


def _one_after_the_other(chain: Any, given: int, turns: Any) -> Any:
    """The derivatives at the start of a burst of what flows into empty tanks, and of what each holds.

    They are worked out in `chain`, a row for each order and place, of which the first so many orders of what flows in are given.
    """
    import numpy

    j, least, chain[0, 1:] = 0, max(FIRST, given - 2), 0.0
    while j < least or not _small(chain[j], j):
        now = chain[j + 1, 1:]
        numpy.subtract(chain[j, :-1], chain[j, 1:], now)
        numpy.multiply(now, turns, now)
        j += 1
        if j >= given:
            chain[j, 0] = 0.0
    return chain[: j + 1]


def _at_end(derivatives: Any) -> Any:
    """The values at the end of a burst, from the derivatives at its start: one row for each order and place."""
    terms, places = derivatives.shape[:2]
    # the product with one row alone would be shared out among processors
    found = product(_table(terms, 1)[0][:2], derivatives.reshape(terms, places, -1).swapaxes(0, 1))
    return found[:, 0].reshape(derivatives.shape[1:])


def _plainer(inlet: Any) -> Any:
    """The derivatives of a polynomial of lower degree n − 1 that has the same values at n Chebyshev nodes.

    By Lagrange's remainder it is off by at most the largest n-th derivative from 0 to 1, over n! 2²ⁿ⁻¹.
    """
    import numpy

    terms = len(inlet)
    rows = inlet.reshape(terms, -1)
    steepest = (_table(terms, 1)[0] @ numpy.maximum(rows.max(axis=1), -rows.min(axis=1))).tolist()
    n = next((n for n in range(1, terms) if steepest[n] <= 0.5 * PLENTY * factorial(n) * 2 ** (2 * n - 1)), terms)
    inlet = inlet[:n]
    if n < terms:
        inlet += product(_through_nodes(terms, n), rows[n:]).reshape(inlet.shape)
    return inlet


def _stays(turns: Any, tanks: int) -> Any:
    """How much of what was in a tank that turns over so often is still in it, in the next, and so on: one row for each."""
    import numpy

    shares = numpy.empty((tanks, *turns.shape))
    numpy.exp(-turns, out=shares[0])
    for k, (before, now) in enumerate(pairwise(shares), 1):
        numpy.multiply(before, turns, out=now)
        now *= 1 / k
    return shares


def _shifted(rows: Any, shares: Any) -> Any:
    """What the same fluid does to tanks in a row if such shares of it stay, go to the next tank, and so on."""
    moved = shares[0] * rows
    for k in range(1, len(rows)):
        later = moved[k:]
        later += shares[k] * rows[:-k]
    return moved


def _settled(derivatives: Any, tanks: int) -> Any:
    """What each of so many tanks settles to: `derivatives` of what flows in, of the k-th order by (−1/z)ᵏ; see `Batch`."""
    terms = len(derivatives)
    return product(_table(terms, tanks)[1], derivatives.reshape(terms, -1)).reshape(tanks, *derivatives.shape[1:])


def _through_empty(inlet: Any, z: Any, growth: Any, tanks: int, at: Any) -> tuple[Any, Any]:
    """What empty tanks of a cooler that turn over so often hold at the end of a burst, and the last of them at some moment of it.

    `inlet` are the derivatives of what flows in at its start, from each of which to the next they become at most about `growth` times as
    large.
    """
    import numpy

    terms = len(inlet)
    middle: Any = None
    fewest = (comb(terms + tanks - 2, terms - 1) / ROUNDING[1]) ** (1 / max(terms - 1, 1))
    turns = numpy.maximum(z, fewest * growth + 1e-6)
    at_end, _, on_the_way = _table(terms, tanks)
    slow = turns > z
    few = inlet[:, slow] if slow.any() else inlet[:, :0]
    shrinking = _powers(-1 / turns, terms)
    late = product(at_end, inlet.reshape(terms, -1)).reshape(inlet.shape)
    late *= shrinking
    inlet *= shrinking
    end, begin = _settled(late, tanks), _settled(inlet, tanks)
    end -= _shifted(begin, _stays(turns, tanks))
    if at is not None:
        passed = turns * at
        inlet *= product(on_the_way, _powers(-passed, terms).reshape(terms, -1)).reshape(inlet.shape)
        begin[::-1] *= _stays(passed, tanks)
        middle = inlet.sum(axis=0)
        middle -= begin.sum(axis=0)
    if few.size:
        chain = numpy.empty((MOST + 1, 1 + tanks, few.shape[1]))
        chain[:terms, 0] = few
        chain = _one_after_the_other(chain, terms, z[slow])
        end[:, slow] = _at_end(chain[:, 1:])
        if at is not None:
            middle[slow] = (_table(len(chain), 1)[0][0][:, None] * _powers(at[slow], len(chain)) * chain[:, -1]).sum(axis=0)
    return end, middle


def _powers(x: Any, count: int) -> Any:
    """Powers of an array from the zeroth."""
    import numpy

    powers = numpy.empty((count, *x.shape))
    powers[0] = 1.0
    for before, now in pairwise(powers):
        numpy.multiply(before, x, out=now)
    return powers


@cache
def _table(terms: int, tanks: int) -> tuple[Any, Any, Any]:
    """What turns the derivatives of an inlet at the start into those at the end, and derivatives into what each tank settles to."""
    import numpy

    at_end = numpy.array([[1 / factorial(j - k) if j >= k else 0.0 for j in range(terms)] for k in range(terms)])
    settled = numpy.array([[comb(k + i - 1, k) for k in range(terms)] for i in range(1, tanks + 1)], dtype=float)
    on_the_way = numpy.array([[settled[-1, j - i] / factorial(i) if i <= j else 0.0 for i in range(terms)] for j in range(terms)])
    return at_end, settled, on_the_way


@cache
def _through_nodes(terms: int, fewer: int) -> Any:
    """What the higher derivatives of a polynomial add to those of another with fewer terms that has its values at Chebyshev nodes."""
    import numpy

    nodes = [(1 - cos((i + 0.5) * pi / fewer)) / 2 for i in range(fewer)]
    values = numpy.array([[node**j / factorial(j) for j in range(terms)] for node in nodes])
    return numpy.linalg.solve(values[:, :fewer], values[:, fewer:])
