"""One value, where an array would have no meaning."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sumpwise.errors import RangeError

if TYPE_CHECKING:
    from sumpwise.quantities.boundary import Argument
    from sumpwise.quantities.reading import Read


def one(argument: Argument, value: Any, name: str) -> Any:
    """Read a value as its argument says, and refuse a sequence of them."""
    return one_read(argument, value, name).value


def one_read(argument: Argument, value: Any, name: str) -> Read:
    """As `one`, with all that was read."""
    read = argument.read(value, name)
    if getattr(read.value, "ndim", 0):
        raise RangeError("takes one value, no array", argument=name, value=value)
    return read


def one_span(argument: Argument, value: Any, name: str) -> tuple[Any, Any]:
    """Read the two limits of a span, each one value."""
    lower, upper = argument.read_span(value, name)
    for end, which in ((lower, "lower"), (upper, "upper")):
        if getattr(end.value, "ndim", 0):
            raise RangeError("takes one value, no array", argument=f"{name}, {which}", value=end.given)
    return lower.value, upper.value
