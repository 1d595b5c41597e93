"""Reading a job by its schema: every value in its internal unit, and everything that is wrong, with its place."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from difflib import get_close_matches
from functools import cached_property
from math import sqrt
from typing import Any, NamedTuple

from sumpwise.errors import FileError, NotationError, SumpwiseError, pointer_to
from sumpwise.quantities import notation
from sumpwise.quantities.boundary import Argument
from sumpwise.quantities.normalising import without_about
from sumpwise.quantities.reading import Read
from sumpwise.quantities.telling import against, alike, in_unit, limit, plainly, unit_given
from sumpwise.quantities.units import Unit
from sumpwise.service.dates import between, day
from sumpwise.service.holding import meant, own_packs
from sumpwise.service.keys import DATE, FLAG, LONGEST_TEXT, MONEY, TEXT, Choice, Field, Key, SpanOf
from sumpwise.service.kinds import AUTOMATIC, KINDS
from sumpwise.service.rules import usual_total
from sumpwise.service.schema import ABOUT, ABOUT_DEGREES, ALSO, ANY_LENGTH, ANYWHERE, EVENT_NEEDS, LISTS, NEEDED_TABLES, TABLES, VOLUME
from sumpwise.service.weights import INSTEAD, MASS, doubted, is_weight, litres_of, to_last_digit
from sumpwise.uncertainty import nominal, source, standard

FORMAT = "sumpwise job"
VERSION = 1
NOT_KNOWN = "not known"
"""What to write for a value that is not known: the same as leaving it out."""
MOST_ENTRIES = 2_000
"""The most entries of a list in a job file."""
FEWER = {"vessel": 50}
"""The same for lists in which every entry is weighed against the whole log."""
MOST_WEIGHED = 5_000
"""The most entries of a log times its vessels and stick readings: each of these is compared with every entry."""
MOST_MATCHED = 50
"""The most entries of a log with a match of the outlet: each is compared with thousands of circuits, again and again."""
MOST_PROBLEMS = 2_000
"""The most problems of a job that are told one by one."""
MOST_COMPARED = 20_000
"""With how many known words the unknown ones of a job are compared, to guess what was meant: that takes long."""
LONGEST_LIKENED = 60
"""The longest word, in characters, for which that is guessed."""
STEM, SHORTEST = 5, 4
"""So many letters of two words make them alike; shorter words are not compared."""
BEHIND_TOTAL = (("vehicle", "kind"), *(("capacity", key) for key in ("total", "plug_drain", "pan_and_filter")))
"""What the total is taken from."""
MOST_GRADUATIONS = 50
"""How many divisions of its scale the reading error of a vessel may be."""
MOST_NAMED, LONGEST_NAMED = 12, 80
"""How many known names a problem lists, and the longest, in characters: a job may have many problems, and many names."""


class Spot(NamedTuple):
    """The place of a value; entries of a list count from 0."""

    table: str
    key: str
    entry: int | None


class Found(NamedTuple):
    """What was read: values by table and key, their units as written, which were written with "about" or as a weight, and the problems."""

    values: dict[str, Any]
    units: list[Unit]
    loose: list[Spot]
    weighed: list[Spot]
    problems: list[FileError]


def read(inputs: dict[str, Any], name: str) -> Found:
    """Read a job by its schema.

    Parameters
    ----------
    inputs : dict
        What was written.
    name : str
        Where it came from, for messages.
    """
    reader = _Reader(name)
    reader.job(inputs)
    reader.consistent()
    return Found(reader.values, reader.units, reader.loose, reader.weighed, in_order(reader.problems, inputs))


def in_order(problems: list[FileError], inputs: dict[str, Any]) -> list[FileError]:
    """The problems in the order of the tables and entries of a job; what concerns the whole of it comes last."""
    tables = {str(key): i for i, key in enumerate(inputs)}

    def place(error: FileError) -> tuple[int, int]:
        table, _, rest = error.pointer[1:].partition("/")
        entry = rest.partition("/")[0]
        return tables.get(table, len(tables)), int(entry) if entry.isdecimal() else 0

    return sorted(problems, key=place) if len(problems) > 1 else problems


def _instead(error: SumpwiseError, key: Key, raw: Any) -> str:
    """What a person may have meant, or can write instead, whose error has no hint of its own."""
    kind = key.kind
    if raw == "":
        return "" if key.required else "leave the key out if it is not known"
    if isinstance(kind, Choice):
        return _meant(str(raw), kind.words)
    if not isinstance(kind, Argument):
        return ""
    if kind.kind == "temperature" and error.code == "number.missing":
        return 'if it was only felt, write about how warm, such as "about 40 °C"'
    return ""


def _meant(written: str, words: Collection[str]) -> str:
    """The one choice that shares most words with what was written, as a question; empty if there is none, or several."""

    def stems(text: str) -> set[str]:
        return {word[:STEM] for word in text.lower().split() if len(word) >= SHORTEST}

    given = stems(written[:LONGEST_LIKENED]) - stems(ANYWHERE)
    shared = {choice: len(given & stems(f"{choice} {ALSO.get(choice, '')}")) for choice in words}
    most = max(shared.values(), default=0)
    found = [choice for choice, count in shared.items() if count == most]
    return f"did you mean {found[0]!r}?" if most and len(found) == 1 else ""


class _Reader:
    """Values and problems of one job."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.inputs: dict[str, Any] = {}
        self.values: dict[str, Any] = {}
        self.units: list[Unit] = []
        self.loose: list[Spot] = []
        self.weighed: list[Spot] = []
        self.problems: list[FileError] = []
        self.places: set[tuple[object, ...]] = set()
        self.compared = 0

    def wrong(self, code: str, pointer: Iterable[object], problem: str, place: str, **more: Any) -> None:
        """Note a problem; of very many, the first, and that there are more."""
        if len(self.problems) > MOST_PROBLEMS:
            return
        if len(self.problems) == MOST_PROBLEMS:
            problem, code, pointer, place = f"has more than {MOST_PROBLEMS} problems", "limit.count", (), "in all"
            more = {"limits": (0, MOST_PROBLEMS, ""), "hint": "mend these first"}
        steps = tuple(pointer)
        self.places.add(steps)
        error = FileError(problem, code=code, argument=f"{self.name}: {place}", **more)
        error.pointer = pointer_to(steps)
        self.problems.append(error)

    def job(self, inputs: dict[str, Any]) -> None:
        """Read every table and list."""
        self.inputs = inputs
        if inputs.get("format", FORMAT) != FORMAT:
            return self.wrong("file.format", ["format"], "is not a job", "format", value=inputs["format"], allowed=FORMAT)
        if inputs.get("version", VERSION) != VERSION or isinstance(inputs.get("version"), bool):
            problem = "is a version this library cannot read"
            return self.wrong("file.version", ["version"], problem, "version", value=inputs["version"], allowed=str(VERSION))
        known = {"format", "version", "title", *TABLES, *LISTS}
        for key in sorted(inputs, key=lambda one: one != "fluid"):  # weights are read by the density, which is of the fluid
            content = inputs[key]
            if key not in known:
                self.unknown([key], key, key, known)
            elif key in TABLES:
                self.values[key] = self.table(content, TABLES[key], f"[{key}]", [key])
            elif key in LISTS:
                self.values[key] = self.entries(key, content)
            elif key == "title" and not isinstance(content, str):
                self.wrong("key.type", [key], "is not a text", "title", value=content, allowed=TEXT)
        for table in NEEDED_TABLES:
            if table not in inputs:
                needed = f"a job needs the table{'s' * (len(NEEDED_TABLES) > 1)} {', '.join(NEEDED_TABLES)}"
                self.wrong("key.missing", [table], "is missing", f"[{table}]", hint=needed)
        return None

    def entries(self, key: str, content: Any) -> list[dict[str, Any]]:
        """Read a list of tables."""
        if not isinstance(content, list):
            self.wrong("key.type", [key], "is not a list of tables", key, value=content, hint=f"write [[{key}]] above each entry")
            return []
        most = FEWER.get(key, MOST_ENTRIES)
        if len(content) > most:
            self.wrong("limit.entries", [key], f"has more than {most} entries", f"[[{key}]]", limits=(0, most, ""))
            return []
        whole = map(with_window, content) if key == "bolt" else content
        read = [self.table(entry, _entry_keys(key, entry), f"[[{key}]] {i + 1}", [key, i]) for i, entry in enumerate(whole)]
        if key == "pack":  # one without a name is called by its size
            sizes = [str(entry.get("volume", "")) if isinstance(entry, dict) else "" for entry in content]
            read = [{"name": size} | one for size, one in zip(sizes, read, strict=True)]
        return read

    def table(self, content: Any, keys: dict[str, Key], place: str, pointer: list[object]) -> dict[str, Any]:
        """Read one table."""
        values: dict[str, Any] = {}
        if not isinstance(content, dict):
            self.wrong("key.type", pointer, "is not a table", place, value=content, allowed=", ".join(keys))
            return values
        whose = _whose(place, content)
        for key, raw in content.items():
            spec = keys.get(key)
            if spec is None:
                words = [name for name, one in keys.items() if isinstance(one.kind, Choice) and key in one.kind.words]
                self.unknown([*pointer, key], f"{place} {key}", key, keys, f"write {words[0]} = {key!r}" if words else "")
                continue
            kind, label = spec.kind, whose + key.replace("_", " ")
            try:
                if not isinstance(kind, Argument):
                    values[key] = self.value(raw, kind, label)
                elif raw != NOT_KNOWN or spec.required:
                    plain = without_about(raw) if isinstance(raw, str) else raw
                    values[key] = self.amount(raw, plain, kind, label, [*pointer, key])
                    if plain != raw:
                        self.loose.append(_spot([*pointer, key]))
            except SumpwiseError as error:
                more = {"allowed": error.allowed, "hint": error.hint or _instead(error, spec, raw), "limits": error.limits}
                self.wrong(error.code, [*pointer, key], error.problem, f"{place} {key}", value=raw, **more)
        for key, spec in keys.items():
            blank = spec.kind == TEXT and isinstance(content.get(key), str) and not content[key].strip()
            if spec.required and (blank or key not in content):
                problem = "is blank" if blank else "is missing"
                self.wrong("key.missing", [*pointer, key], problem, f"{place} {key}", allowed=_described(spec.kind))
        return values

    def value(self, raw: Any, kind: Field, label: str) -> Any:
        """A value of a job that is not a measured one; an error without its place."""
        if isinstance(kind, SpanOf):
            return tuple(map(self.noted, kind.kind.read_span(raw, label)))
        if isinstance(kind, Choice):
            if raw in kind.words:
                return raw
        elif kind == FLAG:
            if isinstance(raw, bool):
                return raw
        elif kind == DATE:
            return day(raw)
        elif kind == TEXT:
            if isinstance(raw, str):
                if len(raw) <= LONGEST_TEXT:
                    return raw
                raise FileError(f"is longer than {LONGEST_TEXT} characters", code="text.too_long", value=raw)
        elif isinstance(raw, (int, float)) and not isinstance(raw, bool) and 0 <= raw < 1e9:
            return float(raw)
        if isinstance(kind, Choice):
            raise FileError("is not one of the choices", code="value.choice", value=raw, allowed=_described(kind))
        hint = "write a bare number such as 90.00; name the currency under [shopping]" if kind == MONEY else ""
        raise FileError(f"is not {kind}", code="key.type", value=raw, allowed="" if hint else _described(kind), hint=hint)

    def amount(self, raw: Any, plain: Any, kind: Argument, label: str, pointer: list[object]) -> Any:
        """A value that was measured; of fluid that was weighed, its volume at 20 °C, in the log as uncertain as scales and density are."""
        try:
            return self.measured(raw, plain, kind, label)
        except SumpwiseError as error:
            if not is_weight(error, kind, pointer[0]):
                raise
            if self.density is None:
                error.hint = INSTEAD
                raise
        mass = self.measured(raw, plain, MASS, label)
        self.weighed.append(_spot(pointer))
        logged = pointer[0] == "log"
        return litres_of(to_last_digit(mass, raw, label), self.density) if logged else litres_of(mass, nominal(self.density))

    @cached_property
    def density(self) -> Any:
        """The density by which weights are read; None if the job gives none."""
        written = self.values.get("fluid", {}).get("density_15")
        return None if written is None else doubted(written)

    def measured(self, raw: Any, plain: Any, kind: Argument, label: str) -> Any:
        """A value in its internal unit, also without "about", or a range such as 12-15 qt; a count may be neither."""
        if not isinstance(raw, str) or kind.whole:
            return self.noted(kind.read(raw, label))
        if plain != raw:
            best = self.noted(kind.read(plain, label))
            if standard(best):
                raise FileError("has two uncertainties", code="text.uncertainty", value=raw, allowed=plain)
            return _anywhere(best, ABOUT_DEGREES if kind.kind == "temperature" else ABOUT * abs(nominal(best)), label)
        try:
            return self.noted(kind.read(raw, label))
        except NotationError as error:
            try:
                low, high = (nominal(self.noted(end)) for end in kind.read_span(raw, label))
            except SumpwiseError:
                raise error from None
            return _anywhere((low + high) / 2, (high - low) / 2, label)

    def noted(self, one: Read) -> Any:
        """The value of what was read; its unit is noted."""
        if one.unit is not None:
            self.units.append(one.unit)
        return one.value

    def unknown(self, pointer: list[object], place: str, key: object, known: Collection[str], hint: str = "") -> None:
        """Note a key that is not in the schema; with a `hint` if it is a word that another key takes."""
        hint = hint or self.near(str(key), known, 0.8) or _whereabouts(key, known)
        self.wrong("key.unknown", pointer, "is not a key of a job", place, hint=hint)

    def near(self, word: str, known: Collection[str], cutoff: float) -> str:
        """The known word that was meant, as a question; empty if there is none like it, or if there was too much to compare already."""
        self.compared += len(known)
        near = self.compared <= MOST_COMPARED and len(word) <= LONGEST_LIKENED and get_close_matches(word, known, n=1, cutoff=cutoff)
        return f"did you mean {near[0]}?" if near else ""

    def consistent(self) -> None:
        """Check what single keys cannot: vessels named in the log exist, events have their readings, the parts fit the whole.

        Whatever was refused already is left alone, and so is all that follows from it.
        """
        self.logged()
        self.weighed_or_read()
        self.few_enough()
        self.matched()
        self.dated()
        self.packed()
        self.fitting()
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

    def refused(self, *pointer: object) -> bool:
        """Whether a place, or one that holds it, was refused."""
        return bool(self.places) and any(pointer[:length] in self.places for length in range(1, len(pointer) + 1))

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
        described, listed = {v["name"] for v in known or ()}, sold or []
        packs = own_packs(listed, components or (), self.values.get("fluid", {}).get("name", ""))
        others = {pack["name"]: pack["for"] for pack in listed if pack["name"] not in packs.keys() | described}
        vessels = described | packs.keys()
        for i, entry in enumerate(self.values.get("log", [])):
            if "event" not in entry:
                continue
            place, pointer = f"[[log]] {i + 1}", ["log", i]
            named = all_known and not self.refused("log", i, "reading")
            if named and "vessel" in EVENT_NEEDS[entry["event"]] and "vessel" not in entry and not self.refused("log", i, "vessel"):
                name = meant(entry, described, packs)
                if name is not None:
                    entry["vessel"] = name
                    vessels |= {name}
            for key in EVENT_NEEDS[entry["event"]]:
                if key not in entry and not self.refused("log", i, key) and (key != "vessel" or named):
                    allowed = _named(vessels, "") if key == "vessel" else _described(_entry_keys("log", entry)[key].kind)
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
                hint = _named(known) or "name it under [[component]] or [fluid]"
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
                allowed = _described(TABLES["level"][key].kind)
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

    def weighed_or_read(self) -> None:
        """Check that no vessel is weighed in one entry and read in another; of packs, some may be."""
        log, packs = self.values.get("log", []), {pack["name"] for pack in self.values.get("pack", []) if "name" in pack}
        by_weight = {spot.entry for spot in self.weighed if (spot.table, spot.key) == ("log", "reading")}
        first: dict[str, bool] = {}
        for i, entry in enumerate(log):
            vessel = entry.get("vessel")
            if not by_weight or vessel is None or vessel in packs or "reading" not in entry:
                continue
            if first.setdefault(vessel, i in by_weight) != (i in by_weight):
                problem = f"is read on its scale, but the {vessel} was weighed before" if first[vessel] else (
                    f"is weighed, but the {vessel} was read on its scale before"
                )
                self.wrong("argument.together", ["log", i, "reading"], problem, f"[[log]] {i + 1} reading",
                           hint="a scale and a weight have different errors: give one of them another vessel")  # fmt: skip

    def few_enough(self) -> None:
        """Check that the log has few enough vessels and stick readings: each is compared with all of it."""
        log = [entry for entry in self.values.get("log", []) if "event" in entry]
        described = {vessel["name"] for vessel in self.values.get("vessel", []) if "name" in vessel}
        sticks = sum(entry["event"] == "stick" for entry in log)
        vessels = len(described | {entry["vessel"] for entry in log if "vessel" in entry})
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


def _spot(pointer: list[object]) -> Spot:
    """The place of a key: in a table, or in an entry of a list."""
    entry = pointer[1] if len(pointer) > 2 else None
    return Spot(str(pointer[0]), str(pointer[-1]), entry if isinstance(entry, int) else None)


def _whereabouts(key: object, known: Iterable[str]) -> str:
    """Tables where a key that is not known here may belong."""
    homes = [f"[{table}]" for table in TABLES if key in TABLES[table]] + [f"[[{list_}]]" for list_ in LISTS if key in LISTS[list_]]
    return f"{key} belongs in {' or '.join(homes)}" if homes else f"known: {', '.join(sorted(known))}"


def _named(known: Collection[str], lead: str = "known: ") -> str:
    """The first of some names that a person gave, after a lead; empty if there are none."""
    first = [name if len(name) <= LONGEST_NAMED else f"{name[: LONGEST_NAMED - 1]}…" for name in sorted(known)[:MOST_NAMED]]
    return f"{lead}{', '.join(first)}{f' and {len(known) - MOST_NAMED} more' if len(known) > MOST_NAMED else ''}" if first else ""


def _anywhere(middle: float, half: float, label: str) -> Any:
    """A value equally likely to be anywhere within a half-width."""
    return source(nominal(middle), half / sqrt(3.0), shape="rectangular", name=label)


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


def _entry_keys(key: str, entry: Any) -> dict[str, Key]:
    """The keys of a list entry; a stick is read in millimetres, a vessel in litres."""
    if key == "log" and isinstance(entry, dict) and entry.get("event") == "stick":
        return LISTS[key] | {"reading": LISTS[key]["reading"]._replace(kind=ANY_LENGTH)}
    return LISTS[key]


def _whose(place: str, content: dict[Any, Any]) -> str:
    """What a budget puts before the words of an uncertain value of the job: `plug drain`, `filter, volume`, `log 4, reading`."""
    if place.endswith("]") and place.strip("[]") in TABLES:
        return ""
    whose = content.get("what", content.get("name"))
    if not isinstance(whose, str) or len(whose) > 80:
        whose = " ".join(place.replace("[", " ").replace("]", " ").split())
    return f"{whose}, "


def _described(kind: Field) -> str:
    if isinstance(kind, Choice):
        return ", ".join(repr(w) for w in kind.words)
    if isinstance(kind, SpanOf):
        return f"a span such as {'82–92 °C' if kind.kind.kind == 'temperature' else '31 to 37 N·m'!r}"
    return kind.example() if isinstance(kind, Argument) else kind
