"""Laws of rounding, against exact fractions."""

from __future__ import annotations

import re
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from laws.lawbook import examples, law
from sumpwise.quantities import notation
from sumpwise.quantities.digits import counted, zeros_count
from sumpwise.quantities.rounding import rounded, rounded_inward
from sumpwise.quantities.units import SYMBOLS, by_symbol

VOLUMES = ("L", "mL", "US qt", "imp qt", "US gal", "US fl oz", "imp fl oz", "in³")
TEMPERATURES = ("°C", "°F", "K")
TORQUES = ("N·m", "lbf·ft", "lbf·in", "kgf·m", "kgf·cm")
COLDEST = {"°C": Fraction("-273.15"), "°F": Fraction("-459.67"), "K": Fraction(0)}
LENGTHS = ("mm", "in", "km", "mi", "ft", "m")


def two_of(*kinds: tuple[str, ...]) -> st.SearchStrategy[tuple[str, str]]:
    return st.sampled_from(kinds).flatmap(lambda kind: st.tuples(st.sampled_from(kind), st.sampled_from(kind)))


units = two_of(VOLUMES, TEMPERATURES, TORQUES, LENGTHS)
directions = st.sampled_from(("nearest", "down", "up"))


def written(count: int, places: int) -> str:
    text = str(count).rjust(places + 1, "0")
    return f"{text[:-places]}.{text[-places:]}" if places else text


numbers = st.builds(written, st.integers(1, 999_999), st.sampled_from((0, 1, 2, 4)))  # three decimals may be thousands


def clear(text: str) -> str:
    """An answer, its point made clear where it would be read as one of thousands."""
    return re.sub(r"^(\S{1,4}\.\d{3}) (?!\d)", r"\g<1>0 ", text)


def exact(text: str, to: str) -> Fraction:
    """The truth by fractions, from the reading alone."""
    reading, unit = notation.read(text), by_symbol(to)
    internal = (Fraction(reading.num, reading.den) * reading.unit.num + reading.unit.offset_num) / reading.unit.den
    return (internal * unit.den - unit.offset_num) / unit.num


@law("rounded")
@given(numbers, units, st.integers(1, 12))
def test_half_a_unit_at_most(number: str, pair: tuple[str, str], digits: int) -> None:
    """A number rounded to n digits lies within half a unit of its nth digit, and has n digits."""
    written, to = pair
    truth = exact(f"{number} {written}", to)
    answer = rounded(f"{number} {written}", to, digits)
    reading = notation.read(clear(answer.text))
    if truth == 0:
        return
    size = 0
    while abs(truth) >= Fraction(10) ** (size + 1):
        size += 1
    while abs(truth) < Fraction(10) ** size:
        size -= 1
    unit = Fraction(10) ** (size + 1 - digits)
    colder = to in COLDEST and round(truth / unit) * unit < COLDEST[to]  # nothing is rounded below absolute zero
    assert abs(Fraction(reading.num, reading.den) - truth) <= (unit if colder else unit / 2)
    assert (Fraction(reading.num, reading.den) / unit).denominator == 1


@law("rounded")
@given(numbers, units)
def test_down_nearest_up(number: str, pair: tuple[str, str]) -> None:
    """Rounding down stays below the truth, rounding up above it, and the nearest is one of the two."""
    written, to = pair
    truth = exact(f"{number} {written}", to)
    answers = (notation.read(rounded(f"{number} {written}", to, direction=d).text) for d in ("down", "nearest", "up"))
    down, near, up = (Fraction(answer.num, answer.den) for answer in answers)
    assert down <= truth <= up
    assert near in (down, up)
    assert abs(near - truth) <= min(truth - down, up - truth)


@law("rounded")
@given(numbers, units, directions)
def test_rounded_once(number: str, pair: tuple[str, str], direction: str) -> None:
    """What is rounded is not changed by rounding it again."""
    written, to = pair
    once = rounded(f"{number} {written}", to, direction=direction)
    assert rounded(once, to, direction=direction).text == once.text
    assert rounded(once.text, to, direction=direction).text == once.text


@law("rounded")
@given(numbers, two_of(VOLUMES, TORQUES, LENGTHS))
def test_nothing_known_is_lost(number: str, pair: tuple[str, str]) -> None:
    """The relative rounding error of the answer is below twice that of the original: the first digits alone are compared."""
    written, to = pair
    original = notation.read(f"{number} {written}")
    value, places = Fraction(original.num, original.den), original.places or 0
    last_digit = Fraction(10) ** counted(original.num, original.den, places, zeros_count(original.unit))[1]
    truth = exact(f"{number} {written}", to)
    answer = notation.read(rounded(f"{number} {written}", to).text)
    assert abs(Fraction(answer.num, answer.den) - truth) / truth < 2 * (last_digit / 2 / value)


EVERY_KIND = tuple(
    symbols
    for kind in {unit.kind for unit in SYMBOLS.values()}
    if len(symbols := tuple(s for s, unit in SYMBOLS.items() if unit.kind == kind and s != "1")) > 1
)
round_numbers = st.builds(lambda count, zeros: f"{count}{'0' * zeros}", st.integers(1, 999), st.integers(0, 4))


@law("rounded")
@examples(1000)
@given(numbers | round_numbers, two_of(*EVERY_KIND))
def test_no_conversion_is_far_off(number: str, pair: tuple[str, str]) -> None:
    """No conversion is off by more than half a unit of the original's last digit that counts (to a tenth), nor by 2 % of the value."""
    written, to = pair
    truth = exact(f"{number} {written}", to)
    reading = notation.read(rounded(f"{number} {written}", to).text)
    off = abs(Fraction(reading.num, reading.den) - truth)
    digits = number.partition(".")[2]
    places = -len(digits)
    if not digits and len(number) > 2 and by_symbol(written).kind in ("length", "time") and written not in ("mm", "cm", "in"):
        places = len(number) - len(number.rstrip("0"))
    last = Fraction(10) ** places * Fraction(by_symbol(written).num, by_symbol(written).den)
    assert off * Fraction(by_symbol(to).num, by_symbol(to).den) <= last * Fraction("0.55")
    if by_symbol(to).kind != "temperature":
        assert off <= abs(truth) / 50


@law("rounded_inward")
@given(numbers, numbers, units)
def test_never_wider_than_the_truth(one: str, other: str, pair: tuple[str, str]) -> None:
    """Limits rounded inward lie within the true limits and keep nine tenths of their width."""
    written, to = pair
    low, high = sorted((one, other), key=Fraction)
    if Fraction(low) == Fraction(high):
        return
    window = rounded_inward(f"{low} to {high} {written}", to)
    reading = notation.read_span(window.text)
    least, most = (exact(f"{value} {written}", to) for value in (low, high))
    lower, upper = (Fraction(r.num, r.den) for r in (reading.lower, reading.upper))
    assert least <= lower <= upper <= most
    assert (upper - lower) * 10 >= (most - least) * 9
    assert window.lower.magnitude == reading.lower.value
    assert window.upper.magnitude == reading.upper.value


@law("rounded")
@given(st.integers(1, 10**9), st.integers(1, 10**6), st.integers(0, 6))
def test_two_digits_of_the_uncertainty(count: int, doubt: int, places: int) -> None:
    """The uncertainty of the answer has two digits and lies within half a unit of its second digit of the truth."""
    text = rounded(f"{written(count, places)}({doubt}) L", "L").text
    reading = notation.read(text)
    assert reading.exact_spread is not None
    _, over, under = reading.exact_spread
    true = Fraction(doubt, 10**places)
    assert abs(Fraction(over, under) - true) <= true / 18
    if reading.places:
        assert 10 <= Fraction(over, under) * 10**reading.places <= 99
