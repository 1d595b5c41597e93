"""How many digits a number has, and rounding in whole numbers.

Everything is a ratio of whole numbers until the answer is written, so that a tie is a real tie and a limit is never crossed by a
float's last bit. A *step* (k, p) is the grid a number is rounded to, k·10^p; k is 1, or 5 for half degrees.
"""

from __future__ import annotations

from sumpwise.errors import RangeError
from sumpwise.quantities.units import SYMBOLS, Unit

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import TypeAlias

    Ratio: TypeAlias = tuple[int, int]
    Step: TypeAlias = tuple[int, int]

MOST_DIGITS = 30
LEVELS = ("mm", "cm", "in")
"""Lengths in these units are levels and sizes; longer ones are distances."""
THOUSANDS = ("km", "mi", "mL", "cm³")
"""Symbols of units that are commonly counted in thousands: there one comma before three digits groups, and a point is ambiguous."""
HALF_UNIT = (55, 100)
"""Just over half a unit of the last digit: 29 N·m printed as 21 lbf·ft is off by 0.53 N·m."""
ROUND = 3
"""Up to how many digits written zeros count: 100 N·m has three, 1000 mL no more than that if the conversion is close enough."""
COARSEST = (5, 1)
"""How many units of the original's last digit the last digit of a conversion may stand for: 1000 mL is 33.8 US fl oz, but 1.000 L."""
SHARE = (2, 100)
"""Share of the value by which a printed conversion may be off."""
FRACTION_PLACES = 2
"""The most decimal places a fraction counts for: 5 1/2 counts as 5.5 and 3/8 as 0.38, as in a shop's decimal chart."""


def in_unit(num: int, den: int, unit: Unit, to: Unit) -> Ratio:
    """The exact value of num/den `unit` in `to`, as a ratio with a positive denominator."""
    if unit is to:
        return num, den
    num, den = num * unit.num + unit.offset_num * den, den * unit.den
    return num * to.den - to.offset_num * den, den * to.num


def leading(num: int, den: int) -> int:
    """The power of ten of the first significant digit of num/den, which is not zero."""
    num = abs(num)
    power = (num.bit_length() - den.bit_length()) * 30103 // 100000 - 1
    while _at_least(num, den, power + 1):
        power += 1
    return power


def _at_least(num: int, den: int, power: int) -> bool:
    return num >= den * int(10**power) if power >= 0 else num * int(10**-power) >= den


def to_step(num: int, den: int, step: Step, direction: str = "nearest") -> int:
    """Round num/den to the grid `step`; the answer counts units of 10^p. Ties go to the even multiple of the step.

    Notes
    -----
    NIST SP 811 (2008) B.7.1; ISO 80000-1:2009 Annex B, rule A.
    """
    k, place = step
    if place >= 0:
        den = den * k * 10**place
    else:
        num, den = num * 10**-place, den * k
    whole, rest = divmod(num, den)
    if direction == "up":
        whole += rest > 0
    elif direction == "nearest":
        whole += 2 * rest > den or (2 * rest == den and whole % 2)
    return whole * k


def counted(num: int, den: int, places: int, every_zero: bool = True) -> tuple[int, int]:
    """Significant digits of a number written to `places` decimals, and the power of ten of its last significant digit.

    If `every_zero` is false, the trailing zeros of a whole number from 100 up do not count.
    """
    digits = str(abs(to_step(num, den, (1, -places))))
    kept = digits.rstrip("0") if places <= 0 and len(digits) > 2 and not every_zero else digits
    return len(kept), len(digits) - len(kept) - places


def zeros_count(unit: Unit) -> bool:
    """Whether trailing zeros written in this unit count: yes, except for distances and times, which people round."""
    return unit.kind not in ("length", "time") or unit.symbol in LEVELS


def step_for(num: int, den: int, places: int, unit: Unit, to: Unit, converted: Ratio, every_zero: bool = False) -> Step:
    """The grid that a conversion of num/den `unit`, written to `places` decimals, is rounded to.

    Notes
    -----
    NIST SP 1038 (2006) 4.4.1.1: as many digits as the original if the first significant digit of the result is at least that of the
    original, else one more (the consistent relative rounding error of SP 811 B.7.2). 4.4.1.3: whole degrees Fahrenheit to the nearest
    half degree Celsius; other temperatures keep their decimals, since on a scale with an arbitrary zero the decimal place says how well a
    value is known. More digits, if the result would be off by more than `allowance`, or if its last digit would stand for more than
    `COARSEST` units of the original's last. Never three decimals of a unit that is counted in thousands: 5.667 km reads as 5667 km where
    a point groups.
    """
    over, under = converted
    digits, last = counted(num, den, places, every_zero or zeros_count(unit))
    if digits > ROUND:
        digits = max(ROUND, counted(num, den, places, every_zero=False)[0])
    if to.kind == "temperature":
        step = (5, -1) if unit.symbol == "°F" and to.symbol != "°F" and places <= 0 else (1, -max(places, 0))
    elif not num or not over:
        return (1, -places)
    else:
        first, power = leading(num, den), leading(over, under)
        less = to_step(abs(over), under, (1, power), "down") < to_step(abs(num), den, (1, first), "down")
        step = (1, power + 1 - digits - less)
    allowed, widest = allowance(last, unit, to, converted), _in_last_digits(COARSEST, last, unit, to)
    while is_off(converted, step, "nearest", allowed) or _is_wider(step, widest):
        step = finer(step)
    return unmistakable(step, to)


def unmistakable(step: Step, to: Unit) -> Step:
    """Four decimals instead of three, for a unit that is counted in thousands."""
    return (1, -4) if step[1] == -3 and to.symbol in THOUSANDS else step


def _in_last_digits(share: Ratio, last: int, unit: Unit, to: Unit) -> Ratio:
    """A share of 10^last `unit`, in `to`."""
    over, under = (10**last, 1) if last >= 0 else (1, 10**-last)
    return share[0] * over * unit.num * to.den, share[1] * under * unit.den * to.num


def _is_wider(step: Step, widest: Ratio) -> bool:
    k, place = step
    over, under = widest
    return k * under * int(10**place) > over if place >= 0 else k * under > over * int(10**-place)


def allowance(last: int, unit: Unit, to: Unit, converted: Ratio) -> Ratio:
    """How far from the exact conversion a printed one may be, in `to`.

    Just over half a unit of the original's last significant digit (10^last `unit`), and at most 2 % of the value; the percentage does
    not apply to a temperature, whose zero is arbitrary.
    """
    half = _in_last_digits(HALF_UNIT, last, unit, to)
    share = SHARE[0] * abs(converted[0]), SHARE[1] * converted[1]
    if to.kind == "temperature" or half[0] * share[1] <= share[0] * half[1]:
        return half
    return share


def is_off(exact: Ratio, step: Step, direction: str, allowed: Ratio) -> bool:
    """Whether a number rounded to the grid is further from the exact one than allowed."""
    over, under = exact
    count, place = to_step(over, under, step, direction), step[1]
    whole, part = (int(10**place), 1) if place >= 0 else (1, int(10**-place))
    return abs(count * whole * under - over * part) * allowed[1] > allowed[0] * under * part


def finer(step: Step) -> Step:
    """The same grid with one more digit."""
    k, place = step
    return (1, place) if k == 5 else (1, place - 1)


def coarser(a: Step, b: Step) -> Step:
    """The coarser of two grids."""
    return max(a, b, key=lambda s: (s[1], s[0]))


def inward(
    lower: Ratio, upper: Ratio, step: Step, allowed: tuple[Ratio, Ratio] | None = None, to: Unit | None = None
) -> tuple[int, int, Step]:
    """Round two limits inward to a common grid, fine enough for the window to keep nine tenths of its width.

    The limits are exact ratios, in the unit `to` if they are written in one; `step` is the grid to begin with, and `allowed` how far each
    limit may move at most.

    Notes
    -----
    NIST SP 1038 (2006) 4.4.1: limits are rounded so that the original limit is not violated.
    """
    (a, b), (c, d) = lower, upper
    width = c * b - a * d  # over b·d
    while True:
        step = step if to is None else unmistakable(step, to)
        low, high = to_step(a, b, step, "up"), to_step(c, d, step, "down")
        place = step[1]
        kept, of = (high - low) * b * d, width
        if place >= 0:
            kept *= 10**place
        else:
            of *= 10**-place
        if low <= high and 10 * kept >= 9 * of and not (
            allowed and (is_off(lower, step, "up", allowed[0]) or is_off(upper, step, "down", allowed[1]))
        ):
            return low, high, step
        if width == 0 and place < -MOST_DIGITS:
            raise RangeError(
                "the limits are equal, and no rounded number lies between them", code="range.equal",
                hint="round a single value with rounded(...)",
            )  # fmt: skip
        step = finer(step)


def decimal(count: int, place: int) -> str:
    """Write count·10^place in full, trailing zeros kept, in groups of three from five digits on (NIST SP 811 10.5.3)."""
    sign, digits = ("−" if count < 0 else ""), str(abs(count))
    if place > 0:
        digits, place = digits + "0" * place if count else digits, 0
    if max(len(digits), 1 - place) > 40:
        power = len(digits) - 1 + place
        return f"{sign}{digits[0]}.{digits[1:].rstrip('0') or '0'}e{power}"
    digits = digits.rjust(1 - place, "0")
    whole, part = digits[: len(digits) + place], digits[len(digits) + place :]
    if len(whole) > 4:
        whole = f"{int(whole):,}".replace(",", " ")
    if len(part) > 4:
        part = " ".join(part[i : i + 3] for i in range(0, len(part), 3))
    return f"{sign}{whole}.{part}" if part else sign + whole


def as_float(count: int, place: int) -> float:
    """The float nearest to count·10^place."""
    return float(count * 10**place) if place >= 0 else count / 10**-place


def with_symbol(number: str, unit: Unit) -> str:
    """A number with its unit's symbol, after a space."""
    return number if unit.symbol == "1" else f"{number} {unit.symbol}"


def fraction_places(den: int) -> int:
    """Decimals that a fraction of this denominator counts for."""
    return 0 if den == 1 else 1 if 10 % den == 0 else FRACTION_PLACES


def below_absolute_zero(count: int, place: int, unit: Unit) -> bool:
    """Whether count·10^place of a temperature unit is below absolute zero."""
    over, under = (count * 10**place, 1) if place >= 0 else (count, 10**-place)
    kelvin, per = in_unit(over, under, unit, SYMBOLS["K"])
    return kelvin < 0 < per
