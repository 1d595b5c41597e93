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
        Key -> value, and the places asked for on the way to it.
    """

    def __init__(self) -> None:
        self.known: dict[Hashable, tuple[Any, frozenset[Place]]] = {}
        self._asking: list[set[Place]] = [set()]

    def rests_on(self, places: Iterable[Place]) -> None:
        """Note that the work in progress asks for these places."""
        self._asking[-1].update(places)

    def once(self, key: Hashable, work: Callable[..., Known], *arguments: Any, held: bool = False) -> Known:
        """The result of some work, done once. If `held`, it stays the same whatever is assumed differently: it depends on nothing."""
        found = self.known.get(key)
        if found is None:
            value, places = self.traced(work, *arguments)
            found = self.known[key] = value, frozenset() if held else places
        self._asking[-1].update(found[1])
        kept: Known = found[0]
        return kept

    def traced(self, work: Callable[..., Known], *arguments: Any) -> tuple[Known, frozenset[Place]]:
        """The result of some work, and the places it asks for; the caller does not thereby ask for them, unless the work fails."""
        self._asking.append(set())
        try:
            value = work(*arguments)
        except BaseException:
            self.rests_on(self._asking.pop())
            raise
        return value, frozenset(self._asking.pop())

    def take_over(self, other: Traced[Place], values: Mapping[Place, Any]) -> None:
        """Take over what another has worked out, except what depends on some places."""
        self.known = {key: found for key, found in other.known.items() if found[1].isdisjoint(values)}
        self.known.update({place: (value, frozenset([place])) for place, value in values.items()})


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
        return self if traced is None else traced.once(self.name, self.work, traced)
