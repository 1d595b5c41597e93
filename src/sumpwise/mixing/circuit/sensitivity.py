"""How the state of a circuit depends on its uncertain values: derivatives carried from operation to operation.

An operation maps the state before it, linearly in the old fractions, to the state after it. Its derivatives need only the plain states,
so those of any number of operations come from one call of a kernel on arrays; the chain rule then leads from state to state. An uncertain
value is one input, however often it is used.
"""

from __future__ import annotations

from sumpwise.mixing.circuit.flow import NEGLIGIBLE
from sumpwise.mixing.circuit.history import DRAIN, MIX, POUR, Operation, after, nominal, uncertain
from sumpwise.mixing.circuit.state import VOLUMES, Answers, Parameters, State, answers

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from typing import Any

    from sumpwise.mixing.circuit.history import History
    from sumpwise.mixing.circuit.state import Stage

MOVING = ("converter", "cooler", "clutches", "pockets", "bypass", "clutch_circulation", "pocket_circulation")
"""Parameters that operations depend on; the others only determine the start."""
KEPT = 200
"""With up to this many inputs, every state on the way keeps its derivatives; with more, only the state asked about does."""


class Carried:
    """How a state depends on the inputs; the axes of each array are the shape of the circuit, the entries of the state, and the inputs.

    Attributes
    ----------
    slopes : ndarray
        Derivatives.
    above, below : ndarray
        The error of the linear answer if an input is one standard uncertainty above or below its best value.
    """

    __slots__ = ("above", "below", "slopes")

    def __init__(self, slopes: Any, above: Any, below: Any) -> None:
        self.slopes = slopes
        self.above = above
        self.below = below


ROUGH = 1e-11
"""Negligible size of terms when the only question is whether an answer is curved."""


class Told:
    """The answers for a state, and how they depend on the inputs; each array has an entry for each of `Answers`, and the circuit's shape.

    Attributes
    ----------
    values, curved : ndarray
        Best values; whether first order is doubtful.
    slopes : ndarray
        Derivatives, the inputs last.
    inputs : list
        The uncertain values.
    """

    __slots__ = ("curved", "inputs", "slopes", "values")

    def __init__(self, values: Any, slopes: Any, curved: Any, inputs: list[Any]) -> None:
        self.values, self.slopes, self.curved, self.inputs = values, slopes, curved, inputs

    def answer(self, name: str) -> Any:
        """One of `Answers`, with its uncertainty."""
        from sumpwise import uncertainty

        place, share = Answers._fields.index(name), name not in VOLUMES
        value, slopes, curved = self.values[place], self.slopes[place], self.curved[place]
        if value.shape:
            return uncertainty.spread_over(value, [slopes[..., i] for i in range(len(self.inputs))], self.inputs, curved, share)
        return uncertainty.resulting(float(value), list(zip(slopes.tolist(), self.inputs, strict=True)), bool(curved), share)


def _flat(state: State) -> list[Any]:
    """The entries of a state as a list: the sump's volume, the old fractions, the fresh volume discharged."""
    return [state.sump_volume, state.sump, *state.converter, *state.cooler, state.clutches, state.pockets, state.discharged]


def _upright(flat: Sequence[Any], tanks: tuple[int, int]) -> State:
    """The state with these entries."""
    n, m = tanks
    return State(flat[0], flat[1], list(flat[2 : 2 + n]), list(flat[2 + n : 2 + n + m]), *flat[2 + n + m :])


class Course:
    """The course of one circuit with uncertain values.

    Parameters
    ----------
    history : History
        As read.
    built : Parameters
        Best values of the parameters.
    path : sequence of Stage
        The states at the start and after each operation.
    """

    def __init__(self, history: History, built: Parameters, path: Sequence[Stage]) -> None:
        import numpy

        from sumpwise import uncertainty

        self.history, self.built, self.path = history, built, path
        self.inputs: list[Any] = []
        self.known: list[int] = []
        """How many inputs there are at each state."""
        self._place: dict[int, int] = {}
        for values in (history.built, *(one[1:] for one in history.operations)):
            for value in filter(uncertain, values):
                if self._place.setdefault(id(value), len(self.inputs)) == len(self.inputs):
                    self.inputs.append(value)
            self.known.append(len(self.inputs))
        self.shape = numpy.broadcast_shapes(*(value.shape for value in history.values if getattr(value, "ndim", 0)))
        self.places = len(_flat(path[-1].state))
        self.moving = [getattr(built, name) for name in MOVING]
        self.spread = self._array(map(uncertainty.standards, self.inputs), -1)
        self.step = uncertainty.stride(self._array(map(uncertainty.nominals, self.inputs), -1), self.spread)

    def told(self) -> Told:
        """All answers for the last state."""
        import numpy

        from sumpwise import uncertainty

        count, state = len(self.inputs), self.path[-1].state
        with numpy.errstate(all="ignore"):
            found = self._carried()
            slopes = numpy.concatenate([found.slopes, self._directions(self._parameters())], axis=-2)
            shifts = [weight * self.step[..., None, :] * slopes for weight, _ in uncertainty.STENCIL]
            for sign, missed in ((1.0, found.above), (-1.0, found.below)):
                shifts.append(sign * self.spread[..., None, :] * slopes)
                shifts[-1][..., : self.places, :] += missed
            shift = numpy.concatenate(shifts, axis=-1)
            best = self._array([*_flat(state), *self.moving], 0)[..., None]
            then, built = self._read([value + shift[..., i, :] for i, value in enumerate(best)])
            shape = (*self.shape, len(shifts) * count)
            there = numpy.stack([numpy.broadcast_to(value, shape) for value in answers(built, then)])
            values = self._array(answers(self.built, state), 0)
            *points, up, down = (there[..., k * count : (k + 1) * count] for k in range(len(shifts)))
            steep = uncertainty.derivative(points, uncertainty.STENCIL, self.step)
            curved = uncertainty.bends(values[..., None], steep * self.spread, up, down).any(axis=-1)
        return Told(values, steep, curved, self.inputs)

    # -- from state to state

    def _carried(self) -> Carried:
        """How the last state depends on the inputs."""
        import numpy

        path, last = self.path, len(self.path) - 1
        first = next((i for i in range(last, -1, -1) if path[i].carried is not None), 0)
        now = path[first].carried or self._begun()
        stages = range(first + 1, last + 1)
        for alike in self._alike(i for i in stages if path[i].local is None):
            self._differentiate(alike)
        causes, slopes = {}, {first: self._of_all(now.slopes)}
        for i in stages:
            causes[i] = numpy.concatenate([slopes[i - 1], self._directions(self._parameters(i))], axis=-2)
            slopes[i] = path[i].local @ causes[i]
        missed: dict[int, tuple[Any, Any]] = {}
        for alike in self._alike(stages):
            missed.update(zip(alike, self._missed(alike, causes, slopes), strict=True))
        above, below = self._of_all(now.above), self._of_all(now.below)
        for i in stages:
            by_state, (up, down) = path[i].local[..., : self.places], missed[i]
            above, below = by_state @ above + up, by_state @ below + down
            now = Carried(*(array[..., : self.known[i]] for array in (slopes[i], above, below)))
            if i == last or self.known[i] <= KEPT:
                path[i].carried = now
        return now

    def _begun(self) -> Carried:
        """Derivatives at the start, where the sump holds its given volume and every compartment the same mixture."""
        import numpy

        slopes = numpy.zeros((*self.shape, self.places, self.known[0]))
        for value, rows, slope in ((self.history.built.sump, slice(0, 1), 1.0), (self.history.built.start, slice(1, -1), -1.0)):
            if uncertain(value):
                slopes[..., rows, self._place[id(value)]] += slope
        none = numpy.zeros_like(slopes)
        return Carried(slopes, none, none)

    def _alike(self, stages: Iterable[int]) -> list[list[int]]:
        """Stages grouped by the kind of operation that led to them: each group takes one call of its kernel."""
        lots: dict[str, list[int]] = {}
        for i in stages:
            lots.setdefault(self.history.operations[i - 1].kind, []).append(i)
        return list(lots.values())

    def _differentiate(self, lot: Sequence[int]) -> None:
        """Derivatives of the operations that led to some stages.

        The old fractions enter linearly, so unit vectors give those derivatives exactly. For the sump's volume, uncertain parameters and
        volumes, five-point differences are used.
        """
        import numpy

        from sumpwise import uncertainty

        entries, fractions = self._entries(lot), self.places - 2
        kind = self.history.operations[lot[0] - 1].kind
        reach = {POUR: entries[-2], DRAIN: entries[-2], MIX: entries[self.places]}.get(kind, 0.0 * entries[0])
        steps = {0: uncertainty.stride(entries[0], reach)}
        named = [self._parameters(i) for i in lot]
        for k in range(len(named[0])):
            if any(uncertain(values[k]) for values in named):
                spread = self._array([uncertainty.standards(values[k]) for values in named], 0)[..., None]
                steps[self.places + k] = uncertainty.stride(entries[self.places + k], spread)
        plain, each = 1 + fractions, len(uncertainty.STENCIL)
        moved = [*entries]
        for j in range(1, 1 + fractions):
            moved[j] = numpy.zeros((*entries[j].shape[:-1], plain + each * len(steps)))
            moved[j][..., j] = 1.0
            moved[j][..., plain:] = entries[j]
        for t, (j, step) in enumerate(steps.items()):
            moved[j] = numpy.repeat(entries[j], plain + each * len(steps), axis=-1)
            for k, (weight, _) in enumerate(uncertainty.STENCIL):
                moved[j][..., plain + each * t + k] += weight * step[..., 0]
        there = self._run(kind, moved)
        local = numpy.zeros((*there.shape[:-1], len(entries)))
        local[..., 1:plain] = there[..., 1:plain] - there[..., :1]
        local[..., -1, self.places - 1] = 1.0
        near = there[..., plain:].reshape(*there.shape[:-1], len(steps), each)
        points = [near[..., k] for k in range(each)]
        local[..., list(steps)] = uncertainty.derivative(points, uncertainty.STENCIL, numpy.stack(list(steps.values()), axis=-1))
        for i, one in zip(lot, local, strict=True):
            self.path[i].local = one

    def _missed(self, lot: Sequence[int], causes: dict[int, Any], slopes: dict[int, Any]) -> list[tuple[Any, Any]]:
        """The error of the linear answer for operations that led to some stages, with an input one standard uncertainty off, both ways."""
        import numpy

        spread = self.spread[..., None, :]
        shift = numpy.stack([causes[i] for i in lot]) * spread
        both = numpy.concatenate([shift, -shift], axis=-1)
        moved = [value + both[..., j, :] for j, value in enumerate(self._entries(lot))]
        kind, count = self.history.operations[lot[0] - 1].kind, len(self.inputs)
        try:
            there = self._run(kind, moved, ROUGH)
        except (ArithmeticError, ValueError):  # not for all of them: see which
            there = numpy.full((*both.shape[:-2], self.places, 2 * count), numpy.nan)
            for k in range(2 * count):
                try:
                    there[..., k : k + 1] = self._run(kind, [value[..., k : k + 1] for value in moved], ROUGH)
                except (ArithmeticError, ValueError):
                    continue
        found = []
        for i, up, down in zip(lot, there[..., :count], there[..., count:], strict=True):
            best, first = self._array(_flat(self.path[i].state), -1)[..., None], slopes[i] * spread
            found.append((up - best - first, down - best + first))
        return found

    # -- arrays

    def _array(self, values: Iterable[Any], axis: int) -> Any:
        """Values of the circuit's shape, along a new axis."""
        import numpy

        if self.shape:
            return numpy.stack([numpy.broadcast_to(value, self.shape) for value in values], axis)
        return numpy.array(list(values), dtype=float)

    def _of_all(self, array: Any) -> Any:
        """An array over the inputs of an earlier state, over all inputs."""
        import numpy

        wide = numpy.zeros((*self.shape, self.places, len(self.inputs)))
        wide[..., : array.shape[-1]] = array
        return wide

    def _parameters(self, i: int | None = None) -> list[Any]:
        """What the operation that led to a stage depends on beside the state before, as read; without a stage, what any answer does."""
        found = [getattr(self.history.built, name) for name in MOVING]
        return found if i is None else [*found, *self.history.operations[i - 1][1:]]

    def _directions(self, values: Sequence[Any]) -> Any:
        """How much values as read change with each input."""
        import numpy

        found = numpy.zeros((*self.shape, len(values), len(self.inputs)))
        for row, value in enumerate(values):
            if uncertain(value):
                found[..., row, self._place[id(value)]] = 1.0
        return found

    def _entries(self, lot: Sequence[int]) -> Any:
        """Best values that the operations leading to some stages depend on: one array for each, with an axis for columns."""
        import numpy

        each = [
            [*_flat(self.path[i - 1].state), *self.moving, *map(nominal, self.history.operations[i - 1][1:])] for i in lot
        ]  # fmt: skip
        return numpy.stack([self._array(values, 0) for values in each], 1)[..., None]

    def _read(self, entries: Sequence[Any]) -> tuple[State, Parameters]:
        """State and parameters of entries."""
        state = _upright(entries[: self.places], self.history.tanks)
        return state, self.built._replace(**dict(zip(MOVING, entries[self.places :], strict=False)))

    def _run(self, kind: str, entries: Sequence[Any], negligible: float = NEGLIGIBLE) -> Any:
        """The states after an operation, with entries and columns as the last axes."""
        import numpy

        state, built = self._read(entries)
        found = _flat(after(built, state, Operation(kind, *entries[-2:]), negligible))
        there = numpy.empty((*numpy.broadcast_shapes(*map(numpy.shape, found))[:-1], self.places, max(e.shape[-1] for e in entries)))
        for k, part in enumerate(found):
            there[..., k, :] = part
        return there
