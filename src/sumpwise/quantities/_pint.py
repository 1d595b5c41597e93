"""Quantities: the only module that imports pint.

The size of a unit comes from the definitions of the registry it belongs to, never from its name: a registry may define a quart as two
litres, from the start, later on, or inside a context. A cached size is kept with the definitions it rests on, and dropped when one of
them is no longer in force.
"""

from __future__ import annotations

import os
import threading
import weakref
from fractions import Fraction
from operator import itemgetter
from typing import TYPE_CHECKING, Any, NamedTuple

import pint

from sumpwise.errors import UnitError, with_article
from sumpwise.quantities.units import INTERNAL, SPELLINGS, SYMBOLS, Unit, key

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

HIGHEST_POWER = 20
"""Units of kinds known here have powers far below."""

_RADIAN = SYMBOLS["rad"]
_ANCHORS: dict[str, tuple[dict[str, int], Fraction]] = {
    "volume": ({"meter": 3}, Fraction(1000)),
    "temperature": ({"kelvin": 1}, Fraction(1)),
    "interval": ({"kelvin": 1}, Fraction(1)),
    "heating rate": ({"kelvin": 1, "second": -1}, Fraction(60)),
    "torque": ({"kilogram": 1, "meter": 2, "second": -2}, Fraction(1)),
    "length": ({"meter": 1}, Fraction(1000)),
    "pressure": ({"kilogram": 1, "meter": -1, "second": -2}, Fraction(1, 1000)),
    "viscosity": ({"meter": 2, "second": -1}, Fraction(10**6)),
    "density": ({"kilogram": 1, "meter": -3}, Fraction(1)),
    "flow": ({"meter": 3, "second": -1}, Fraction(60_000)),
    "mass": ({"kilogram": 1}, Fraction(1)),
    "force": ({"kilogram": 1, "meter": 1, "second": -2}, Fraction(1)),
    "time": ({"second": 1}, Fraction(1, 60)),
    "angle": ({"radian": 1}, Fraction(_RADIAN.num, _RADIAN.den)),
    "fraction": ({}, Fraction(1)),
}
"""Kind -> its base units, and how many internal units one of them is: a registry may redefine the litre itself."""
_ZERO = Fraction("-273.15")
"""Zero kelvin in °C."""

_ENERGY = {"[mass]": 1, "[length]": 2, "[time]": -2}
_POWER = {"[mass]": 1, "[length]": 2, "[time]": -3}

# Both caches are keyed by the id of a registry, which is held weakly: its entries go with it, before the id can be used again.
_resolved: dict[int, dict[Any, tuple[Unit, Callable[[Any], Any], Any]]] = {}
_containers: dict[int, dict[str, Any]] = {}
_watched: dict[int, weakref.ref[Any]] = {}

_first = threading.Lock()


def _begin() -> None:
    """A lock of its own for a forked child, which does not inherit who holds it."""
    global _first
    _first = threading.Lock()


if hasattr(os, "register_at_fork"):
    os.register_at_fork(after_in_child=_begin)


def _watch(registry: Any) -> int:
    """The id of a registry, with empty caches for one that is new."""
    number = id(registry)
    if number not in _watched:
        _resolved[number], _containers[number] = {}, {}
        _watched[number] = weakref.ref(registry, lambda _: (_watched.pop(number), _resolved.pop(number), _containers.pop(number)))
    return number


def registry_of(value: object) -> Any:
    """The registry of a Quantity, or None for anything else."""
    return getattr(type(value), "_REGISTRY", None) if hasattr(value, "_units") else None


def unit_of(quantity: Any) -> Unit:
    """The `Unit` of a Quantity of any registry: its kind, exact factor and offset, as the registry defines them now."""
    try:
        units = quantity._units
    except AttributeError:
        raise UnitError("is a class, not a value", code="value.type", value=quantity) from None
    return _unit(quantity._REGISTRY, units)


def _unit(registry: Any, units: Any) -> Unit:
    table = registry._units
    if len(table.maps) == 1:  # no context redefines a unit
        table = table.maps[0]
    try:
        unit, definitions_in, definitions = _resolved[id(registry)][units]
        if definitions_in(table) == definitions:
            return unit
    except KeyError:
        pass
    unit, names = _resolve(registry, units)
    definitions_in = itemgetter(*names) if names else lambda _: ()
    _resolved[_watch(registry)][units] = unit, definitions_in, definitions_in(table)
    return unit


def magnitude(quantity: Any) -> Any:
    """The bare magnitude of a Quantity."""
    try:
        return quantity._magnitude
    except AttributeError:
        raise UnitError("is a unit without a number", code="number.missing", value=quantity) from None


def _name(units: Any) -> str:
    """A unit container in pint's own plain spelling, whatever the registry's format settings."""
    over: list[str] = []
    under: list[str] = []
    for name, power in sorted(units.items()):
        size = abs(power)
        (over if power > 0 else under).append(name if size == 1 else f"{name} ** {int(size) if size == int(size) else size}")
    return " / ".join([" * ".join(over) or "1", *under])


class _Size(NamedTuple):
    """The size of a unit in the base units of its registry, and the names of all units its definition rests on."""

    factor: Fraction
    offset: Fraction
    bases: dict[str, int]
    dimensions: dict[str, int]
    names: set[str]


def _size(registry: Any, units: Mapping[str, Any]) -> _Size:
    """Follow the definitions of a registry down to its base units; pint's own cached factors survive a redefinition."""
    factor, offset = Fraction(1), Fraction(0)
    bases: dict[str, int] = {}
    dimensions: dict[str, int] = {}
    names: set[str] = set()
    open_ends = [(name, power, True) for name, power in units.items()]
    while open_ends:
        name, exponent, outermost = open_ends.pop()
        power = int(exponent)
        if power != exponent or abs(power) > HIGHEST_POWER:
            raise UnitError("is a unit of no kind known here", code="unit.unsupported", value=_name(units))
        definition = _definition(registry, name)
        names.add(name)
        if definition.is_base:
            bases[name] = bases.get(name, 0) + power
            for dimension, size in definition.reference.items():
                dimensions[dimension] = dimensions.get(dimension, 0) + power * int(size)
            continue
        converter = definition.converter
        if converter.is_logarithmic:
            raise UnitError(
                "is a logarithmic unit, which stands for no amount", code="unit.unsupported", value=_name(units),
                hint="give the amount itself",
            )  # fmt: skip
        factor *= Fraction(str(converter.scale)) ** power
        if not converter.is_multiplicative:
            if not outermost or len(units) > 1 or power != 1:
                raise UnitError("is a unit of no kind known here", code="unit.unsupported", value=_name(units))
            offset = Fraction(str(converter.offset))
        open_ends += [(part, power * size, False) for part, size in definition.reference.items()]
    return _Size(factor, offset, _counting(bases), _counting(dimensions), names)


def _counting(powers: dict[str, int]) -> dict[str, int]:
    return {name: power for name, power in powers.items() if power}


def _definition(registry: Any, name: str) -> Any:
    try:
        return registry._units[name]
    except KeyError:
        pass
    try:
        return registry._units[registry.get_name(name)]  # a prefixed name that nobody has spelled before is defined by this
    except pint.UndefinedUnitError:
        raise UnitError("is not defined in its own registry", code="unit.registry", value=name) from None


def _resolve(registry: Any, units: Any) -> tuple[Unit, tuple[str, ...]]:
    """The unit of a container, and the names of the units that this rests on."""
    name = _name(units)
    size = _size(registry, units)
    for kind, (anchor, worth) in _ANCHORS.items():
        if kind in ("interval", "temperature") and (kind == "interval") != name.startswith("delta_"):
            continue
        if kind == "angle" and "radian" not in size.bases:
            continue
        try:
            base = _size(registry, anchor)
        except UnitError:  # a registry without such a unit
            continue
        if size.dimensions != base.dimensions:
            continue
        if kind == "torque":
            _refuse_energy(registry, units, name)
        factor = size.factor / base.factor * worth
        offset = size.offset / base.factor + _ZERO if kind == "temperature" else Fraction(0)
        names = tuple(size.names | base.names)
        known = SPELLINGS.get("1" if name == "1" else key(name))
        if known and known.kind == kind and _alike(factor, offset, known):
            return known, names
        own = Unit(name, name, kind, factor.numerator * offset.denominator, factor.denominator * offset.denominator,
                   offset.numerator * factor.denominator, "", "the caller's registry")  # fmt: skip
        return own, names
    raise UnitError(
        "is a unit of no kind known here", code="unit.unsupported", value=name, allowed=", ".join(f"{k} ({u})" for k, u in INTERNAL.items())
    )


def _alike(factor: Fraction, offset: Fraction, known: Unit) -> bool:
    return abs(factor * known.den - known.num) <= 1e-11 * known.num and abs(float(offset) - known.offset) <= 1e-9


def _refuse_energy(registry: Any, units: Any, name: str) -> None:
    for part in units:
        if _size(registry, {part: 1}).dimensions in (_ENERGY, _POWER):
            raise UnitError("is energy, not torque", code="unit.kind", value=name, hint="write N·m, lbf·ft, lbf·in, kgf·m or kgf·cm")


def home(unit: Unit, registry: Any) -> tuple[Any, Any, Unit]:
    """Where an answer in `unit` goes: the registry (None: the application's), its container for the unit, and what it holds that to be."""
    if registry is None:
        registry = pint.application_registry.get()  # type: ignore[no-untyped-call]
    try:
        units = _containers[id(registry)][unit.pint]
    except KeyError:
        with _first:  # pint builds its default registry in place when it is first touched: nobody else may see it half made
            units = _container(unit, registry)
    own = _unit(registry, units)
    if own.kind != unit.kind:
        raise UnitError(
            f"is {with_article(own.kind)} in the caller's registry; expected {with_article(unit.kind)}", code="unit.registry",
            value=unit.symbol,
        )  # fmt: skip
    return registry, units, own


def _container(unit: Unit, registry: Any) -> Any:
    names = _containers[_watch(registry)]
    try:
        names[unit.pint] = registry.Unit("" if unit.pint in ("dimensionless", "1") else unit.pint)._units
    except pint.UndefinedUnitError as error:
        raise UnitError("is not defined in the caller's registry", code="unit.registry", value=unit.symbol, hint=str(error)) from None
    return names[unit.pint]


def made(value: Any, units: Any, registry: Any) -> Any:
    """A Quantity of `value`; in a registry of another kind of number than floats, a single one is of that kind."""
    plain = value.__class__ is float
    if plain or hasattr(value, "nominal_value"):
        number = registry.non_int_type
        if plain and number is not float:
            value = number(repr(value))
        elif not (registry.force_ndarray or registry.force_ndarray_like):
            quantity = object.__new__(registry.Quantity)  # what its own __new__ does with one number, without the checks
            quantity._magnitude = value
            quantity._units = units
            return quantity
    return registry.Quantity(value, units)


def beside(quantity: Any, value: float, spread: bool = False) -> Any:
    """A value in the unit of a Quantity, be it of a kind known here or not; a spread of a temperature is an interval."""
    registry, units = quantity._REGISTRY, quantity._units
    if spread and not quantity._is_multiplicative:
        [name] = units
        units = registry.Unit(f"delta_{name}")._units
    return made(value, units, registry)


def build(value: Any, unit: Unit, registry: Any = None) -> Any:
    """A Quantity of `value` in `unit`, in the given registry or in the application registry."""
    registry, units, own = home(unit, registry)
    if own is not unit:
        from sumpwise.quantities.magnitudes import inward, outward

        value = outward(inward(value, unit), own)
    return made(value, units, registry)


def own_memory(quantity: Any) -> Any:
    """The Quantity itself, or for an array one of the same values, unit and registry that shares no memory with it."""
    held = quantity._magnitude
    if not getattr(held, "ndim", 0):
        return quantity
    copy = object.__new__(type(quantity))
    copy._magnitude = held.copy()
    copy._units = quantity._units
    return copy


def quantity_of(value: Any, unit: Unit, text: str, registry: Any = None) -> Any:
    """A Quantity that carries the text it was written as, in `.text`."""
    result = build(value, unit, registry)
    result.text = text
    return result
