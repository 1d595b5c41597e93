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
from sumpwise.mixing.circuit.compartments import UNIFORM
from sumpwise.mixing.circuit.history import PUMP, History, Operation
from sumpwise.mixing.circuit.model import level_after
from sumpwise.mixing.circuit.state import KINDS, Parameters, State, resident
from sumpwise.quantities.boundary import inside
from sumpwise.uncertainty import by_source, combine, nominal, standard

if TYPE_CHECKING:
    from sumpwise.service.filled import Filled

A_LITTLE = 0.03
"""Standard uncertainties by which a source is moved: so little that the answer is that of first order, and no volume falls below zero."""

Way = tuple[int, float]
"""The place of a manner and its value, or the place of a source, after those of the manners, and by how many standard uncertainties it is
moved; everything else has its best value."""


Point = tuple[float, float, float]
"""A value, what the share there counts for the mean, and what it counts for how far one standard uncertainty moves the share."""

BESIDE: tuple[Point, ...] = ((-A_LITTLE, 0.0, -0.5 / A_LITTLE), (A_LITTLE, 0.0, 0.5 / A_LITTLE))
"""A source moved both ways."""


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
    def points(self) -> tuple[Point, ...]:
        """Both ends of its range and the middle, in place of the best value: Simpson's rule, and half the difference of the ends, over √3.

        Whole numbers of tanks have a larger variance than a rectangular distribution with the same ends.
        """
        apart = self.high - self.low
        third = (1 + 2 / apart if self.name == TANKS else 1.0) / 3
        low, high = (self.low, third / 2, -sqrt(third) / 2), (self.high, third / 2, sqrt(third) / 2)
        return low, high, (self.middle, 1.0 - third, 0.0), (nominal(self.value), -1.0, 0.0)


def manner(name: str, value: Any, stated: bool = True) -> Manner:
    """A manner with its range: that of a rectangular distribution with this uncertainty, cut at what is possible, or the usual one."""
    best, half = nominal(value), sqrt(3.0) * standard(value)
    low, high = best - half, best + half
    if name == TANKS:
        return Manner(name, value, max(round(low), 1), round(high), round(best))
    if not half:
        return Manner(name, value, best, best, best)
    if name in FLOWS and not stated:
        low, high, shape = FLOWS[name]
        return Manner(name, value, low, high, best if shape == UNIFORM else sqrt(low * high))
    spec = MANNERS.get(name) or getattr(KINDS, name)
    return Manner(name, value, max(low, spec.minimum), min(high, spec.maximum), best)


class Reached:
    """The state after so many operations of a course."""

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
            kind, volume, poured = one
            level = level_after(Operation(kind, nominal(volume), nominal(poured)), level, floor, inside(volume, "volume"))
            done.append(one)
        places.append(len(done))
    names = (*MANNERS, TANKS, *FLOWS) if any(one.kind == PUMP for one in done) else ()
    manners = [manner(name, case.ask("circuit", name), case.has("circuit", name)) for name in names]
    course = _Course(History(built, circuit.history.tanks, tuple(done)), manners or [manner(TANKS, circuit.history.tanks[0])])
    return [Reached(course, place) for place in places]


class _Course:
    """The same operations run with each manner over its range, and each source of uncertainty moved, when first asked."""

    def __init__(self, history: History, manners: Sequence[Manner]) -> None:
        self.history = history
        self.manners = manners
        plain = history.built._replace(**{name: nominal(getattr(history.built, name)) for name in FLOWS})
        self.values = [*plain, *history.values[len(plain) :]]
        self.doubted = [place for place, value in enumerate(self.values) if standard(value)]
        self.causes, self.table = by_source([self.values[place] for place in self.doubted])
        self.best = [*(nominal(one.value) for one in manners), *(0.0 for _ in self.causes)]
        self.names = [one.name for one in manners]
        self.usual: Way = (self.names.index(TANKS), self.best[self.names.index(TANKS)])
        doubtful = any(map(standard, history.values))
        self.moved = [(place, one.value, one.points) for place, one in enumerate(manners) if doubtful and one.low < one.high]
        self.moved += [(place, cause, BESIDE) for place, cause in enumerate(self.causes, len(manners))]
        self._told: dict[tuple[int, int], Any] = {}

    @property
    def weights(self) -> dict[Way, Any]:
        """What the share by each way counts for the mean over the ranges, and for the slope by each thing that is moved."""
        import numpy

        found = {self.usual: numpy.eye(1, 1 + len(self.moved))[0]}
        for row, (place, moved, points) in enumerate(self.moved, 1):
            for value, mean, change in points:
                weights = found.setdefault(self.usual if value == self.best[place] else (place, value), numpy.zeros(1 + len(self.moved)))
                weights[0] += mean
                weights[row] += change / standard(moved)
        return found

    def gone_through(self, ways: Iterable[Way]) -> tuple[list[Way], list[tuple[Parameters, State]]]:
        """The operations, gone through in several ways side by side.

        The ways in the order in which they stand side by side; the parameters and the state at the start and after each operation.
        """
        import numpy

        tanks, usual = self.usual
        alike = sorted(ways, key=lambda way: way[1] if way[0] == tanks else usual)
        each = numpy.repeat(numpy.array(self.best)[:, None], len(alike), axis=1)
        for column, (place, value) in enumerate(alike):
            each[place, column] = value
        counts = [*map(round, each[tanks].tolist())]
        several = len(alike) > 1
        taken: dict[str, Any] = dict(zip(self.names, each if several else each[:, 0].tolist(), strict=False))
        values = [*map(nominal, self.values)]
        for place, moved in zip(self.doubted, self.table @ each[len(self.names) :], strict=True):
            values[place] = values[place] + (moved if several else moved.item())
        led = self.history.with_values(values)
        led.tanks = (counts[-1], *self.history.tanks[1:])
        led.built = led.built._replace(**{name: taken.pop(name) for name in FLOWS if name in taken})
        groups = Tanks([(count, len(list(same))) for count, same in groupby(counts)]) if several else None
        return alike, list(replayed(led, taken, PLENTY, groups))

    @cached_property
    def gone(self) -> tuple[Any, list[tuple[Parameters, State]]]:
        """Every way that is asked about, gone through, and its weights: a row for each way."""
        import numpy

        weights = self.weights
        ways, stages = self.gone_through(weights)
        return numpy.array([weights[way] for way in ways]), stages

    def told(self, place: int, which: int) -> Any:
        """The fresh share inside (`which` 0) or leaving the line (1) after so many operations."""
        if (place, which) not in self._told:
            weights, stages = self.gone
            built, state = stages[place]
            share = 1 - state.outlet if which else resident(built, state)
            value, *slopes = ((share + 0.0 * weights[:, 0]) @ weights).tolist()
            self._told[place, which] = combine(value, [(slope, moved) for slope, (_, moved, _) in zip(slopes, self.moved, strict=True)])
        return self._told[place, which]
