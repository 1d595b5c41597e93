"""Numbers ready to print: as many digits as the original has, rounded once, at the end."""

from __future__ import annotations

from sumpwise.errors import RangeError, UnitError, expect_choice, with_article
from sumpwise.quantities import notation
from sumpwise.quantities.asking import unit_named
from sumpwise.quantities.digits import (
    MOST_DIGITS,
    allowance,
    as_float,
    below_absolute_zero,
    coarser,
    counted,
    decimal,
    fraction_places,
    in_unit,
    inward,
    leading,
    step_for,
    to_step,
    with_symbol,
)
from sumpwise.quantities.magnitudes import NOT_A_NUMBER, has_objects, real
from sumpwise.quantities.spans import Span
from sumpwise.quantities.units import SYMBOLS, Unit

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any, Protocol

    from sumpwise.quantities.digits import Ratio, Step

    class HasDigits(Protocol):
        """A number with its exact value, decimals and unit."""

        num: int
        den: int
        places: int
        unit: Unit

    from sumpwise.accepted import SpanLike, UnitLike, ValueLike

DIRECTIONS = ("nearest", "down", "up")
OWN_DIGITS = 12
"""A float with more significant digits than this was computed, so its digits say nothing about how well it is known."""



class _Original:
    """What is to be rounded: exact value, decimals, unit, spread, and the registry that asked."""

    __slots__ = ("computed", "den", "num", "places", "registry", "spread", "unit")

    def __init__(
        self, num: int, den: int, places: int | None, unit: Unit, spread: Any = None, registry: Any = None, computed: bool = False
    ) -> None:
        self.num = num
        self.den = den
        self.places = fraction_places(den) if places is None else places
        self.unit = unit
        self.spread = spread
        self.registry = registry
        self.computed = computed


def of_reading(reading: Any, registry: Any = None) -> _Original:
    """A reading of `notation` as what is to be rounded."""
    return _Original(reading.num, reading.den, reading.places, reading.unit, reading.exact_spread, registry)


def _of_float(value: Any, unit: Unit, registry: Any = None) -> _Original:
    """A bare magnitude: its shortest decimal stands for what was written."""
    from sumpwise import uncertainty

    if getattr(value, "ndim", 1) == 0 and has_objects(value):
        value = value.item()
    doubt = uncertainty.standard(value)
    try:
        number = uncertainty.nominal(value) if uncertainty.is_uncertain(value) else real(value)
    except NOT_A_NUMBER:
        raise UnitError(
            "is not a single number", code="list.unexpected", value=value, hint="round the elements of an array one by one"
        ) from None
    if not (number - number == 0 and doubt - doubt == 0):
        raise RangeError("must be finite", code="number.not_finite", value=value)
    mantissa, _, power = repr(abs(number)).partition("e")
    whole, _, part = mantissa.partition(".")
    part = "" if part == "0" else part
    places = len(part) - int(power or 0)
    num = int(whole + part) * 10 ** max(-places, 0)
    places = max(places, 0)
    spread = ("normal", *doubt.as_integer_ratio()) if doubt else None
    computed = len((whole + part).strip("0")) > OWN_DIGITS
    return _Original(-num if number < 0 else num, 10**places, places, unit, spread, registry, computed)


def _original(value: Any, to: Unit) -> _Original:
    if isinstance(value, str):
        return of_reading(notation.read(value, to.kind))
    if not hasattr(value, "_REGISTRY"):
        if to.kind == "fraction":
            return _of_float(value, SYMBOLS["1"])
        raise UnitError(
            "has no unit", code="unit.missing", argument="value", value=value, allowed=f"a text or a Quantity of kind {to.kind}"
        )
    from sumpwise.quantities import _pint

    unit, magnitude, registry = _pint.unit_of(value), _pint.magnitude(value), _pint.registry_of(value)
    written = _written(getattr(value, "text", ""), unit, magnitude)
    if written is not None:
        return of_reading(written, registry)
    return _of_float(magnitude, unit, registry)


def _written(text: Any, unit: Unit, magnitude: Any) -> Any:
    """The reading of the text that a Quantity carries, unless the Quantity has changed since."""
    if not text or not isinstance(text, str):
        return None
    from sumpwise import uncertainty

    for one in (text, f"{text} {unit.symbol}"):  # the lower limit of a span is written without its unit
        try:
            reading = notation.read(one)
        except (RangeError, ValueError):
            continue
        if reading.unit is unit and reading.value == uncertainty.nominal(magnitude):
            return reading
    return None


def _same_kind(unit: Unit, to: Unit, value: Any) -> None:
    if unit.kind != to.kind:
        raise UnitError(
            f"is {with_article(unit.kind)} and cannot be written in {to.symbol}", code="unit.kind", value=value,
            allowed=f"a value of kind {to.kind}",
        )  # fmt: skip


def rounded(value: ValueLike, to: UnitLike, digits: int | None = None, direction: str = "nearest") -> Any:
    """Convert a value and round it once, at the end, to the digits that are known.

    Parameters
    ----------
    value : str or Quantity
        What was written or measured. A text, or a Quantity with its `.text`, keeps the digits of the original; for a plain Quantity the
        digits of its shortest decimal count. One value, not an array.
    to : str
        The unit of the answer.
    digits : int, optional
        Number of significant digits to keep instead, 1 to 30.
    direction : str
        "nearest" (ties to even), "down" (for package contents and upper limits) or "up" (for lower limits).

    Returns
    -------
    Quantity
        The rounded value. `.text` is the text to print: trailing zeros kept, a space before the unit's symbol, and the uncertainty if
        there is one.

    Raises
    ------
    SumpwiseError
        For a text or unit that cannot be read, a unit of a different kind, an array, or a computed float without `digits`.

    See Also
    --------
    rounded_inward : for the two limits of a span.

    Notes
    -----
    NIST SP 811 (2008) B.7.2 in the form of NIST SP 1038 (2006) 4.4.1.1: as many digits as the original if the first digit of the result
    is at least that of the original, else one more; whole degrees Fahrenheit go to the nearest half degree Celsius (4.4.1.3), other
    temperatures keep their decimals. Written zeros count, except the trailing zeros of a distance or a time from 100 up. A conversion gets
    more digits if it would otherwise be off by more than half a unit of the original's last significant digit, or by more than 2 % of the
    value. A fraction counts as a decimal of at most two places. If there is an uncertainty, the number stops at the second digit of it
    (GUM, JCGM 100:2008, 7.2.6). Package contents are rounded down (SP 1038 4.4.1.2).

    Examples
    --------
    >>> from sumpwise import rounded
    >>> rounded("36 ft", "m").text
    '11.0 m'
    >>> rounded("180 °F", "°C").text
    '82.0 °C'
    >>> rounded("1 US gal", "L", digits=2, direction="down").text
    '3.7 L'
    >>> rounded("8.850(62) L", "US qt").text
    '9.352(66) US qt'
    """
    count, place, unit, registry, text = _in_digits(value, to, digits, direction)
    return _quantity(count, place, unit, registry, text)


def rounded_text(value: ValueLike, to: UnitLike) -> str:
    """The `.text` alone of what `rounded` gives."""
    return _in_digits(value, to, None, "nearest")[-1]


def _in_digits(value: Any, to: Any, digits: int | None, direction: str) -> tuple[int, int, Unit, Any, str]:
    """The rounded number as count·10^place, its unit, the registry that asked, and how it is printed."""
    unit = unit_named(to)
    expect_choice(direction, DIRECTIONS, "direction", "direction of rounding")
    if digits is not None and (isinstance(digits, bool) or not isinstance(digits, int) or not 1 <= digits <= MOST_DIGITS):
        raise RangeError(
            "is not a valid number of digits", code="range.outside", argument="digits", value=digits,
            allowed=f"a whole number from 1 to {MOST_DIGITS}", limits=(1, MOST_DIGITS, ""),
        )  # fmt: skip
    original = _original(value, unit)
    _same_kind(original.unit, unit, value)
    if original.computed and digits is None and original.spread is None:
        raise RangeError(
            "is a computed number, so its digits do not say how well it is known", code="digits.unknown", value=value,
            hint="say how many digits with digits=, or give the number an uncertainty",
        )  # fmt: skip
    count, place, doubt = _rounded(original, unit, digits, direction)
    return count, place, unit, original.registry, with_symbol(decimal(count, place) + doubt, unit)


def _rounded(original: _Original, unit: Unit, digits: int | None, direction: str) -> tuple[int, int, str]:
    """The rounded number as count·10^place, and its uncertainty as printed."""
    num, den = in_unit(original.num, original.den, original.unit, unit)
    step, doubt = None, (0, 1)
    if original.spread is not None:
        _, over, under = original.spread
        doubt = over * original.unit.num * unit.den, under * original.unit.den * unit.num
        power = leading(*doubt) - 1
        step = (1, power + (to_step(*doubt, (1, power)) >= 100))
    if digits is not None:
        step = (1, leading(num, den) + 1 - digits) if num else (1, -original.places)
    if step is None:
        step = step_for(original.num, original.den, original.places, original.unit, unit, (num, den))
    count, place = to_step(num, den, step, direction), step[1]
    if unit.kind == "temperature" and below_absolute_zero(count, place, unit):
        count = to_step(num, den, step, "up")
    if not doubt[0]:
        return count, place, ""
    around = max(1, to_step(*doubt, (1, place)))
    if original.spread and original.spread[0] == "rectangular":
        return count, place, f" ± {decimal(around, place)}"
    if place > 0:
        count, around, place = count * 10**place, around * 10**place, 0
    return count, place, f"({around})"


def _quantity(count: int, place: int, unit: Unit, registry: Any, text: str) -> Any:
    from sumpwise.quantities import _pint

    try:
        number = as_float(count, place)
    except OverflowError:
        raise RangeError("is too large for a number", code="number.too_large", value=text) from None
    return _pint.quantity_of(number, unit, text, registry)


def rounded_inward(span: SpanLike, to: UnitLike) -> Span:
    """Convert the limits of a span and round them inward, so that the printed window is never wider than the original.

    Parameters
    ----------
    span : str, Span or pair of values
        Such as ``"31 to 37 N·m"``.
    to : str
        The unit of the answer.

    Returns
    -------
    Span
        The lower limit rounded up and the upper rounded down, both to the coarser of the places their digits give, with one more digit if
        the window would otherwise vanish or lose more than a tenth of its width. `.text` is the span to print.

    Raises
    ------
    SumpwiseError
        For a text or unit that cannot be read, limits in the wrong order, or equal limits that have no short decimal.

    Notes
    -----
    NIST SP 1038 (2006) 4.4.1: the original limits must not be violated. Digits as in `rounded`; computed limits get as many digits as it
    takes to keep nine tenths of the window.

    Examples
    --------
    >>> from sumpwise import rounded_inward
    >>> rounded_inward("31–37 N·m", "lbf·ft").text
    '22.9–27.2 lbf·ft'
    >>> rounded_inward("82–92 °C", "°F").text
    '180–197 °F'
    """
    counts, place, unit, registry, written, text = _moved_inward(span, to)
    least, most = (_quantity(count, place, unit, registry, with_symbol(one, unit)) for count, one in zip(counts, written, strict=True))
    return Span(least, most, text)


def inward_text(span: SpanLike, to: UnitLike) -> str:
    """The `.text` alone of what `rounded_inward` gives."""
    return _moved_inward(span, to)[-1]


def _moved_inward(span: Any, to: Any) -> tuple[tuple[int, int], int, Unit, Any, list[str], str]:
    """Both limits as counts of 10^place, their unit, the registry that asked, and how each and both are printed."""
    unit = unit_named(to)
    lower, upper = _limits(span, unit)
    _same_kind(lower.unit, unit, span)
    _same_kind(upper.unit, unit, span)
    low, high = (in_unit(one.num, one.den, one.unit, unit) for one in (lower, upper))
    if low[0] * high[1] > high[0] * low[1]:
        raise RangeError("the lower limit is above the upper", code="range.reversed", argument="span", value=span)
    if lower.computed or upper.computed:
        width = high[0] * low[1] - low[0] * high[1], low[1] * high[1]
        step, allowed = (1, leading(*width) if width[0] else 0), None
    else:
        step, allowed = grid_of_limits(lower, low, upper, high, unit)
    least, most, step = inward(low, high, step, allowed, unit)
    written = [decimal(count, step[1]) for count in (least, most)]
    joint = "–" if least >= 0 else " to "
    return (least, most), step[1], unit, lower.registry or upper.registry, written, with_symbol(joint.join(written), unit)


def grid_of_limits(
    lower: HasDigits, low: Ratio, upper: HasDigits, high: Ratio, unit: Unit
) -> tuple[Step, tuple[Ratio, Ratio]]:
    """The grid to start from for two limits, whose exact conversions are `low` and `high`, and how far each may move."""
    ends = (lower, low), (upper, high)
    steps = [step_for(one.num, one.den, one.places, one.unit, unit, limit, every_zero=True) for one, limit in ends]
    first, second = [allowance(counted(one.num, one.den, one.places)[1], one.unit, unit, limit) for one, limit in ends]
    return coarser(*steps), (first, second)


def _limits(span: Any, to: Unit) -> tuple[_Original, _Original]:
    if isinstance(span, str):
        return _of_span(notation.read_span(span, to.kind))
    if isinstance(span, Span):
        lower, upper = _original(span.lower, to), _original(span.upper, to)
        if span.text:
            try:
                written = _of_span(notation.read_span(span.text), lower.registry)
            except ValueError:
                return lower, upper
            if all(a.unit is b.unit and a.num * b.den == b.num * a.den for a, b in zip(written, (lower, upper), strict=True)):
                return written
        return lower, upper
    if isinstance(span, (tuple, list)) and len(span) == 2:
        return _original(span[0], to), _original(span[1], to)
    raise UnitError(
        "is not a span", code="span.expected", argument="span", value=span, allowed="a text such as '31 to 37 N·m', a Span, or a pair"
    )


def _of_span(reading: Any, registry: Any = None) -> tuple[_Original, _Original]:
    return of_reading(reading.lower, registry), of_reading(reading.upper, registry)
