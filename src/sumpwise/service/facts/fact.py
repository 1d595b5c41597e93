"""A fact of a sheet: a stable id, the values of its sentence, and how much it matters. Values are in internal units; words are ids."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from sumpwise.quantities.units import INTERNAL
from sumpwise.uncertainty import nominal, standard

SHOWN = {
    "distance": INTERNAL["length"], **dict.fromkeys(("years", "hours", "minutes", "seconds"), INTERNAL["time"]),
    "volume growth": "L/°C", "length growth": "mm/°C",
}  # fmt: skip
"""Kind that there is for the way it is shown alone -> the internal unit of its values."""

INFO, NOTE, CAUTION, STOP = "info", "note", "caution", "stop"


@dataclass(frozen=True, slots=True)
class Amount:
    """A quantity in the internal unit of its kind, plain or uncertain; shown to `step` at the finest, in the `main` unit if asked."""

    kind: str
    value: Any
    signed: bool = False
    step: float | None = None
    main: bool = False


@dataclass(frozen=True, slots=True)
class Share:
    """A fraction, shown in percent."""

    value: Any
    places: int = 0


@dataclass(frozen=True, slots=True)
class Count:
    """A whole number."""

    value: int


@dataclass(frozen=True, slots=True)
class Plain:
    """A number without a unit."""

    value: Any
    places: int = 1
    signed: bool = False


@dataclass(frozen=True, slots=True)
class Money:
    """A sum in the job's currency."""

    value: Any
    currency: str
    places: int = 2


@dataclass(frozen=True, slots=True)
class Clock:
    """A time from the first start, minutes; shown in minutes and seconds."""

    value: float


@dataclass(frozen=True, slots=True)
class Window:
    """Two limits in the internal unit of their kind, rounded inward so that nothing shown is outside.

    `division` is one division of a scale as the job writes it: the limits are then rounded to whole divisions, if one is inside.
    """

    kind: str
    lower: float
    upper: float
    division: str = ""


@dataclass(frozen=True, slots=True)
class Written:
    """A value or a span as the job has it: shown as written, or converted to the digits it was written with."""

    text: str
    kind: str


@dataclass(frozen=True, slots=True)
class OnScale:
    """What a vessel should show: rounded down to whole divisions of its scale, in the unit of the scale if the reader uses it.

    `division` is one division as the job writes it.
    """

    kind: str
    value: float
    division: str


@dataclass(frozen=True, slots=True)
class Name:
    """A text of the user's own."""

    text: str


NO_VALUES: Mapping[str, Any] = {}
"""The values of a sentence without slots."""


@dataclass(frozen=True, slots=True)
class Word:
    """An entry of the catalogue, with the values of its own slots."""

    id: str
    values: Mapping[str, Value] = field(default_factory=lambda: NO_VALUES)


@dataclass(frozen=True, slots=True)
class Series:
    """Several values one after the other, joined as the catalogue says."""

    parts: tuple[Value, ...]
    by: str = "join.comma"


Value = Amount | Share | Count | Plain | Money | Clock | Window | Written | OnScale | Name | Word | Series


@dataclass(frozen=True, slots=True)
class Fact:
    """One thing that a sheet says.

    Attributes
    ----------
    id : str
        Stable; the key of its sentence in the catalogue.
    values : mapping
        Slot of the sentence -> value.
    verdict : str
        Id of a word, if the fact is a verdict.
    severity : str
        "info", "note", "caution" or "stop".
    entries : tuple of int
        Numbers of the log entries it is based on.
    form : str
        "line", "item" of a list, or "step" of a numbered one.
    """

    id: str
    values: Mapping[str, Value] = field(default_factory=lambda: NO_VALUES)
    verdict: str = ""
    severity: str = INFO
    entries: tuple[int, ...] = ()
    form: str = "line"


@dataclass(frozen=True, slots=True)
class Table:
    """Columns, by the ids of their headers, and rows of values."""

    columns: tuple[str, ...]
    rows: list[list[Value]]


class Part:
    """The content of one section as it is put together: facts in order, a table, and the named numbers behind them.

    The numbers may be given as a function that works them out when they are first asked for.
    """

    __slots__ = ("_data", "facts", "key", "table", "title")

    def __init__(
        self, key: str, facts: list[Fact] | None = None, table: Table | None = None,
        data: dict[str, Any] | Callable[[], dict[str, Any]] | None = None, title: Mapping[str, Value] | None = None,
    ) -> None:  # fmt: skip
        self.key = key
        self.facts = [] if facts is None else facts
        self.table = table
        self._data = {} if data is None else data
        self.title = {} if title is None else title

    @property
    def data(self) -> dict[str, Any]:
        """The named numbers."""
        if not isinstance(self._data, dict):
            self._data = self._data()
        return self._data

    @data.setter
    def data(self, data: dict[str, Any]) -> None:
        self._data = data


REFERENCE = Amount("temperature", 20.0)
"""Temperature at which volumes are compared."""


def item(key: str, severity: str = INFO, entries: tuple[int, ...] = (), verdict: str = "", /, **values: Value) -> Fact:
    """A fact as an item of a list."""
    return Fact(key, values, verdict, severity, entries, "item")


def line(key: str, severity: str = INFO, entries: tuple[int, ...] = (), verdict: str = "", /, **values: Value) -> Fact:
    """A fact as a line of its own."""
    return Fact(key, values, verdict, severity, entries, "line")


def step(key: str, severity: str = INFO, /, **values: Value) -> Fact:
    """A fact as a step of a numbered list."""
    return Fact(key, values, "", severity, (), "step")


SPARE = 0.05
"""From this uncertainty up, in litres, volumes are shown to a tenth of a litre."""


def expected(litres: Any) -> Amount:
    """A volume still to come out or go in, not measured yet: shown no finer than it is known."""
    return Amount("volume", litres, step=2 * SPARE if standard(litres) >= SPARE else None, main=True)


TENTHS = 0.3
"""From this many litres up, how far the level may be off is told to a tenth of a litre."""


def lower_by(litres: Any) -> Amount:
    """By how much a level is or may be off: always in the main unit, so that it is the same in every sentence."""
    return Amount("volume", litres, step=2 * SPARE if nominal(litres) >= TENTHS else None, main=True)


MOST_PLACES = 6


def stated(share: Any) -> Share:
    """A share that somebody wrote or asked for: shown with all its digits, since rounding would change the wish."""
    exact = 100 * nominal(share)
    return Share(share, next((places for places in range(MOST_PLACES) if abs(round(exact, places) - exact) < 1e-9), MOST_PLACES))


def plain(value: Value) -> Any:
    """A value as plain JSON data: numbers in internal units with their standard uncertainty."""
    return _PLAIN[type(value)](value)


def _unit(kind: str) -> str:
    """The internal unit of a kind."""
    return SHOWN.get(kind) or INTERNAL[kind]


def _number(value: Any, unit: str) -> dict[str, Any]:
    return {"value": nominal(value), "unit": unit, "standard_uncertainty": standard(value)}


_PLAIN: dict[type, Callable[[Any], Any]] = {
    Name: lambda one: one.text, Written: lambda one: one.text, Count: lambda one: one.value,
    Word: lambda one: {"word": one.id} | {slot: plain(value) for slot, value in one.values.items()} if one.values else {"word": one.id},
    Amount: lambda one: _number(one.value, _unit(one.kind)),
    OnScale: lambda one: _number(one.value, _unit(one.kind)),
    Share: lambda one: _number(one.value, "1"), Plain: lambda one: _number(one.value, "1"),
    Money: lambda one: _number(one.value, one.currency), Clock: lambda one: _number(one.value, "min"),
    Window: lambda one: {"lower": one.lower, "upper": one.upper, "unit": _unit(one.kind)},
    Series: lambda one: [plain(part) for part in one.parts],
}  # fmt: skip
