"""Elementary functions for kernels: a float in, a float out; an array in, an array out.

numpy is imported only when an array arrives, so a scalar answer never waits for it.
"""

from __future__ import annotations

import math

WIDEST = 1e150
"""Numbers from this size up cannot be squared."""

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable
    from typing import Any


def _elementwise(scalar: Callable[..., Any], name: str) -> Callable[[Any], Any]:
    def function(x: Any) -> Any:
        if x.__class__ is float or isinstance(x, (float, int)):
            return scalar(x)
        import numpy

        return getattr(numpy, name)(x)

    function.__name__ = name
    function.__doc__ = f"{name}(x), elementwise."
    return function


exp = _elementwise(math.exp, "exp")
log = _elementwise(math.log, "log")
log1p = _elementwise(math.log1p, "log1p")
log10 = _elementwise(math.log10, "log10")
sqrt = _elementwise(math.sqrt, "sqrt")
cos = _elementwise(math.cos, "cos")
radians = _elementwise(math.radians, "radians")
ceil = _elementwise(math.ceil, "ceil")


def where(condition: Any, yes: Any, no: Any) -> Any:
    """`yes` where the condition holds, else `no`; elementwise. Both branches are evaluated before the call."""
    if condition is True or condition is False:
        return yes if condition else no
    import numpy

    return numpy.where(condition, yes, no)


def minimum(a: Any, b: Any) -> Any:
    """The smaller of two, elementwise."""
    if isinstance(a, (float, int)) and isinstance(b, (float, int)):
        return a if a <= b else b
    import numpy

    return numpy.minimum(a, b)


def maximum(a: Any, b: Any) -> Any:
    """The larger of two, elementwise."""
    if isinstance(a, (float, int)) and isinstance(b, (float, int)):
        return a if a >= b else b
    import numpy

    return numpy.maximum(a, b)


def every(condition: Any) -> bool:
    """Whether a comparison holds; for an array, whether it holds for every element."""
    return condition if isinstance(condition, bool) else bool(condition.all())


FEW = 8
"""Powers up to this one are multiplied out: as exact as a power of arrays, and several times as fast."""


def power(x: Any, count: Any) -> Any:
    """`x` to a whole power, elementwise."""
    if x.__class__ is float or count.__class__ is not int or not 0 < count <= FEW:
        return x**count
    whole = x
    for digit in f"{count:b}"[1:]:
        whole = whole * whole
        if digit == "1":
            whole *= x
    return whole


def largest(x: Any) -> float:
    """A number itself, of an array the largest element."""
    return x if isinstance(x, (float, int)) else float(x.max())
