"""How the state of a circuit depends on its uncertain values: derivatives carried from operation to operation.

An operation maps the state before it, linearly in the old fractions, to the state after it. Its derivatives need only the plain states,
so those of any number of operations of one kind come from one call of a kernel on arrays; the chain rule then leads from state to state.
An uncertain value is one input, however often it is used.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import accumulate, pairwise

from sumpwise._blocks import ROWS
from sumpwise._math import minimum
from sumpwise._record import Record
from sumpwise.mixing.circuit.compartments import FLOWS, NAMES
from sumpwise.mixing.circuit.history import CIRCULATE, DRAIN, MIX, POUR, PUMP, Operation, after, nominal, raised, uncertain
from sumpwise.mixing.circuit.state import VOLUMES, Answers, Parameters, State, answers

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Sequence
    from typing import Any

    from sumpwise.mixing.circuit.history import History
    from sumpwise.mixing.circuit.state import Stage


class Found(Record):
    """The answers for one state.

    `inputs` are the uncertain values that it depends on; `values` has the best value of each of `Answers`, in the circuit's shape, and
    `slopes` their derivatives, the inputs last.
    """

    inputs: list[Any]
    values: Any
    slopes: Any


MOVING = (*NAMES, *FLOWS)
"""Parameters that operations depend on; the others only determine the start."""
KEPT = 200
"""With up to this many inputs, every state on the way keeps its derivatives; with more, only the state asked about does."""
LEVERS = ("sump_volume", *MOVING, "volume", "poured")
"""What an operation depends on besides the old fractions."""
LEVELS = (0, len(LEVERS) - 2, len(LEVERS) - 1)
"""Places in `LEVERS` that change the level in the sump."""
ROOM = 0.1
"""A step of a difference is at most this share of what the sump holds."""
SMALL = 1e-14
"""Negligible size of terms in an old fraction of which differences are taken: they cancel to about 1e-11 anyway."""
ROUGH = 1e-6
"""Negligible size of terms when the only question is whether an answer is curved."""


class Told:
    """The answers for the last state of a circuit: its history as read, the best values of its parameters, and the states on its path."""

    __slots__ = ("_curved", "_found", "_led")

    def __init__(self, history: History, built: Parameters, path: Sequence[Stage]) -> None:
        self._led = history, built, path
        self._found: Found = Course(*self._led).told()
        self._curved: Any = None

    @property
    def curved(self) -> Any:
        """Whether first order is doubtful, for each of `Answers`; worked out when first needed."""
        if self._curved is None:
            self._curved = Course(*self._led).curved(self._found)
        return self._curved

    def answer(self, name: str) -> Any:
        """One of `Answers`, with its uncertainty."""
        from sumpwise import uncertainty

        place, share, inputs = Answers._fields.index(name), name not in VOLUMES, self._found.inputs
        value, slopes = self._found.values[place], self._found.slopes[place]
        if value.shape:
            return uncertainty.spread_over(value, [slopes[..., i] for i in range(len(inputs))], inputs, self.curved[place], share)
        terms = list(zip(slopes.tolist(), inputs, strict=True))
        return uncertainty.resulting(float(value), terms, lambda: bool(self.curved[place]), share)


def _flat(state: State) -> list[Any]:
    """The entries of a state as a list: the sump's volume, the old fractions, the fresh volume discharged."""
    flat = [state.sump_volume, state.sump]
    for tanks in state.way:
        flat += tanks
    flat += state.sides
    flat.append(state.discharged)
    return flat


def _upright(flat: Sequence[Any], tanks: tuple[int, ...]) -> State:
    """The state with these entries."""
    ends = [*accumulate(tanks, initial=2)]
    return State(*flat[:2], *(list(flat[first:last]) for first, last in pairwise(ends)), *flat[ends[-1] :])


@lru_cache(maxsize=64)
def _columns(places: int, levers: tuple[int, ...]) -> tuple[Any, Any]:
    """For each column, which entries keep their best value, and by how many steps each entry is shifted.

    First come columns with only new fluid, and with one old fraction alone; then, for each point of the differences, each lever shifted.
    """
    import numpy

    from sumpwise.uncertainty import STENCIL

    plain, each = places - 1, len(STENCIL)
    keep, shift = (make((plain + len(LEVERS), plain + each * len(levers))) for make in (numpy.ones, numpy.zeros))
    keep[1:plain, :plain], shift[1:plain, 1:plain] = 0.0, numpy.eye(plain - 1)
    for k, lever in enumerate(levers):
        shift[_entry(places, lever), plain + k :: len(levers)] = [weight for weight, _ in STENCIL]
    return keep, shift


def _entry(places: int, lever: int) -> int:
    """The place of a lever among the entries: the first, or after those of the state."""
    return places - 1 + lever if lever else 0


def _first(array: Any) -> Any:
    """An array with its last axis first."""
    return array.transpose(-1, *range(array.ndim - 1))


def _last(array: Any) -> Any:
    """An array with its first axis last."""
    return array.transpose(*range(1, array.ndim), 0)


class Course:
    """The course of one circuit with uncertain values, from the same three."""

    def __init__(self, history: History, built: Parameters, path: Sequence[Stage]) -> None:
        import numpy

        from sumpwise import uncertainty

        self.history, self.built, self.path = history, built, path
        self.inputs: list[Any] = []
        self.known: list[int] = []
        """How many inputs there are at each state."""
        self._place: dict[int, int] = {}
        for values in (history.built, *(one[1:] for one in history.operations)):
            for value in values:
                if value.__class__ is not float and uncertain(value) and id(value) not in self._place:
                    self._place[id(value)] = len(self.inputs)
                    self.inputs.append(value)
            self.known.append(len(self.inputs))
        shapes = {value.shape for value in history.values if getattr(value, "ndim", 0)}
        self.shape = numpy.broadcast_shapes(*shapes) if shapes else ()
        self.places = len(_flat(path[-1].state))
        self.moving = [getattr(built, name) for name in MOVING]
        self.doubted = [getattr(history.built, name) for name in MOVING]
        self.turned = self._directions(self.doubted)
        best, self.spread = self._array([[*map(of, self.inputs)] for of in (uncertainty.nominals, uncertainty.standards)])
        self.step = uncertainty.stride(best, self.spread)

    def told(self) -> Found:
        """All answers for the last state."""
        import numpy

        from sumpwise import uncertainty

        with numpy.errstate(all="ignore"):
            moved = self._answering(self._carried()[0])
            points = [weight * self.step[..., None, :] * moved for weight, _ in uncertainty.STENCIL]
            values = _first(self._array([answers(self.built, self.path[-1].state)])[0])
            return Found(self.inputs, values, uncertainty.derivative(self._answers(points), uncertainty.STENCIL, self.step))

    def curved(self, found: Found) -> Any:
        """Whether first order is doubtful for each answer."""
        import numpy

        from sumpwise import uncertainty

        with numpy.errstate(all="ignore"):
            slopes, missed = self._carried(bends=True)
            widths = self._answering(slopes) * self.spread[..., None, :]
            sides = numpy.array([widths, -widths])
            sides[..., : self.places, :] += missed
            return uncertainty.bends(found.values[..., None], found.slopes * self.spread, *self._answers(sides)).any(axis=-1)

    def _answering(self, slopes: Any) -> Any:
        """Derivatives of a state, and those of the parameters, which answers depend on."""
        import numpy

        return numpy.concatenate([slopes, self.turned], axis=-2)

    def _answers(self, shifts: Any) -> list[Any]:
        """The answers for the last state, with it and the parameters shifted."""
        import numpy

        shift = numpy.concatenate(shifts, axis=-1)
        shift += self._array([[*_flat(self.path[-1].state), *self.moving]])[0][..., None]
        then, built = self._read(_first(numpy.swapaxes(shift, -1, -2)))
        there = numpy.array(answers(built, then)).reshape(-1, *self.shape, len(shifts), len(self.inputs))
        return [there[..., k, :] for k in range(len(shifts))]

    # -- from state to state

    def _carried(self, bends: bool = False) -> tuple[Any, Any]:
        """Derivatives of the last state by the inputs and, if wanted, the errors of the linear answer above and below."""
        import numpy

        path, last, count = self.path, len(self.path) - 1, len(self.inputs)
        first = next((i for i in range(last, 0, -1) if (path[i].missed if bends else path[i].slopes) is not None), 0)
        slopes = self._of_all(path[first].slopes) if first else self._begun()
        missed = self._of_all(path[first].missed) if first and bends else numpy.zeros((2, *slopes.shape))
        if first < last:
            levers = self._levers(first + 1)
            widest = max(_columns(self.places, levers)[0].shape[-1], 2 * count)
            most = max(1, ROWS // (widest * max(1, slopes[..., 0, 0].size)))
            for start in range(first + 1, last + 1, most):
                stages = range(start, min(start + most, last + 1))
                on_the_way = self._through(stages, levers, slopes)
                if bends:
                    missed = self._off(stages, levers, on_the_way, missed)
                slopes = on_the_way[-1]
        return slopes, missed

    def _begun(self) -> Any:
        """Derivatives at the start, where the sump holds its given volume and every compartment the same mixture."""
        import numpy

        begun = numpy.zeros((*self.shape, self.places, len(self.inputs)))
        for value, rows, slope in ((self.history.built.sump, slice(0, 1), 1.0), (self.history.built.start, slice(1, -1), -1.0)):
            if id(value) in self._place:
                begun[..., rows, self._place[id(value)]] += slope
        return begun

    def _levers(self, since: int) -> tuple[int, ...]:
        """Levers that may change in the operations from one stage on: the sump's volume, and what is uncertain."""
        found = [*(id(value) in self._place for value in self.doubted), False, False]
        for _, *volumes in self.history.operations[since - 1 :]:
            for k, value in enumerate(volumes):
                found[k - 2] |= id(value) in self._place
        return 0, *(lever for lever, moves in enumerate(found, 1) if moves)

    def _through(self, stages: range, levers: tuple[int, ...], before: Any) -> list[Any]:
        """Derivatives by the inputs, for the state before some stages and for each of the stages."""
        import numpy

        from sumpwise import uncertainty

        kept = [self.path[i].slopes for i in stages]
        if all(slopes is not None for slopes in kept):
            return [before, *map(self._of_all, kept)]
        plain = self.places - 1
        ways = self._ways(stages, before[..., 0, :])[..., levers, :]
        best, moved = self._entries(stages), [_entry(self.places, lever) for lever in levers]
        step = self._steps(stages, levers, ways, best[moved, ..., 0])
        keep, shift = (pattern[:, *(None,) * (best.ndim - 2)] for pattern in _columns(self.places, levers))
        scale = numpy.ones_like(best)
        scale[moved] = step[..., None]
        step = _last(step)
        wide = best * keep
        wide += scale * shift
        there = self._there(stages, wide)
        points = numpy.array([there[..., k : k + len(levers)] for k in range(plain, there.shape[-1], len(levers))])
        by_lever = uncertainty.derivative([*points], uncertainty.STENCIL, step[..., None, :])
        by_state = numpy.zeros((*there.shape[:-1], self.places))
        by_state[..., 0] = by_lever[..., 0]
        by_state[..., 1:plain] = there[..., 1:plain] - there[..., :1]
        by_state[..., -1, -1] = 1.0
        found = [before]
        for i, matrix, cause in zip(stages, by_state, by_lever[..., 1:] @ ways[..., 1:, :], strict=True):
            found.append(matrix @ found[-1] + cause)
            self.path[i].by_state = matrix
            if self.known[i] <= KEPT:
                self.path[i].slopes = found[-1][..., : self.known[i]]
        return found

    def _off(self, stages: range, levers: tuple[int, ...], slopes: list[Any], missed: Any) -> Any:
        """The error of the linear answer for the last of some stages with an input one standard uncertainty off, both ways."""
        import numpy

        spread, count = self.spread[..., None, :], len(self.inputs)
        best, widths = self._entries(stages), numpy.array(slopes) * spread
        off = numpy.zeros((*best.shape[:-1], count))
        off[1 : self.places - 1] = _first(numpy.swapaxes(widths[:-1], -1, -2))[1 : self.places - 1]
        ways = self._ways(stages, slopes[0][..., 0, :])[..., levers, :]
        off[[_entry(self.places, lever) for lever in levers]] = _first(numpy.swapaxes(ways * spread, -1, -2))
        there = self._there(stages, best + numpy.concatenate([off, -off, numpy.zeros_like(best)], axis=-1), ROUGH)
        there -= there[..., -1:]
        beside = numpy.array([there[..., :count] - widths[1:], there[..., count:-1] + widths[1:]])
        for k, i in enumerate(stages):
            missed = self.path[i].by_state @ missed + beside[:, k]
            if self.known[i] <= KEPT:
                self.path[i].missed = missed[..., : self.known[i]]
        return missed

    def _there(self, stages: range, entries: Any, negligible: float = SMALL) -> Any:
        """The states after the operations that led to some stages, from columns of entries; each kind takes one call of its kernel."""
        import numpy

        there = numpy.empty((len(stages), *self.shape, self.places, entries.shape[-1]))
        lots: dict[str, list[int]] = {}
        for k, i in enumerate(stages):
            lots.setdefault(self.history.operations[i - 1].kind, []).append(k)
        for kind, lot in lots.items():
            wide = entries.take(lot, axis=1)
            try:
                there[lot] = self._run(kind, wide, negligible)
            except (ArithmeticError, ValueError):  # at least one cannot be run: find out which
                for k in range(wide.shape[-1]):
                    try:
                        there[lot, ..., k : k + 1] = self._run(kind, wide[..., k : k + 1], negligible)
                    except (ArithmeticError, ValueError):
                        there[lot, ..., k] = numpy.nan
        return there

    # -- arrays

    def _array(self, rows: Sequence[Sequence[Any]]) -> Any:
        """Rows of values of the circuit's shape, with that shape in between."""
        import numpy

        if not self.shape:
            return numpy.array(rows, dtype=float)
        out = numpy.empty((len(rows), *self.shape, len(rows[0])))
        for row, values in zip(out, rows, strict=True):
            for k, value in enumerate(values):
                row[..., k] = value
        return out

    def _directions(self, values: Sequence[Any]) -> Any:
        """How much values as read change with each input."""
        import numpy

        found = numpy.zeros((*self.shape, len(values), len(self.inputs)))
        for row, value in enumerate(values):
            if (place := self._place.get(id(value))) is not None:
                found[..., row, place] = 1.0
        return found

    def _ways(self, stages: range, sump: Any) -> Any:
        """How much the levers of the operations that led to some stages change with each input."""
        import numpy

        found = numpy.zeros((len(stages), *self.shape, len(LEVERS), len(self.inputs)))
        found[..., 1:-2, :] = self.turned
        for way, i in zip(found, stages, strict=True):
            kind, *volumes = self.history.operations[i - 1]
            way[..., 0, :] = sump
            if any(id(value) in self._place for value in volumes):
                way[..., -2:, :] = self._directions(volumes)
                sump = sump + raised(Operation(kind, way[..., -2, :], way[..., -1, :]))
        return found

    def _of_all(self, array: Any) -> Any:
        """An array over the inputs of an earlier state, over all inputs."""
        import numpy

        wide = numpy.zeros((*array.shape[:-1], len(self.inputs)))
        wide[..., : array.shape[-1]] = array
        return wide

    def _entries(self, stages: range) -> Any:
        """Best values that the operations leading to some stages depend on: one array for each, with an axis for columns."""
        rows = [[*_flat(self.path[i - 1].state), *self.moving, *map(nominal, self.history.operations[i - 1][1:])] for i in stages]
        return _first(self._array(rows))[..., None]

    def _steps(self, stages: range, levers: tuple[int, ...], ways: Any, values: Any) -> Any:
        """Steps of the differences for each lever, none large enough to empty the sump."""
        import numpy

        from sumpwise import uncertainty

        limits = []
        for i in stages:
            kind, *volumes = self.history.operations[i - 1]
            before, then = self.path[i - 1].state.sump_volume, self.path[i].state.sump_volume
            reach = nominal(volumes[0]) if kind in (POUR, DRAIN) else self.built.way[0] if kind == MIX else 0.0
            limits.append([reach, ROOM * minimum(before, then) if kind in (PUMP, CIRCULATE) else numpy.inf])
        spread = _first((ways * self.spread[..., None, :]).sum(axis=-1))
        spread[0], room = _first(self._array(limits))
        step = uncertainty.stride(values, spread)
        for k, lever in enumerate(levers):
            if lever in LEVELS:
                numpy.minimum(step[k], room, out=step[k])
        return step

    def _read(self, entries: Sequence[Any]) -> tuple[State, Parameters]:
        """State and parameters of entries."""
        sump, floor, start = self.built.sump, self.built.sump_floor, self.built.start
        moved = entries[self.places : self.places + len(MOVING)]
        volumes, flows = moved[: len(NAMES)], moved[len(NAMES) :]
        return _upright(entries[: self.places], self.history.tanks), Parameters(sump, *volumes, floor, *flows, start)

    def _run(self, kind: str, entries: Sequence[Any], negligible: float) -> Any:
        """The states after an operation, with entries and columns as the last axes."""
        import numpy

        state, built = self._read(entries)
        there = numpy.empty((*entries[0].shape[:-1], self.places, entries[0].shape[-1]))
        for k, part in enumerate(_flat(after(built, state, Operation(kind, *entries[-2:]), negligible))):
            there[..., k, :] = part
        return there
