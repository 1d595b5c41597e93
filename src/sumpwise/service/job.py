"""A job: one service of one vehicle, read from a TOML file whose values are written in workshop notation."""

from __future__ import annotations

import os
from difflib import get_close_matches
from typing import Any

from sumpwise._files import content_of, toml_of
from sumpwise.errors import FileError, SumpwiseError
from sumpwise.quantities.boundary import Argument, argument

FORMAT = "sumpwise job"
VERSION = 1
MOST_ENTRIES = 2_000
"""Entries a list in a job file may have."""

TEXT, FLAG, MONEY, NUMBER = "text", "true or false", "a price, 0 or more", "a number"
_VOLUME = argument("volume", minimum=0, scalar=True)
_POSITIVE = argument("volume", above=0, scalar=True)
_LENGTH = argument("length", above=0, scalar=True)
_ANY_LENGTH = argument("length", scalar=True)
_TEMPERATURE = argument("temperature", scalar=True)
_TIME = argument("time", minimum=0, scalar=True)
_DISTANCE = argument("length", minimum=0, scalar=True)
_SHARE = argument("fraction", scalar=True)
_TORQUE = argument("torque", above=0, scalar=True)
_COUNT = argument("count", maximum=40, scalar=True)


class Window:
    """A field that holds a span of one kind."""

    def __init__(self, kind: str) -> None:
        self.kind = argument(kind, scalar=True)


class Choice:
    """A field that holds one of a few words."""

    def __init__(self, *words: str) -> None:
        self.words = words


Field = str | Argument | Window | Choice

EVENTS = ("stick", "drained", "poured", "emptied", "lost", "drive", "seen")
BUBBLES = "bubbles in the hose"
RED_ROWS = (
    "pink or milky fluid", BUBBLES, "no flow when hot", "flakes or chunks", "burnt smell with slip",
    "fluid at 120 °C or more", "foam on the stick", "plug torque does not build", "wrong bottle", "lost count",
)  # fmt: skip
"""What stops the work whatever any number says."""

TABLES: dict[str, dict[str, Field]] = {
    "vehicle": {
        "name": TEXT, "age": _TIME, "fluid_age": _TIME, "distance": _DISTANCE, "interval_time": _TIME, "interval_distance": _DISTANCE,
        "level_check": Choice("stick", "overflow plug", "sealed"), "cooler_line": FLAG, "cooler_thermostat": FLAG,
    },
    "capacity": {
        "total": _POSITIVE, "total_scope": TEXT, "book_refill": _POSITIVE, "book_refill_scope": TEXT, "plug_drain": _POSITIVE,
        "pan_and_filter": _VOLUME, "mid_level_below_total": argument("volume", scalar=True),
    },
    "fluid": {
        "name": TEXT, "density_15": argument("density", minimum=800.9, maximum=1163.5, scalar=True),
        "viscosity_40": argument("viscosity", above=0, scalar=True), "viscosity_100": argument("viscosity", above=0, scalar=True),
        "temperature": _TEMPERATURE,
    },
    "wrench": {
        "minimum": _TORQUE, "maximum": _TORQUE, "deviation": argument("fraction", minimum=0, maximum=0.5, scalar=True), "length": _LENGTH,
        "adapter": argument("length", minimum=0, scalar=True), "angle": argument("angle", minimum=-180, maximum=180, scalar=True),
    },
    "level": {
        "marks_volume": _POSITIVE, "marks_length": _LENGTH, "window": Window("temperature"), "resolution": _LENGTH,
    },
    "filler": {"bore": _LENGTH, "length": _LENGTH, "head": _LENGTH, "venting": _SHARE},
    "exchange": {
        "refill": _VOLUME, "burst": _POSITIVE, "bursts": _COUNT, "trim": _VOLUME, "flow": argument("flow", above=0, scalar=True),
        "reserve": _POSITIVE,
    },
    "circuit": {
        "sump": _POSITIVE, "converter": _POSITIVE, "cooler": _POSITIVE, "clutches": _VOLUME, "pockets": _VOLUME, "bypass": _SHARE,
        "clutch_circulation": argument("number", minimum=0, scalar=True), "pocket_circulation": argument("number", minimum=0, scalar=True),
        "sump_floor": _VOLUME,
    },
    "shopping": {"currency": TEXT, "need_uncertainty": _VOLUME, "risk": argument("fraction", above=0, below=0.5, scalar=True)},
    "target": {
        "fresh": argument("fraction", above=0, below=1, scalar=True),
        "probability": argument("fraction", minimum=0.5, below=1, scalar=True),
        "method": Choice("drain", "drains", "yearly", "bursts", "machine stirred", "drain and machine"),
    },
    "quote": {"price": MONEY, "volume": _POSITIVE, "claim": _SHARE},
    "costs": {"washer": MONEY, "filter": MONEY, "hour": MONEY},
}  # fmt: skip
"""Table -> key -> what its value is."""

LISTS: dict[str, dict[str, Field]] = {
    "history": {"ago": _TIME, "share": argument("fraction", scalar=True), "note": TEXT},
    "component": {"name": TEXT, "volume": _POSITIVE},
    "vessel": {
        "name": TEXT, "graduation": _POSITIVE, "holds": _POSITIVE, "reads_high": argument("fraction", above=-0.5, below=0.5, scalar=True),
        "scale_uncertainty": argument("fraction", minimum=0, below=0.5, scalar=True),
    },
    "bolt": {"name": TEXT, "torque": _TORQUE, "window": Window("torque")},
    "pack": {"name": TEXT, "volume": _POSITIVE, "price": MONEY},
    "log": {
        "event": Choice(*EVENTS), "vessel": TEXT, "reading": _VOLUME, "temperature": _TEMPERATURE,
        "cumulative": FLAG, "thermometer": TEXT, "volume": _VOLUME, "what": TEXT, "note": TEXT, "outlet_old": _SHARE, "duration": _TIME,
        "seen": Choice(*RED_ROWS),
    },
}  # fmt: skip
"""List of tables -> key -> what its value is."""

REQUIRED = {
    "vehicle": ("name",), "capacity": ("total", "plug_drain"), "fluid": ("density_15", "temperature"), "pack": ("volume", "price"),
    "vessel": ("name", "graduation"), "bolt": ("name", "torque", "window"), "component": ("name", "volume"),
    "history": ("ago", "share"), "log": ("event",),
    "level": ("marks_volume", "marks_length", "window"), "wrench": ("maximum",),
}  # fmt: skip
NEEDED_TABLES = ("vehicle", "capacity", "fluid")
EVENT_NEEDS = {
    "stick": ("reading", "temperature"), "drained": ("vessel", "reading", "temperature"), "poured": ("vessel", "reading", "temperature"),
    "emptied": ("vessel",), "lost": ("volume", "what"), "seen": ("seen",), "drive": (),
}  # fmt: skip


class Job:
    """One service of one vehicle: what is known before, the tools, the shopping, the target, and the log of what was done.

    Build it with `Job.from_toml` or `Job.from_dict`. Every value is read and validated at once; an uncertain value is one source of
    uncertainty, however often it is used.

    Attributes
    ----------
    name : str
        Where it came from, for messages.
    inputs : dict
        What was written, as plain data.

    Examples
    --------
    >>> from sumpwise import Job
    >>> job = Job.demo()
    >>> job.text("capacity", "total")
    '8.85 L'
    >>> job.value("capacity", "total")
    8.85
    """

    def __init__(self, inputs: dict[str, Any], name: str = "job") -> None:
        self.name = name
        self.inputs = inputs
        self._values = _validated(inputs, name)

    @classmethod
    def from_toml(cls, path: str | os.PathLike[str]) -> Job:
        """Read a job file.

        Parameters
        ----------
        path : str or path
            A TOML file in UTF-8, at most 1 MB.

        Returns
        -------
        Job

        Raises
        ------
        FileError
            Naming the file, the key, what was read, what is wrong and how to mend it.
        """
        name, content = content_of(path, "give the path of a job file")
        return cls(toml_of(content, name), name)

    @classmethod
    def demo(cls) -> Job:
        """The packaged demo job: the invented example wagon."""
        from importlib.resources import files

        content = files("sumpwise.service").joinpath("data/example_wagon.toml").read_bytes()
        return cls(toml_of(content, "the packaged demo"), "the packaged demo")

    @classmethod
    def from_dict(cls, inputs: dict[str, Any]) -> Job:
        """Build a job from plain data, as `to_dict` gives it."""
        if not isinstance(inputs, dict):
            raise FileError("is no table", argument="job", value=inputs, allowed="a dict as Job.to_dict gives it")
        return cls(_copied(inputs), "job")

    def to_dict(self) -> dict[str, Any]:
        """The job as plain JSON data: what was written, with format and version."""
        return {"format": FORMAT, "version": VERSION, **_copied({k: v for k, v in self.inputs.items() if k not in ("format", "version")})}

    def has(self, table: str, *keys: str) -> bool:
        """Whether a table is there, with all of the keys."""
        return table in self._values and all(key in self._values[table] for key in keys)

    def value(self, table: str, key: str, default: Any = None) -> Any:
        """A value in the internal unit of its kind (uncertain where it was written so), or the default."""
        return self._values.get(table, {}).get(key, default)

    def text(self, table: str, key: str, default: str = "") -> str:
        """A value as it was written, or the default."""
        return str(self.inputs.get(table, {}).get(key, default))

    def entries(self, table: str) -> list[dict[str, Any]]:
        """The entries of a list of tables, values in internal units."""
        return list(self._values.get(table, []))

    def written(self, table: str) -> list[dict[str, Any]]:
        """The entries of a list of tables as they were written."""
        return list(self.inputs.get(table, []))

    @property
    def title(self) -> str:
        """What the job is called."""
        return str(self.inputs.get("title", self.text("vehicle", "name")))

    def __repr__(self) -> str:
        return f"Job({self.title!r}, {len(self.entries('log'))} log entries)"


def _copied(value: Any) -> Any:
    if isinstance(value, dict):
        return {str(k): _copied(v) for k, v in value.items()}
    return [_copied(v) for v in value] if isinstance(value, (list, tuple)) else value


def _validated(inputs: dict[str, Any], name: str) -> dict[str, Any]:
    """Every value of the job in its internal unit; the first thing wrong is a `FileError` that names its key."""
    if inputs.get("format", FORMAT) != FORMAT:
        raise FileError("is no job", argument=f"{name}: format", value=inputs["format"], allowed=FORMAT)
    if inputs.get("version", VERSION) != VERSION or isinstance(inputs.get("version"), bool):
        raise FileError(
            "is a version this library does not read", argument=f"{name}: version", value=inputs["version"], allowed=str(VERSION)
        )
    known = {"format", "version", "title", *TABLES, *LISTS}
    values: dict[str, Any] = {}
    for key, content in inputs.items():
        if key not in known:
            raise _unknown(f"{name}: {key}", key, known)
        if key in TABLES:
            values[key] = _table(content, TABLES[key], f"{name}: [{key}]", REQUIRED.get(key, ()))
        elif key in LISTS:
            if not isinstance(content, list):
                raise FileError("is no list of tables", argument=f"{name}: {key}", value=content, hint=f"write [[{key}]] above each entry")
            if len(content) > MOST_ENTRIES:
                raise FileError(f"has more than {MOST_ENTRIES} entries", argument=f"{name}: [[{key}]]")
            values[key] = [
                _table(entry, _entry_fields(key, entry), f"{name}: [[{key}]] {i}", REQUIRED.get(key, ()))
                for i, entry in enumerate(content, 1)
            ]
        elif key == "title" and not isinstance(content, str):
            raise FileError("is no text", argument=f"{name}: title", value=content)
    for table in NEEDED_TABLES:
        if table not in values:
            raise FileError("is missing", argument=f"{name}: [{table}]", hint=f"a job needs the tables {', '.join(NEEDED_TABLES)}")
    _consistent(values, name)
    return values


def _entry_fields(key: str, entry: Any) -> dict[str, Field]:
    """The fields of a list entry; a stick is read in millimetres, a vessel in litres."""
    if key == "log" and isinstance(entry, dict):
        return LISTS[key] | {"reading": _ANY_LENGTH if entry.get("event") == "stick" else _VOLUME}
    return LISTS[key]


def _table(content: Any, fields: dict[str, Field], place: str, required: tuple[str, ...]) -> dict[str, Any]:
    if not isinstance(content, dict):
        raise FileError("is no table", argument=place, value=content, allowed=", ".join(fields))
    values = {}
    for key, raw in content.items():
        if key not in fields:
            raise _unknown(f"{place} {key}", key, fields)
        values[key] = _field(raw, fields[key], f"{place} {key}", _label(place, key, content))
    for key in required:
        if key not in values:
            raise FileError("is missing", argument=f"{place} {key}", allowed=_described(fields[key]))
    return values


def _label(place: str, key: str, content: dict[Any, Any]) -> str:
    """What a budget calls an uncertain value of the job: `plug drain`, `filter, volume`, `log 4, reading`."""
    table = place.rpartition("[")[2].replace("]", "")
    words = key.replace("_", " ")
    whose = content.get("what", content.get("name"))
    if not isinstance(whose, str) or len(whose) > 80:
        whose = " ".join(table.split())
    return words if table in TABLES else f"{whose}, {words}"


def _field(raw: Any, field: Field, place: str, label: str) -> Any:
    try:
        if isinstance(field, Argument):
            return field.read(raw, label)
        if isinstance(field, Window):
            return field.kind.read_span(raw, label)
    except SumpwiseError as error:
        raise FileError(error.problem, argument=place, value=raw, allowed=error.allowed, hint=error.hint) from None
    if isinstance(field, Choice):
        if raw in field.words:
            return raw
    elif field == FLAG:
        if isinstance(raw, bool):
            return raw
    elif field == TEXT:
        if isinstance(raw, str) and len(raw) <= 1000:
            return raw
    elif isinstance(raw, (int, float)) and not isinstance(raw, bool) and 0 <= raw < 1e9:
        return float(raw)
    raise FileError("is not what belongs here", argument=place, value=raw, allowed=_described(field))


def _described(field: Field) -> str:
    if isinstance(field, Choice):
        return ", ".join(repr(w) for w in field.words)
    if isinstance(field, Window):
        return f"a span such as {'82–92 °C' if field.kind.kind == 'temperature' else '31 to 37 N·m'!r}"
    return field._example() if isinstance(field, Argument) else field


def _unknown(place: str, key: str, known: Any) -> FileError:
    near = get_close_matches(str(key), [str(k) for k in known], n=1)
    return FileError(
        "is no key of a job", argument=place, hint=f"did you mean {near[0]}?" if near else f"known: {', '.join(sorted(known))}"
    )


def _consistent(values: dict[str, Any], name: str) -> None:
    """What single fields cannot say: vessels named in the log exist, events have their readings, the parts fit the whole."""
    vessels = {v["name"] for v in values.get("vessel", [])}
    for i, entry in enumerate(values.get("log", []), 1):
        place = f"{name}: [[log]] {i}"
        for key in EVENT_NEEDS[entry["event"]]:
            if key not in entry:
                raise FileError(
                    f"is missing from a '{entry['event']}' entry", argument=f"{place} {key}", allowed=_described(LISTS["log"][key])
                )
        if "vessel" in entry and entry["vessel"] not in vessels:
            near = get_close_matches(entry["vessel"], vessels, n=1)
            raise FileError(
                "names no vessel of this job", argument=f"{place} vessel", value=entry["vessel"],
                hint=f"did you mean {near[0]}?" if near else "describe it under [[vessel]]",
            )  # fmt: skip
    capacity = values["capacity"]
    best = {k: getattr(v, "nominal_value", v) for k, v in capacity.items()}
    if best["plug_drain"] + best.get("pan_and_filter", 0.0) > best["total"]:
        raise FileError("plug drain and pan exceed the total", argument=f"{name}: [capacity] plug_drain", value=capacity["plug_drain"])
    for i, bolt in enumerate(values.get("bolt", []), 1):
        low, torque, high = (getattr(v, "nominal_value", v) for v in (bolt["window"][0], bolt["torque"], bolt["window"][1]))
        if not low * (1 - 1e-9) <= torque <= high * (1 + 1e-9):
            raise FileError(
                "lies outside its own window", argument=f"{name}: [[bolt]] {i} torque", value=f"{torque:.6g} N·m",
                allowed=f"{low:.6g} to {high:.6g} N·m", hint="one of the two is copied wrong: look again at the maker's figures",
            )  # fmt: skip
