"""How fresh a course of operations leaves the fill, with everything that is not known about the unit and its pumping.

Not known about the pumping are how much new fluid is drawn in before it has mixed, how much has run back from the converter, how the bypass
changes as the fluid warms, and how many tanks in series the converter is like; each is called a manner. Their ranges, and those of the
bypass and the circulations, are too wide for first order: the circuit is run through the same operations with each of them at its best
value, in the middle and at both ends of its range. Each source of uncertainty of the volumes is moved a little, both ways. All these runs
go side by side.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cached_property
from itertools import groupby
from math import sqrt
from typing import TYPE_CHECKING, Any, NamedTuple

from sumpwise.inference.moves import MANNERS
from sumpwise.inference.prior import TANKS
from sumpwise.inference.prior import UNPUBLISHED as FLOWS
from sumpwise.inference.replay import replayed
from sumpwise.inference.swift import PLENTY, Tanks
from sumpwise.mixing.circuit import Circuit
from sumpwise.mixing.circuit.compartments import UNIFORM, VOLUME
from sumpwise.mixing.circuit.history import PUMP, History, Operation, nominal
from sumpwise.mixing.circuit.model import level_after
from sumpwise.mixing.circuit.state import KINDS, Parameters, State, resident
from sumpwise.quantities.boundary import inside
from sumpwise.uncertainty import by_source, combine, standard

if TYPE_CHECKING:
    from sumpwise.service.filled import Filled

A_LITTLE = 0.03
"""Standard uncertainties by which a source is moved: so little that the answer is that of first order, and no volume falls below zero."""

Way = tuple[float, ...]
"""One value for each manner, then for each source by how many standard uncertainties it is moved."""


class Manner(NamedTuple):
    """One thing that is not known about the pumping.

    Attributes
    ----------
    name : str
        One of `MANNERS`, `TANKS`, or one of `FLOWS`: the circuit carries those itself, but their range is too wide for first order.
    value : float or uncertain number
        The value assumed or stated.
    low, high : float
        The ends of its range.
    middle : float
        Its median.
    """

    name: str
    value: Any
    low: float
    high: float
    middle: float

    @property
    def variance(self) -> float:
        """Variance over that of a rectangular distribution with the same ends: more for tanks, which are whole numbers."""
        apart = self.high - self.low
        return (apart + 2) / apart if self.name == TANKS else 1.0


def manner(name: str, value: Any, stated: bool = True) -> Manner:
    """A manner with its range: that of a rectangular distribution with this uncertainty, cut at what is possible, or the usual one."""
    best, half = nominal(value), sqrt(3.0) * standard(value)
    if not half:
        return Manner(name, value, best, best, best)
    low, high = best - half, best + half
    if name == TANKS:
        return Manner(name, value, max(round(low), 1), round(high), round(best))
    if name in FLOWS and not stated:
        low, high, shape = FLOWS[name]
        return Manner(name, value, low, high, best if shape == UNIFORM else sqrt(low * high))
    spec = MANNERS.get(name) or getattr(KINDS, name)
    return Manner(name, value, max(low, spec.minimum), min(high, spec.maximum), best)


class Reached:
    """The state after one operation of a course.

    Parameters
    ----------
    course : _Course
        The whole course.
    place : int
        How many operations were done.
    """

    __slots__ = ("course", "place")

    def __init__(self, course: _Course, place: int) -> None:
        self.course = course
        self.place = place

    @property
    def resident(self) -> Any:
        """Fresh fraction of all fluid present."""
        return self.course.told(self.place, 0)

    @property
    def outlet(self) -> Any:
        """Fresh fraction at the end of the return line."""
        return self.course.told(self.place, 1)


def reached(case: Filled, circuit: Circuit, operations: Iterable[Operation | None]) -> list[Reached]:
    """The state of a circuit after each operation, of which None moves nothing; with best estimates only, if nothing else is given.

    Raises
    ------
    RangeError
        If the sump holds less than is drained, or the pump would draw air.
    """
    built, done, places = circuit.history.built, [], []
    level, floor = nominal(built.sump), nominal(built.sump_floor)
    for one in operations:
        if one is not None:
            given = [inside(volume, "volume") for volume in one[1:]]
            plain = Operation(one.kind, *(nominal(VOLUME.value(read, "volume")) for read in given))
            level = level_after(plain, level, floor, given[0])
            done.append(one)
        places.append(len(done))
    names = (*MANNERS, TANKS, *FLOWS)
    manners = [manner(name, case.ask("circuit", name), case.has("circuit", name)) for name in names]
    course = _Course(History(built, circuit.history.tanks, tuple(done)), manners)
    return [Reached(course, place) for place in places]


class _Course:
    """The same operations run with each manner over its range, and each source of uncertainty moved, when first asked."""

    def __init__(self, history: History, manners: Sequence[Manner]) -> None:
        self.history = history
        self.manners = manners
        doubtful = any(map(standard, history.values)) and any(one.kind == PUMP for one in history.operations)
        self.open = [place for place, one in enumerate(manners) if doubtful and one.low < one.high]
        plain = history.built._replace(**{name: nominal(getattr(history.built, name)) for name in FLOWS})
        self.values = [*plain, *history.values[len(plain) :]]
        self.doubted = [place for place, value in enumerate(self.values) if standard(value)]
        self.causes, self.table = by_source([self.values[place] for place in self.doubted])
        self.best = (*(nominal(one.value) for one in manners), *(0.0 for _ in self.causes))
        self._told: dict[tuple[int, int], Any] = {}

    @cached_property
    def gone(self) -> tuple[list[Way], list[tuple[Parameters, State]]]:
        """Every way that is asked about, gone through."""
        moved = range(len(self.manners), len(self.best))
        ways = [self._way(i, end) for i in self.open for end in self.manners[i][2:]]
        return self.gone_through([self.best, *ways, *(self._way(i, end) for i in moved for end in (-A_LITTLE, A_LITTLE))])

    def _way(self, i: int, value: float) -> Way:
        """The best values, with another one for a manner or a source."""
        return (*self.best[:i], value, *self.best[i + 1 :])

    def gone_through(self, ways: Iterable[Way]) -> tuple[list[Way], list[tuple[Parameters, State]]]:
        """The operations, gone through in several ways side by side.

        The ways in the order in which they stand side by side; the parameters and the state at the start and after each operation.
        """
        import numpy

        names = [one.name for one in self.manners]
        place = names.index(TANKS)
        alike = sorted(set(ways), key=lambda way: way[place])
        counts = [round(way[place]) for way in alike]
        several = len(alike) > 1
        each = numpy.array(alike).T if several else alike[0]
        taken: dict[str, Any] = dict(zip(names, each, strict=False))
        values = [*map(nominal, self.values)]
        for k, moved in zip(self.doubted, self.table @ each[len(names) :], strict=True):
            values[k] = values[k] + moved
        led = self.history.with_values(values)
        led.tanks = (counts[-1], *self.history.tanks[1:])
        led.built = led.built._replace(**{name: taken.pop(name) for name in FLOWS})
        tanks = Tanks([(count, len(list(same))) for count, same in groupby(counts)]) if several else None
        return alike, list(replayed(led, taken, PLENTY, tanks))

    @cached_property
    def rule(self) -> Any:
        """What makes of the shares of all ways their means over the ranges, and what each open manner and each source contributes.

        Rows of weights: Simpson's rule for the means; for a manner half the difference between the ends of its range, over √3.
        """
        import numpy

        column = {way: k for k, way in enumerate(self.gone[0])}
        rule = numpy.zeros((1 + len(self.open) + len(self.causes), len(column)))
        rule[0, column[self.best]] = 1.0 - len(self.open)
        for row, i in enumerate(self.open, 1):
            variance = self.manners[i].variance
            low, high, middle = (column[self._way(i, end)] for end in self.manners[i][2:])
            rule[0, middle] += 1.0 - variance / 3
            rule[0, [low, high]] += variance / 6
            rule[row, [low, high]] = -sqrt(variance / 12), sqrt(variance / 12)
        for row, i in enumerate(range(len(self.manners), len(self.best)), 1 + len(self.open)):
            low, high = (column[self._way(i, end)] for end in (-A_LITTLE, A_LITTLE))
            rule[row, [low, high]] = -0.5 / A_LITTLE, 0.5 / A_LITTLE
        return rule

    def told(self, place: int, which: int) -> Any:
        """The fresh share inside (`which` 0) or leaving the line (1) after so many operations."""
        if (place, which) not in self._told:
            built, state = self.gone[1][place]
            share = 1 - state.outlet if which else resident(built, state)
            value, *parts = (self.rule @ (share + 0.0 * self.rule[0])).tolist()
            moved = [*(self.manners[i].value for i in self.open), *self.causes]
            self._told[place, which] = combine(value, [(part / standard(one), one) for part, one in zip(parts, moved, strict=True)])
        return self._told[place, which]
