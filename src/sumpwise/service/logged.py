"""What the log did, gone through once: count compared with stick, what was moved, what was seen."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import takewhile
from typing import Any

from sumpwise.errors import SumpwiseError
from sumpwise.fluid.density import REFERENCE, growth
from sumpwise.service.agreement import Agreement, pan_meant
from sumpwise.service.equipped import Equipped
from sumpwise.service.movements import Movement, account, names_pan, opening, pumped_out
from sumpwise.service.schema import HOT, MOVING, TOO_HOT
from sumpwise.service.tracing import WorkedOut
from sumpwise.uncertainty import combine, nominal

LITTLE = 0.25
"""What comes out after a pour is no drain of its own if it is less than this share of the first."""


def too_hot(entry: Mapping[str, Any]) -> bool:
    """Whether the temperature of an entry is itself a stop sign."""
    return "temperature" in entry and nominal(entry["temperature"]) >= TOO_HOT


class Logged(Equipped):
    """The layer of a case that knows its log."""

    @property
    def moved(self) -> bool:
        """Whether anything was moved, by the log."""
        return any(entry["event"] in MOVING for entry in self.job.entries("log"))

    @WorkedOut
    def agreement(self) -> Agreement | SumpwiseError | None:
        """The log gone through once, count compared with stick; or why it cannot be followed; None if nothing was moved."""
        if not self.moved:
            return None
        try:
            return Agreement(self)
        except SumpwiseError as error:
            return error

    @WorkedOut
    def moves(self) -> list[Movement]:
        """What the log did, entry by entry; empty if it cannot be followed."""
        return self.agreement.moves if isinstance(self.agreement, Agreement) else []

    @WorkedOut
    def counted(self) -> list[Movement]:
        """The same without what the stick says, so that it does not rest on that; empty if nothing was moved, or it cannot be counted."""
        try:
            return account(self) if self.moved else []
        except SumpwiseError:
            return []

    @WorkedOut
    def timed_flows(self) -> list[Any]:
        """Flow out of the open line in each timed burst, in litres per minute at the temperature of the fluid."""
        density = nominal(self.ask("fluid", "density_15"))
        flows = []
        for move in self.counted:
            if move.event == "drained" and nominal(move.entry.get("duration", 0.0)) > 0 and move.litres < 0:
                grown = growth(REFERENCE, nominal(self.ask("log", "temperature", move.entry)), density)
                minutes = self.ask("log", "duration", move.entry)
                flow = -move.litres * grown / nominal(minutes)
                flows.append(combine(flow, [(-grown / nominal(minutes), move.moved), (-flow / nominal(minutes), minutes)]))
        return flows

    @WorkedOut
    def bursts_done(self) -> int:
        """How often the pump has pumped into the pail."""
        return sum(map(pumped_out, self.job.entries("log")))

    @WorkedOut
    def opened(self) -> list[dict[str, Any]]:
        """The entries of the log before anything was poured or pumped."""
        return list(takewhile(lambda entry: entry["event"] != "poured" and not pumped_out(entry), self.job.entries("log")))

    @property
    def from_pan(self) -> list[Movement]:
        """What pan and filter brought: drained after the plug; or lost, if the job says that the pan comes off, or else if it is named."""
        meant, moves = pan_meant(self), self.moves[: len(self.opened)]
        plug, _ = opening(moves, meant)
        return [
            move for move in moves
            if (move.event == "drained" and plug is not None and move.number > plug.number)
            or (move.event == "lost" and (meant or names_pan(move.entry)))
        ]  # fmt: skip

    @property
    def pan_brought(self) -> float:
        """The same in litres, as far as it is known."""
        return sum(nominal(move.entry["volume"]) if move.event == "lost" else -move.litres for move in self.from_pan)

    @property
    def gone_on(self) -> bool:
        """Whether the log has gone on from there."""
        return len(self.opened) < len(self.job.entries("log"))

    @WorkedOut
    def drains_done(self) -> int:
        """How often the plug was opened: drains with a pour before them, and the first; a little that drips or is let out is no drain."""
        count, open_, first = 0, False, 0.0
        for entry in self.job.entries("log"):
            out = entry["event"] == "drained" and not pumped_out(entry)
            if out and not open_:
                litres = nominal(entry["reading"])
                out = litres >= LITTLE * first or bool(entry.get("cumulative"))
                count, first = count + out, first or litres
            open_ = (open_ or out) and entry["event"] != "poured"
        return count

    @WorkedOut
    def halted(self) -> tuple[str, ...]:
        """The stop signs seen and not dealt with, in order."""
        entries = [self.job.entries("log")[number - 1] for number in self.halted_by]
        seen = [entry["seen"] for entry in entries if "seen" in entry]
        if any(map(too_hot, entries)):
            seen.append(HOT)
        return tuple(dict.fromkeys(seen))

    @property
    def halted_by(self) -> tuple[int, ...]:
        """Numbers of the entries that have one."""
        entries = enumerate(self.job.entries("log"), 1)
        return tuple(number for number, entry in entries if ("seen" in entry or too_hot(entry)) and not entry.get("settled"))

    @WorkedOut
    def plug(self) -> Any:
        """What comes out at the plug: as the job states, else as the log has shown, else what is usual."""
        found = None if self.has("capacity", "plug_drain") else self.agreement
        shown = found.plug_drain if isinstance(found, Agreement) and not found.conflict else None
        return shown if shown is not None and 0 < nominal(shown) < nominal(self.total) else self.ask("capacity", "plug_drain")
