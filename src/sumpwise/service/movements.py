"""The log of a job, folded once: what each entry moved, the ledger before and after it, and what a stick reading says."""

from __future__ import annotations

from typing import Any, NamedTuple

from sumpwise.errors import SumpwiseError
from sumpwise.filling.ledger import Ledger
from sumpwise.mixing.circuit.history import DRAIN, MIX, POUR, PUMP, Operation
from sumpwise.quantities.arguments import number_in
from sumpwise.quantities.boundary import inside
from sumpwise.service.equipped import Equipped
from sumpwise.uncertainty import combine, nominal


class Movement(NamedTuple):
    """One entry of the log, and what it did.

    Attributes
    ----------
    number : int
        Its place in the log, from 1.
    entry : dict
        As the job reads it.
    before, after : Ledger
        The count before and after it.
    was, balance : float or uncertain number
        Poured less drained before and after it, litres at 20 °C.
    level : Quantity or None
        Litres at 20 °C off the target by a stick reading; None where the entry is none, or is the start level of the ledger.
    """

    number: int
    entry: dict[str, Any]
    before: Ledger
    after: Ledger
    was: Any
    balance: Any
    level: Any = None

    @property
    def event(self) -> str:
        """What happened."""
        return str(self.entry["event"])

    @property
    def litres(self) -> float:
        """The same as `moved`, without its uncertainty."""
        return nominal(self.balance) - nominal(self.was)

    @property
    def moved(self) -> Any:
        """What went in (positive) or came out with this entry alone, litres at 20 °C: of a cumulative reading what it adds to the last."""
        return combine(self.litres, [(1.0, self.balance), (-1.0, self.was)])

    @property
    def operation(self) -> Operation | None:
        """The same, as what a method would foresee; None where nothing moved."""
        if self.event == "drive":
            return Operation(MIX)
        if not self.litres:
            return None
        return Operation(POUR if self.litres > 0 else PUMP if self.by_the_line else DRAIN, abs(self.litres))

    @property
    def by_the_line(self) -> bool:
        """Whether it came out by the cooler line, the engine running: it was timed, or matched at the outlet."""
        return self.event == "drained" and ("outlet_old" in self.entry or "duration" in self.entry)


def movements(case: Equipped) -> list[Movement]:
    """Fold the log: every entry with the ledger before and after it.

    The ledger alone knows what a cumulative reading replaces; whatever else follows the log takes the movements from here. With something
    taken otherwise that moves no fluid, only what the stick says is worked out again: the account is that of the case itself.

    Raises
    ------
    SumpwiseError
        Naming the entry: a count that runs backwards, more drained than the unit holds, more in a vessel than it holds.
    """
    moves = []
    for move in case.once("account", lambda: _account(case)):
        if move.event == "stick" and case.stick is not None and len(move.before):
            try:
                level = case.by_stick(move.entry)
            except SumpwiseError as error:
                raise _of_entry(case, move.number, error) from None
            moves.append(move._replace(level=level))
        else:
            moves.append(move)
    return moves


def _account(case: Equipped) -> list[Movement]:
    """The fold without the readings of the stick. The level it begins at and what the unit holds are held: they only refuse."""
    job, vessels = case.job, case.vessels
    capacity = case.once("capacity", lambda: inside(case.total, "volume"), held=True) if case.has("capacity", "total") else None
    ledger = Ledger(case.density, capacity=capacity)
    folded: list[Movement] = []
    balance: Any = 0.0
    for number, entry in enumerate(job.entries("log"), 1):
        event, before = entry["event"], ledger
        warm = None if event == "stick" else case.warm(entry)
        try:
            if event == "stick":
                begun = None if len(ledger) else case.once("held start", lambda: case.begun, held=True)
                ledger = ledger if begun is None else ledger.started(begun)
            elif event in ("drained", "poured"):
                add = ledger.drained if event == "drained" else ledger.poured
                ledger = add(
                    vessels[entry["vessel"]], case.read(entry), warm, cumulative=entry.get("cumulative", False),
                    thermometer=entry.get("thermometer"),
                )  # fmt: skip
            elif event == "emptied":
                ledger = ledger.emptied(vessels[entry["vessel"]])
            elif event == "lost":
                ledger = ledger.lost(inside(entry["volume"], "volume"), entry["what"], warm)
        except SumpwiseError as error:
            raise _of_entry(case, number, error) from None
        was = balance
        if len(ledger) != len(before):
            balance = number_in(ledger.balance, "L")
        folded.append(Movement(number, entry, before, ledger, was, balance))
    return folded


def _of_entry(case: Equipped, number: int, error: SumpwiseError) -> SumpwiseError:
    """An error that names the entry of the log it comes from."""
    written = case.job.written("log")[number - 1]
    return type(error)(
        error.problem, code=error.code, argument=f"log entry {number}", value=written.get("reading", written.get("volume")),
        allowed=error.allowed, hint=error.hint, limits=error.limits,
    )  # fmt: skip


def opening(moves: list[Movement]) -> tuple[Movement | None, Movement | None]:
    """The end of the plug drain, and of all that came out before anything went in or the pump ran; nothing where there is none."""
    plug = last = None
    for move in moves:
        if move.event == "poured" or move.by_the_line:
            break
        if move.event == "drained" and (last is None or (plug is last and plug.entry["vessel"] == move.entry["vessel"])):
            plug = move
        if move.event in ("drained", "lost"):
            last = move
    return plug, last
