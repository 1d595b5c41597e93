"""Records that load little: what `typing.NamedTuple` makes of a class, without `typing`, which costs more than the first answer.

And what never changes: a copy of it is the thing itself.
"""

from __future__ import annotations

from collections import namedtuple

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any, Self
    from typing import NamedTuple as Record
else:

    class _Made(type):
        """Makes a named tuple of a class of fields."""

        def __new__(cls, name: str, bases: tuple[type, ...], space: dict[str, Any]) -> type:
            if not bases:
                return super().__new__(cls, name, bases, space)
            fields = space["__annotations__"]
            made = namedtuple(name, fields, defaults=[space[one] for one in fields if one in space], module=space["__module__"])
            made.__doc__ = space["__doc__"]
            for one, method in space.items():
                if hasattr(method, "__code__"):
                    setattr(made, one, method)
            return made

    class Record(metaclass=_Made):
        """A class of fields, each with its type and perhaps what it is if left out, becomes a named tuple of them, with its methods."""


class Unchanging:
    """A base class of what never changes: a copy is the thing itself."""

    __slots__ = ()

    def __copy__(self) -> Self:
        return self

    def __deepcopy__(self, memo: object) -> Self:
        return self


__all__ = ["Record", "Unchanging"]
