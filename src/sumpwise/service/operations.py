"""What is done to a fill, one operation after the other: a method foresees such a list, a log measures one."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from sumpwise.errors import RangeError
from sumpwise.mixing.circuit import Circuit
from sumpwise.quantities.boundary import answer
from sumpwise.uncertainty import nominal


@dataclass(frozen=True, slots=True)
class Operation:
    """One operation.

    Attributes
    ----------
    kind : str
        "drain", "pour", "pump" (out of the open cooler line), "exchange" (pumped out while as much is poured in), "mix" (a drive), or
        "none" for what moves no fluid.
    volume : float or uncertain number
        Litres at 20 °C.
    entries : tuple of int
        Numbers of the log entries it rests on; empty when it is foreseen.
    entry : mapping or None
        The values of that entry.
    poured : float
        Litres that a helper pours in while the pump runs.
    """

    kind: str
    volume: Any = 0.0
    entries: tuple[int, ...] = ()
    entry: Mapping[str, Any] | None = None
    poured: Any = 0.0


def follow(circuit: Circuit, operations: Iterable[Operation]) -> Iterator[tuple[Operation, Circuit]]:
    """Each operation with the circuit after it."""
    for one in operations:
        if one.kind == "mix":
            circuit = circuit.mix()
        elif one.kind != "none":
            volume = answer(one.volume, "volume")
            if one.kind == "exchange":
                circuit = circuit.pump(volume, poured=volume)
            elif one.poured:
                circuit = circuit.pump(volume, poured=answer(one.poured, "volume"))
            else:
                circuit = getattr(circuit, one.kind)(volume)
        yield one, circuit


def stirred(volume: Any, operations: Iterable[Operation]) -> Any:
    """Share of new fluid in a unit of one compartment, which driving stirs, after all operations; `volume` is what it held, litres.

    Raises
    ------
    RangeError
        Where more comes out than is in it.
    """
    held, fresh = volume, 0.0
    for one in operations:
        if one.kind == "pour":
            held, fresh = held + one.volume, fresh + one.volume
        elif one.kind in ("drain", "pump"):
            left = held - one.volume
            if nominal(left) < 0:
                raise RangeError("is more than there was to drain", code="ledger.too_much_drained", argument="volume")
            held, fresh = left, fresh * left / held
    return fresh / held if nominal(held) else 0.0
