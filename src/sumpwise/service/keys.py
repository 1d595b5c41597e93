"""What a key of a job is: the kind of its value, what it means, and what is taken where nothing is written."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

from sumpwise.quantities.boundary import Argument

TEXT, FLAG, MONEY, DATE = "a text", "true or false", "a price, 0 or more", "a day such as 2026-11-27"
LONGEST_TEXT = 1000
"""Characters of a text of the job."""


class SpanOf(NamedTuple):
    """A field that holds a span of one kind."""

    kind: Argument


class Choice(NamedTuple):
    """A field that holds one of a few words."""

    words: tuple[str, ...]


Field = str | Argument | SpanOf | Choice


class Default(NamedTuple):
    """What is taken where nothing is written.

    Attributes
    ----------
    value : str, float or bool
        As it would be written; with `of`, how many times that; empty where the shape of the range gives it.
    reason : str
        Why, as the end of a sentence; empty where the absence says it all, which is no assumption.
    low, high : str or float
        The usual range, written the same way; empty where there is none.
    shape : str
        "uniform" or "log-uniform" where the value is uncertain over that range; else it is taken as it is.
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
    """The standard uncertainty of a value that is written without one: a share of it, or a text."""

    value: Any
    reason: str


Rule = Callable[[Any, dict[str, Any]], Default]
"""A default that depends on the rest of the job: called with the case, and the values of the entry where the key stands in a list."""
Doubting = Callable[[Any, dict[str, Any]], Doubt]
"""The same for how good a plain value is."""


class Key(NamedTuple):
    """One key: what its value is, what it means, what is taken without it, and how good a plain value is.

    `find` is where its value is found, or what would measure it, as an instruction without a unit; `spread` says that the value is a
    standard uncertainty itself.
    """

    kind: Field
    meaning: str
    default: Default | Rule | None = None
    doubt: Doubt | Doubting | None = None
    required: bool = False
    find: str = ""
    spread: bool = False


COMMON = "common practice, no source"
UNPUBLISHED = "no published value"
UNSAID = "nothing else was written"
LOOSELY = 'it was written with "about"'
