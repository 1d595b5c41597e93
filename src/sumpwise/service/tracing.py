"""Cached results and what they depend on: if something is assumed differently, only what depends on it is worked out again."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping
from typing import Any, Generic, TypeVar, overload

Known = TypeVar("Known")
Owner = TypeVar("Owner", bound="Traced[Any]")
Place = TypeVar("Place", bound=Hashable)


class Traced(Generic[Place]):
    """Keeps what has been worked out, with the places that it depends on.

    Attributes
    ----------
    known : dict
        Key -> value, and the places asked for on the way to it, a bit for each.
    """

    def __init__(self) -> None:
        self.known: dict[Hashable, tuple[Any, int]] = {}
        self._bits: dict[Place, int] = {}
        self._asking = 0

    def rests_on(self, *places: Place) -> None:
        """Note that the work in progress asks for these places."""
        self._asking |= self.bits(places)

    def bits(self, places: Iterable[Place]) -> int:
        """A bit for each of these places, always the same."""
        bits = 0
        for place in places:
            bits |= self._bits.setdefault(place, 1 << len(self._bits))
        return bits

    def places(self, bits: int) -> set[Place]:
        """The places of these bits."""
        return {place for place, bit in self._bits.items() if bit & bits}

    def once(self, key: Hashable, work: Callable[..., Known], *arguments: Any, held: bool = False) -> Known:
        """The result of some work, done once. If `held`, it stays the same whatever is assumed differently: it depends on nothing."""
        found = self.known.get(key)
        if found is None:
            value, bits = self.traced(work, *arguments)
            found = self.known[key] = value, 0 if held else bits
        self._asking |= found[1]
        kept: Known = found[0]
        return kept

    def traced(self, work: Callable[..., Known], *arguments: Any) -> tuple[Known, int]:
        """The result of some work, and the places it asks for; the caller does not thereby ask for them, unless the work fails."""
        before, self._asking = self._asking, 0
        try:
            value = work(*arguments)
        except BaseException:
            self._asking |= before
            raise
        bits, self._asking = self._asking, before
        return value, bits

    def take_over(self, other: Traced[Place], values: Mapping[Place, Any]) -> None:
        """Take over what another has worked out, except what depends on some places."""
        self._bits = other._bits
        changed = self.bits(values)
        self.known = {key: found for key, found in other.known.items() if not found[1] & changed}
        self.known.update({place: (value, self.bits([place])) for place, value in values.items()})


class WorkedOut(Generic[Owner, Known]):
    """A property of something traced that is worked out once."""

    def __init__(self, work: Callable[[Owner], Known]) -> None:
        self.work = work
        self.__doc__ = work.__doc__

    def __set_name__(self, owner: type, name: str) -> None:
        self.name = name

    @overload
    def __get__(self, traced: None, owner: Any) -> WorkedOut[Owner, Known]: ...

    @overload
    def __get__(self, traced: Owner, owner: Any) -> Known: ...

    def __get__(self, traced: Owner | None, owner: Any) -> Any:
        """The value, or the property of the class."""
        if traced is None:
            return self
        found = traced.known.get(self.name)
        if found is None:
            return traced.once(self.name, self.work, traced)
        traced._asking |= found[1]
        return found[0]
