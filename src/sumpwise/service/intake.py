"""Reading a job by its schema: every value in its internal unit, and everything that is wrong, with its place."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from functools import cached_property
from math import sqrt
from typing import Any, NamedTuple

from sumpwise.errors import LONGEST_LIKENED, FileError, NotationError, SumpwiseError, likened
from sumpwise.quantities.boundary import Argument
from sumpwise.quantities.normalising import without_about
from sumpwise.quantities.reading import Read
from sumpwise.quantities.units import Unit
from sumpwise.service.consistency import Consistency, with_window
from sumpwise.service.dates import day
from sumpwise.service.keys import DATE, FLAG, LONGEST_TEXT, MONEY, TEXT, Choice, Field, Key, SpanOf, described
from sumpwise.service.problems import Problems
from sumpwise.service.schema import ABOUT, ABOUT_DEGREES, ALSO, ANYWHERE, EVENT_NEEDS, LISTS, NEEDED_TABLES, ON_A_STICK, TABLES, keys_of
from sumpwise.service.weights import AS_VOLUME, INSTEAD, MASS, WEIGHED, doubted, is_weight, litres_of, to_last_digit
from sumpwise.uncertainty import nominal, source, standard

FORMAT = "sumpwise job"
VERSION = 1
UNKNOWN = ("", "-", "–", "?", "??", "n/a", "na", "none", "null", "nil", "unknown", "not known", "tbd", "tba", "no idea", "don't know", "x")
"""What people write for a value that is not known."""
NOT_KNOWN = "not known"
"""What to write for a value that is not known: the same as leaving it out."""
MOST_ENTRIES = 2_000
"""The most entries of a list in a job file."""
FEWER = {"vessel": 50}
"""The same for lists in which every entry is weighed against the whole log."""
AMOUNT = "reading", "volume"
MEASURED_AS = dict.fromkeys(("weight", "mass", "weighed", "amount", "litres", "liters", "quarts"), AMOUNT) | {"temp": ("temperature",)}
"""What people call a value -> the keys that it may be meant for, the likeliest first."""
STEM, SHORTEST = 5, 4
"""So many letters of two words make them alike; shorter words are not compared."""


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
    """Read what was written in a job by its schema; `name` is where it came from, for messages."""
    reader = _Reader(name)
    reader.job(inputs)
    Consistency(inputs, reader.values, reader.problems).check()
    return Found(reader.values, reader.units, reader.loose, reader.weighed, reader.problems.in_order(inputs))


def _instead(error: SumpwiseError, key: Key, raw: Any) -> str:
    """What a person may have meant, or can write instead, whose error has no hint of its own."""
    kind = key.kind
    if raw is None or (isinstance(raw, str) and raw.strip().lower() in UNKNOWN):
        return "" if key.required else "leave the key out if it is not known"
    if isinstance(kind, Choice):
        return choice_meant(str(raw), kind.words)
    if key is ON_A_STICK and error.code in ("unit.kind", "number.missing"):
        return "write how far above the lower mark the fluid stands, such as 6 mm or 0.2 in; 0 mm is at that mark, -3 mm below it"
    if isinstance(kind, Argument) and kind.kind == "temperature" and error.code == "number.missing":
        return 'if it was only felt, write about how warm, such as "about 40 °C"'
    return ""


def choice_meant(written: str, words: Collection[str]) -> str:
    """The one choice that shares most words with what was written, or is only misspelled, as a question; empty if there is none."""

    def stems(text: str) -> set[str]:
        return {word[:STEM] for word in text.lower().split() if len(word) >= SHORTEST}

    given = stems(written[:LONGEST_LIKENED]) - stems(ANYWHERE)
    shared = {choice: len(given & stems(f"{choice} {ALSO.get(choice, '')}")) for choice in words}
    most = max(shared.values(), default=0)
    found = [choice for choice, count in shared.items() if count == most]
    return f"did you mean {found[0]!r}?" if most and len(found) == 1 else likened(written, words)


class _Reader:
    """Values and problems of one job."""

    def __init__(self, name: str) -> None:
        self.problems = Problems(name)
        self.values: dict[str, Any] = {}
        self.units: list[Unit] = []
        self.loose: list[Spot] = []
        self.weighed: list[Spot] = []

    def job(self, inputs: dict[str, Any]) -> None:
        """Read every table and list."""
        if inputs.get("format", FORMAT) != FORMAT:
            return self.problems.wrong("file.format", ["format"], "is not a job", "format", value=inputs["format"], allowed=FORMAT)
        if inputs.get("version", VERSION) != VERSION or isinstance(inputs.get("version"), bool):
            problem = "is a version this library cannot read"
            return self.problems.wrong("file.version", ["version"], problem, "version", value=inputs["version"], allowed=str(VERSION))
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
                self.problems.wrong("key.type", [key], "is not a text", "title", value=content, allowed=TEXT)
        for table in NEEDED_TABLES:
            if table not in inputs:
                needed = f"a job needs the table{'s' * (len(NEEDED_TABLES) > 1)} {', '.join(NEEDED_TABLES)}"
                self.problems.wrong("key.missing", [table], "is missing", f"[{table}]", hint=needed)
        return None

    def entries(self, key: str, content: Any) -> list[dict[str, Any]]:
        """Read a list of tables."""
        if not isinstance(content, list):
            self.problems.wrong("key.type", [key], "is not a list of tables", key, value=content, hint=f"write [[{key}]] above each entry")
            return []
        most = FEWER.get(key, MOST_ENTRIES)
        if len(content) > most:
            self.problems.wrong("limit.entries", [key], f"has more than {most} entries", f"[[{key}]]", limits=(0, most, ""))
            return []
        whole = map(with_window, content) if key == "bolt" else content
        read = [self.table(entry, keys_of(key, entry), f"[[{key}]] {i + 1}", [key, i]) for i, entry in enumerate(whole)]
        if key == "pack":  # one without a name is called by its size
            sizes = [str(entry.get("volume", "")) if isinstance(entry, dict) else "" for entry in content]
            read = [{"name": size} | one for size, one in zip(sizes, read, strict=True)]
        return read

    def table(self, content: Any, keys: dict[str, Key], place: str, pointer: list[object]) -> dict[str, Any]:
        """Read one table."""
        values: dict[str, Any] = {}
        if not isinstance(content, dict):
            self.problems.wrong("key.type", pointer, "is not a table", place, value=content, allowed=", ".join(keys))
            return values
        whose = _whose(place, content)
        for key, raw in content.items():
            spec = keys.get(key)
            if spec is None:
                words = [name for name, one in keys.items() if isinstance(one.kind, Choice) and key in one.kind.words]
                needs = EVENT_NEEDS.get(str(content.get("event")), keys)
                meant = sorted((one for one in MEASURED_AS.get(str(key).lower(), ()) if one in keys), key=lambda one: one not in needs)
                hint = f"write {words[0]} = {key!r}" if words else f"write it as {meant[0]}" if meant else ""
                self.unknown([*pointer, key], f"{place} {key}", key, keys, hint)
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
                self.problems.wrong(error.code, [*pointer, key], error.problem, f"{place} {key}", value=raw, **more)
        for key, spec in keys.items():
            if spec.required and (key not in content or (spec.kind == TEXT and isinstance(content[key], str) and not content[key].strip())):
                problem = "is blank" if key in content else "is missing"
                self.problems.wrong("key.missing", [*pointer, key], problem, f"{place} {key}", allowed=described(spec.kind))
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
            raise FileError("is not one of the choices", code="value.choice", value=raw, allowed=described(kind))
        hint = "write a bare number such as 90.00; name the currency under [shopping]" if kind == MONEY else ""
        raise FileError(f"is not {kind}", code="key.type", value=raw, allowed="" if hint else described(kind), hint=hint)

    def amount(self, raw: Any, plain: Any, kind: Argument, label: str, pointer: list[object]) -> Any:
        """A value that was measured; of fluid that was weighed, its volume at 20 °C, in the log as uncertain as scales and density are."""
        try:
            return self.measured(raw, plain, kind, label)
        except SumpwiseError as error:
            if not is_weight(error):
                raise
            if pointer[0] not in WEIGHED or self.density is None:
                error.hint = INSTEAD if pointer[0] in WEIGHED else AS_VOLUME
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
        hint = hint or self.problems.near(str(key), known, 0.8) or _whereabouts(key, known)
        self.problems.wrong("key.unknown", pointer, "is not a key of a job", place, hint=hint)


def _spot(pointer: list[object]) -> Spot:
    """The place of a key: in a table, or in an entry of a list."""
    entry = pointer[1] if len(pointer) > 2 else None
    return Spot(str(pointer[0]), str(pointer[-1]), entry if isinstance(entry, int) else None)


def _whereabouts(key: object, known: Iterable[str]) -> str:
    """Tables where a key that is not known here may belong."""
    homes = [f"[{table}]" for table in TABLES if key in TABLES[table]] + [f"[[{list_}]]" for list_ in LISTS if key in LISTS[list_]]
    return f"{key} belongs in {' or '.join(homes)}" if homes else f"known: {', '.join(sorted(known))}"


def _anywhere(middle: float, half: float, label: str) -> Any:
    """A value equally likely to be anywhere within a half-width."""
    return source(nominal(middle), half / sqrt(3.0), shape="rectangular", name=label)


def _whose(place: str, content: dict[Any, Any]) -> str:
    """What a budget puts before the words of an uncertain value of the job: `plug drain`, `filter, volume`, `log 4, reading`."""
    if place.endswith("]") and place.strip("[]") in TABLES:
        return ""
    whose = content.get("what", content.get("name"))
    if not isinstance(whose, str) or len(whose) > 80:
        whose = " ".join(place.replace("[", " ").replace("]", " ").split())
    return f"{whose}, "
