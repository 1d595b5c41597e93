"""What a function takes for a volume, a temperature, a torque: names for the annotations of an app that hands values on.

A value with a unit is a text in workshop notation, a Quantity of any pint registry, or a list or column of them. A plain number has no
unit and is refused, so a type checker refuses it too; only nothing at all, 0, is nothing in every unit. Each name stands for one kind of
quantity: a type checker cannot see whether a text or a Quantity is of that kind, a reader can.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Literal, Protocol, TypeAlias


class QuantityLike(Protocol):
    """A Quantity of any registry, of a number, an uncertain number or an array."""

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
        """As numpy has it."""


class Limits(Protocol):
    """Whatever has two limits, as a `Span` has."""

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
        """What it is made of."""


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
UnitLike: TypeAlias = str | UnitOfRegistry
"""A unit: its spelling, or one of a registry."""
CountLike: TypeAlias = str | int | ArrayLike | Sequence[int]
