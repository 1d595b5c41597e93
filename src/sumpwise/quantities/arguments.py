"""How a value given for an argument is read into the internal unit of its kind: texts, Quantities, numbers, lists and arrays."""

from __future__ import annotations

from math import inf

from sumpwise._math import WIDEST, every
from sumpwise.errors import RangeError, SumpwiseError, UnitError, unlisted
from sumpwise.quantities import notation
from sumpwise.quantities.expected import LARGEST_COUNT, Expected
from sumpwise.quantities.magnitudes import NOT_A_NUMBER, NUMBERS, has_objects, inward, outward, real, spread_of
from sumpwise.quantities.reading import NOTHING, Contained, Read, the_door_to_pint
from sumpwise.quantities.units import Unit, by_symbol, internal_unit

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

    from sumpwise.quantities.reading import Taken

MEMO = 512
"""How many texts an argument caches; plain numbers only, never uncertain ones."""


class Argument(Expected):
    """What one argument may be. Build with `argument`."""

    __slots__ = ("at_most", "exact", "memo", "optional")

    def __init__(
        self, kind: str | tuple[str, ...], above: float, minimum: float, below: float, maximum: float,
        at_most: str, optional: bool, whole: bool, scalar: bool, exact: str = "",
    ) -> None:  # fmt: skip
        super().__init__(kind, above, minimum, below, maximum, whole, scalar)
        self.at_most = at_most
        self.optional = optional
        self.exact = exact
        self.memo: dict[str, Any] = {}

    def read(self, value: Any, name: str = "value") -> Read:
        """Read a value, of whatever class, into the internal unit and validate its nominal values; `name` is for messages and budgets.

        The `.value` of the answer is a float, int, ndarray, uncertain number or object ndarray; None if None was given for an optional
        argument. Its `.unit`, `.registry` and `.written` say how it was given. A `SumpwiseError` says what was read, what is wrong and how
        to fix it.
        """
        return Read(*self.plainly(value, name), value)

    def value(self, value: Any, name: str = "value") -> Any:
        """Read a value and return its `.value` alone."""
        return self.plainly(value, name)[0]

    def plainly(self, value: Any, name: str) -> Taken:
        """Read a value, treating a column of another library as a plain array."""
        try:
            return self.take(value, name)
        except Contained as column:
            from sumpwise.quantities import containers

            return self.take(containers.bare(containers.opened_up(column.args[0], name), name), name)

    def take(self, value: Any, name: str) -> Taken:
        """As `read`, but return the four parts; a column of another library raises `Contained`."""
        if value.__class__ is str:
            return self.memo.get(value) or self._text(value, name)
        if value.__class__ is Read and value.unit is not None:
            unit = self.fitting(value.unit, value, name)
            return self._again(value, unit, name), unit, value.registry, None
        if value.__class__ is float and not (self.needs_unit or self.whole):
            if self.above < value < self.below and self.minimum <= value <= self.maximum and value - value == 0:
                return value, None, None, None
        elif value.__class__ is int and self.whole:
            if self.above < value < self.below and self.minimum <= value <= self.maximum and value < LARGEST_COUNT:
                return value, None, None, None
        elif value is None and self.optional:
            return NOTHING
        elif hasattr(value, "_REGISTRY"):
            return self._quantity(value, name)
        return self._other(value, name)

    def single(self, exact: str = "") -> Argument:
        """The same for one value alone, not for an array; `exact` is as for `argument`."""
        limits = self.above, self.minimum, self.below, self.maximum
        return Argument(self.kind, *limits, self.at_most, self.optional, self.whole, True, exact or self.exact)

    def read_span(self, value: Any, name: str = "span") -> tuple[Read, Read]:
        """Read the two limits of a span: a text, a `Span` or a pair of values."""
        if isinstance(value, str):
            try:
                read = notation.read_span(value, self.kind)
            except SumpwiseError as error:
                raise error.at(name) from None
            ends = [Read(self.validated(one.internal, value, name), one.unit, None, one, one.text) for one in (read.lower, read.upper)]
        else:
            low, high = (value.lower, value.upper) if hasattr(value, "lower") and hasattr(value, "upper") else _pair(value, name)
            ends = [self.read(low, f"{name}, lower"), self.read(high, f"{name}, upper")]
        lower, upper = (getattr(end.value, "nominal_value", end.value) for end in ends)
        if not every(lower <= upper):
            raise RangeError("the lower limit is above the upper", code="range.reversed", argument=name, value=value)
        return ends[0], ends[1]

    # -- the kinds of value, most common first

    def _text(self, text: str, name: str) -> Taken:
        try:
            reading = notation.read(text, self.kind)
        except SumpwiseError as error:
            raise error.at(name) from None
        value = self.validated(reading.internal, text, name)
        spread = reading.internal_spread
        if spread is None:
            if len(self.memo) >= MEMO:
                self.memo.clear()
            taken = self.memo[text] = value, reading.unit, None, reading
            return taken
        if spread[1] or self.whole:
            self._may_be_uncertain(text, name)
        return notation.uncertain(value, spread, name), reading.unit, None, reading

    def _quantity(self, value: Any, name: str) -> Taken:
        door = the_door_to_pint()
        try:
            unit, magnitude = door.unit_of(value), door.magnitude(value)
        except SumpwiseError as error:
            raise error.at(name) from None
        unit = self.fitting(unit, value, name)
        return self._magnitude(magnitude, unit, value, name), unit, value._REGISTRY, None

    def _other(self, value: Any, name: str) -> Taken:
        if isinstance(value, str):
            return self.take(str.__str__(value), name)
        if hasattr(value, "nominal_value"):
            return self._magnitude(value, None, value, name), None, None, None
        if isinstance(value, (int, float)) or (hasattr(value, "__float__") and not hasattr(value, "__len__")):
            return self._number(value, name)
        try:
            return self._sequence(value, name)
        except RecursionError:
            raise UnitError("is nested too deeply", code="list.mixed", argument=name, hint="give one flat list") from None

    def _again(self, read: Read, unit: Unit, name: str) -> Any:
        """A value that was read before, or is the library's own: only the limits are new to it."""
        held = read.value
        if held.__class__ is float:
            return self.validated(held, read, name)
        if hasattr(held, "nominal_value") and not getattr(held, "ndim", 0):
            self._may_be_uncertain(read, name)
            self.validated(float(held.nominal_value), read, name)
            return held
        return self._magnitude(held, internal_unit(unit.kind), read, name)

    def _number(self, value: Any, name: str) -> Taken:
        number = self._real(value, value, name)
        if self.needs_unit and (number != 0 or "temperature" in self.kinds):
            raise self.no_unit(value, name)
        return self.validated(value if value.__class__ is int and self.whole else number, value, name), None, None, None

    def _real(self, number: Any, value: Any, name: str) -> float:
        """A single number as a float."""
        try:
            return real(number)
        except OverflowError:
            raise RangeError("is too large", code="number.too_large", argument=name, value="a number of more than 308 digits") from None
        except NOT_A_NUMBER:
            raise self.unlike(value, name) from None

    def _magnitude(self, magnitude: Any, unit: Unit | None, value: Any, name: str) -> Any:
        """Convert a magnitude in `unit` (None: a bare number) to the internal unit, and validate its nominal value."""
        if unit is None:
            if self.needs_unit:
                raise self.no_unit(value, name)
            unit = _ONE
        if magnitude.__class__ is float:
            return self.validated(inward(magnitude, unit), value, name)
        if hasattr(magnitude, "nominal_value"):
            self._may_be_uncertain(value, name)
            if getattr(magnitude, "ndim", 0):
                return self._column(magnitude, unit, value, name)
            if not spread_of(magnitude) < WIDEST:
                raise _endless(value, name)
            self.validated(inward(float(magnitude.nominal_value), unit), value, name)
            return inward(magnitude, unit)
        if getattr(magnitude, "ndim", 1) == 0 and has_objects(magnitude):
            return self._magnitude(magnitude.item(), unit, value, name)
        if getattr(magnitude, "ndim", 0) == 0 and not hasattr(magnitude, "__getitem__"):
            return self.validated(inward(self._real(magnitude, value, name), unit), value, name)
        array = self._array(magnitude, value, name)
        if array.ndim == 0:
            return self.validated(inward(self._real(array.item() if has_objects(array) else array, value, name), unit), value, name)
        if has_objects(array):
            return self._objects(array, unit, value, name)
        if array.dtype.kind not in NUMBERS:
            raise self.unlike(value, name, "holds what is not")
        return self._floats(array, unit, value, name)

    def _may_be_uncertain(self, value: Any, name: str) -> None:
        if self.whole:
            raise RangeError("is a whole count and has no uncertainty", code="uncertainty.unexpected", argument=name, value=value)
        if self.exact:
            raise RangeError("must not have an uncertainty", code="uncertainty.unexpected", argument=name, value=value, hint=self.exact)

    def _column(self, column: Any, unit: Unit, value: Any, name: str) -> Any:
        """A column of uncertain values; measurements without a name are named after the argument."""
        self.validated(inward(column.nominal_value, unit), value, name)
        if not column.std_dev.max() < WIDEST:
            raise _endless(value, name)
        return inward(column.called(name), unit)

    def _floats(self, array: Any, unit: Unit, value: Any, name: str) -> Any:
        """An array of real numbers."""
        import numpy

        with numpy.errstate(all="ignore"):
            if array.dtype != float and not self.whole:
                array = array.astype(float)
            scaled = self.validated(inward(array, unit), value, name)
        return scaled.astype(int) if self.whole and scaled.dtype.kind == "f" else scaled

    def _objects(self, array: Any, unit: Unit, value: Any, name: str) -> Any:
        """An array of uncertain numbers, or of numbers of any other class."""
        from sumpwise import uncertainty

        if not any(hasattr(e, "nominal_value") for e in array.flat):
            import numpy

            plain = numpy.array([self._real(e, value, name) for e in array.flat], dtype=float)
            return self._floats(plain.reshape(array.shape), unit, value, name)
        for e in array.flat:
            if not hasattr(e, "nominal_value"):
                self._real(e, value, name)
        try:
            best, spread = uncertainty.nominals(array), uncertainty.standards(array)
        except OverflowError:  # contributions too large to be squared
            raise _endless(value, name) from None
        self._may_be_uncertain(value, name)
        self.validated(inward(best, unit), value, name)
        if not every(spread < WIDEST):
            raise _endless(value, name)
        return inward(array, unit)

    def _array(self, value: Any, whole: Any, name: str) -> Any:
        """A column, or whatever else is an array, as a plain one."""
        import numpy

        if value.__class__ is not numpy.ndarray:
            from sumpwise.quantities import containers

            if containers.is_contained(value):
                raise Contained(whole)
        try:
            if unlisted(value):
                raise TypeError
            return numpy.asarray(value)
        except NOT_A_NUMBER:
            raise self.unlike(whole, name) from None

    def _sequence(self, value: Any, name: str) -> Taken:
        """A list, tuple, column or array of texts, Quantities or numbers, read one by one unless they are plain numbers."""
        column = hasattr(value, "__array__") and not isinstance(value, (list, tuple))
        if not column and (unlisted(value) or not hasattr(value, "__len__")):
            if hasattr(value, "lower") and hasattr(value, "upper"):
                raise RangeError(
                    "is a span; expected one value", code="span.unexpected", argument=name, value=value, hint="take one end of it"
                )  # fmt: skip
            hint = "write it as one text" if hasattr(value, "keys") else "give several values as a list"
            raise self.unlike(value, name, hint=hint)
        import numpy

        if column:
            array = self._array(value, value, name)
            if array.ndim == 0:
                return self.take(array.item(), name) if array.dtype.kind in "OU" else self._number(array[()], name)
            if array.dtype.kind in NUMBERS:
                return self._magnitude(array, None, value, name), None, None, None
            if array.dtype.kind not in "OU":
                raise self.unlike(value, name, "holds what is not")
            elements, shape = array.ravel().tolist(), array.shape
        else:
            elements = list(value)
            shape = (len(elements),)
        if not elements:
            raise RangeError("is empty", code="list.empty", argument=name, value=value)
        first = self.plainly(elements[0], f"{name}[0]")
        read = [first[0], *(self.plainly(e, f"{name}[{i}]")[0] for i, e in enumerate(elements[1:], 1))]
        if self.scalar:
            raise RangeError("takes one value, not an array", code="list.unexpected", argument=name, value=value)
        if any(hasattr(r, "nominal_value") for r in read) and not any(getattr(r, "ndim", 0) for r in read):
            out = numpy.empty(len(read), dtype=object)
            out[:] = read
        else:
            try:
                out = numpy.array(read, dtype=int if self.whole else object if any(map(has_objects, read)) else float)
            except (TypeError, ValueError, OverflowError):
                raise UnitError(
                    "is a ragged or mixed list", code="list.mixed", argument=name, value=value, hint="give one flat list"
                ) from None
        return out.reshape(shape) if out.ndim == 1 else out, first[1], first[2], None

_ONE = by_symbol("1")


def _endless(value: Any, name: str) -> RangeError:
    return RangeError("has no finite uncertainty", code="uncertainty.not_finite", argument=name, value=value)


def _pair(value: Any, name: str) -> tuple[Any, Any]:
    if isinstance(value, (tuple, list)) and len(value) == 2:
        return value[0], value[1]
    raise UnitError(
        "is not a span", code="span.expected", argument=name, value=value, allowed="a text such as '31 to 37 N·m', a Span, or a pair"
    )


def argument(
    kind: str | tuple[str, ...], *, above: float = -inf, minimum: float = -inf, below: float = inf, maximum: float = inf,
    at_most: str = "", optional: bool = False, whole: bool = False, scalar: bool = False, exact: str = "",
) -> Argument:  # fmt: skip
    """Say what one argument may be.

    Parameters
    ----------
    kind : str or tuple of str
        A kind of `units.INTERNAL`, "count" (a whole number, at least 0) or "number" (any real number).
    above, minimum, below, maximum : float
        Limits in the internal unit. A "fraction" without limits lies in [0, 1].
    at_most : str
        The name of another argument that this one may not exceed.
    optional : bool
        Whether None is accepted.
    whole, scalar : bool
        Whether only whole numbers, or only single values, are accepted.
    exact : str
        If a value may have no uncertainty: what to do with one that has.

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
    return Argument(kind, above, minimum, below, maximum, at_most, optional, whole, scalar, exact)


def number_in(quantity: Any, symbol: str) -> Any:
    """The number of a Quantity in a unit of the table, whatever number type its registry uses: a float, an uncertain number or an array."""
    unit = by_symbol(symbol)
    read = quantity.__class__ is Read and quantity.kind == unit.kind
    return outward(quantity.value if read else unlimited(unit.kind).value(quantity), unit)


def unlimited(kind: str) -> Argument:
    """An argument of a kind without limits of its own: anything finite, and no temperature below absolute zero."""
    return _unlimited.get(kind) or _unlimited.setdefault(kind, argument("number" if kind == "fraction" else kind))


_unlimited: dict[str, Argument] = {}
