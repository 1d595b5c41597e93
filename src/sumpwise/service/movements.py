"""The log of a job, gone through once: what each entry moved, the ledger before and after it, and what a stick reading says."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

from sumpwise.errors import SumpwiseError
from sumpwise.filling.ledger import Ledger
from sumpwise.mixing.circuit.history import DRAIN, MIX, POUR, PUMP, Operation
from sumpwise.quantities.arguments import number_in
from sumpwise.quantities.boundary import inside
from sumpwise.quantities.telling import between
from sumpwise.service.equipped import Equipped
from sumpwise.uncertainty import nominal


class Movement(NamedTuple):
    """One entry of the log and its effect.

    Attributes
    ----------
    number : int
        Its place in the log, from 1.
    entry : dict
        As the job reads it.
    before, after : Ledger
        The count before and after it.
    was, balance : float or uncertain number
        Poured minus drained before and after it, litres at 20 °C.
    level : Quantity or None
        Litres at 20 °C off the target by a stick reading; None if the entry is not one, or is the start level of the ledger.
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
        """The event."""
        return str(self.entry["event"])

    @property
    def litres(self) -> float:
        """The same as `moved`, without its uncertainty."""
        return nominal(self.balance) - nominal(self.was)

    @property
    def moved(self) -> Any:
        """What went in (positive) or came out with this entry alone, litres at 20 °C; for a cumulative reading, what it adds."""
        return number_in(self.after.added, "L") if self.litres else 0.0

    @property
    def operation(self) -> Operation | None:
        """The same as an operation, as a method plans them; None if nothing moved."""
        if self.event == "drive":
            return Operation(MIX)
        litres = self.litres
        if not litres or self.takes_back:
            return None
        return Operation(POUR if litres > 0 else PUMP if self.by_the_line else DRAIN, abs(litres))

    @property
    def takes_back(self) -> bool:
        """Whether it is a reading that takes the place of a larger one: less came out, or went in, than that said."""
        return self.litres > 0 if self.event == "drained" else self.litres < 0 and self.event == "poured"

    @property
    def by_the_line(self) -> bool:
        """Whether it came out through the cooler line with the engine running: it was timed, matched at the outlet, or is called that."""
        return pumped_out(self.entry)


def corrected(moves: Sequence[Movement]) -> dict[int, int]:
    """Position of each entry that takes some back -> position of the earlier entry of its vessel that said too much."""
    found = {}
    for number, move in enumerate(moves):
        if move.takes_back:
            same = (move.event, move.entry["vessel"])
            earlier = (place for place in range(number - 1, -1, -1) if (moves[place].event, moves[place].entry.get("vessel")) == same)
            found[number] = next((place for place in earlier if moves[place].operation), number)
    return found


def performed(moves: Sequence[Movement]) -> list[Operation | None]:
    """What each entry did, without what a later reading of its vessel takes back."""
    done = [move.operation for move in moves]
    for number, place in corrected(moves).items():
        one, back = done[place], abs(moves[number].litres)
        if one is not None:
            done[place] = one._replace(volume=one.volume - back) if one.volume > back else None
    return done


LINE_WORDS = ("burst", "pumped", "cooler line", "return line")
"""What someone writes who lets the pump pump into a pail, but did not time it."""


def says(entry: Mapping[str, Any], words: tuple[str, ...]) -> bool:
    """Whether what was lost, or where, has one of these words."""
    return any(word in str(entry.get("what", "")).lower() for word in words)


def pumped_out(entry: Mapping[str, Any]) -> bool:
    """Whether an entry of the log is a burst through the cooler line: a drain that was timed, matched at the outlet, or is called that."""
    return entry["event"] == "drained" and ("outlet_old" in entry or "duration" in entry or says(entry, LINE_WORDS))


def movements(case: Equipped) -> list[Movement]:
    """Go through the log: every entry with the ledger before and after it.

    Only the ledger knows what a cumulative reading replaces; everything else that follows the log takes the movements from here. If
    something that moves no fluid is assumed differently, only what the stick says is worked out again; the account stays the same.

    Raises
    ------
    SumpwiseError
        With the entry: for a count that runs backwards, more drained than the unit holds, or more in a vessel than it holds.
    """
    moves = []
    for move in account(case):
        if move.event == "stick" and case.stick is not None and len(move.before):
            try:
                level = case.by_stick(move.entry)
            except SumpwiseError as error:
                raise _of_entry(case, move.number, error) from None
            moves.append(move._replace(level=level))
        else:
            moves.append(move)
    return moves


def account(case: Equipped) -> list[Movement]:
    """The same without the readings of the stick, gone through once."""
    return case.once("account", lambda: _account(case))


def _account(case: Equipped) -> list[Movement]:
    """Start level and capacity are held: they only serve to refuse entries."""
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
                    thermometer=entry.get("thermometer"), weighed=id(entry) in case.weighed,
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
    """An error with the log entry it comes from."""
    written = case.job.written("log")[number - 1]
    read = written.get("temperature") if error.argument.startswith("temperature") else written.get("reading", written.get("volume"))
    return type(error)(
        error.problem, code=error.code, argument=f"log entry {number}", value=read, hint=error.hint, limits=error.limits,
        allowed=between(error.limits, read) if error.allowed and error.limits and error.limits[2] else error.allowed,
    )  # fmt: skip


PAN_WORDS, PLUG_WORDS = ("pan", "filter", "tray"), ("plug",)
"""What someone writes who takes a pan off, and who opens the plug."""


LEAST_OF_PAN = 0.1
"""Litres: pan and filter bring more than this."""
OVERFLOW_WORDS = ("overflow", "ran out", "hole", "trickle")
"""What someone writes who lets out what is too much where the level is checked."""
LEAK_WORDS = ("leak", "seep", "drip")
"""What someone writes who finds fluid where there should be none."""


def names_pan(entry: Mapping[str, Any]) -> bool:
    """Whether an entry says that it is what pan or filter brought."""
    return says(entry, PAN_WORDS)


def _of_pan(move: Movement, plug: Movement, expected: bool) -> bool:
    """Whether pan or filter brought it, by its own words; without any, if that is expected, by its vessel, or because it was lost."""
    if says(move.entry, PLUG_WORDS):
        return False
    return names_pan(move.entry) or (expected and (move.event == "lost" or move.entry["vessel"] != plug.entry["vessel"]))


def opening(moves: list[Movement], pan: bool) -> tuple[Movement | None, Movement | None]:
    """The end of the plug drain, and of everything that came out before anything went in or the pump ran; None if there is none.

    The plug may fill several vessels one after the other, until pan and filter come off.
    """
    plug = last = None
    off = False
    for move in moves:
        if move.event == "poured" or move.by_the_line:
            break
        if move.event in ("drained", "lost"):
            off = off or (plug is not None and _of_pan(move, plug, pan))
            plug = move if move.event == "drained" and not off else plug
            last = move
    return plug, last


def may_be_pan(moves: list[Movement], plug: Movement | None) -> list[Movement]:
    """The drains taken as the plug's that pan and filter may have brought: into a vessel that caught some before, without a word."""
    drains = [] if plug is None else [move for move in moves[: plug.number] if move.event == "drained"]
    return [move for move in drains[1:] if "what" not in move.entry and -move.litres > LEAST_OF_PAN]


def may_be_bursts(moves: list[Movement]) -> list[Movement]:
    """The drains after a pour that are taken as the plug's, although the pump may have brought them: neither timed nor explained.

    What comes out straight after a reading of the stick was let out because that called for it.
    """
    found, poured, before = [], False, ""
    for move in moves:
        if move.event == "drained" and poured and before != "stick" and "what" not in move.entry and not move.by_the_line:
            found.append(move)
        poured = poured or move.event == "poured"
        before = before if move.event in ("emptied", "seen") else move.event
    return found
