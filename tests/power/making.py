"""How a wrong formula is made from the right one: with other arguments, another answer or another formula.

A maker takes the right function and returns the wrong one. Check values name every argument, so a wrong function sees keywords only.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from types import SimpleNamespace
from typing import Any

import sumpwise

Maker = Callable[[Any], Any]
Asked = dict[str, Any]


@dataclass(frozen=True)
class Built:
    """A wrong way to build the object that a method belongs to."""

    make: Maker


def size(value: Any, unit: str) -> float:
    """A volume, a temperature … as a number of a unit."""
    return float(sumpwise.convert(value, unit).magnitude)


def number(value: Any) -> float:
    """A share, written as a number or a text."""
    return float(value) if isinstance(value, int | float) else float(sumpwise.convert(value, "1").magnitude)


def answer(**parts: Any) -> SimpleNamespace:
    """An answer with the parts that were printed."""
    return SimpleNamespace(**parts)


def asked(**changed: Callable[[Asked], Any]) -> Maker:
    """The right formula with other arguments."""

    def make(real: Any) -> Any:
        return lambda *owner, **k: real(*owner, **{**k, **{name: new(k) for name, new in changed.items()}})

    return make


def without(*names: str) -> Maker:
    """The right formula with some arguments ignored, so that their defaults apply."""

    def make(real: Any) -> Any:
        return lambda *owner, **k: real(*owner, **{name: value for name, value in k.items() if name not in names})

    return make


def built(**changed: Callable[[Asked], Any]) -> Built:
    """The right method of an object built from other arguments."""
    return Built(asked(**changed))


def given(change: Callable[[Any, Asked], Any]) -> Maker:
    """The right answer, changed on its way out."""

    def make(real: Any) -> Any:
        return lambda *owner, **k: change(real(*owner, **k), k)

    return make


def formula(wrong: Callable[..., Any]) -> Maker:
    """Another formula, from the same arguments."""
    return lambda real: wrong


def method(change: Callable[..., Any]) -> Maker:
    """A method that does something else; it is given the right one, the object and the arguments."""
    return lambda real: lambda self, **k: change(real, self, **k)


def told(change: Callable[[Any], Any]) -> Maker:
    """A property with another value."""
    return lambda real: property(lambda self: change(real.fget(self)))


def always(value: Any) -> Maker:
    """The same answer whatever the arguments."""
    return lambda real: lambda *owner, **k: value


def fixed(value: Any) -> Callable[[Asked], Any]:
    """The same value of an argument, whatever was given."""
    return lambda k: value
