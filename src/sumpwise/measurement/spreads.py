"""Reading values of any kind, and the spreads that go with them."""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING, Any

from sumpwise.errors import RangeError, SumpwiseError
from sumpwise.quantities import notation
from sumpwise.quantities.boundary import PLAIN, Argument, argument
from sumpwise.quantities.magnitudes import NUMBERS
from sumpwise.quantities.reading import Read, the_door_to_pint
from sumpwise.quantities.units import INTERNAL, by_symbol

if TYPE_CHECKING:
    from sumpwise.quantities.reading import Taken
    from sumpwise.quantities.units import Unit

ANY = (*INTERNAL, "number")
_ANY = argument(ANY)


def read_any(value: Any, name: str) -> Read:
    """Read a value of any kind: text, Quantity, uncertain number or plain number."""
    return _ANY.read(value, name)


class _Interval(Argument):
    """A half-width or a standard uncertainty of a temperature: °C, °F and K are intervals there."""

    __slots__ = ()

    def _text(self, text: str, name: str) -> Taken:
        try:
            reading = notation.read(text, ("interval", "temperature"))
        except SumpwiseError as error:
            raise error.at(name) from None
        if reading.spread is not None:
            raise RangeError("is an uncertainty and must not have its own", code="uncertainty.unexpected", argument=name, value=text)
        return self.validated(reading.value * reading.unit.factor, text, name), _as_interval(reading.unit), None, None

    def due(self) -> str:
        return "interval of temperature"

    def fitting(self, unit: Unit, value: Any, name: str) -> Unit:
        return super().fitting(_as_interval(unit), value, name)


def _as_interval(unit: Unit) -> Unit:
    return by_symbol(INTERVALS.get(unit.symbol, unit.symbol))


INTERVALS = {"°C": "Δ°C", "K": "Δ°C", "°F": "Δ°F"}
_OF_TEMPERATURE = _Interval("interval", -inf, 0.0, inf, inf, "", False, False, False)


def spread_of_kind(kind: str) -> Argument:
    """What a half-width or a standard uncertainty of a quantity of some kind may be; finite and not negative."""
    return _OF_TEMPERATURE if kind == "temperature" else argument("number" if kind in PLAIN else kind, minimum=0.0)


def read_spread(value: Any, kind: str, name: str) -> Any:
    """Read a half-width or a standard uncertainty of a quantity of some kind; for a temperature, °C, °F and K are intervals."""
    return spread_of_kind(kind).value(value, name)


def kind_of(value: Any, name: str) -> str:
    """The kind of a value of any kind; of several values, that of the first that can be read."""
    if hasattr(value, "_REGISTRY"):
        return str(the_door_to_pint().unit_of(value).kind)
    if getattr(value, "ndim", 0) and hasattr(value, "dtype") and not isinstance(value, type):
        if value.dtype.kind in NUMBERS:
            return "number"
        value = list(value)
    if isinstance(value, (list, tuple)):
        for i, one in enumerate(value):
            try:
                return read_any(one, f"{name}[{i}]").kind
            except SumpwiseError:
                pass
    return read_any(value, name).kind
