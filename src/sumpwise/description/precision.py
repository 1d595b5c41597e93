"""What the digits of a written number claim, and whether two written numbers can be the same quantity. Whole numbers only."""

from __future__ import annotations

from math import gcd

from sumpwise.quantities import notation
from sumpwise.quantities.digits import (
    LEVELS,
    SHARE,
    allowance,
    coarser,
    counted,
    decimal,
    finer,
    fraction_places,
    in_unit,
    inward,
    is_off,
    leading,
    step_for,
    to_step,
    unmistakable,
    with_symbol,
    zeros_count,
)
from sumpwise.quantities.notation import Reading, SpanReading
from sumpwise.quantities.rounding import grid_of_limits
from sumpwise.quantities.units import SYMBOLS, Unit

TYPE_CHECKING = False
if TYPE_CHECKING:
    from sumpwise.quantities.digits import Ratio, Step

LIMITS = ("torque", "temperature", "pressure")

_INTERVALS = {"°C": "Δ°C", "°F": "Δ°F", "K": "Δ°C"}


class Figure:
    """A written number: its exact value in its unit, and what its digits claim.

    Attributes
    ----------
    num, den, unit
        The exact value.
    places : int
        Decimals that count for rounding a conversion of it.
    zeros : int
        Trailing zeros, from 100 up, of a distance, a time or a number with a tolerance, which may or may not be significant.
    half : tuple of int
        Half a unit of the last digit, as a ratio: how far the number may be from the truth.
    """

    __slots__ = ("den", "half", "num", "places", "unit", "zeros")

    def __init__(self, num: int, den: int, unit: Unit, places: int, half: Ratio, zeros: int = 0) -> None:
        self.num = num
        self.den = den
        self.unit = unit
        self.places = places
        self.half = half
        self.zeros = zeros

    def named(self, unit: Unit) -> Figure:
        """The same number with another unit behind it."""
        return Figure(self.num, self.den, unit, self.places, self.half, self.zeros)

    def into(self, unit: Unit) -> Ratio:
        """The exact value in another unit."""
        return in_unit(self.num, self.den, self.unit, unit)

    def allowance(self, unit: Unit) -> Ratio:
        """How far a conversion of it may be off, in `unit`."""
        last = counted(self.num, self.den, self.places, zeros_count(self.unit))[1]
        return allowance(last, self.unit, unit, self.into(unit))

    def equals(self, other: Figure) -> bool:
        """Whether the bare numbers are equal."""
        return self.num * other.den == other.num * self.den


def amount_of(reading: Reading) -> Figure:
    """What the digits of a reading claim."""
    num, den, places, unit = reading.num, reading.den, reading.places, reading.unit
    if places is None:
        common = gcd(num, den)
        num, den = num // common, den // common
        return Figure(num, den, unit, fraction_places(den), _last_part(reading) or (1, 2 * den))
    zeros = 0
    lost = not zeros_count(unit) or (reading.exact_spread is not None and unit.kind not in ("temperature", "interval"))
    if places == 0 and abs(num) >= 100 and lost:
        digits = str(num)
        zeros = len(digits) - len(digits.rstrip("0"))
    half = (1, 2 * 10**places) if places >= 0 else (10**-places, 2)
    return Figure(num, den, unit, places, half, zeros)


def _last_part(reading: Reading) -> Ratio | None:
    """Half a unit of the last part of a compound such as 2 qt 8 fl oz, in its first unit; None for a fraction."""
    text = reading.text
    last = len(text)
    while last and not text[last - 1].isdigit():
        last -= 1
    while last and not text[last - 1].isspace():
        last -= 1
    found = notation.scan(text, last) if last else None
    if found is None or not isinstance(found[0], Reading) or found[0].unit is reading.unit:
        return None
    part = amount_of(found[0])
    return part.half[0] * part.unit.num * reading.unit.den, part.half[1] * part.unit.den * reading.unit.num


def interval(amount: Figure) -> Figure:
    """A temperature taken as a difference of temperatures."""
    return amount.named(SYMBOLS[_INTERVALS.get(amount.unit.symbol, amount.unit.symbol)])


def as_point(amount: Figure) -> Figure:
    """A difference of temperatures taken as a temperature."""
    return amount.named(_plain(amount.unit))


def _coarsest(stated: Figure, true: Ratio) -> int:
    """The highest place to which `stated`, with its trailing zeros, can be a rounding of `true`."""
    if not stated.zeros or not true[0]:
        return 0
    digits = len(str(abs(stated.num))) - stated.zeros
    return max(0, min(stated.zeros, leading(*true) + 1 - digits))


def _apart(stated: Figure, true: Ratio) -> Ratio:
    over, under = true
    return abs(stated.num * under - over * stated.den), stated.den * under


def is_rounding(stated: Figure, source: Figure) -> bool:
    """Whether the stated number is the source's conversion, within half a unit of its last digit."""
    true = source.into(stated.unit)
    apart, under = _apart(stated, true)
    over, half = stated.half
    if stated.zeros:
        over, half = 10 ** _coarsest(stated, true), 2
    return apart * half <= over * under


def is_conversion(stated: Figure, source: Figure) -> bool:
    """Whether the stated number is an acceptable conversion of the source: a rounding of it, and close enough for a reader."""
    return is_rounding(stated, source) and is_near(stated, source)


def is_near(stated: Figure, source: Figure, limit: bool = False, share: Ratio = SHARE) -> bool:
    """Whether two numbers are within the share allowed for a printed conversion; a limit also within a unit of the source's last digit.

    The share does not apply to temperatures, whose zero is arbitrary; differences of a few degrees are given in whole degrees.
    """
    if stated.unit.kind in ("temperature", "interval"):
        return True
    true = source.into(stated.unit)
    apart, under = _apart(stated, true)
    if apart * true[1] * share[1] <= under * abs(true[0]) * share[0]:
        return True
    over, half = in_unit(*source.half, source.unit, stated.unit)
    return limit and apart * half <= 2 * over * under


def _half_degrees(stated: Figure, source: Figure) -> bool:
    """Whether `stated` may be a whole °F rounded to the nearest half degree (SP 1038 4.4.1.3)."""
    return source.unit.symbol == "°F" and stated.unit.symbol in ("°C", "K") and source.places <= 0 and 2 * stated.num % stated.den == 0


def is_inward(stated: Figure, source: Figure, direction: str) -> bool:
    """Whether a stated limit is the source's limit rounded "up" or "down" at a place that its digits allow."""
    true = source.into(stated.unit)
    if stated.half[0] != 1:  # parts, such as 2 ft 3 in
        return is_rounding(stated, source)
    grain = stated.half[1] // 2
    if to_step(true[0] * grain, true[1], (1, 0), direction) * stated.den == stated.num * grain:
        return True
    places = range(1, _coarsest(stated, true) + 1)
    if any(to_step(*true, (1, place), direction) * 10**place == stated.num for place in places):
        return True
    return _half_degrees(stated, source) and to_step(*true, (5, -1), direction) * stated.den == stated.num * 10


def limits(kind: str, unit: Unit) -> bool:
    """Whether the ends of a span of this kind are limits, rather than estimates."""
    return kind in LIMITS or (kind == "length" and unit.symbol in LEVELS)


def expected_step(source: Figure, unit: Unit) -> Step:
    """The grid to which `rounded` would round the source in `unit`."""
    return step_for(source.num, source.den, source.places, source.unit, unit, source.into(unit))


def expected(source: Figure, unit: Unit, half: Figure | None = None, half_unit: Unit | None = None) -> str:
    """The source as `rounded` writes it in `unit`, with the half-width of its tolerance if it has one."""
    number = _number(source, unit)
    if half is not None:
        number += f" ± {_number(half, half_unit or unit)}"
    return with_symbol(number, _plain(unit))


def _number(source: Figure, unit: Unit) -> str:
    step = expected_step(source, unit)
    return decimal(to_step(*source.into(unit), step), step[1])


def _plain(unit: Unit) -> Unit:
    return SYMBOLS[unit.symbol[1:]] if unit.kind == "interval" else unit


def expected_span(lower: Figure, upper: Figure, unit: Unit) -> str:
    """The source span as it would be written in `unit`: limits inward, estimates to the nearest."""
    low, high, step = _span_in(lower, upper, unit)
    joint = "–" if low >= 0 else " to "
    return with_symbol(decimal(low, step[1]) + joint + decimal(high, step[1]), unit)


def span_step(lower: Figure, upper: Figure, unit: Unit) -> Step:
    """The grid of `expected_span`."""
    return _span_in(lower, upper, unit)[2]


def is_expected(stated: tuple[Figure, ...], source: tuple[Figure, ...]) -> bool:
    """Whether the stated number or limits are what `rounded` or `rounded_inward` return: 1 bar to one digit is 10 psi."""
    unit = stated[0].unit
    if len(source) == 2:
        *counts, step = _span_in(source[0], source[1], unit)
    else:
        step = expected_step(source[0], unit)
        counts = [to_step(*source[0].into(unit), step)]
    over, under = (10 ** step[1], 1) if step[1] >= 0 else (1, 10 ** -step[1])
    return all(s.num * under == count * over * s.den for s, count in zip(stated, counts, strict=True))


def _span_in(lower: Figure, upper: Figure, unit: Unit) -> tuple[int, int, Step]:
    low, high = lower.into(unit), upper.into(unit)
    if limits(unit.kind, unit) and low[0] * high[1] < high[0] * low[1]:
        return inward(low, high, *grid_of_limits(lower, low, upper, high, unit), unit)
    step = coarser(expected_step(lower, unit), expected_step(upper, unit))
    while is_off(low, step, "nearest", lower.allowance(unit)) or is_off(high, step, "nearest", upper.allowance(unit)):
        step = unmistakable(finer(step), unit)
    return to_step(*low, step), to_step(*high, step), step


def digits_too_many(stated: Figure, step: Step) -> int:
    """How many more digits are stated than the grid `step` allows; half degrees count as whole ones."""
    place = 0 if step[0] == 5 else step[1]
    digits = str(abs(stated.num)) if stated.places == 0 == stated.num % stated.den else ""
    return place - (len(digits) - len(digits.rstrip("0")) or -stated.places)


def decimals(over: int, under: int) -> Figure:
    """The half-width of a tolerance; its trailing zeros may or may not be significant, since the number before it sets the decimals."""
    places = 0
    while over * 10**places % under and places < 12:
        places += 1
    whole = str(over // under)
    zeros = len(whole) - len(whole.rstrip("0")) if not places else 0
    return Figure(over, under, SYMBOLS["1"], places, (1, 2 * 10**places), zeros)


def amounts_of(reading: Reading | SpanReading) -> tuple[Figure, ...]:
    """One amount, or the two limits of a span."""
    if isinstance(reading, SpanReading):
        return amount_of(reading.lower), amount_of(reading.upper)
    return (amount_of(reading),)
