"""The history of a circuit: its parameters, the operations in order, and the states they lead to."""

from __future__ import annotations

from sumpwise._record import Record
from sumpwise.mixing.circuit import flow
from sumpwise.mixing.circuit.state import Parameters, filled

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from typing import Any

    from sumpwise.mixing.circuit.state import State


class Operation(Record):
    """One operation on a circuit.

    `kind` is one of `DRAIN`, `POUR`, `PUMP`, `CIRCULATE` and `MIX`; `volume`, in litres, is what it drains, pours or pumps; `poured` what
    runs in while it pumps.
    """

    kind: str
    volume: Any = 0.0
    poured: Any = 0.0


DRAIN, POUR, PUMP, CIRCULATE, MIX = "drain", "pour", "pump", "circulate", "mix"

def uncertain(value: Any) -> bool:
    """Whether a value as read is an uncertain number or an array of them."""
    if value.__class__ is float:
        return False
    return hasattr(value, "nominal_value") or getattr(getattr(value, "dtype", None), "kind", "") == "O"


def nominal(value: Any) -> Any:
    """A value without its uncertainty."""
    if value.__class__ is float or not uncertain(value):
        return value
    from sumpwise import uncertainty

    return uncertainty.nominals(value)


def raised(operation: Operation) -> Any:
    """How much an operation adds to the sump."""
    if operation.kind == POUR:
        return operation.volume
    return operation.poured - operation.volume if operation.kind in (DRAIN, PUMP) else 0.0


def draws_air_below(operation: Operation) -> bool:
    """Whether the pump runs in an operation, so that it would draw air from a sump below its floor."""
    return operation.kind in (PUMP, CIRCULATE, MIX)


def after(built: Parameters, state: State, operation: Operation, negligible: float = flow.NEGLIGIBLE) -> State:
    """The state after one operation, in plain numbers."""
    kind, volume, poured = operation
    if kind == DRAIN:
        return flow.drain(state, volume)
    if kind == POUR:
        return flow.pour(state, volume)
    if kind == MIX:
        return flow.mix(built, state)
    return flow.flow(built, state, volume, poured, closed=kind == CIRCULATE, negligible=negligible)


class History:
    """The parameters of a circuit and the operations on it, in order, so that they can be run again with other values.

    All values are in litres and shares of one, as read: plain, uncertain, or arrays. `tanks` are those of each compartment on the way.
    """

    __slots__ = ("built", "operations", "tanks")

    def __init__(self, built: Parameters, tanks: tuple[int, ...], operations: tuple[Operation, ...] = ()) -> None:
        self.built = built
        self.tanks = tanks
        self.operations = operations

    def then(self, operation: Operation) -> History:
        """The history with one more operation."""
        return History(self.built, self.tanks, (*self.operations, operation))

    def start(self) -> State:
        """The state before the first operation, for plain parameters."""
        return filled(self.built.sump, 1 - self.built.start, self.tanks)

    def states(self) -> Iterator[State]:
        """The states at the start and after each operation, for plain values."""
        state = self.start()
        yield state
        for operation in self.operations:
            state = after(self.built, state, operation)
            yield state

    @property
    def values(self) -> list[Any]:
        """All values in one list: the parameters, then `volume` and `poured` of each operation."""
        return [*self.built, *(value for _, *volumes in self.operations for value in volumes)]

    def with_values(self, values: Sequence[Any]) -> History:
        """The same history with other values, in the order of `values`."""
        count = len(self.built)
        pairs = zip(values[count::2], values[count + 1 :: 2], strict=True)
        done = tuple(Operation(one.kind, *pair) for one, pair in zip(self.operations, pairs, strict=True))
        return History(Parameters(*values[:count]), self.tanks, done)

    def begins(self, later: History) -> bool:
        """Whether a later history begins with this one, with the same sources, not just the same numbers."""
        done = len(self.operations)
        same = self.tanks == later.tanks and [o.kind for o in self.operations] == [o.kind for o in later.operations[:done]]
        return same and all(
            one is other or (one.__class__ is other.__class__ is float and one == other)
            for one, other in zip(self.values, later.values, strict=False)
        )

    def longest_burst(self) -> float:
        """The largest burst with nothing poured meanwhile, in litres; 0 if there was none."""
        bursts = (nominal(one.volume) for one in self.operations if one.kind == PUMP and not nominal(one.poured))
        return max(bursts, default=0.0)

    def __repr__(self) -> str:
        return f"<History: {', '.join(one.kind for one in self.operations) or 'as built'}>"
