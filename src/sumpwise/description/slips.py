"""The slips people make with two units, and which of them reproduces a stated number."""

from __future__ import annotations

from sumpwise.description.precision import Figure, as_point, interval, is_conversion, is_expected, is_inward, is_near, is_rounding, limits
from sumpwise.quantities.digits import to_step
from sumpwise.quantities.units import SYMBOLS, Unit

TYPE_CHECKING = False
if TYPE_CHECKING:
    from sumpwise.quantities.digits import Ratio

IMPERIAL = "US and imperial measure confused"
SWAPPED = "units swapped"
INCHES = "inch-pounds and foot-pounds confused"
KILOGRAMS = "kgf·m and kgf·cm confused"
AS_POINT = "a temperature difference converted as a temperature"
AS_INTERVAL = "a temperature converted as a difference"
ONE_NUMBER = "one number with both units"
MILES = "miles and kilometres confused"
HALF_DEGREE = "another half degree than the nearest"
OUTWARD = "limits rounded outward"
TOLERANCE = "tolerance left unconverted"
DECIMAL = "decimal point shifted"
TWICE = "rounded twice"
TOO_MANY = "more digits than the original carries"
ADDED = "percent added over cycles"
MASS_OUNCE = "mass ounce and fluid ounce confused"
HOT_COLD = "hot volume beside cold volume"
TWO_WAYS = "a number that can be read two ways"
NO_UNIT = "torque without a unit"

_OTHER_TORQUE = {u.symbol: u.mistaken for u in SYMBOLS.values() if u.mistaken and u.kind == "torque"}
_OTHER_MEASURE = {u.symbol: u.mistaken for u in SYMBOLS.values() if u.mistaken and u.kind != "torque"}

_TELLING: Ratio = (4, 100)
_TELLING_ROUGHLY: Ratio = (25, 1000)
"""How close, as a share, a rounded number and any number must be to show which slip made it."""


def follows(stated: tuple[Figure, ...], source: tuple[Figure, ...]) -> bool:
    """Whether the stated number, or span, is the correct rounding of the source's conversion."""
    if len(source) == 2 and limits(source[0].unit.kind, stated[0].unit):
        near = all(is_near(s, o, limit=True) for s, o in zip(stated, source, strict=True))
        if near and is_inward(stated[0], source[0], "up") and is_inward(stated[1], source[1], "down"):
            return True
    elif _near(stated, source):
        return True
    return is_expected(stated, source)


def _near(stated: tuple[Figure, ...], source: tuple[Figure, ...]) -> bool:
    return all(is_conversion(s, o) for s, o in zip(stated, source, strict=True))


def _as_if(stated: tuple[Figure, ...], source: tuple[Figure, ...]) -> bool:
    """Whether the stated number is a rounding of the source's conversion, as far as a few digits can show a slip."""
    return all(is_near(s, o, share=_TELLING if is_rounding(s, o) else _TELLING_ROUGHLY) for s, o in zip(stated, source, strict=True))


def _named(amounts: tuple[Figure, ...], unit: Unit) -> tuple[Figure, ...]:
    return tuple(amount.named(unit) for amount in amounts)


def slip_of(stated: tuple[Figure, ...], source: tuple[Figure, ...], difference: bool = False) -> str:
    """The slip that reproduces the stated number from the source, or an empty text.

    Parameters
    ----------
    stated, source : tuple of Figure
        One amount each, or two limits each.
    difference : bool
        Whether the text is about temperature differences.
    """
    first, second = source[0].unit, stated[0].unit
    if all(s.equals(o) for s, o in zip(stated, source, strict=True)):
        return MILES if {first.symbol, second.symbol} == {"km", "mi"} else ONE_NUMBER
    for old, new in _respelled(first, second):
        if _as_if(_named(stated, new), _named(source, old)):
            if {first.symbol, second.symbol} & set(_OTHER_TORQUE) and (old, new) != (second, first):
                return KILOGRAMS if "kgf" in (old.symbol + new.symbol) and old.symbol[:3] != "lbf" else INCHES
            if (old, new) != (second, first):
                return IMPERIAL
            return MILES if {first.symbol, second.symbol} == {"km", "mi"} else SWAPPED
    if first.kind == "temperature":
        if not difference and _near(tuple(map(interval, stated)), tuple(map(interval, source))):
            return AS_INTERVAL
        if difference and _near(stated, source):
            return AS_POINT
    if len(source) == 2:
        return OUTWARD if limits(first.kind, second) and _outward(stated, source) else ""
    if _shifted(stated[0], source[0]):
        return DECIMAL
    return TWICE if _rounded_twice(stated[0], source[0]) else ""


def _shifted(stated: Figure, source: Figure) -> bool:
    """Whether the stated number is ten times, or a tenth of, the true one."""
    over, under = source.into(stated.unit)
    if source.unit.kind == "temperature":
        return False
    for times, parts in ((10, 1), (1, 10)):
        apart = abs(stated.num * under * parts - over * stated.den * times)
        if apart * 40 <= abs(over) * stated.den * times:
            return True
    return False


def _respelled(first: Unit, second: Unit) -> list[tuple[Unit, Unit]]:
    """Other pairs of units that may have been meant, most likely first."""
    found = []
    for others in (_OTHER_MEASURE, _OTHER_TORQUE):
        if second.symbol in others and others[second.symbol] != first.symbol:
            found.append((first, SYMBOLS[others[second.symbol]]))
        if first.symbol in others and others[first.symbol] != second.symbol:
            found.append((SYMBOLS[others[first.symbol]], second))
    if first.symbol in _OTHER_MEASURE and second.symbol in _OTHER_MEASURE:
        found.append((SYMBOLS[_OTHER_MEASURE[first.symbol]], SYMBOLS[_OTHER_MEASURE[second.symbol]]))
    if first.kind != "temperature":
        found.append((second, first))
    return found


def _outward(stated: tuple[Figure, ...], source: tuple[Figure, ...]) -> bool:
    """Whether each stated limit is the true one rounded one way or the other, at least one of them outward."""
    ways = (("up", "down"), ("down", "up"))
    return all(
        any(is_inward(s, o, way) for way in either) or is_rounding(s, o)
        for s, o, either in zip(stated, source, (ways[0], ways[1]), strict=True)
    )


def _rounded_twice(stated: Figure, source: Figure) -> bool:
    """Whether rounding twice, first to one or two more digits, gives the stated number, while rounding once does not."""
    if is_rounding(stated, source):
        return False
    true = source.into(stated.unit)
    place = stated.zeros or -stated.places
    wanted = to_step(stated.num, stated.den, (1, place))
    for extra in (1, 2):
        once = to_step(*true, (1, place - extra))
        for way in ("even", "up"):
            count = once
            for _ in range(extra):
                count = to_step(count, 10, (1, 0)) if way == "even" else (count + 5) // 10
            if count == wanted:
                return True
    return False


def tolerance_slip(source: Figure, half: Figure, own: Figure) -> str:
    """The slip in a tolerance `half` that does not follow from `own`, the tolerance of the source."""
    if source.unit.kind == "temperature" and not half.equals(own) and is_rounding(as_point(half), as_point(own)):
        return AS_POINT
    return TOLERANCE
