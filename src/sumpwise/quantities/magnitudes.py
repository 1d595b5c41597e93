"""Magnitudes: plain and uncertain numbers and arrays of them, what counts as a number, and conversion to and from internal units."""

from __future__ import annotations

from math import inf, isfinite

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

    from sumpwise.quantities.units import Unit


def inward(magnitude: Any, unit: Unit) -> Any:
    """A magnitude in `unit` to the internal unit."""
    return _linear(magnitude, unit.num, unit.offset_num, unit.den)


def outward(magnitude: Any, unit: Unit) -> Any:
    """A magnitude in the internal unit to `unit`."""
    return _linear(magnitude, unit.den, -unit.offset_num, unit.num)


def _linear(x: Any, num: int, offset: int, den: int) -> Any:
    """(x·num + offset)/den for a number, an array, or uncertain numbers: the division last, so that 2900 mL is 2.9 L."""
    if num == den and not offset:
        return x
    if x.__class__ is not float and (hasattr(x, "nominal_value") or has_objects(x)):
        from sumpwise import uncertainty

        return uncertainty.converted(x, lambda plain: _linear(plain, num, offset, den))
    if not offset:
        if den == 1:
            return x * float(num)
        if num == 1:
            return x / float(den)
    x = x * float(num)
    if offset:
        x += float(offset)
    x /= float(den)
    return x


NUMBERS = "fiu"
"""numpy's kinds of real numbers: no truth values, complex numbers or dates."""
NOT_A_NUMBER = (TypeError, ValueError, ArithmeticError, RuntimeError)
"""Exceptions that converting something other than a number may raise."""


def real(x: Any) -> float:
    """A real number of any class as a float; truth values, complex numbers, texts, dates and arrays are refused.

    Raises
    ------
    OverflowError
        It is too large.
    TypeError, ValueError, ArithmeticError, RuntimeError
        It is not a real number.
    """
    kind = getattr(getattr(x, "dtype", None), "kind", "f")
    if isinstance(x, (bool, complex, str, bytes, bytearray)) or kind not in NUMBERS or getattr(x, "ndim", 0) > 0:
        raise TypeError
    return float(x)


def own_memory(x: Any) -> Any:
    """An array whose memory no caller shares, safe to keep or hand out; anything else unchanged."""
    return x.copy() if getattr(x, "ndim", 0) else x


def is_missing(value: Any) -> bool:
    """Whether it is what stands for a missing value: None, nan, or what a data frame puts in its place."""
    return value is None or (isinstance(value, float) and value != value) or type(value).__name__ in ("NAType", "NaTType")


def has_objects(x: Any) -> bool:
    """Whether `x` is an array of uncertain numbers."""
    return getattr(getattr(x, "dtype", None), "kind", "") == "O"


def spread_of(part: Any) -> float:
    """The standard uncertainty of one uncertain number; infinite if it is too large for a float. `std_dev` builds a table."""
    global _standard
    if _standard is None:  # an import takes longer than the work, even of what is loaded
        from sumpwise.uncertainty import standard as _standard
    spread: float = _standard(part)
    return spread


_standard: Any = None


def best_of(part: Any, spreads: float = 0.0) -> float:
    """The best value of one plain or uncertain number, and so many standard uncertainties more."""
    if not hasattr(part, "nominal_value"):
        return float(part)
    return float(part.nominal_value) + (spreads * spread_of(part) if spreads else 0.0)


def finite(part: Any) -> bool:
    """Whether a number, and its uncertainty if it has one, is finite; for an array, whether all of it is."""
    if part.__class__ is float or part.__class__ is int:
        return -inf < part < inf
    if hasattr(part, "nominal_value"):
        if getattr(part, "ndim", 0):  # a column
            return finite(part.nominal_value) and finite(part.std_dev)
        return isfinite(part.nominal_value) and isfinite(spread_of(part))
    if isinstance(part, (float, int, complex)):
        return not isinstance(part, complex) and isfinite(part)
    if has_objects(part):
        return all(finite(e) for e in part.flat)
    return isfinite(part.min()) and isfinite(part.max())
