"""What functions accept as a volume, a temperature, a torque and so on: type names for the annotations of an app that passes values on.

A value with a unit is a text in workshop notation, a Quantity of any pint registry, or a list or column of them. A plain number has no
unit and is refused, so a type checker refuses it too; only 0 is the same in every unit. Each name stands for one kind of quantity: a type
checker cannot see whether a text or a Quantity is of that kind, but a reader can.
"""

from __future__ import annotations

import datetime
from collections.abc import Sequence
from typing import Any, Literal, Protocol, TypeAlias


class QuantityLike(Protocol):
    """A Quantity of any registry, with a number, an uncertain number or an array as its magnitude."""

    @property
    def magnitude(self) -> Any:
        """The number."""

    @property
    def units(self) -> Any:
        """The unit."""


class UncertainLike(Protocol):
    """An uncertain number."""

    @property
    def nominal_value(self) -> Any:
        """The best value."""

    @property
    def std_dev(self) -> Any:
        """The standard uncertainty."""


class ArrayLike(Protocol):
    """An array or a column of numbers, texts or Quantities."""

    def __array__(self) -> Any:
        """The values as a numpy array."""


class Limits(Protocol):
    """Anything with a lower and an upper limit, like a `Span`."""

    @property
    def lower(self) -> Any:
        """The lower limit."""

    @property
    def upper(self) -> Any:
        """The upper limit."""


class UnitOfRegistry(Protocol):
    """A unit of a pint registry."""

    @property
    def dimensionality(self) -> Any:
        """Its dimensions."""


WithUnit: TypeAlias = str | QuantityLike | ArrayLike | Sequence[str | QuantityLike]
PlainLike: TypeAlias = str | float | UncertainLike | QuantityLike | ArrayLike | Sequence[str | float | UncertainLike | QuantityLike]

VolumeLike: TypeAlias = WithUnit | Literal[0]
TemperatureLike: TypeAlias = WithUnit
IntervalLike: TypeAlias = WithUnit | Literal[0]
HeatingRateLike: TypeAlias = WithUnit | Literal[0]
TorqueLike: TypeAlias = WithUnit | Literal[0]
LengthLike: TypeAlias = WithUnit | Literal[0]
PressureLike: TypeAlias = WithUnit | Literal[0]
ViscosityLike: TypeAlias = WithUnit
DensityLike: TypeAlias = WithUnit
FlowLike: TypeAlias = WithUnit | Literal[0]
MassLike: TypeAlias = WithUnit | Literal[0]
ForceLike: TypeAlias = WithUnit | Literal[0]
TimeLike: TypeAlias = WithUnit | Literal[0]
AngleLike: TypeAlias = WithUnit | Literal[0]
FractionLike: TypeAlias = PlainLike
NumberLike: TypeAlias = PlainLike
MomentLike: TypeAlias = WithUnit | Literal[0]
"""A time or a distance."""
ValueLike: TypeAlias = PlainLike
"""A value of any kind, or a plain number."""
SpanLike: TypeAlias = str | Limits | tuple[ValueLike, ValueLike] | list[ValueLike]
"""Two limits: a text, a `Span` or a pair."""
DayLike: TypeAlias = str | datetime.date
"""A day: a text such as "2026-11-27", or a date."""
UnitLike: TypeAlias = str | UnitOfRegistry
"""A unit: its spelling, or a unit of a registry."""
CountLike: TypeAlias = str | int | ArrayLike | Sequence[int]
