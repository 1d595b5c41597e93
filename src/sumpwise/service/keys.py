"""What a key of a job is: the kind of its value, what it means, and its default."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

from sumpwise.quantities.boundary import Argument

TEXT, FLAG, MONEY, DATE = "a text", "true or false", "a price, 0 or more", "a date such as 2026-11-27"
LONGEST_TEXT = 1000
"""The longest text of a job, in characters."""


class SpanOf(NamedTuple):
    """A field that holds a span of one kind."""

    kind: Argument


class Choice(NamedTuple):
    """A field that holds one of a few words."""

    words: tuple[str, ...]


Field = str | Argument | SpanOf | Choice


def described(kind: Field) -> str:
    """What may be written in a field."""
    if isinstance(kind, Choice):
        return ", ".join(repr(w) for w in kind.words)
    if isinstance(kind, SpanOf):
        return f"a span such as {'82–92 °C' if kind.kind.kind == 'temperature' else '31 to 37 N·m'!r}"
    return kind.example() if isinstance(kind, Argument) else kind


class Default(NamedTuple):
    """What is assumed if nothing is written.

    Attributes
    ----------
    value : str, float or bool
        As it would be written; with `of`, how many times that; empty if the shape of the range gives it.
    reason : str
        Why, as the end of a sentence; empty if leaving the key out has a plain meaning and is no assumption.
    low, high : str or float
        The usual range, written the same way; empty if there is none.
    shape : str
        "uniform" or "log-uniform" if the value is uncertain over that range; else the value is used as it is.
    of : str
        "total", "need" or "drain": what value and range are multiples of.
    """

    value: Any
    reason: str
    low: Any = ""
    high: Any = ""
    shape: str = ""
    of: str = ""


class Doubt(NamedTuple):
    """The standard uncertainty of a value written without one: a share of it, or a text."""

    value: Any
    reason: str


Rule = Callable[[Any, dict[str, Any]], Default]
"""A default that depends on the rest of the job: called with the case, and with the values of the entry if the key is in a list."""
Doubting = Callable[[Any, dict[str, Any]], Doubt]
"""The same for the uncertainty of a value written without one."""


class Key(NamedTuple):
    """One key: what its value is, what it means, what is assumed without it, and how good a plain value is.

    `find` is where to find its value, or how to measure it, as an instruction without a unit; `spread` says that the value is itself a
    standard uncertainty, and `makes` is the name of the sources of that size, where it makes them as they are.
    """

    kind: Field
    meaning: str
    default: Default | Rule | None = None
    doubt: Doubt | Doubting | None = None
    required: bool = False
    find: str = ""
    spread: bool = False
    makes: str = ""


COMMON = "common practice, no source"
UNPUBLISHED = "no published value"
UNSAID = "nothing else was written"
LOOSELY = 'it was written with "about"'
