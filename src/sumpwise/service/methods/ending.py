"""Where the level ends if it is set by the count alone, given the vessels for catching and pouring, and the level before."""

from __future__ import annotations

from collections.abc import Iterable
from math import ceil, erfc, hypot, sqrt
from typing import TYPE_CHECKING, Any

from sumpwise.filling.ledger import Ledger
from sumpwise.filling.vessel import Vessel
from sumpwise.mixing.circuit.history import DRAIN, POUR, PUMP
from sumpwise.quantities.arguments import number_in
from sumpwise.quantities.boundary import inside
from sumpwise.service.holding import poured
from sumpwise.service.operations import at_best
from sumpwise.uncertainty import nominal, standard

if TYPE_CHECKING:
    from sumpwise.mixing.circuit.history import Operation
    from sumpwise.service.case import Case


def outside(case: Case, operations: Iterable[Operation], start: Any) -> float | None:
    """Chance that the level ends outside the marks if filled by the count; None without vessels or without marks.

    The operations are those after the level was last checked; `start` is by how many litres it was off the target then, uncorrected.
    """
    if case.pail is None or not case.has("level", "marks_volume"):
        return None
    between = case.ask("level", "marks_volume")
    half, off = nominal(between) / 2, nominal(start)
    led = at_best(operations)  # several methods end alike
    u = hypot(standard(start), standard(between) / 2, *case.once(f"count after {led}", lambda: _counted(case, led)))
    return (erfc((half - off) / u / sqrt(2)) + erfc((half + off) / u / sqrt(2))) / 2 if u else float(abs(off) > half)


def _counted(case: Case, operations: Iterable[Operation]) -> tuple[float, ...]:
    """Standard uncertainties of the count: from the vessels, as in the ledger, and from fluid that bypasses them."""
    assert case.pail is not None
    pail, packs = case.vessels[case.pail["name"]], sorted(case.packs.values())
    hand = case.vessels[case.hand["name"]] if case.hand else Vessel("packs", inside(packs[0], "volume")) if packs else pail
    warm = inside(nominal(case.ask("fluid", "drained")), "temperature")
    ledger, caught = Ledger(case.density), [0.0]
    """What the pail holds whenever it is read for the last time and emptied."""
    for one in operations:
        if one.kind in (DRAIN, PUMP):
            for part in _fills(pail, one.volume):
                if pail.capacity and caught[-1] + part > number_in(pail.capacity, "L"):
                    caught.append(0.0)
                caught[-1] += part
            if one.kind == DRAIN:
                caught.append(0.0)
        for part in _fills(hand, one.volume if one.kind == POUR else one.poured):
            read = part if case.hand or not packs else poured(part, packs[0])
            ledger = ledger.poured(hand, inside(read, "volume"), case.cold)
    for held in filter(None, caught):
        ledger = ledger.drained(pail, inside(held, "volume"), warm).emptied(pail)
    if not len(ledger):
        return ()
    return standard(number_in(ledger.balance, "L")), nominal(case.ask("capacity", "unmeasured"))


def _fills(vessel: Vessel, litres: float) -> list[float]:
    """The readings on a vessel for some litres, one for each time it has to be filled."""
    read = litres / vessel.scale
    times = ceil(read / number_in(vessel.capacity, "L")) if vessel.capacity else int(read > 0)
    return [read / times] * times if times else []
