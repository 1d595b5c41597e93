"""What is known before the work: the unit and its fluid, the vessels, the stick, and where the level is."""

from __future__ import annotations

from collections.abc import Iterable
from math import pi, sqrt
from typing import Any

from sumpwise.ageing.history import FluidHistory
from sumpwise.errors import SumpwiseError
from sumpwise.filling.level import Dipstick, Judged, judged
from sumpwise.filling.overflow import OverflowPlug
from sumpwise.filling.vessel import Vessel
from sumpwise.fluid.density import REFERENCE
from sumpwise.quantities.arguments import number_in
from sumpwise.quantities.boundary import inside
from sumpwise.quantities.spans import Span
from sumpwise.service.asked import LEVEL, Asked
from sumpwise.service.checks import CHECKS, Check
from sumpwise.service.dates import between
from sumpwise.service.holding import own_packs, poured
from sumpwise.service.kinds import KINDS, OVERFLOW, Kind
from sumpwise.service.schema import MOVING, READ, TABLES
from sumpwise.service.tracing import WorkedOut
from sumpwise.uncertainty import combine, is_uncertain, nominal, source, standard

MARKS, USUAL_MARK = 36, 0.25
"""Default number of divisions on the scale of a pail, and litres of each: nine litres; common practice."""


class Equipped(Asked):
    """The layer of a case that knows the unit, the fluid and the tools. Volumes are litres at 20 °C, temperatures degrees Celsius."""

    # -- the unit and its fluid

    @WorkedOut
    def kind(self) -> Kind:
        """The kind of unit."""
        return KINDS[self.ask("vehicle", "kind")]

    @WorkedOut
    def density(self) -> Any:
        """Density at 15 °C, as read."""
        return inside(nominal(self.ask("fluid", "density_15")), "density")

    @WorkedOut
    def cold(self) -> Any:
        """Temperature of the new fluid, as read."""
        return inside(nominal(self.ask("fluid", "temperature")), "temperature")

    @WorkedOut
    def pan(self) -> Any:
        """What pan and filter bring in addition."""
        return self.ask("capacity", "pan_and_filter")

    @WorkedOut
    def history(self) -> FluidHistory:
        """Ages of the fill before the work, with now as 0 y."""
        history = FluidHistory(inside(-self.ask("vehicle", "fluid_age"), "time"))
        for entry in sorted(self.job.entries("history"), key=lambda e: -self.ago(e)):
            history = history.replace(entry["share"], inside(-self.ago(entry), "time"))
        return history

    def ago(self, entry: dict[str, Any]) -> float:
        """Minutes from an entry of the history to the work."""
        return nominal(entry["ago"]) if "ago" in entry else between(entry["date"], self.job.value("vehicle", "date"))

    @WorkedOut
    def interval(self) -> float:
        """Minutes between services."""
        return nominal(self.ask("vehicle", "interval_time"))

    # -- the vessels

    @WorkedOut
    def vessels(self) -> dict[str, Vessel]:
        """The vessels by name: those described, and any others that the log names."""
        named = {entry["vessel"] for entry in self.job.entries("log") if "vessel" in entry}
        plain = {v["name"]: self._vessel(v) for v in (*self.job.entries("vessel"), *self.job.undescribed.values())}
        return plain | {name: Vessel(name, inside(volume, "volume")) for name, volume in self.packs.items() if name in named}

    @WorkedOut
    def packs(self) -> dict[str, float]:
        """Packs of the unit's own fluid by name, and the litres in each; a vessel with the same name is not a pack."""
        described = {v["name"] for v in self.job.entries("vessel")}
        own = own_packs(self.job.entries("pack"), self.job.entries("component"), self.job.text("fluid", "name"))
        return {name: litres for name, litres in own.items() if name not in described}

    def read(self, entry: dict[str, Any]) -> Any:
        """What the vessel of an entry showed, as read; for packs, with the uncertainty of their contents."""
        volume = self.packs.get(entry["vessel"])
        return inside(entry["reading"] if volume is None else poured(entry["reading"], volume), "volume")

    def _vessel(self, written: dict[str, Any]) -> Vessel:
        return self.once(f"vessel {id(written)}", lambda: self._described(written))

    @WorkedOut
    def weighed(self) -> frozenset[int]:
        """Identities of the entries of the log that were weighed: neither scale nor temperature matters for them."""
        log = self.job.entries("log")
        return frozenset(id(log[spot.entry]) for spot in self.job.weighed if spot.table == "log" and spot.entry is not None)

    @WorkedOut
    def on_scales(self) -> frozenset[str]:
        """Names of the vessels that were weighed whenever the log has something of them; packs are no vessels."""
        log = [entry for entry in self.job.entries("log") if entry["event"] in READ]
        weighed, read = ({e["vessel"] for e in log if (id(e) in self.weighed) == way} for way in (True, False))
        return frozenset(weighed - read - self.packs.keys())

    def _described(self, written: dict[str, Any]) -> Vessel:
        if written["name"] in self.on_scales:
            holds = inside(nominal(written["holds"]), "volume") if "holds" in written else None
            return Vessel(written["name"], inside(nominal(written.get("graduation", USUAL_MARK)), "volume"), capacity=holds)
        division = nominal(self.ask("vessel", "graduation", written))
        return Vessel(
            written["name"], inside(division, "volume"), scale=1 / (1 + nominal(self.ask("vessel", "reads_high", written))),
            scale_uncertainty=self.ask("vessel", "scale_uncertainty", written),
            reading_fraction=sqrt(3.0) * nominal(self.ask("vessel", "reading", written)) / division,
            tilt=inside(nominal(self.ask("vessel", "tilt", written)), "angle"), width=inside(1000.0 * self.width(written), "length"),
            residue=inside(self.ask("vessel", "film", written), "volume"), expansion=self.ask("vessel", "material_growth", written),
            air=self.ask("vessel", "air", written), capacity=inside(nominal(written["holds"]), "volume") if "holds" in written else None,
        )  # fmt: skip

    def _read_on(self, vessel: dict[str, Any]) -> list[dict[str, Any]]:
        return [entry for entry in self.job.entries("log") if entry.get("vessel") == vessel["name"] and "reading" in entry]

    def catches(self, vessel: dict[str, Any]) -> bool:
        """Whether fluid is drained into a vessel, by the log."""
        return vessel["name"] in self._drained_into

    @WorkedOut
    def _drained_into(self) -> list[str]:
        return [entry["vessel"] for entry in self.job.entries("log") if entry["event"] == "drained" and "vessel" in entry]

    def width(self, vessel: dict[str, Any]) -> float:
        """Diameter, in metres, of a vessel as wide as it is high that holds what this one holds, or the most that was read on it."""
        most = max((nominal(entry["reading"]) for entry in self._read_on(vessel)), default=0.0) or nominal(
            self.ask("vessel", "graduation", vessel)
        )
        return float((4 / pi * nominal(vessel.get("holds", most)) / 1000.0) ** (1 / 3))

    @WorkedOut
    def pail(self) -> dict[str, Any] | None:
        """The vessel to drain into: the first one that the log drains into, else the largest.

        Vessels without a stated size are compared by how coarse their marks are.
        """

        def size(vessel: dict[str, Any]) -> float:
            return nominal(vessel["holds"] if "holds" in vessel else MARKS * nominal(vessel.get("graduation", USUAL_MARK)))

        vessels = self.job.entries("vessel")
        caught = next((vessel for vessel in vessels if self.catches(vessel)), None)
        return caught or max(vessels, key=size, default=None)

    @WorkedOut
    def hand(self) -> dict[str, Any] | None:
        """The vessel to pour from: the last one used, else one that caught nothing, else any; None if it is a pack."""
        vessels = {vessel["name"]: vessel for vessel in self.job.entries("vessel")}
        poured = [entry["vessel"] for entry in self.job.entries("log") if entry["event"] == "poured" and "vessel" in entry]
        if poured:
            return vessels.get(poured[-1])
        clean = [vessel for vessel in vessels.values() if not self.catches(vessel) and vessel is not self.pail]
        return next(iter([*clean[:1], *([] if self.packs else vessels.values())]), None)

    @WorkedOut
    def labelled(self) -> bool:
        """Whether it is poured from packs, for lack of a vessel: they count as printed, at 20 °C, however cold they are."""
        return self.hand is None and bool(self.packs)

    # -- the level before the work

    @WorkedOut
    def check(self) -> Check:
        """How the level is checked."""
        return CHECKS[self.ask("vehicle", "level_check")]

    @WorkedOut
    def stick(self) -> Dipstick | None:
        """The stick, if the job describes one."""
        if not self.has("level", "marks_volume", "marks_length", "window"):
            return None
        return Dipstick(
            inside(self.ask("level", "marks_volume"), "volume"), inside(nominal(self.job.value("level", "marks_length")), "length"),
            inside(self.total, "volume"), self.density, self._window(),
            resolution=inside(nominal(self.ask("level", "resolution")), "length"),
            reading_noise=inside(nominal(self.ask("level", "reading")), "length"), bias=inside(self._doubt("floor", LEVEL), "length"),
            bulk=inside(self._doubt("bulk", LEVEL), "interval"), air=self._doubt("air", LEVEL),
        )  # fmt: skip

    def _doubt(self, key: str, role: str = "") -> Any:
        """A source of uncertainty around zero, from a key whose value is itself a standard uncertainty of the level."""
        return source(0.0, nominal(self.ask("level", key)), name=TABLES["level"][key].makes, role=role)

    @WorkedOut
    def overflow(self) -> OverflowPlug | None:
        """The overflow plug, if the level is checked by one and its window is given."""
        if self.check.key != OVERFLOW or not self.has("level", "window"):
            return None
        return OverflowPlug(inside(self.total, "volume"), self.density, self._window())

    def _window(self) -> Span:
        return Span(*(inside(nominal(t), "temperature") for t in self.job.value("level", "window")))

    def warm(self, entry: dict[str, Any]) -> Any:
        """Temperature of an entry of the log, as read, with the uncertainty of its thermometer; None if none was written.

        That of a stick reading is also uncertain because the whole fill may have warmed up differently. A pack counts as printed, at 20 °C,
        however cold it is; how much of one was measured is of the temperature written. What was weighed is a volume at 20 °C.
        """
        if id(entry) in self.weighed:
            return inside(REFERENCE, "temperature")
        if entry["event"] == "poured" and entry["vessel"] in self.packs and not is_uncertain(entry["reading"]):
            return inside(REFERENCE, "temperature")
        if "temperature" not in entry and entry["event"] not in READ:
            return None
        read = self.ask("log", "temperature", entry)
        if entry["event"] == "stick":
            idling = self.once(f"idling {id(entry)}", lambda: self._doubt("idling"))
            read = combine(nominal(read), [(1.0, read), (1.0, idling)])
        return inside(read, "temperature")

    def by_stick(self, entry: dict[str, Any]) -> Any:
        """Off the target by a stick reading of the log, as read; nothing without a stick. It is one measurement."""

        def work() -> Any:
            return None if self.stick is None else self.stick.error(inside(entry["reading"], "length"), self.warm(entry))

        return self.once(f"by stick {id(entry)}", work)

    def in_window(self, entry: dict[str, Any]) -> bool:
        """Whether a stick reading of the log was taken in the check window; never without a stick."""
        return self.stick is not None and self.stick.holds_at(inside(nominal(entry["temperature"]), "temperature"))

    def said_by_stick(self, entries: Iterable[dict[str, Any]]) -> list[float]:
        """Litres off the target by some readings of the stick, the least first."""
        return sorted(nominal(number_in(self.by_stick(entry), "L")) for entry in entries)

    def on_stick(self, litres: float) -> float:
        """So many litres as millimetres of the stick."""
        return litres * nominal(self.job.value("level", "marks_length")) / nominal(self.job.value("level", "marks_volume"))

    def judged(self, entry: dict[str, Any]) -> Judged | None:
        """What a stick reading of the log calls for; None outside the check window."""
        if self.stick is None or not self.in_window(entry):
            return None
        return judged(self.stick, number_in(self.by_stick(entry), "L"))

    def foreseen(self, entry: dict[str, Any]) -> Any:
        """What the stick will show in the middle of the check window by a reading of the log, as read; nothing without a stick."""

        def work() -> Any:
            return None if self.stick is None else self.stick.predict(inside(entry["reading"], "length"), self.warm(entry))

        return self.once(f"foreseen {id(entry)}", work)

    @WorkedOut
    def start(self) -> Any:
        """Litres off the target before the work, by the first stick reading, in the check window or not; 0 without one."""
        try:
            return 0.0 if self.begun is None else number_in(self.begun, "L")
        except SumpwiseError:  # a temperature at which no fluid is: what follows the log says so
            return 0.0

    @WorkedOut
    def begun(self) -> Any:
        """How far off the target the first stick reading of the log is, as read; None if fluid was moved before it."""
        for entry in self.job.entries("log"):
            if entry["event"] in MOVING:
                return None
            if entry["event"] == "stick":
                return self.by_stick(entry)
        return None

    @WorkedOut
    def before(self) -> Any:
        """Litres off the target before the work, as `start`; if it was not read, 0 with the uncertainty of an unread level."""
        if standard(self.start):
            return self.start
        return source(0.0, nominal(self.ask("level", "before")), name="level before the work")
