"""What a ledger must know to enter the next line: one accumulator per shared source, open fills, and checks for the impossible."""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

from sumpwise import uncertainty
from sumpwise.errors import CountLostError, RangeError
from sumpwise.filling.lines import Line
from sumpwise.filling.vessel import Vessel
from sumpwise.measurement.accumulator import Accumulator
from sumpwise.quantities.reading import Read
from sumpwise.quantities.telling import in_unit, unit_given

IMPOSSIBLE = 3.0
"""Beyond this many standard uncertainties a contradiction is not a reading error."""

NAMED = {"started": "start level"}
"""What a refused entry of a kind is called; a loss goes by its own name, anything else is a "reading"."""


class Tally:
    """What a ledger must know to enter the next line; it moves on with the newest ledger, so n lines take n steps."""

    __slots__ = ("filled", "gauges", "known", "log", "open", "total", "wet")

    def __init__(self, lines: Iterable[Line] = ()) -> None:
        self.log: list[Line] = []
        self.total = Accumulator()
        self.known: dict[str, Vessel] = {}
        self.gauges: dict[str, Any] = {}
        self.open: dict[tuple[str, str], list[Line]] = {}
        self.filled: set[str] = set()
        self.wet: set[str] = set()
        for line in lines:
            self.take(line)

    def must_not_fall(self, line: Line, read: Read, reading: Any) -> None:
        """Refuse a cumulative reading below what its vessel already held, beyond the noise of reading; a weight, beyond all errors."""
        vessel = line.vessel
        before = self.open.get((vessel.name, line.kind), []) if vessel is not None else []
        held = abs(math.fsum(old.value for old in before))
        noise = math.sqrt(line.own_variance + math.fsum(old.own_variance for old in before))
        if any(old.weighed != line.weighed for old in before):  # the errors of the vessel are in one of them alone
            noise = math.hypot(noise, *line.shared.values(), *(size for old in before for size in old.shared.values()))
        if vessel is not None and abs(line.value) < held - IMPOSSIBLE * noise - 1e-9:
            unit = unit_given(read, "volume")
            already, there, now = (in_unit(x, unit) for x in (abs(math.fsum(old.as_read for old in before)), held, abs(line.value)))
            raise CountLostError(
                f"a cumulative reading cannot fall: the {vessel.name} was already at {already}; at the reference temperature "
                f"that is {there}, and this reading {now}",
                code="count.reading_falls", argument="reading", value=reading,
                hint="if it was emptied in between, enter that; if not, the count is lost",
            )  # fmt: skip

    def must_be_there(self, line: Line, capacity: Any, read: Read | None) -> None:
        """Refuse a line that would leave less than nothing in the unit: more drained, lost or missing than it holds."""
        back = 0.0
        if line.cumulative and line.vessel is not None:
            back = math.fsum(old.value for old in self.open.get((line.vessel.name, line.kind), []))
        start = next((first.reading for first in (*self.log[:1], line) if first.kind == "started"), 0.0)
        there = uncertainty.nominal(capacity) + self.total.value - back + (uncertainty.nominal(start) if line.kind != "started" else 0.0)
        taken = line.value if line.kind != "started" else uncertainty.nominal(line.reading)
        if taken >= 0 or there + taken >= 0:
            return
        own = math.hypot(math.sqrt(line.own_variance), *line.shared.values())
        doubt = math.hypot(own, self.total.standard_uncertainty, uncertainty.standard(start), uncertainty.standard(capacity))
        if there + taken < -IMPOSSIBLE * doubt - 1e-9:
            unit = unit_given(read, "volume")
            raise RangeError(
                "is more than there was to drain", code="ledger.too_much_drained", argument=NAMED.get(line.kind) or line.what or "reading",
                value=f"{in_unit(-taken, unit)} at the reference temperature", allowed=f"up to {in_unit(max(there, 0.0), unit)}",
                hint="was a pour left out, or a reading entered twice?", limits=(0.0, max(there, 0.0), "L"),
            )  # fmt: skip

    def take(self, line: Line) -> None:
        """Enter a line and store the balance after it."""
        vessel = line.vessel
        if vessel is not None:
            self.known[vessel.name] = vessel
            if line.kind == "emptied":
                for kind in ("drained", "poured"):
                    self.open.pop((vessel.name, kind), None)
                self.filled.discard(vessel.name)
                self.wet.add(vessel.name)
            else:
                self.filled.add(vessel.name)
                before = self.open.setdefault((vessel.name, line.kind), [])
                if line.cumulative:
                    for old in before:
                        self.total.add(old.value, old.own_variance, old.shared, -1.0)
                    before.clear()
                before.append(line)
        if line.gauge is not None and line.thermometer is not None:
            self.gauges.setdefault(line.thermometer, line.gauge)
        if line.kind != "started":
            self.total.add(line.value, line.own_variance, line.shared)
        self.log.append(line)
        line.running = (self.total.value, self.total.standard_uncertainty)
