"""What was read from a value that a caller gave: the number, its unit, its registry, and how it was written."""

from __future__ import annotations

from sumpwise.errors import RangeError
from sumpwise.quantities.magnitudes import finite, outward
from sumpwise.quantities.units import Unit, internal_unit

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterable
    from typing import Any, TypeAlias

    from sumpwise.quantities import notation

    Taken: TypeAlias = tuple[Any, Unit | None, Any, notation.Reading | None]
    """The four parts of a `Read`, as they are passed to a kernel."""

PLAIN = ("fraction", "number", "count")
"""Kinds that need no unit."""


class Contained(Exception):  # noqa: N818 (nothing is wrong: there is a way through for it)
    """Raised with a column of another library on the way to a function; anywhere else such a column is a plain array."""


NOTHING: Taken = (None, None, None, None)
"""What is read when an optional argument is not given."""


def the_door_to_pint() -> Any:
    """The module `_pint`, imported when the first Quantity is read or built."""
    global _pint
    if _pint is None:
        from sumpwise.quantities import _pint as door

        _pint = door
    return _pint


_pint: Any = None


class Inside:
    """Stands in place of a registry if the library itself asks: it takes a result as a plain magnitude, not as a Quantity."""


class Read:
    """A value that was read once.

    Attributes
    ----------
    value : float, int, ndarray, uncertain number or object ndarray
        In the internal unit of its kind; None if an optional argument was not given.
    unit : Unit or None
        The unit it was given in (of several values: that of the first); None for a plain number.
    registry : object
        The registry of a Quantity (of several values: the first's); None for texts and numbers; `Inside` for the library's own values.
    written : notation.Reading or None
        If a text was given: its exact value, digits and spread.
    given : object
        The value itself, as it was given.
    """

    __slots__ = ("given", "registry", "unit", "value", "written")

    def __init__(
        self, value: Any, unit: Unit | None = None, registry: Any = None, written: notation.Reading | None = None, given: Any = None
    ) -> None:
        self.value = value
        self.unit = unit
        self.registry = registry
        self.written = written
        self.given = given

    @property
    def kind(self) -> str:
        """The kind of its unit; "number" if it has none."""
        return "number" if self.unit is None else self.unit.kind

    def answer(self, magnitude: Any, *, spread: bool = False, gaps: bool = False) -> Any:
        """A magnitude in the form this value was given in: plain, or a Quantity in its unit; a spread of a temperature is an interval."""
        if spread and self.kind == "temperature":
            return answer(magnitude, "interval", registry=self.registry, gaps=gaps)
        return answer(magnitude, self.kind, unit=self.unit, registry=self.registry, gaps=gaps)

    def at_home(self, registry: Any) -> Read:
        """The same value, whose answers go to another registry."""
        return Read(self.value, self.unit, registry, self.written, self.given)

    def __copy__(self) -> Read:
        return self

    def __deepcopy__(self, memo: object) -> Read:
        return self

    def __reduce__(self) -> tuple[object, ...]:
        registry = Inside if self.registry is Inside else None  # what is unpickled is at home in the application registry
        return (Read, (self.value, self.unit, registry, self.written, self.given))

    def __repr__(self) -> str:
        if self.registry is Inside and self.unit is not None:
            return f"{self.value} {self.unit.symbol}"
        return f"Read({self.value!r}, {self.unit!r})"


def inside(magnitude: Any, kind: str) -> Any:
    """A magnitude in the internal unit of its kind as if it had been read: every argument takes it, and answers to it come back like it."""
    return Read(magnitude, internal_unit(kind), Inside)


def asked(reads: Iterable[Read], kind: str) -> tuple[Unit | None, Any]:
    """The unit and registry for an answer: the unit of the first value of its kind, and the registry of the first Quantity."""
    unit = registry = None
    for read in reads:
        if unit is None and read.unit is not None and read.unit.kind == kind:
            unit = read.unit
        if registry is None:
            registry = read.registry
    return unit, registry


def answer(magnitude: Any, kind: str, *askers: Read, unit: Unit | None = None, registry: Any = None, gaps: bool = False) -> Any:
    """Build the answer from a magnitude in the internal unit of its kind; a "fraction", "number" or "count" is returned without a unit.

    Of the caller's arguments as read, the askers, the first of that kind gives the unit, and the first Quantity the registry, unless they
    are given. A column may have nan where it has no answer if there may be `gaps`. Where the library itself asks, the answer is a `Read`.
    """
    if kind in PLAIN:
        if not gaps and not finite(magnitude):
            raise RangeError("there is no finite answer for these arguments", code="answer.none")
        return magnitude
    if askers and (unit is None or registry is None):
        told, where = asked(askers, kind)
        unit = unit or told
        registry = where if registry is None else registry
    return built(magnitude, unit or internal_unit(kind), registry, gaps)


def built(magnitude: Any, unit: Unit, registry: Any, gaps: bool = False) -> Any:
    """The Quantity of an internal magnitude, as its registry defines the unit; it must be finite in that unit too.

    A column with `gaps` may hold nan in rows without an answer. Where the library itself asks, the magnitude is all it needs.
    """
    if registry is Inside:
        if not finite(magnitude):
            raise RangeError("there is no finite answer for these arguments", code="answer.none")
        return Read(magnitude, internal_unit(unit.kind), Inside)
    door = the_door_to_pint()
    registry, container, own = door.home(unit, registry)
    if getattr(magnitude, "ndim", 0):
        import numpy

        with numpy.errstate(all="ignore"):
            shown = outward(magnitude, own)
    else:
        shown = outward(magnitude, own)
    if not gaps and not finite(shown):
        raise RangeError(f"the answer is too large to be written in {unit.symbol}", code="number.too_large")
    return door.made(shown, container, registry)
