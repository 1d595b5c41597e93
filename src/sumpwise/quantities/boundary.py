"""The boundary: units, validation and uncertainty around a kernel of plain arithmetic.

A kernel computes on plain numbers in the units of `units.INTERNAL`. `unit_aware` makes the public function from it: every argument is
read and validated first (texts, Quantities of any registry, uncertain numbers, arrays, lists), then the kernel runs once, then the answer
goes back in the unit and registry that asked. Only nominal values are validated.
"""

from __future__ import annotations

from math import inf, isfinite

from sumpwise._math import every
from sumpwise.errors import RangeError, SumpwiseError, UnitError
from sumpwise.quantities import notation
from sumpwise.quantities.units import INTERNAL, Unit, internal_unit

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import Any, Generic, ParamSpec, Protocol, TypeVar

    P = ParamSpec("P")
    R = TypeVar("R", covariant=True)

    class UnitAware(Protocol, Generic[P, R]):
        """A public function with the kernel it was made from."""

        __name__: str
        kernel: Callable[P, Any]
        arguments: dict[str, Argument]

        def __call__(self, *args: P.args, **kwargs: P.kwargs) -> R: ...


PLAIN = ("fraction", "number", "count")
MEMO = 512
"""Texts an argument remembers; numbers only, never uncertain ones."""


class Argument:
    """What one argument may be. Build with `argument`."""

    __slots__ = ("above", "at_most", "below", "kind", "maximum", "memo", "minimum", "optional", "scalar", "whole")

    def __init__(
        self, kind: str | tuple[str, ...], above: float, minimum: float, below: float, maximum: float,
        at_most: str, optional: bool, whole: bool, scalar: bool,
    ) -> None:  # fmt: skip
        for one in (kind,) if isinstance(kind, str) else kind:
            if one not in PLAIN:
                internal_unit(one)
        self.kind = kind
        self.above = above
        self.minimum = minimum
        self.below = below
        self.maximum = maximum
        self.at_most = at_most
        self.optional = optional
        self.whole = whole
        self.scalar = scalar
        self.memo: dict[str, Any] = {}

    def read(self, value: Any, name: str = "value") -> Any:
        """Read a value into the internal unit and validate it.

        Parameters
        ----------
        value : str, Quantity, number, uncertain number, ndarray, list or None
            As the caller gave it.
        name : str
            The argument's name, for messages and budgets.

        Returns
        -------
        float, int, ndarray, uncertain number or object ndarray
            Nominal values are validated; None passes when the argument is optional.

        Raises
        ------
        SumpwiseError
            What was read, what is wrong, how to mend it.
        """
        if value.__class__ is str:
            found = self.memo.get(value)
            if found is not None:
                return found
            return self._text(value, name)
        if value.__class__ is float and self.kind.__class__ is str and self.kind in PLAIN:
            if self.above < value < self.below and self.minimum <= value <= self.maximum and not self.whole and value - value == 0:
                return value
        if value is None and self.optional:
            return None
        return self._other(value, name)

    def read_span(self, value: Any, name: str = "span") -> tuple[Any, Any]:
        """Read a span (text, `Span` or a pair of values) into its two limits in the internal unit."""
        if isinstance(value, str):
            read = notation.read_span(value, self.kind)
            lower, upper = self._validated(read.lower.internal, value, name), self._validated(read.upper.internal, value, name)
        else:
            low, high = (value.lower, value.upper) if hasattr(value, "lower") and hasattr(value, "upper") else _pair(value, name)
            lower, upper = self.read(low, f"{name}, lower"), self.read(high, f"{name}, upper")
        if not lower <= upper:
            raise RangeError("the lower limit is above the upper", argument=name, value=value)
        return lower, upper

    # -- the ways in, from the commonest to the rarest

    def _text(self, text: str, name: str) -> Any:
        try:
            reading = notation.read(text, self.kind)
        except SumpwiseError as error:
            raise error.at(name) from None
        value = self._validated(reading.internal, text, name)
        if reading.spread is None:
            if len(self.memo) >= MEMO:
                self.memo.clear()
            self.memo[text] = value
            return value
        if self.whole:
            raise RangeError("is a whole count and has no uncertainty", argument=name, value=text)
        from sumpwise import _uncertain

        shape, half = reading.internal_spread  # type: ignore[misc]
        return _uncertain.source(value, half / 3**0.5 if shape == "rectangular" else half, shape=shape, name=name)

    def _other(self, value: Any, name: str) -> Any:
        if value.__class__ is bool or value is None:
            raise UnitError(f"is no {self._due()}", argument=name, value=value, allowed=self._example())
        if hasattr(value, "_REGISTRY"):
            return self._quantity(value, name)
        if hasattr(value, "nominal_value"):
            return self._magnitude(value, None, value, name)
        if isinstance(value, (int, float)) or (hasattr(value, "__float__") and not hasattr(value, "__len__")):
            return self._number(value, name)
        return self._sequence(value, name)

    def _number(self, value: Any, name: str) -> Any:
        if self._needs_unit() and not (value == 0 and self.kind != "temperature"):
            raise UnitError(
                f"has no unit, and a {self._due()} is due", argument=name, value=value, allowed=self._example(),
                hint="write the number with its unit, as text or as a Quantity",
            )  # fmt: skip
        if getattr(value, "ndim", 0):
            return self._sequence(value, name)
        try:
            return self._validated(value if value.__class__ is int and self.whole else float(value), value, name)
        except OverflowError:
            raise RangeError("is too large", argument=name, value="a number of more than 308 digits") from None
        except (TypeError, ValueError) as error:
            if isinstance(error, SumpwiseError):
                raise
            raise UnitError(f"is no {self._due()}", argument=name, value=value, allowed=self._example()) from None

    def _quantity(self, value: Any, name: str) -> Any:
        from sumpwise import _pint

        try:
            unit = _pint.unit_of(value)
        except SumpwiseError as error:
            raise error.at(name) from None
        kinds = (self.kind,) if self.kind.__class__ is str else self.kind
        plain = unit.kind == "fraction" and any(k in PLAIN for k in kinds)
        kelvin = unit.symbol == "K" and "interval" in kinds and "temperature" not in kinds
        if unit.kind not in kinds and not plain and not kelvin:
            hint = "a temperature difference is written Δ°C or °C interval" if "interval" in kinds and unit.kind == "temperature" else ""
            raise UnitError(
                f"is a {unit.kind}, and a {self._due()} is due", argument=name, value=value, allowed=self._example(), hint=hint,
            )  # fmt: skip
        return self._magnitude(_pint.magnitude(value), unit, value, name, kelvin)

    def _magnitude(self, magnitude: Any, unit: Unit | None, value: Any, name: str, interval: bool = False) -> Any:
        """A magnitude in `unit` (None: already internal) to the internal unit, validated by its nominal value."""
        factor, offset = (1.0, 0.0) if unit is None else (unit.factor, 0.0 if interval else unit.offset)
        if magnitude.__class__ is float or magnitude.__class__ is int:
            return self._validated(magnitude * factor + offset, value, name)
        if unit is None and self._needs_unit():
            raise UnitError(f"has no unit, and a {self._due()} is due", argument=name, value=value, allowed=self._example())
        if hasattr(magnitude, "nominal_value"):
            if self.whole:
                raise RangeError("is a whole count and has no uncertainty", argument=name, value=value)
            self._validated(magnitude.nominal_value * factor + offset, value, name)
            return magnitude if factor == 1.0 and offset == 0.0 else magnitude * factor + offset
        if getattr(magnitude, "ndim", 0) == 0 and hasattr(magnitude, "__float__"):
            return self._validated(float(magnitude) * factor + offset, value, name)
        import numpy

        array = numpy.asarray(magnitude)
        if array.dtype == object:
            from sumpwise import _uncertain

            self._validated(_uncertain.nominals(array) * factor + offset, value, name)
            return array * factor + offset
        if array.dtype.kind not in "fiu":
            raise UnitError(f"is an array of no {self._due()}", argument=name, value=value, allowed=self._example())
        if factor == 1.0 and offset == 0.0:
            return self._validated(array if array.dtype == float or self.whole else array.astype(float), value, name)
        with numpy.errstate(all="ignore"):
            scaled = array * factor
            if offset:
                scaled += offset
        return self._validated(scaled, value, name)

    def _sequence(self, value: Any, name: str) -> Any:
        """A list, tuple, column or array: of texts, Quantities or numbers, read one by one unless they are plain numbers."""
        if isinstance(value, (dict, set, frozenset, bytes, bytearray)) or not (hasattr(value, "__iter__") or hasattr(value, "__array__")):
            raise UnitError(f"is no {self._due()}", argument=name, value=value, allowed=self._example())
        import numpy

        if hasattr(value, "__array__") and not isinstance(value, (list, tuple)):
            array = numpy.asarray(value)
            if array.ndim == 0:
                return self.read(array.item(), name)
            if array.dtype.kind in "fiu":
                if self._needs_unit():
                    return self._number(1.0, name)
                return self._magnitude(array, None, value, name)
            elements, shape = array.ravel().tolist(), array.shape
        else:
            elements = list(value)
            shape = (len(elements),)
        read = [self.read(e, f"{name}[{i}]") for i, e in enumerate(elements)]
        if any(hasattr(r, "nominal_value") for r in read):
            out = numpy.empty(len(read), dtype=object)
            out[:] = read
        else:
            try:
                out = numpy.array(read, dtype=int if self.whole else float)
            except (TypeError, ValueError, OverflowError):
                raise UnitError("is a ragged or mixed sequence", argument=name, value=value, hint="give one flat list") from None
        return out.reshape(shape) if out.ndim == 1 else out

    def _validated(self, magnitude: Any, value: Any, name: str) -> Any:
        if magnitude.__class__ is float or magnitude.__class__ is int:
            low, high = magnitude, magnitude
            finite = -inf < magnitude < inf
        elif self.scalar:
            raise RangeError("takes one value, no array", argument=name, value=value)
        elif magnitude.size == 0:
            raise RangeError("is empty", argument=name, value=value)
        else:
            low, high = magnitude.min(), magnitude.max()
            finite = isfinite(low) and isfinite(high)
        if not finite:
            raise RangeError("must be finite", argument=name, value=value, allowed=self._allowed())
        if not (self.above < low and self.minimum <= low and high < self.below and high <= self.maximum):
            hint = "a share of one: write 0.5 or 50 %" if self.kind == "fraction" and 1 < high <= 100 else ""
            raise RangeError("is out of range", argument=name, value=value, allowed=self._allowed(), hint=hint)
        if self.whole:
            if not every(magnitude % 1 == 0):
                raise RangeError("must be a whole number", argument=name, value=value, allowed=self._allowed())
            return int(magnitude) if magnitude.__class__ is float else magnitude
        return magnitude

    # -- words for messages

    def _needs_unit(self) -> bool:
        return not (self.kind in PLAIN if isinstance(self.kind, str) else any(k in PLAIN for k in self.kind))

    def _due(self) -> str:
        return self.kind if isinstance(self.kind, str) else " or ".join(self.kind)

    def _example(self) -> str:
        first = self.kind if isinstance(self.kind, str) else self.kind[0]
        if first in PLAIN:
            return self._allowed()
        return f"a {self._due()} such as {EXAMPLES[first]!r}"

    def _allowed(self) -> str:
        kind = self.kind if isinstance(self.kind, str) else self.kind[0]
        symbol = "" if kind in PLAIN else f" {INTERNAL[kind]}"
        words = [
            f"{word} {limit:g}{symbol}"
            for word, limit in (
                ("above", self.above), ("at least", self.minimum), ("below", self.below), ("at most", self.maximum),
            )
            if -inf < limit < inf
        ]  # fmt: skip
        return f"a {'whole number' if self.whole else 'finite ' + self._due()}" + (f", {' and '.join(words)}" if words else "")


EXAMPLES = {
    "volume": "3.6 L", "temperature": "80 °C", "interval": "10 Δ°C", "heating rate": "2 °C/min", "torque": "34 N·m", "length": "300 mm",
    "pressure": "2 bar", "viscosity": "6.0 mm²/s", "density": "847 kg/m³", "flow": "3 L/min", "mass": "1 kg", "force": "10 kN",
    "time": "4 y", "angle": "45 deg",
}  # fmt: skip


def _pair(value: Any, name: str) -> tuple[Any, Any]:
    if isinstance(value, (tuple, list)) and len(value) == 2:
        return value[0], value[1]
    raise UnitError("is no span", argument=name, value=value, allowed="a text such as '31 to 37 N·m', a Span, or a pair")


def argument(
    kind: str | tuple[str, ...], *, above: float = -inf, minimum: float = -inf, below: float = inf, maximum: float = inf,
    at_most: str = "", optional: bool = False, whole: bool = False, scalar: bool = False,
) -> Argument:  # fmt: skip
    """Say what one argument may be.

    Parameters
    ----------
    kind : str or tuple of str
        A kind of `units.INTERNAL`, "count" (whole, at least 0) or "number" (any real).
    above, minimum, below, maximum : float
        Limits in the internal unit. A "fraction" without limits lies in [0, 1].
    at_most : str
        The name of another argument that bounds this one.
    optional : bool
        Whether None is accepted.
    whole, scalar : bool
        Whether only whole numbers, or only single values, are accepted.

    Returns
    -------
    Argument
    """
    if kind == "fraction" and (above, minimum, below, maximum) == (-inf, -inf, inf, inf):
        minimum, maximum = 0.0, 1.0
    if kind == "count":
        whole, minimum = True, max(minimum, 0)
    if kind == "temperature":
        minimum = max(minimum, -273.15)
    return Argument(kind, above, minimum, below, maximum, at_most, optional, whole, scalar)


def asker(values: Any, kinds: str | tuple[str, ...]) -> tuple[Unit | None, Any]:
    """The unit of the first value of one of the kinds, and the registry of the first Quantity."""
    unit: Unit | None = None
    registry = None
    for value in values:
        found = None
        while isinstance(value, (list, tuple)) and value:
            value = value[0]
        if isinstance(value, str):
            if unit is None:
                try:
                    found = notation.read(value, kinds).unit
                except SumpwiseError:
                    continue
        elif hasattr(value, "_REGISTRY"):
            from sumpwise import _pint

            registry = registry or value._REGISTRY
            found = _pint.unit_of(value)
        if unit is None and found is not None and (found.kind == kinds or found.kind in kinds):
            unit = found
    return unit, registry


def answer(magnitude: Any, kind: str, *askers: Any, unit: Unit | None = None, registry: Any = None) -> Any:
    """Build the answer from an internal magnitude.

    Parameters
    ----------
    magnitude : float, ndarray, uncertain number or object ndarray
        In the internal unit of `kind`.
    kind : str
        Kind of quantity; a "fraction", "number" or "count" comes back plain.
    *askers : object
        The caller's arguments: the first of that kind gives the unit, the first Quantity the registry.
    unit, registry : optional
        Taken instead, when given.

    Returns
    -------
    Quantity, float, int, ndarray or uncertain number
    """
    if kind in PLAIN:
        return magnitude
    from sumpwise import _pint

    asked, where = asker(askers, kind)
    unit = unit or asked or internal_unit(kind)
    if unit.offset:
        magnitude = magnitude - unit.offset
    return _pint.build(magnitude if unit.factor == 1.0 else magnitude / unit.factor, unit, registry or where)


def unit_aware(returns: Any, check: Callable[..., None] | None = None, **arguments: Argument) -> Callable[[Callable[P, Any]], UnitAware[P, Any]]:
    """Make a unit-aware public function from a kernel.

    Parameters
    ----------
    returns : str or tuple
        The kind of the answer; the name of an argument (the same kind as it); or `(constructor, kind, kind, ...)` for a kernel
        that returns a tuple.
    check : callable
        Called with the nominal internal arguments; raises `RangeError` for what single limits cannot say.
    **arguments : Argument
        One for each parameter of the kernel.

    Returns
    -------
    callable
        The decorator. The function it makes has `.kernel`.
    """

    def decorate(kernel: Callable[P, Any]) -> UnitAware[P, Any]:
        return _wrap(kernel, returns, check, arguments)

    return decorate


def _wrap(kernel: Any, returns: Any, check: Any, arguments: dict[str, Argument]) -> Any:
    code = kernel.__code__
    names: tuple[str, ...] = code.co_varnames[: code.co_argcount]
    if set(names) != set(arguments):
        raise TypeError(f"{kernel.__name__}: arguments described and taken differ: {sorted(set(names) ^ set(arguments))}")
    defaults: tuple[Any, ...] = kernel.__defaults__ or ()
    required = len(names) - len(defaults)
    specs = tuple(arguments[name] for name in names)
    index = {name: i for i, name in enumerate(names)}
    start = [None] * required + [specs[required + i].read(d, names[required + i]) for i, d in enumerate(defaults)]
    bounds = tuple((i, index[s.at_most]) for i, s in enumerate(specs) if s.at_most)
    readers = tuple(s.read for s in specs)
    kinds = (returns,) if isinstance(returns, str) else tuple(returns[1:])
    for kind in kinds:
        if kind not in PLAIN and kind not in index:
            internal_unit(kind)
    simple = isinstance(returns, str) and returns in PLAIN
    shares = tuple(k == "fraction" for k in kinds)

    def public(*args: Any, **kwargs: Any) -> Any:
        given = len(args)
        values: list[Any] = start[:]
        plain = True
        try:
            for i in range(given):
                value = values[i] = readers[i](args[i], names[i])
                if value.__class__ is not float and value.__class__ is not int and value is not None:
                    plain = False
            missing = required - given
            for name in kwargs:
                i = index[name]
                if i < given:
                    return _wrong_call(kernel, args, kwargs)
                if i < required:
                    missing -= 1
                value = values[i] = readers[i](kwargs[name], name)
                if value.__class__ is not float and value.__class__ is not int and value is not None:
                    plain = False
        except (IndexError, KeyError):
            return _wrong_call(kernel, args, kwargs)
        if missing > 0:
            return _wrong_call(kernel, args, kwargs)
        if plain:
            for i, j in bounds:
                if values[i] is not None and values[i] > values[j]:
                    _out_of_bound(names[i], names[j], values[i], values[j], specs[i].kind)
            if check is not None:
                check(*values)
            try:
                result = kernel(*values)
            except (ArithmeticError, ValueError) as error:
                _failed(kernel, error)
            if simple and -inf < result < inf:
                return result
        else:
            result = evaluate(kernel, values, shares, judge, returns == "count")
        return _finish(result, args, kwargs)

    def judge(*best: Any) -> None:
        for i, j in bounds:
            if best[i] is not None and not every(best[i] <= best[j]):
                _out_of_bound(names[i], names[j], best[i], best[j], specs[i].kind)
        if check is not None:
            check(*best)

    def _finish(result: Any, args: Any, kwargs: Any) -> Any:
        parts = (result,) if isinstance(returns, str) else tuple(result)
        for part in parts:
            if not _finite(part):
                raise RangeError(f"{kernel.__name__} has no finite answer for these arguments")
        if simple:
            return result
        named = dict(zip(names, args, strict=False)) | kwargs
        askers = [named[n] for n in names if n in named]
        answers = []
        for part, kind in zip(parts, kinds, strict=True):
            if kind in index:
                unit, _ = asker([named[kind]], arguments[kind].kind)
                answers.append(part if unit is None else answer(part, unit.kind, *askers, unit=unit))
            else:
                answers.append(answer(part, kind, *askers))
        return answers[0] if isinstance(returns, str) else returns[0](*answers)

    public.__name__ = kernel.__name__
    public.__qualname__ = kernel.__qualname__
    public.__module__ = kernel.__module__
    public.__doc__ = kernel.__doc__
    public.__annotations__ = kernel.__annotations__
    if any(isinstance(d, str) for d in defaults):  # the signature shows defaults as written; the kernel gets them in its own units
        public.__wrapped__ = type(kernel)(code, kernel.__globals__, kernel.__name__, defaults, kernel.__closure__)  # type: ignore[attr-defined]
        kernel.__defaults__ = tuple(start[required:])
    else:
        public.__wrapped__ = kernel  # type: ignore[attr-defined]
    public.kernel = kernel  # type: ignore[attr-defined]
    public.arguments = arguments  # type: ignore[attr-defined]
    return public


def _finite(part: Any) -> bool:
    if part.__class__ is float or part.__class__ is int:
        return -inf < part < inf
    if hasattr(part, "nominal_value"):
        return isfinite(part.nominal_value)
    if isinstance(part, (float, int)):
        return isfinite(part)
    if part.dtype == object:
        return all(_finite(e) for e in part.flat)
    import numpy

    return bool(numpy.isfinite(part).all())


def _wrong_call(kernel: Any, args: Any, kwargs: Any) -> Any:
    """Raise the TypeError that Python itself would raise for this call of the kernel."""
    import inspect

    inspect.signature(kernel).bind(*args, **kwargs)
    raise TypeError(f"{kernel.__name__}: the arguments do not fit")


def _out_of_bound(name: str, bound: str, value: Any, limit: Any, kind: str | tuple[str, ...]) -> None:
    symbol = INTERNAL.get(kind, "") if isinstance(kind, str) else ""
    raise RangeError(f"must be at most the {bound}", argument=name, value=f"{value} {symbol}", allowed=f"at most {limit} {symbol}")


def evaluate(
    kernel: Callable[..., Any], values: list[Any], shares: tuple[bool, ...], judge: Callable[..., None] | None = None, counted: bool = False
) -> Any:
    """Run a kernel on internal values that may be arrays or uncertain.

    Parameters
    ----------
    kernel : callable
        Elementwise, of as many positional arguments as there are values.
    values : list
        In internal units, as `Argument.read` returns them.
    shares : tuple of bool
        For each answer, whether it is a share of one.
    judge : callable, optional
        Called with the nominal values before the kernel; raises what it finds.
    counted : bool
        The answer is a count, which has no uncertainty: that of the nominal values.

    Returns
    -------
    object
        What the kernel returns, with the uncertainty of the values carried.
    """
    import numpy

    uncertain = [i for i, v in enumerate(values) if hasattr(v, "nominal_value") or getattr(v, "dtype", None) == object]
    best = values
    if uncertain:
        from sumpwise import _uncertain

        best = [_uncertain.nominals(v) if i in uncertain else v for i, v in enumerate(values)]
    try:
        if judge is not None:
            judge(*best)
        with numpy.errstate(all="ignore"):
            if uncertain and not counted:
                return _uncertain.propagate(kernel, values, uncertain, shares)
            return kernel(*best)
    except SumpwiseError:
        raise
    except (ArithmeticError, ValueError) as error:
        _failed(kernel, error)


def _failed(kernel: Any, error: Exception) -> None:
    raise RangeError(f"{kernel.__name__} has no answer for these arguments: {error}") from error
