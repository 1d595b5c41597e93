"""A measurement model on arrays: a function of uncertain inputs as a function of their independent sources."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from typing import Any, NamedTuple, cast

import numpy

from sumpwise import _face, uncertainty
from sumpwise.errors import RangeError, UnitError, expect
from sumpwise.measurement.spreads import read_any
from sumpwise.quantities.boundary import answer
from sumpwise.quantities.reading import Read, the_door_to_pint
from sumpwise.quantities.units import Unit


class _Input(NamedTuple):
    """One input: its best value and its contributions by source, in its internal unit, and the form the function expects."""

    value: Any
    terms: list[tuple[int, float]]
    read: Read

    def at(self, z: Sequence[Any]) -> Any:
        """The input with every source `z` standard uncertainties from its best value; a constant stays a scalar."""
        if not self.terms:
            return self.value
        (first, size), *rest = self.terms
        x = z[first] * size
        for position, size in rest:
            x += z[position] * size
        x += self.value
        return x


class Model:
    """A function of inputs as a function of independent standardised sources.

    Parameters
    ----------
    function : callable or str
        Takes arrays (or Quantities of arrays, if the input is a Quantity). For a public function of the library its kernel is used, and
        draws outside its limits are left out.
    inputs : sequence or mapping
        Positional or keyword arguments: uncertain numbers, Quantities, texts or plain values. A source shared by several is one source.
    part : str
        Which of several answers is wanted.
    """

    def __init__(self, function: Callable[..., Any] | str, inputs: Any, part: str = "") -> None:
        function = _found(function)
        expect(part, str, "part")
        self.function = function
        self.part = part
        self.sources: list[Any] = []
        self._positions: dict[Any, int] = {}
        self._unit: Any = None
        self._registry: Any = None
        kernel, specs = getattr(function, "kernel", None), getattr(function, "arguments", None)
        if isinstance(inputs, Mapping):
            named = {str(name): value for name, value in inputs.items()}
            listed: list[Any] = []
        else:
            named, listed = {}, list(inputs) if isinstance(inputs, (list, tuple)) else [inputs]
        if not listed and not named:
            raise RangeError("is empty", code="list.empty", argument="inputs", value=inputs)
        if kernel is not None and specs is not None:
            if len(listed) > len(specs):
                raise RangeError(f"takes at most {len(specs)} inputs", code="argument.unknown", argument="inputs", value=listed)
            named |= dict(zip(kernel.__code__.co_varnames, listed, strict=False))
            self._prepare_kernel(kernel, specs, named)
        else:
            self._names: list[str] = [""] * len(listed) + list(named)
            given = [*listed, *named.values()]
            self._inputs = [
                self._input(value, read_any(value, name or f"inputs[{i}]"))
                for i, (name, value) in enumerate(zip(self._names, given, strict=True))
            ]
            home = next((i.read.registry for i in self._inputs if i.read.registry is not None), None)
            self._inputs = [i._replace(read=i.read.at_home(home)) for i in self._inputs]
            self.evaluate = self._call

    def _input(self, value: Any, read: Read) -> _Input:
        if getattr(read.value, "ndim", 0):
            raise RangeError("takes single values, not arrays", code="list.unexpected", argument="inputs", value=value)
        doubt = uncertainty.caution(read.value)
        if doubt:
            raise RangeError(
                f"is an unreliable first-order result ({doubt})", code="uncertainty.first_order", argument="inputs", value=value,
                hint="give the inputs it was computed from, and the whole computation as the function",
            )  # fmt: skip
        terms = []
        for source, size in uncertainty.contributions(read.value):
            if size:
                position = self._positions.setdefault(source, len(self.sources))
                if position == len(self.sources):
                    self.sources.append(source)
                terms.append((position, size))
        best = read.value if not terms and isinstance(read.value, int) else uncertainty.nominal(read.value)
        return _Input(best, terms, read)

    # -- any function of arrays

    def _call(self, z: Sequence[Any], size: int, everywhere: bool = False) -> Any:
        """The answers for `size` draws of the standardised sources."""
        values = [i.read.answer(i.at(z)) for i in self._inputs]
        listed = [v for name, v in zip(self._names, values, strict=True) if not name]
        named = {name: v for name, v in zip(self._names, values, strict=True) if name}
        with numpy.errstate(all="ignore"):
            result = self._chosen(self.function(*listed, **named))
        if hasattr(result, "_REGISTRY"):
            if result.dimensionless:
                return _as_floats(result.m_as(""), size)
            if self._unit is None:
                self._unit, self._registry = result.units, result._REGISTRY
            result = result.m_as(self._unit)
        return _as_floats(result, size)

    def _chosen(self, result: Any) -> Any:
        if self.part:
            try:
                return getattr(result, self.part)
            except AttributeError:
                raise RangeError(
                    "is not one of the answers", code="value.choice", argument="part", value=self.part, allowed=_parts(result)
                ) from None
        if isinstance(result, tuple):
            raise RangeError(
                "the function has several answers", code="argument.missing", argument="part", allowed=_parts(result),
                hint="name one of them",
            )  # fmt: skip
        return result

    # -- a public function of the library

    def _prepare_kernel(self, kernel: Any, specs: Any, named: dict[str, Any]) -> None:
        best, self._inputs, self._names, self._specs = {}, [], list(named), []
        for name, value in named.items():
            if name not in specs:
                raise RangeError(
                    "is not an argument of the function", code="argument.unknown", argument="inputs", value=name, allowed=", ".join(specs)
                )
            spec = specs[name]
            one = self._input(value, spec.read(value, name))
            self._inputs.append(one)
            self._specs.append(spec)
            best[name] = one.read.answer(one.value) if one.terms else value
        try:
            first: Any = self.function(**best)
        except TypeError as error:  # an argument is missing
            raise RangeError(
                f"do not fit the function: {error}", code="argument.together", argument="inputs", allowed=", ".join(specs)
            ) from None
        fields = getattr(first, "_fields", ())
        self._index = fields.index(self.part) if self.part in fields else None
        first = self._chosen(first)
        if hasattr(first, "_REGISTRY"):
            from sumpwise.quantities import _pint

            self._unit, self._registry = _pint.unit_of(first), first._REGISTRY
        self._kernel = kernel
        self.evaluate = self._call_kernel

    def _call_kernel(self, z: Sequence[Any], size: int, everywhere: bool = False) -> Any:
        values = {name: i.at(z) for name, i in zip(self._names, self._inputs, strict=True)}
        if not everywhere:
            possible = self._possible(values)
            if possible is not None and not possible.all():
                values = {n: v[possible] if numpy.ndim(v) else v for n, v in values.items()}
                size = int(possible.sum())
                if not size:
                    return numpy.empty(0)
        with numpy.errstate(all="ignore"):
            result = self._kernel(**values)
        return _as_floats(result if self._index is None else result[self._index], size)

    def _possible(self, values: dict[str, Any]) -> Any:
        """Which draws the limits of the arguments allow; None if there is nothing to refuse."""
        tests = []
        for name, spec, one in zip(self._names, self._specs, self._inputs, strict=True):
            bound = values.get(spec.at_most) if spec.at_most else None
            if bound is not None and (one.terms or numpy.ndim(bound)):
                tests.append(values[name] <= bound)
            if one.terms:
                x = values[name]
                tests += [x > spec.above] if spec.above > -math.inf else []
                tests += [x >= spec.minimum] if spec.minimum > -math.inf else []
                tests += [x < spec.below] if spec.below < math.inf else []
                tests += [x <= spec.maximum] if spec.maximum < math.inf else []
        return numpy.logical_and.reduce(tests) if tests else None

    # -- answers

    def answer(self, magnitude: float, *, spread: bool = False) -> Any:
        """A result in the form the function gives it: a float, or a Quantity in its unit. A spread of a temperature is an interval."""
        unit, registry = self._unit, self._registry
        if unit is None:
            return float(magnitude)
        if isinstance(unit, Unit):
            if spread and unit.kind == "temperature":
                return answer(float(magnitude), "interval", registry=registry)
            return answer(float(magnitude), unit.kind, unit=unit, registry=registry)
        return the_door_to_pint().beside(registry.Quantity(1.0, unit), float(magnitude), spread)

    def magnitude(self, answered: Any) -> float:
        """An answer of this model as the plain number it was made from."""
        if isinstance(self._unit, Unit):
            return float(answered.magnitude) * self._unit.factor + self._unit.offset
        return float(answered if self._unit is None else answered.m_as(self._unit))


def _sum(*values: Any) -> Any:
    try:
        return sum(values[1:], start=values[0])
    except TypeError:  # what pint raises for kinds that do not add up
        raise UnitError("are of different kinds and cannot be added", code="unit.kind", argument="inputs") from None


def _product(*values: Any) -> Any:
    try:
        return math.prod(values)
    except TypeError:  # what pint raises for temperatures, which cannot be multiplied
        raise UnitError(
            "cannot be multiplied", code="unit.kind", argument="inputs", hint="the zero of a temperature scale is arbitrary"
        ) from None


def _found(function: Callable[..., Any] | str) -> Callable[..., Any]:
    """The function itself, or the one with a name: a sum, a product, or a public function of the library."""
    named: Any = function
    if isinstance(function, str):
        places = _face.places()
        named = {"sum": _sum, "product": _product}.get(function)
        if named is None and function in places:
            named = _face.load(places[function], function)
    if not callable(named):
        raise RangeError(
            "is not a function", code="value.type", argument="function", value=function,
            allowed="a callable, 'sum', 'product' or a public name",
        )  # fmt: skip
    return cast("Callable[..., Any]", named)


def _parts(result: Any) -> str:
    return ", ".join(getattr(result, "_fields", ())) or "one answer only"


def _as_floats(result: Any, size: int) -> Any:
    try:
        values = numpy.asarray(result)
        if values.dtype.kind not in "fiub":
            raise TypeError
    except (TypeError, ValueError):
        raise UnitError(
            "the function must return real numbers or Quantities of them", code="function.answer", argument="function", value=result
        ) from None
    if values.ndim and values.shape != (size,):
        raise RangeError(
            f"the function must work element by element: {size} draws went in, an array of shape {values.shape} came back",
            code="function.answer", argument="function", hint="write it with numpy functions",
        )  # fmt: skip
    return values if values.ndim else numpy.full(size, float(values))
