"""What of a job does not fit together: what single keys cannot tell, each problem with its place."""

from __future__ import annotations

from typing import Any

from sumpwise.errors import SumpwiseError
from sumpwise.filling.level import COUNTED_FROM, TOO_FAR, readable
from sumpwise.quantities import notation
from sumpwise.quantities.telling import against, alike, in_unit, limit, plainly, unit_given
from sumpwise.service.dates import between
from sumpwise.service.holding import meant, own_packs
from sumpwise.service.keys import described
from sumpwise.service.kinds import AUTOMATIC, KINDS
from sumpwise.service.problems import Problems, names
from sumpwise.service.rules import usual_total
from sumpwise.service.schema import EVENT_NEEDS, TABLES, VOLUME, keys_of
from sumpwise.uncertainty import nominal

MOST_WEIGHED = 5_000
"""The most entries of a log times its vessels and stick readings: each of these is compared with every entry."""
MOST_MATCHED = 50
"""The most entries of a log with a match of the outlet: each is compared with thousands of circuits, again and again."""
BEHIND_TOTAL = (("vehicle", "kind"), *(("capacity", key) for key in ("total", "plug_drain", "pan_and_filter")))
"""What the total is taken from."""
MOST_GRADUATIONS = 50
"""How many divisions of its scale the reading error of a vessel may be."""


class Consistency:
    """Whether vessels named in the log exist, events have their readings, the parts fit the whole.

    Whatever was refused already is left alone, and so is all that follows from it. `values` is what was read of the inputs; an entry of the
    log without a vessel gets the one that is meant. What is found is added to the problems
    met so far.
    """

    def __init__(self, inputs: dict[str, Any], values: dict[str, Any], problems: Problems) -> None:
        self.inputs, self.values = inputs, values
        self.wrong, self.refused, self.near = problems.wrong, problems.refused, problems.near

    def check(self) -> None:
        """Check all of it, in the order of its problems."""
        self.logged()
        self.few_enough()
        self.matched()
        self.dated()
        self.packed()
        self.fitting()
        self.bolted()

    def named(self, list_: str, *keys: str) -> list[dict[str, Any]] | None:
        """The entries of a list; None if one of some keys of them was refused, so that nobody knows what the job means by its names."""
        entries: list[dict[str, Any]] = self.values.get(list_, [])
        if self.refused(list_) or any(self.refused(list_, i, key) for i in range(len(entries)) for key in keys):
            return None
        return entries

    def logged(self) -> None:
        """Check that events have their readings, and that their vessels exist."""
        known, sold = self.named("vessel", "name"), self.named("pack", "volume", "name", "for")
        components = self.named("component", "fluid")
        all_known = known is not None and sold is not None and components is not None and not self.refused("fluid", "name")
        own, listed = {v["name"] for v in known or ()}, sold or []
        packs = own_packs(listed, components or (), self.values.get("fluid", {}).get("name", ""))
        others = {pack["name"]: pack["for"] for pack in listed if pack["name"] not in packs.keys() | own}
        vessels = own | packs.keys()
        for i, entry in enumerate(self.values.get("log", [])):
            if "event" not in entry:
                continue
            place, pointer = f"[[log]] {i + 1}", ["log", i]
            named = all_known and not self.refused("log", i, "reading")
            if named and "vessel" in EVENT_NEEDS[entry["event"]] and "vessel" not in entry and not self.refused("log", i, "vessel"):
                name = meant(entry, own, packs)
                if name is not None:
                    entry["vessel"] = name
                    vessels |= {name}
            for key in EVENT_NEEDS[entry["event"]]:
                if key not in entry and not self.refused("log", i, key) and (key != "vessel" or named):
                    allowed = names(vessels, "") if key == "vessel" else described(keys_of("log", entry)[key].kind)
                    problem = f"is missing from a '{entry['event']}' entry"
                    self.wrong("key.missing", [*pointer, key], problem, f"{place} {key}", allowed=allowed)
            if "outlet_old" in entry and entry["event"] != "drained":
                problem, hint = "is not of a burst", "write it in the drained entry of the burst in which the vial was filled"
                self.wrong("argument.together", [*pointer, "outlet_old"], problem, f"{place} outlet_old", value=entry["event"],
                           allowed="only with event = \"drained\"", hint=hint)  # fmt: skip
            if named and entry["event"] == "poured" and entry.get("vessel") in others:
                problem = f"is a pack of another fluid, for {others[entry['vessel']]}: the log is of what goes into the unit"
                hint = "if that was poured, let nothing turn: enter event = \"seen\", seen = \"wrong bottle\""
                self.wrong("vessel.other_fluid", [*pointer, "vessel"], problem, f"{place} vessel", value=entry["vessel"], hint=hint)
            elif named and "vessel" in entry and entry["vessel"] not in vessels | others.keys():
                hint = self.near(entry["vessel"], vessels, 0.6) or "describe it under [[vessel]]"
                problem = "is neither a vessel nor a pack of this job"
                self.wrong("vessel.unknown", [*pointer, "vessel"], problem, f"{place} vessel", value=entry["vessel"], hint=hint)

    def packed(self) -> None:
        """Check that what a pack is for exists."""
        components = self.values.get("component", [])
        if self.refused("fluid", "name") or self.named("component", "name") is None or self.named("component", "fluid") is None:
            return
        known = {part[key] for part in components for key in ("name", "fluid") if key in part}
        known |= {value for key, value in self.values.get("fluid", {}).items() if key == "name"}
        for i, pack in enumerate(self.values.get("pack", [])):
            if "for" in pack and pack["for"] not in known:
                hint = names(known) or "name it under [[component]] or [fluid]"
                self.wrong("name.unknown", ["pack", i, "for"], "is neither a component nor a fluid of this job", f"[[pack]] {i + 1} for",
                           value=pack["for"], hint=hint)  # fmt: skip

    def assumed_total(self, capacity: dict[str, float]) -> float:
        """Litres that the whole fill is taken to be if no total is written."""
        kind = KINDS[self.values.get("vehicle", {}).get("kind", AUTOMATIC.name)]
        drains = capacity["plug_drain"] + capacity.get("pan_and_filter", 0.0) if "plug_drain" in capacity else None
        taken = usual_total(kind, drains)
        return sum(nominal(VOLUME.value(end)) for end in (taken.low, taken.high)) / 2

    def fitting(self) -> None:
        """Check that parts fit into the whole, and that a stick has two marks."""
        capacity = {key: nominal(value) for key, value in self.values.get("capacity", {}).items() if not isinstance(value, str)}
        level, fluid = self.values.get("level", {}), self.values.get("fluid", {})
        total = capacity.get("total")
        parts = capacity.get("plug_drain", 0.0) + capacity.get("pan_and_filter", 0.0)
        if total is not None and parts > total:
            both = "plug_drain" in capacity and "pan_and_filter" in capacity
            key = "plug_drain" if "plug_drain" in capacity else "pan_and_filter"
            part, pan, whole = (self.inputs["capacity"].get(one) for one in (key, "pan_and_filter", "total"))
            self.wrong(
                "capacity.parts", ["capacity", key], "plug drain and pan together exceed the total" if both else "exceeds the total",
                f"[capacity] {key}", value=f"{plainly(part)} and {plainly(pan)}" if both else part,
                allowed=against("at most", total, "volume", part, whole), limits=(0, total, "L"),
                hint="the total is the dry fill, with converter and cooler: is it a service fill?",
            )  # fmt: skip
        marks = ("marks_volume", "marks_length")
        for key in marks:
            if key not in level and any(other in level for other in marks) and not self.refused("level", key):
                allowed = described(TABLES["level"][key].kind)
                self.wrong("key.missing", ["level", key], "is missing", f"[level] {key}", allowed=allowed, hint="a stick has two marks")
        between_marks, whole, which, hint = nominal(level.get("marks_volume", 0.0)), total, "the total", ""
        book = None if total is None else self.inputs["capacity"]["total"]
        if total is None and not any(self.refused(*key) for key in BEHIND_TOTAL):
            whole, which, hint = self.assumed_total(capacity), "the total that is assumed", "write the total by the maker's book"
        if whole is not None and between_marks >= whole:
            written = self.inputs["level"]["marks_volume"]
            self.wrong(
                "range.above_bound", ["level", "marks_volume"], "is more than the whole fill", "[level] marks_volume", value=written,
                allowed=f"{against('below', whole, 'volume', written, book)}, {which}", limits=(0, whole, "L"), hint=hint,
            )  # fmt: skip
        elif whole is not None and all(key in level for key in marks):
            self.read_off_a_stick(*readable(between_marks, nominal(level["marks_length"]), whole))
        cold, hot = (nominal(fluid[key]) if key in fluid else None for key in ("viscosity_40", "viscosity_100"))
        if cold is not None and hot is not None and cold <= hot:
            self.wrong(
                "viscosity.order", ["fluid", "viscosity_40"], "must be thicker than at 100 °C", "[fluid] viscosity_40",
                value=self.inputs["fluid"]["viscosity_40"], limits=(hot, None, "mm²/s"), hint="are the two swapped?",
                allowed=against("above", hot, "viscosity", *map(self.inputs["fluid"].get, ("viscosity_40", "viscosity_100"))),
            )  # fmt: skip
        for i, vessel in enumerate(self.values.get("vessel", [])):
            if "reading" in vessel and "graduation" in vessel:
                most = MOST_GRADUATIONS * nominal(vessel["graduation"])
                if nominal(vessel["reading"]) >= most:
                    self.wrong(
                        "range.above_bound", ["vessel", i, "reading"], "is no reading error of this scale", f"[[vessel]] {i + 1} reading",
                        value=self.inputs["vessel"][i]["reading"], limits=(0, most, "L"),
                        allowed=limit("below", most, "volume", self.inputs["vessel"][i]["reading"]),
                        hint="how well the scale is read, not how much the vessel holds: that is holds",
                    )  # fmt: skip

    def read_off_a_stick(self, low: float, high: float) -> None:
        """Check that readings of the stick are such that a stick shows."""
        for i, entry in enumerate(self.values.get("log", [])):
            if entry.get("event") == "stick" and "reading" in entry and not low < nominal(entry["reading"]) < high:
                written = self.inputs["log"][i]["reading"]
                self.wrong(
                    "range.outside", ["log", i, "reading"], TOO_FAR, f"[[log]] {i + 1} reading", value=written, hint=COUNTED_FROM,
                    allowed=f"{limit('above', low, 'length', written)} and {limit('below', high, 'length', written)}",
                    limits=(low, high, "mm"),
                )  # fmt: skip

    def few_enough(self) -> None:
        """Check that the log has few enough vessels and stick readings: each is compared with all of it."""
        log = [entry for entry in self.values.get("log", []) if "event" in entry]
        own = {vessel["name"] for vessel in self.values.get("vessel", []) if "name" in vessel}
        sticks = sum(entry["event"] == "stick" for entry in log)
        vessels = len(own | {entry["vessel"] for entry in log if "vessel" in entry})
        most = MOST_WEIGHED // max(sticks + vessels, 1)
        if len(log) > most:
            problem = f"has {len(log)} entries, with {sticks} readings of the stick and {vessels} vessel{'s' * (vessels != 1)}"
            hint = "make one job of each service; leave out early readings of the stick, and vessels that were not used"
            self.wrong("limit.entries", ["log"], problem, "[[log]]", allowed=f"at most {most} entries with as many of these",
                       limits=(0, most, ""), hint=hint)  # fmt: skip

    def matched(self) -> None:
        """Check that the outlet was not matched more often than the evidence is worked out for."""
        found = sum("outlet_old" in entry for entry in self.values.get("log", []))
        if found > MOST_MATCHED:
            self.wrong("limit.entries", ["log"], f"has {found} matches of the outlet", "[[log]]", allowed=f"at most {MOST_MATCHED}",
                       limits=(0, MOST_MATCHED, ""), hint="leave some of the first ones out: the last say most")  # fmt: skip

    def dated(self) -> None:
        """Check that each entry of the history says when, in one way, and before the work."""
        vehicle = self.values.get("vehicle", {})
        work, age = vehicle.get("date"), vehicle.get("fluid_age", vehicle.get("age"))
        for i, entry in enumerate(self.values.get("history", [])):
            place, pointer, when = f"[[history]] {i + 1}", ["history", i, "date"], entry.get("date")
            where, hint = [*pointer[:2], "ago"], 'write ago = "2 y", or date = the day'
            if any(self.refused(*one) for one in (where, pointer, ["vehicle", "date"])):
                continue
            if "ago" in entry and when is not None:
                self.wrong("argument.together", where, "gives both ago and date", place, hint=hint)
            elif "ago" not in entry and when is None:
                self.wrong("key.missing", where, "does not say when it was done", place, hint=hint)
            elif when is not None and work is None:
                hint = "write date = the day of the work under [vehicle]"
                self.wrong("key.missing", ["vehicle", "date"], "is missing, but the history has a date", "[vehicle] date", hint=hint)
            elif when is not None and between(when, work) < 0:
                problem, allowed = "is later than the work", f"up to {work}"
                self.wrong("time.order", pointer, problem, f"{place} date", value=str(when), allowed=allowed)
            elif age is not None:
                key, ago = ("ago", nominal(entry["ago"])) if when is None else ("date", between(when, work))
                if ago > nominal(age) * (1 + 1e-9):
                    oldest = self.inputs["vehicle"]["fluid_age" if "fluid_age" in vehicle else "age"]
                    said = f"{plainly(self.inputs['history'][i]['ago'])} ago" if when is None else str(when)
                    hint = "fluid_age is the age of the oldest fluid inside"
                    self.wrong(
                        "time.order", [*pointer[:2], key], "was before the fluid was new", f"{place} {key}", value=said,
                        allowed=f"up to {plainly(oldest)} ago", hint=hint,
                    )  # fmt: skip

    def bolted(self) -> None:
        """Check that each torque is within its window."""
        for i, bolt in enumerate(self.values.get("bolt", [])):
            if "window" not in bolt or "torque" not in bolt:
                continue
            low, torque, high = (getattr(v, "nominal_value", v) for v in (bolt["window"][0], bolt["torque"], bolt["window"][1]))
            if not low * (1 - 1e-9) <= torque <= high * (1 + 1e-9):
                written, window = (with_window(self.inputs["bolt"][i])[key] for key in ("torque", "window"))
                unit = unit_given(written, "torque")
                allowed = plainly(window)
                if not alike(unit, unit_given(window, "torque")):
                    allowed += f", which is {in_unit(low, unit, upward=True)} to {in_unit(high, unit)}"
                self.wrong(
                    "torque.window", ["bolt", i, "torque"], "is outside its own window", f"[[bolt]] {i + 1} torque",
                    value=written, allowed=allowed, limits=(low, high, "N·m"),
                    hint="one of the two was copied wrong: check the maker's figures",
                )  # fmt: skip


def with_window(bolt: Any) -> Any:
    """A bolt with the window from its torque, written as a span or after ±, if it has no other; or with the torque from its window."""
    if isinstance(bolt, dict) and "torque" not in bolt and isinstance(bolt.get("window"), str):
        return {**bolt, "torque": bolt["window"]}
    if not isinstance(bolt, dict) or "window" in bolt or not isinstance(bolt.get("torque"), str):
        return bolt
    try:
        torque = notation.read(bolt["torque"], "torque")
    except SumpwiseError:
        try:
            notation.read_span(bolt["torque"], "torque")
        except SumpwiseError:
            return bolt
        return {**bolt, "window": bolt["torque"]}
    shape, half = torque.spread or ("", 0.0)
    if shape != "rectangular":
        return bolt
    return {**bolt, "window": f"{torque.value - half:.10g} to {torque.value + half:.10g} {torque.unit.symbol}"}
