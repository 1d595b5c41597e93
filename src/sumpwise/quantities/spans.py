"""Span: a lower and an upper limit of one quantity."""

from __future__ import annotations

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any


class Span:
    """A lower and an upper limit of one quantity.

    Parameters
    ----------
    lower, upper : Quantity or float
        The limits, in one unit.
    text : str
        The span as it was written, if it was; rounding follows its digits.

    Examples
    --------
    >>> from sumpwise import span
    >>> span("31 to 37 N·m").upper.magnitude
    37.0
    """

    __slots__ = ("lower", "text", "upper")

    def __init__(self, lower: Any, upper: Any, text: str = "") -> None:
        self.lower = lower
        self.upper = upper
        self.text = text

    def __repr__(self) -> str:
        return f"{self.__class__.__name__}({self})"

    def __str__(self) -> str:
        return self.text or f"{self.lower} to {self.upper}"

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Span) and bool(self.lower == other.lower) and bool(self.upper == other.upper)

    def __hash__(self) -> int:
        return hash((self.lower, self.upper))
