"""What is expected of an argument: its kind and its limits, whether a number or a unit is that, and the words for what is not."""

from __future__ import annotations

from math import inf, isfinite

from sumpwise._math import every, where
from sumpwise.errors import RangeError, UnitError, shown, with_article
from sumpwise.quantities.magnitudes import is_missing
from sumpwise.quantities.reading import PLAIN
from sumpwise.quantities.spelling import hint_for
from sumpwise.quantities.units import EXAMPLES, INTERNAL, Unit, by_symbol, internal_unit

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

    from sumpwise.errors import Limits

LARGEST_COUNT = 2**53
"""Whole numbers below this are exact as floats."""
ALMOST = 1 - 1e-12
"""A value above this share of its limit may be the limit itself, apart from rounding."""


class Expected:
    """A kind, or several, and the limits of its numbers in the internal unit."""

    __slots__ = ("above", "below", "kind", "kinds", "maximum", "minimum", "needs_unit", "scalar", "whole")

    def __init__(
        self, kind: str | tuple[str, ...], above: float, minimum: float, below: float, maximum: float, whole: bool, scalar: bool
    ) -> None:
        self.kind = kind
        self.kinds = (kind,) if isinstance(kind, str) else kind
        for one in self.kinds:
            if one not in PLAIN:
                internal_unit(one)
        self.needs_unit = not any(one in PLAIN for one in self.kinds)
        self.above = above
        self.minimum = minimum
        self.below = below
        self.maximum = maximum
        self.whole = whole
        self.scalar = scalar

    def validated(self, magnitude: Any, value: Any, name: str) -> Any:
        """A number or an array in the internal unit, if all of it is within the limits; a whole number as an int."""
        if magnitude.__class__ is float or magnitude.__class__ is int:
            low, high = magnitude, magnitude
            finite = -inf < magnitude < inf
        elif self.scalar:
            raise RangeError("takes one value, not an array", code="list.unexpected", argument=name, value=value)
        elif magnitude.size == 0:
            raise RangeError("is empty", code="list.empty", argument=name, value=value)
        else:
            low, high = magnitude.min(), magnitude.max()
            finite = isfinite(low) and isfinite(high)
        if not finite:
            raise self._outside("must be finite", value, name, code="number.not_finite")
        if not (self.above < low and self.minimum <= low and high < self.below and high <= self.maximum):
            bare = self.kind == "fraction" and 1 < high <= 100 and "%" not in str(value)
            hint = "write a share as 0.5 or 50 %" if bare else ""
            raise self._outside("is out of range", value, name, hint, code="range.outside")
        if self.whole:
            if high >= LARGEST_COUNT or not _are_whole(magnitude):
                raise self._outside("must be a whole number", value, name, code="number.not_whole")
            return int(magnitude) if magnitude.__class__ is float else magnitude
        return magnitude

    def fits(self, values: Any) -> Any:
        """Which elements of an array of internal values are within the limits."""
        import numpy

        with numpy.errstate(all="ignore"):
            within = (self.above < values) & (self.minimum <= values) & (values < self.below) & (values <= self.maximum)
            fine = within & numpy.isfinite(values)
            return fine & (values % 1 == 0) & (values < LARGEST_COUNT) if self.whole else fine

    def fitting(self, unit: Unit, value: Any, name: str) -> Unit:
        """The unit, as one of the expected kind."""
        if unit.kind not in self.kinds and (self.needs_unit or unit.kind != "fraction"):
            if unit.symbol != "K" or "interval" not in self.kinds:
                raise UnitError(
                    f"is {with_article(unit.kind)}; expected {with_article(self.due())}", code="unit.kind",
                    argument=name, value=value, allowed=self.example(), hint=hint_for(unit, self.kinds),
                )  # fmt: skip
            unit = by_symbol("Δ°C")
        return unit

    # -- errors and their words

    def unlike(self, value: Any, name: str, problem: str = "is not", hint: str = "") -> UnitError:
        """The error for a value that is nothing of the kind."""
        if is_missing(value):
            return self._missing(value, name)
        problem = f"{problem} {with_article(self.due())}"
        return UnitError(problem, code="value.type", argument=name, value=value, allowed=self.example(), hint=hint)

    def _missing(self, value: Any, name: str) -> UnitError:
        return UnitError(
            f"is missing; expected {with_article(self.due())}", code="number.missing", argument=name, value=value, allowed=self.example()
        )

    def no_unit(self, value: Any, name: str) -> UnitError:
        """The error for a number without a unit, or for a missing value."""
        if is_missing(value):
            return self._missing(value, name)
        return UnitError(
            f"has no unit; expected {with_article(self.due())}", code="unit.missing", argument=name, value=value, allowed=self.example(),
            hint="write the number with its unit, as text or as a Quantity",
        )  # fmt: skip

    def _outside(self, problem: str, value: Any, name: str, hint: str = "", *, code: str) -> RangeError:
        low, high = max(self.above, self.minimum), min(self.below, self.maximum)
        symbol = "" if self.kinds[0] in PLAIN else INTERNAL[self.kinds[0]]
        limits: Limits = (low if -inf < low else None, high if high < inf else None, symbol)
        return RangeError(problem, code=code, argument=name, value=value, allowed=self._allowed(value), hint=hint, limits=limits)

    def due(self) -> str:
        """The kinds expected, in words."""
        return " or ".join(self.kinds)

    def example(self) -> str:
        """What would be accepted, in words."""
        first = self.kinds[0]
        return self._allowed() if first in PLAIN else f"{with_article(self.due())} such as {EXAMPLES[first]!r}"

    def _allowed(self, value: Any = None) -> str:
        """What would be accepted, in words, with limits in the unit of what was given."""
        from sumpwise.quantities.telling import limit as told

        kind = self.kinds[0]
        words = [
            f"{word} {limit:g}" if kind in PLAIN else told(word, limit, kind, value)
            for word, limit in (
                ("above", self.above), ("at least", self.minimum), ("below", self.below), ("at most", self.maximum),
            )
            if -inf < limit < inf
        ]  # fmt: skip
        if not words:
            return "a whole number" if self.whole else f"a finite {self.due()}"
        return f"{with_article('whole number' if self.whole else self.due())}, {' and '.join(words)}"


def _are_whole(magnitude: Any) -> bool:
    """Whether a number, or every number of an array, is whole; arrays are checked block by block."""
    if magnitude.__class__ is int or getattr(getattr(magnitude, "dtype", None), "kind", "f") != "f":
        return True
    from sumpwise import _blocks

    shape = _blocks.alike([magnitude])
    return every(magnitude % 1 == 0) if shape is None else bool(_blocks.elementwise(lambda x: x % 1 == 0, [magnitude], shape).all())


def over(name: str, bound: str, best: Any, most: Any, kind: str | tuple[str, ...]) -> Any:
    """What to add to a value to bring it down to the value of the argument that limits it; None if it is within the limit.

    A value that exceeds it by rounding alone, as after a change of unit, counts as the limit itself.
    """
    try:
        if _at_most(best, most, ALMOST):
            return None
        if _at_most(best, most, 1 / ALMOST):
            return where(best > most * ALMOST, most - best, 0.0)
    except ValueError:  # shapes that do not go together: the kernel says so
        return None
    raise past(name, best, "at most", bound, most, kind, f"must be at most the {bound}", code="range.above_bound")


def past(
    name: str, value: Any, word: str, bound: str, number: Any, kind: str | tuple[str, ...], problem: str, *, code: str, hint: str = ""
) -> RangeError:  # fmt: skip
    """The error for a value past a limit that another argument sets; of arrays, for the first row that is. All of it in internal units.

    `word` is "at most", "below", "above" or "at least"; `bound` the argument that sets the limit, `number`, or an empty text if that was
    worked out; both values are of the kind. The rest is as for every error.
    """
    from sumpwise.quantities.telling import UPWARD

    row = None
    if getattr(value, "ndim", 0) or getattr(number, "ndim", 0):
        row, value, number = _first_past(value, word, number)
        if row is not None:
            name = f"{name}[{row}]"
    told = kind if isinstance(kind, str) and kind not in PLAIN else ""
    limits = None if row is None and getattr(number, "ndim", False) else (number, None) if word in UPWARD else (None, number)
    symbol = INTERNAL.get(told, "")
    error = RangeError(
        problem, code=code, argument=name, value=_internal(value, symbol), allowed=f"{word} {_internal(number, symbol)}", hint=hint,
        limits=None if limits is None else (*limits, symbol),
    )  # fmt: skip
    error.value = str(_internal(value, symbol))
    error.bound = (word, bound, told)
    return error


def _internal(value: Any, symbol: str) -> str:
    return f"{value:.6g} {symbol}".rstrip() if isinstance(value, (int, float)) else f"{shown(value)} {symbol}".rstrip()


def _first_past(value: Any, word: str, number: Any) -> tuple[int | None, Any, Any]:
    """The first row in which a value is past its limit, and both there; no row where they are not plain columns."""
    import numpy

    values, numbers = numpy.broadcast_arrays(value, number)
    fine = {"at most": values <= numbers, "below": values < numbers, "above": values > numbers, "at least": values >= numbers}[word]
    rows = numpy.flatnonzero(~fine)
    if values.ndim != 1 or not len(rows):
        return None, value, number
    k = int(rows[0])
    return k, float(values[k]), float(numbers[k])


def _at_most(value: Any, limit: Any, almost: float) -> bool:
    """Whether a value stays within its limit, but for rounding; comparing largest and smallest usually decides without a new array."""
    most = value if value.__class__ is float else value.max()
    if limit.__class__ is float:
        return bool(most <= limit * almost)
    return bool(most <= limit.min() * almost) or every(value <= limit * almost)
