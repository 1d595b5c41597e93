"""Reading values of any kind, and the spreads that go with them."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sumpwise.errors import RangeError, UnitError, with_article
from sumpwise.quantities import notation
from sumpwise.quantities.boundary import PLAIN, argument
from sumpwise.quantities.reading import Read
from sumpwise.quantities.units import INTERNAL

if TYPE_CHECKING:
    from collections.abc import Sequence

ANY = (*INTERNAL, "number")
_ANY = argument(ANY)


def read_any(value: Any, name: str) -> Read:
    """Read a value of any kind: text, Quantity, uncertain number or plain number."""
    return _ANY.read(value, name)


def read_spread(value: Any, kind: str, name: str) -> Any:
    """Read a half-width or a standard uncertainty of a quantity of some kind; beside a temperature, °C, °F and K are intervals.

    The nominal value counts; it is finite and not negative.
    """
    if kind != "temperature":
        return argument("number" if kind in PLAIN else kind, minimum=0.0).value(value, name)
    if isinstance(value, str):
        reading = notation.read(value, ("interval", "temperature"))
        if reading.spread is not None:
            raise RangeError("is an uncertainty and has none of its own", code="uncertainty.unexpected", argument=name, value=value)
        size = reading.value * reading.unit.factor
    elif hasattr(value, "_REGISTRY"):
        from sumpwise.quantities import _pint

        unit = _pint.unit_of(value)
        if unit.kind not in ("interval", "temperature"):
            raise UnitError(
                f"is {with_article(unit.kind)}; expected an interval of temperature", code="unit.kind", argument=name, value=value
            )
        size = argument("number").value(_pint.magnitude(value), name) * unit.factor
    else:
        raise UnitError(
            "has no unit; expected an interval of temperature", code="unit.missing", argument=name, value=value, hint="write '2 Δ°C'"
        )
    return argument("number", minimum=0.0).value(size, name)


def read_alike(values: Sequence[tuple[str, Any]], spreads: Sequence[tuple[str, Any]]) -> tuple[list[Any], list[Any]]:
    """Read values of one kind, whichever it is, and spreads of that kind."""
    read = [(name, value, read_any(value, name)) for name, value in values]
    kind = read[0][2].kind
    for name, value, one in read:
        if one.kind != kind and {one.kind, kind} - set(PLAIN):
            problem = f"is {with_article(one.kind)}; expected {with_article(kind)}"
            raise UnitError(problem, code="unit.kind", argument=name, value=value, hint=f"as {read[0][0]} is")
    return [one.value for _, _, one in read], [read_spread(value, kind, name) for name, value in spreads]
