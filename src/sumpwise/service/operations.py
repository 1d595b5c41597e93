"""Operations on a fill, one after the other: a method plans such a list, a log records one."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from sumpwise.errors import RangeError
from sumpwise.mixing.circuit.history import DRAIN, POUR, PUMP, Operation
from sumpwise.uncertainty import nominal


def exchange(volume: Any) -> Operation:
    """Pump as much out of the open line as is poured in meanwhile; litres."""
    return Operation(PUMP, volume, volume)


def at_best(operations: Iterable[Operation]) -> list[Operation]:
    """The same by best estimates alone."""
    return [Operation(one.kind, nominal(one.volume), nominal(one.poured)) for one in operations]


def stirred(volume: Any, operations: Iterable[Operation | None]) -> Any:
    """Share of new fluid after all operations in a unit with one compartment, stirred by driving; `volume` is what it held, litres.

    Raises
    ------
    RangeError
        If more comes out than is in it.
    """
    held, fresh = volume, 0.0
    for one in operations:
        if one is None:
            continue
        if one.kind == POUR:
            held, fresh = held + one.volume, fresh + one.volume
        elif one.kind in (DRAIN, PUMP):
            left = held - one.volume
            if nominal(left) < 0:
                raise RangeError("is more than there was to drain", code="ledger.too_much_drained", argument="volume")
            held, fresh = left, fresh * left / held
    return fresh / held if nominal(held) else 0.0
