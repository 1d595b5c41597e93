"""What the log did, folded once: count against stick, what has been moved, what has been seen."""

from __future__ import annotations

from typing import Any

from sumpwise.errors import SumpwiseError
from sumpwise.service.agreement import Agreement
from sumpwise.service.equipped import Equipped
from sumpwise.service.movements import Movement
from sumpwise.service.schema import HOT, MOVING, TOO_HOT
from sumpwise.service.tracing import WorkedOut
from sumpwise.uncertainty import nominal


class Logged(Equipped):
    """A case as far as its log goes."""

    @WorkedOut
    def agreement(self) -> Agreement | SumpwiseError | None:
        """The log folded once, count against stick; why it cannot be followed; nothing where nothing was moved."""
        if not any(entry["event"] in MOVING for entry in self.job.entries("log")):
            return None
        try:
            return Agreement(self)
        except SumpwiseError as error:
            return error

    @WorkedOut
    def moves(self) -> list[Movement]:
        """What was done by the log, entry by entry; empty where it cannot be followed."""
        return self.agreement.moves if isinstance(self.agreement, Agreement) else []

    @WorkedOut
    def halted(self) -> tuple[str, ...]:
        """The stop signs seen, in order."""
        log_ = self.job.entries("log")
        seen = [entry["seen"] for entry in log_ if "seen" in entry]
        if any(nominal(entry["temperature"]) >= TOO_HOT for entry in log_ if "temperature" in entry):
            seen.append(HOT)
        return tuple(dict.fromkeys(seen))

    @WorkedOut
    def plug(self) -> Any:
        """What the plug lets out: as the job states it, else as the log has shown it, else what is usual."""
        found = None if self.has("capacity", "plug_drain") else self.agreement
        shown = found.plug_drain if isinstance(found, Agreement) and not found.conflict else None
        return shown if shown is not None and 0 < nominal(shown) < nominal(self.total) else self.ask("capacity", "plug_drain")
