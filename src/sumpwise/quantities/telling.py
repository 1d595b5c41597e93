"""What an error says of values that were given: each as it was given, and a limit in the unit of the value that it limits."""

from __future__ import annotations

from math import ceil, floor, inf, log10

from sumpwise.errors import SumpwiseError, shown
from sumpwise.quantities import notation
from sumpwise.quantities.magnitudes import outward
from sumpwise.quantities.normalising import without_about
from sumpwise.quantities.reading import Read, the_door_to_pint
from sumpwise.quantities.units import INTERNAL, Unit, by_symbol, internal_unit

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

    from sumpwise.errors import Limits

UPWARD = ("above", "at least")
"""Words before a limit below which nothing is accepted."""
DIGITS, OWN_DIGITS = 4, 6
"""Digits of a limit that is told in another unit than the library's own, and in that."""


def unit_given(given: Any, kind: str) -> Unit:
    """The unit of a kind that a value was given in: of a list, that of its first; the library's own where it has none."""
    while isinstance(given, (list, tuple)) and given:
        given = given[0]
    unit = None
    try:
        if isinstance(given, str):
            text = without_about(given)
            try:
                unit = notation.read(text, kind).unit
            except SumpwiseError:
                unit = notation.read_span(text, kind).lower.unit
        elif isinstance(given, Read):
            unit = given.unit
        elif hasattr(given, "_REGISTRY"):
            unit = the_door_to_pint().unit_of(given)
    except SumpwiseError:
        pass
    return unit if unit is not None and unit.kind == kind else internal_unit(kind)


def alike(one: Unit, other: Unit) -> bool:
    """Whether two units, each of a registry of its own perhaps, are the same."""
    return (one.num * other.den, one.offset_num * other.den) == (other.num * one.den, other.offset_num * one.den)


def in_unit(limit: float, unit: Unit, upward: bool = False) -> str:
    """A limit in internal units as a reader of that unit would write it, never outside the limit itself."""
    digits, symbol = (OWN_DIGITS, INTERNAL[unit.kind]) if alike(unit, internal_unit(unit.kind)) else (DIGITS, unit.symbol)
    there = float(outward(limit, unit))
    step = 10.0 ** (floor(log10(abs(there))) + 1 - digits) if there and abs(there) < inf else 1.0
    steps = round(there / step, 6)
    return f"{(ceil if upward else floor)(steps) * step:.{digits}g} {symbol}"


def limit(word: str, number: float, kind: str, given: Any) -> str:
    """A limit with the word before it, such as "at most 9.51 US qt", in the unit of the value that it limits."""
    return f"{word} {in_unit(number, unit_given(given, kind), word in UPWARD)}"


def against(word: str, number: float, kind: str, given: Any, other: Any = None) -> str:
    """A limit as the value that sets it was given, and in the unit of the value it limits if that is another; worked out without one."""
    if other is None:
        return limit(word, number, kind, given)
    unit = unit_given(given, kind)
    same = alike(unit, unit_given(other, kind))
    return f"{word} {plainly(other)}" + ("" if same else f", which is {in_unit(number, unit, word in UPWARD)}")


def between(limits: Limits, given: Any) -> str:
    """Both limits of an error in words, in the unit of the value that they limit."""
    unit = unit_given(given, by_symbol(limits[2]).kind)
    told = zip(("at least", "at most"), limits[:2], strict=True)
    return " and ".join(f"{word} {in_unit(one, unit, word in UPWARD)}" for word, one in told if one is not None)


def as_given(error: SumpwiseError, given: dict[str, Any]) -> None:
    """Make an error of a check between internal values show what was given for its argument, and for the one that limits it, as it was
    given.
    """
    base, _, row = error.argument.partition("[")
    whole = error.argument in given
    if not whole and base not in given:
        return
    k = int(row[:-1]) if not whole and row[:-1].isdigit() else None
    if row and not whole and k is None:  # a place in a table is told by its number
        return
    value = given[error.argument] if whole else _at(given[base], k)
    if error.value is not None:
        error.value = shown(value)
    word, bound, kind = getattr(error, "bound", ("", "", ""))
    if not word or not kind:
        return
    low, high, _ = error.limits or (None, None, "")
    number = low if word in UPWARD else high
    other = _at(given.get(bound), k)
    if number is not None:
        error.allowed = against(word, number, kind, value, other)
    elif other is not None:
        error.allowed = f"{word} {plainly(other)}"


def _at(given: Any, k: int | None) -> Any:
    """What was given for one row."""
    try:
        return given if k is None or isinstance(given, str) or not len(given) else given[k]
    except (TypeError, IndexError, KeyError):
        return given


def plainly(given: Any) -> str:
    """A value that was given, without quotation marks."""
    return shown(given)[1:-1] if isinstance(given, str) else shown(given)
