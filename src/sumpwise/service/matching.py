"""What was seen at the outlet, weighed with everything the log moved and with what is not known about the circuit."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sumpwise.inference.moves import MANNERS
from sumpwise.inference.outlet import weighed
from sumpwise.inference.outlet_answer import OutletEvidence
from sumpwise.inference.prior import TANKS
from sumpwise.mixing.circuit.history import CIRCULATE, DRAIN, MIX, POUR, PUMP, Operation
from sumpwise.quantities.boundary import inside
from sumpwise.service.agreement import Agreement
from sumpwise.service.filled import NOTHING
from sumpwise.service.movements import Movement, corrected
from sumpwise.service.reached import manner
from sumpwise.uncertainty import combine, nominal, standard

if TYPE_CHECKING:
    from sumpwise.service.case import Case

DRAWS, FIRST, NEAR = 1_000, 300, 900
"""Circuits drawn from the ranges for a sheet, and how many of those are run; and how many more are drawn near what was seen at a time."""
MOMENTS = {"start": 0, "middle": 0.5, "end": 1}
"""How much of a burst has been pumped when a vial is filled."""


def evidence_of(case: Case, found: Agreement) -> OutletEvidence:
    """What the matches in the log say about the inside.

    The volumes have the uncertainties of the vessels. A vial may have been filled at the start, in the middle or at the end of a burst.

    Raises
    ------
    SumpwiseError
        For matches that contradict each other, even allowing for their uncertainty.
    """
    history = case.sampled.history
    seen: list[tuple[tuple[float, ...], float]] = []
    amounts = [move.moved for move in found.moves]
    for number, place in corrected(found.moves).items():
        amounts[place], amounts[number] = _sum(amounts[place], amounts[number]), 0.0
    for move, moved in zip(found.moves, amounts, strict=True):
        before = len(history.operations)
        for operation in _operations(case, move, moved):
            history = history.then(operation)
        if "outlet_old" in move.entry:
            when = move.entry.get("when")
            last = len(history.operations)  # a reading of nothing pumps nothing: the outlet is what it was
            places = tuple(min(before + part, last) for moment, part in MOMENTS.items() if when in (None, moment))
            seen.append((places, nominal(move.entry["outlet_old"])))
    ranges: dict[str, Any] = {}
    for name in MANNERS:
        taken = case.ask("circuit", name)
        ranges[name] = inside(taken, "volume") if name == "drain_back" and not standard(taken) else taken
    ranges[TANKS] = manner(TANKS, case.ask("circuit", TANKS))[2:4]
    return weighed(
        history, seen, case.target, ranges={**case.stated, **ranges}, step=nominal(case.ask("target", "vial_step")),
        portion=nominal(case.ask("target", "portion")), price=case.cost_per_litre or None, sure=case.probability,
        count=DRAWS, first=FIRST, near=NEAR, lenient=not case.has("circuit", "sump_floor"),
        longest=max((-move.litres - case.helped.get(move.number, 0.0) for move in found.moves if move.by_the_line), default=0.0),
    )  # fmt: skip


def _sum(one: Any, other: Any) -> Any:
    """The sum of two volumes, with what they share."""
    return combine(nominal(one) + nominal(other), [(1.0, one), (1.0, other)])


def _operations(case: Case, move: Movement, moved: Any) -> list[Operation]:
    """What an entry of the log did to the circuit, if it moved so much."""
    if move.event == "drive":
        minutes = move.entry.get("duration")
        return [Operation(MIX) if minutes is None else Operation(CIRCULATE, nominal(minutes) * case.ask("exchange", "drive_flow"))]
    size = abs(nominal(moved))
    if not size:
        return []
    poured, meanwhile = nominal(moved) > 0, case.helped.get(move.number, 0.0)
    if move.by_the_line:
        return [Operation(PUMP, moved if poured else combine(size, [(-1.0, moved)]), meanwhile)]
    left = size - (meanwhile if poured else 0.0)
    if left <= NOTHING:
        return []
    unchanged = poured and not meanwhile
    return [Operation(POUR if poured else DRAIN, moved if unchanged else combine(left, [(1.0 if poured else -1.0, moved)]))]
