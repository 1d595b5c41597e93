"""Quantities: the only module that imports pint."""

from __future__ import annotations

import weakref
from typing import Any

import pint

from sumpwise.errors import UnitError
from sumpwise.quantities.units import INTERNAL, SPELLINGS, Unit, internal_unit, key

# Both caches by the id of a registry, which is held weakly: its entries go when it goes, before its id can be used again.
_resolved: dict[int, dict[Any, Unit]] = {}
_containers: dict[int, dict[str, Any]] = {}
_watched: dict[int, weakref.ref[Any]] = {}


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
    """The `Unit` of a Quantity of any registry: its kind, exact factor and offset. Cached per registry and unit."""
    registry, units = quantity._REGISTRY, quantity._units
    try:
        return _resolved[id(registry)][units]
    except KeyError:
        pass
    unit = _resolved[_watch(registry)][units] = _resolve(registry, units)
    return unit


def magnitude(quantity: Any) -> Any:
    """The bare magnitude of a Quantity."""
    try:
        return quantity._magnitude
    except AttributeError:
        raise UnitError("is a unit without a number", value=quantity) from None


def _name(units: Any) -> str:
    """A unit container in pint's own plain spelling, whatever the registry's format settings."""
    over: list[str] = []
    under: list[str] = []
    for name, power in sorted(units.items()):
        size = abs(power)
        (over if power > 0 else under).append(name if size == 1 else f"{name} ** {int(size) if size == int(size) else size}")
    return " / ".join([" * ".join(over) or "1", *under])


def _resolve(registry: Any, units: Any) -> Unit:
    name = _name(units)
    for power in units.values():
        if power != int(power):
            raise UnitError("is a unit of no kind known here", value=name)
    known = SPELLINGS.get(key(name))
    if name == "1":
        known = SPELLINGS["1"]
    one, zero = registry.Quantity(1.0, units), registry.Quantity(0.0, units)
    for kind in (known.kind,) if known else INTERNAL:
        internal = internal_unit(kind)
        try:
            target = registry.Unit("" if internal.pint == "dimensionless" else internal.pint)
            if one.dimensionality != target.dimensionality:
                continue
            if kind in ("interval", "temperature") and (kind == "interval") != name.startswith("delta_"):
                continue
            if kind == "angle" and "radian" not in one.to_root_units()._units:
                continue
            offset = float(zero.m_as(target))
            factor = float(one.m_as(target)) - offset
        except (pint.UndefinedUnitError, pint.DimensionalityError, pint.OffsetUnitCalculusError):
            continue
        if kind == "torque":
            _refuse_energy(registry, units, name)
        if known and abs(factor - known.factor) <= 1e-11 * abs(factor) and abs(offset - known.offset) <= 1e-9:
            return known
        (num, den), (shift, per) = factor.as_integer_ratio(), offset.as_integer_ratio()
        return Unit(name, name, kind, num * per, den * per, shift * den, "", "the caller's registry")
    raise UnitError("is a unit of no kind known here", value=name, allowed=", ".join(f"{k} ({u})" for k, u in INTERNAL.items()))


def _refuse_energy(registry: Any, units: Any, name: str) -> None:
    energy, power = registry.Unit("joule").dimensionality, registry.Unit("watt").dimensionality
    for part in units:
        if registry.Unit(part).dimensionality in (energy, power):
            raise UnitError("is energy, not torque", value=name, hint="write N·m, lbf·ft, lbf·in, kgf·m or kgf·cm")


def build(value: Any, unit: Unit, registry: Any = None) -> Any:
    """A Quantity of `value` in `unit`, in the given registry or in the application registry."""
    if registry is None:
        registry = pint.application_registry.get()  # type: ignore[no-untyped-call]
    try:
        units = _containers[id(registry)][unit.pint]
    except KeyError:
        units = _container(unit, registry)
    if value.__class__ is not float or registry.force_ndarray or registry.force_ndarray_like:
        return registry.Quantity(value, units)
    quantity = object.__new__(registry.Quantity)  # what its own __new__ comes to for a float, without the questions
    quantity._magnitude = value
    quantity._units = units
    return quantity


def _container(unit: Unit, registry: Any) -> Any:
    names = _containers[_watch(registry)]
    try:
        names[unit.pint] = registry.Unit("" if unit.pint in ("dimensionless", "1") else unit.pint)._units
    except pint.UndefinedUnitError as error:
        raise UnitError("is not defined in the caller's registry", value=unit.symbol, hint=str(error)) from None
    return names[unit.pint]


def quantity_of(value: Any, unit: Unit, registry: Any = None, text: str = "") -> Any:
    """A Quantity that carries the text it was written as, in `.text`."""
    result = build(value, unit, registry)
    if text:
        result.text = text
    return result
