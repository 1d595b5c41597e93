"""How fresh a course of operations leaves the fill, with everything that is not known about the pumping.

Not known are how much new fluid is drawn in before it has mixed, how much has run back from the converter, how the bypass changes as the
fluid warms, and how many tanks in series the converter is like; each is called a manner. The circuit is run through the same operations
with each manner at its best value, in the middle and at both ends of its range, and the difference is added to what the circuit says.
The bypass and the circulations are treated the same way, since their ranges are too wide for first order.
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
from sumpwise.mixing.circuit.history import PUMP, History, nominal
from sumpwise.mixing.circuit.model import tell_on_the_way
from sumpwise.mixing.circuit.state import KINDS, Parameters, State, resident
from sumpwise.uncertainty import combine, derivatives, standard

if TYPE_CHECKING:
    from sumpwise.service.filled import Filled

Way = tuple[float, ...]
"""One value for each manner of pumping."""


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

    Attributes
    ----------
    circuit : Circuit
        The circuit after the operation, without the manners.
    """

    __slots__ = ("_course", "circuit")

    def __init__(self, circuit: Circuit, course: _Course | None) -> None:
        self.circuit = circuit
        self._course = course

    @property
    def resident(self) -> Any:
        """Fresh fraction of all fluid present."""
        return self.circuit.resident if self._course is None else self._course.told(self.circuit, 0)

    @property
    def outlet(self) -> Any:
        """Fresh fraction at the end of the return line."""
        return self.circuit.outlet if self._course is None else self._course.told(self.circuit, 1)


def reached(case: Filled, circuits: Iterable[Circuit]) -> list[Reached]:
    """The state after each operation of one course; with best estimates only, if the circuits have no others."""
    led, course = list(circuits), None
    if led and any(one.kind == PUMP for one in led[-1].history.operations):
        names = (*MANNERS, TANKS, *FLOWS)
        course = _Course(led[-1], [manner(name, case.ask("circuit", name), case.has("circuit", name)) for name in names])
    return [Reached(circuit, course) for circuit in led]


class _Course:
    """The same operations run with each manner over its range, when first asked."""

    def __init__(self, end: Circuit, manners: Sequence[Manner]) -> None:
        self.end: Circuit | None = end
        history = end.history
        self.history = history.with_values([nominal(value) for value in history.values])
        self.doubtful = any(standard(value) for value in history.values)
        self.manners = manners
        self.best = tuple(nominal(one.value) for one in manners)
        self._told: dict[tuple[int, int], Any] = {}
        self.open = [place for place, one in enumerate(manners) if self.doubtful and one.low < one.high]

    @cached_property
    def gone(self) -> tuple[list[Way], list[tuple[Parameters, State]]]:
        """Every way that is asked about, gone through."""
        ways = [self._way(i, end) for i in self.open for end in self.manners[i][2:]]
        return gone_through(self.history, [one.name for one in self.manners], [self.best, *ways])

    def _way(self, i: int, value: float) -> Way:
        """The best values, with another one for a manner."""
        return (*self.best[:i], value, *self.best[i + 1 :])

    @cached_property
    def rule(self) -> Any:
        """What makes of the shares of all ways their means over the ranges, and how uncertain each open manner makes them: rows of weights.

        Simpson's rule for the means; half the difference between the ends, over √3, for the uncertainties.
        """
        import numpy

        column = {way: k for k, way in enumerate(self.gone[0])}
        rule = numpy.zeros((1 + len(self.open), len(column)))
        rule[0, column[self.best]] = 1.0 - len(self.open)
        for row, i in enumerate(self.open, 1):
            variance = self.manners[i].variance
            low, high, middle = (column[self._way(i, end)] for end in self.manners[i][2:])
            rule[0, middle] += 1.0 - variance / 3
            rule[0, [low, high]] += variance / 6
            rule[row, [low, high]] = -sqrt(variance / 12), sqrt(variance / 12)
        return rule

    def told(self, circuit: Circuit, which: int) -> Any:
        """The fresh share inside (`which` 0) or leaving the line (1) as far as a circuit of the course has got, with the manners."""
        place, end = len(circuit.history.operations), self.end
        if end is not None and place < len(self.history.operations):
            tell_on_the_way(end)
            self.end = None
        if (place, which) not in self._told:
            self._told[place, which] = self._with_manners(place, which, circuit.outlet if which else circuit.resident)
        return self._told[place, which]

    def _with_manners(self, place: int, which: int, known: Any) -> Any:
        built, state = self.gone[1][place]
        share = 1 - state.outlet if which else resident(built, state)
        value, *spreads = (self.rule @ (share + 0.0 * self.rule[0])).tolist()
        if not self.doubtful:
            return value
        found, terms = derivatives(known), [(1.0, known)]
        for i, spread in zip(self.open, spreads, strict=True):
            one = self.manners[i]
            to_first_order = sum(found.get(cause, 0.0) * cause.std_dev for cause in derivatives(one.value)) if one.name in FLOWS else 0.0
            terms.append(((spread - to_first_order) / standard(one.value), one.value))
        return combine(value, terms)


def gone_through(history: History, names: Sequence[str], ways: Iterable[Way]) -> tuple[list[Way], list[tuple[Parameters, State]]]:
    """Some plain operations, gone through in several ways to pump side by side.

    The ways in the order in which they stand side by side; the parameters and the state at the start and after each operation.
    """
    import numpy

    place = names.index(TANKS)
    alike = sorted(set(ways), key=lambda way: way[place])
    counts = [round(way[place]) for way in alike]
    several = len(alike) > 1
    taken: dict[str, Any] = dict(zip(names, numpy.array(alike).T if several else alike[0], strict=True))
    led = history.with_values(history.values)
    led.tanks = (counts[-1], *history.tanks[1:])
    led.built = led.built._replace(**{name: taken.pop(name) for name in FLOWS})
    tanks = Tanks([(count, len(list(same))) for count, same in groupby(counts)]) if several else None
    return alike, list(replayed(led, taken, PLENTY, tanks))
