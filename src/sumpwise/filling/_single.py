"""One value, where an array would have no meaning."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from sumpwise.errors import RangeError

if TYPE_CHECKING:
    from sumpwise.quantities.boundary import Argument


def one(argument: Argument, value: Any, name: str) -> Any:
    """Read a value as its argument says, and refuse a sequence of them."""
    read = argument.read(value, name)
    if getattr(read, "ndim", 0):
        raise RangeError("takes one value, no array", argument=name, value=value)
    return read


def one_span(argument: Argument, value: Any, name: str) -> tuple[Any, Any]:
    """Read the two limits of a span, each one value."""
    if isinstance(value, (tuple, list)) and len(value) == 2:
        one(argument, value[0], f"{name}, lower")
        one(argument, value[1], f"{name}, upper")
    return argument.read_span(value, name)
