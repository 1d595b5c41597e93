"""`rounded` and `rounded_inward`: what they accept, what they answer, what they refuse."""

from __future__ import annotations

import math
import pickle
from fractions import Fraction

import numpy
import pint
import pytest

from sumpwise import uncertainty
from sumpwise.errors import RangeError, SumpwiseError, UnitError
from sumpwise.quantities import _pint
from sumpwise.quantities.asking import quantity, span
from sumpwise.quantities.digits import as_float, below_absolute_zero, decimal, fraction_places, inward, leading, to_step
from sumpwise.quantities.rounding import rounded, rounded_inward
from sumpwise.quantities.spans import Span
from sumpwise.quantities.units import by_symbol


@pytest.mark.parametrize(
    ("value", "to", "text"),
    [
        ("6.1 L", "US qt", "6.4 US qt"),
        ("8.85 L", "US qt", "9.35 US qt"),
        ("1.00 L", "US qt", "1.06 US qt"),
        ("5½ qt", "L", "5.2 L"),
        ("5 1/4 qt", "L", "4.968 L"),
        ("3/8 in", "mm", "9.5 mm"),
        ("2 qt 8 fl oz", "L", "2.13 L"),
        ("20 N·m", "lbf·ft", "14.8 lbf·ft"),
        ("34 N·m", "lbf·ft", "25.1 lbf·ft"),
        ("56 000 km", "mi", "34 800 mi"),  # 3 < 5: one digit more than the two of the original
        ("62 mi", "km", "100 km"),
        ("100 km", "mi", "62 mi"),  # a round distance may lose its zeros, but not 2 % of its value
        ("20 L", "US qt", "21 US qt"),  # below 100 they do
        ("82 °C", "°F", "180 °F"),
        ("80 °C", "°F", "176 °F"),
        ("100 °C", "°F", "212 °F"),
        ("82.0 °C", "°F", "179.6 °F"),
        ("179.6 °F", "°C", "82.0 °C"),
        ("180 °F", "K", "355.5 K"),
        ("−40 °F", "°C", "−40.0 °C"),
        ("18 Δ°F", "Δ°C", "10 Δ°C"),
        ("0 L", "US qt", "0 US qt"),
        ("0.00 L", "US qt", "0.00 US qt"),
        ("0 °C", "°F", "32 °F"),
        ("90 %", "1", "0.90"),
        ("0.224", "%", "22.4 %"),
        ("34 nm", "lbf·ft", "25.1 lbf·ft"),
        ("-0.4 mm", "mm", "−0.4 mm"),
        ("1234567.5 mL", "L", "1234.5675 L"),
        ("200 lbf·ft", "N·m", "271 N·m"),  # written zeros count
        ("100 N·m", "lbf·ft", "73.8 lbf·ft"),
        ("1000 mL", "US fl oz", "33.8 US fl oz"),
        ("1000 mL", "L", "1.000 L"),
        ("100 kPa", "psi", "14.5 psi"),
        ("11 mi", "km", "18 km"),
        ("29 N·m", "lbf·ft", "21 lbf·ft"),
        ("8 ft", "m", "2.4 m"),
        ("4 L", "US qt", "4.2 US qt"),
        ("1 US gal", "L", "3.8 L"),
        ("60 000 mi", "km", "97 000 km"),  # not 100 000, which is off by 3.6 %
        ("1 bar", "psi", "14.5 psi"),
        ("9.12 km", "mi", "5.6669 mi"),  # three decimals of a mile are read as thousands where a point groups
    ],
)
def test_digits_of_the_original(value: str, to: str, text: str) -> None:
    assert rounded(value, to).text == text
    written = quantity(value) if value[-1] != "4" and "nm" not in value else value
    assert rounded(written, to).text == text


@pytest.mark.parametrize(
    ("value", "to", "text"),
    [
        ("8.850(62) L", "L", "8.850(62) L"),
        ("8.85(6) L", "L", "8.850(60) L"),
        ("8.0 ± 0.3 L", "US qt", "8.45 ± 0.32 US qt"),
        ("80.0 ± 1.5 °C", "°F", "176.0 ± 2.7 °F"),
        ("1.000 ± 0.0996 L", "L", "1.00 ± 0.10 L"),  # 0.0996 to two digits is 0.10
        ("12 ± 400 L", "L", "10 ± 400 L"),
        ("12345(4000) L", "L", "12 300(4000) L"),
        ("5 ± 0 L", "US qt", "5.3 US qt"),
    ],
)
def test_an_uncertainty_says_how_far_the_number_goes(value: str, to: str, text: str) -> None:
    assert rounded(value, to).text == text


def test_an_uncertain_result_gets_two_digits_of_its_uncertainty() -> None:
    volume = _pint.build(uncertainty.source(8.853712, 0.06214), _pint.unit_of(quantity("1 L")))
    answer = rounded(volume, "L")
    assert answer.text == "8.854(62) L"
    assert answer.magnitude == 8.854
    assert rounded(volume, "L", digits=2).text == "8.9(1) L"
    assert rounded(volume, "L", digits=1).text == "9(1) L"  # an uncertainty never rounds to nothing


@pytest.mark.parametrize(
    ("value", "to", "digits", "direction", "text"),
    [
        ("1 US gal", "L", 2, "down", "3.7 L"),
        ("1 US gal", "L", 2, "up", "3.8 L"),
        ("1 US gal", "L", 1, "nearest", "4 L"),
        ("2.5 mm", "mm", 1, "nearest", "2 mm"),
        ("3.5 mm", "mm", 1, "nearest", "4 mm"),
        ("0.25 mm", "mm", 1, "nearest", "0.2 mm"),
        ("9.96 mm", "mm", 2, "nearest", "10.0 mm"),
        ("-1.5 mm", "mm", 1, "down", "−2 mm"),
        ("-1.5 mm", "mm", 1, "up", "−1 mm"),
        ("180 °F", "°C", 4, "nearest", "82.22 °C"),
        ("180 °F", "°C", None, "up", "82.5 °C"),
        ("123456 mL", "mL", 2, "nearest", "120 000 mL"),
    ],
)
def test_asked_digits_and_directions(value: str, to: str, digits: int | None, direction: str, text: str) -> None:
    assert rounded(value, to, digits, direction).text == text


def test_ties_are_real_ties() -> None:
    """0.675 as a float lies below the tie, and 2.675 too; the text does not."""
    assert rounded("0.675 L", "L", 2).text == "0.68 L"
    assert rounded("2.665 L", "L", 3).text == "2.66 L"
    assert rounded("0.5 in", "mm", 2).text == "13 mm"
    assert rounded("2.5 in", "mm", 3).text == "63.5 mm"
    assert rounded("82.25 °C", "°C", 3).text == "82.2 °C"


def test_nothing_is_rounded_below_absolute_zero() -> None:
    assert rounded("0.0 K", "°C").text == "−273.1 °C"
    assert rounded(rounded("0 K", "°F").text, "K").magnitude >= 0


def test_answers_come_in_the_registry_that_asked() -> None:
    registry = pint.UnitRegistry()
    answer = rounded(registry.Quantity(6.1, "litre"), "US qt")
    assert answer.text == "6.4 US qt"
    assert answer._REGISTRY is registry
    assert answer.m_as("quart") == 6.4
    assert rounded(registry.Quantity(6.1, "litre"), registry.Unit("quart")).text == "6.4 US qt"
    window = rounded_inward((registry.Quantity(31, "N*m"), registry.Quantity(37, "N*m")), "lbf·ft")
    assert window.lower._REGISTRY is registry


def test_a_unit_of_the_callers_own_is_exact_too() -> None:
    registry = pint.UnitRegistry()
    assert rounded(registry.Quantity(500, "degree_Rankine"), "°F").text == "40 °F"
    assert rounded(registry.Quantity(1, "hogshead"), "L", 4).text == "238.5 L"


def test_the_text_counts_only_while_it_is_true() -> None:
    written = quantity("1.00 L")
    assert rounded(written, "L").text == "1.00 L"
    written.ito("mL")
    written._magnitude = 1000.0  # whatever the last digit of pint's own conversion is
    assert written.text == "1.00 L"
    assert rounded(written, "L").text == "1.000 L"
    other = quantity("1.00 L")
    other._magnitude = 2.5
    assert rounded(other, "L").text == "2.5 L"


def test_the_answer_is_read_back_as_itself() -> None:
    answer = rounded("56 000 km", "mi")
    assert quantity(answer.text).magnitude == answer.magnitude == 34800.0
    assert pickle.loads(pickle.dumps(answer)).magnitude == 34800.0


@pytest.mark.parametrize(
    ("value", "to", "text"),
    [
        ("31–37 N·m", "lbf·ft", "22.9–27.2 lbf·ft"),
        ("31 to 37 N·m", "N·m", "31–37 N·m"),
        ("8.5–10.5 N·m", "lbf·in", "75.3–92.9 lbf·in"),
        ("82–92 °C", "°F", "180–197 °F"),
        ("40–45 °C", "°F", "104–113 °F"),
        ("158–176 °F", "°C", "70.0–80.0 °C"),
        ("180–200 °F", "°C", "82.3–93.3 °C"),
        ("80.0–82.0 °C", "°F", "176.0–179.6 °F"),
        ("3–6 mm", "in", "0.119–0.236 in"),
        ("2.0–2.5 bar", "psi", "29.1–36.2 psi"),
        ("5–6 L", "US qt", "5.3–6.3 US qt"),  # whole quarts would leave 6 alone: the window would empty
        ("−10 to 5 °C", "°F", "14–41 °F"),
        ("-40 to -30 °C", "°F", "−40 to −22 °F"),
        ("5 to 5 L", "mL", "5000–5000 mL"),
        ("1/2-3/4 in", "mm", "12.7–19.0 mm"),
    ],
)
def test_limits_go_inward(value: str, to: str, text: str) -> None:
    assert rounded_inward(value, to).text == text
    assert rounded_inward(span(value), to).text == text


def test_computed_limits_get_the_digits_that_keep_nine_tenths() -> None:
    newton_metre = _pint.unit_of(quantity("1 N·m"))
    band = Span(_pint.build(31 / 0.96, newton_metre), _pint.build(37 / 1.04, newton_metre))
    assert rounded_inward(band, "N·m").text == "32.3–35.5 N·m"


def test_a_span_whose_limits_were_changed_is_taken_as_it_is_now() -> None:
    window = span("31–37 N·m")
    assert rounded_inward(Span(window.lower, quantity("36.0 N·m"), window.text), "N·m").text == "31–36 N·m"


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: rounded("6.1 L", "N·m"), "volume"),
        (lambda: rounded(quantity("6.1 L"), "N·m"), "volume"),
        (lambda: rounded("6.1", "L"), "no unit"),
        (lambda: rounded(6.1, "L"), "no unit"),
        (lambda: rounded(None, "L"), "no unit"),
        (lambda: rounded("6.1 L", "nonsense"), "unit"),
        (lambda: rounded("6.1 L", None), "not a unit"),
        (lambda: rounded("6.1 L", 3), "not a unit"),
        (lambda: rounded("6.1 L", "US qt", 0), "digits"),
        (lambda: rounded("6.1 L", "US qt", 31), "digits"),
        (lambda: rounded("6.1 L", "US qt", True), "digits"),
        (lambda: rounded("6.1 L", "US qt", 2.0), "digits"),
        (lambda: rounded("6.1 L", "US qt", direction="sideways"), "direction"),
        (lambda: rounded("82–92 °C", "°F"), "span"),
        (lambda: rounded_inward("82 °C", "°F"), "span"),
        (lambda: rounded_inward(82, "°F"), "span"),
        (lambda: rounded_inward("82–92 °C", "L"), "temperature"),
        (lambda: rounded_inward("5 to 5 L", "US qt"), "equal"),
        (lambda: rounded_inward(("7 L", "5 L"), "US qt"), "above"),
        (lambda: rounded(quantity("1 L") / 3, "US qt"), "digits="),
        (lambda: rounded(_pint.build(numpy.array([1.0, 2.0]), _pint.unit_of(quantity("1 L"))), "US qt"), "one by one"),
        (lambda: rounded(_pint.build(float("nan"), _pint.unit_of(quantity("1 L"))), "US qt"), "finite"),
    ],
)
def test_refusals_say_what_is_wrong(call: object, words: str) -> None:
    with pytest.raises(SumpwiseError, match=words):
        call()  # type: ignore[operator]


def test_kinds_of_errors() -> None:
    with pytest.raises(UnitError):
        rounded("6.1 L", "N·m")
    with pytest.raises(RangeError):
        rounded("6.1 L", "US qt", 99)


@pytest.mark.parametrize(
    ("count", "place", "text"),
    [
        (0, 0, "0"), (0, -2, "0.00"), (0, 3, "0"), (5, -3, "0.005"), (-5, -1, "−0.5"), (9999, 0, "9999"), (10000, 0, "10 000"),
        (123456789, -5, "1234.567 89"), (12, 3, "12 000"), (1234567, -7, "0.123 456 7"), (13, 60, "1.3e61"), (7, -60, "7.0e-60"),
    ],
)  # fmt: skip
def test_numbers_are_written_in_groups_of_three(count: int, place: int, text: str) -> None:
    assert decimal(count, place) == text


def test_inward_limits_step_from_half_degrees_to_tenths():
    # 86.111 to 87.778 °C: halves keep 1.0 of 1.667, tenths keep 1.5, which is nine tenths exactly
    assert rounded_inward(span("187 to 190 °F"), "°C").text == "86.2–87.7 °C"
    # the coarser of the two limits' steps counts, whichever limit has it
    assert rounded_inward(span("187.5 to 195 °F"), "°C").text == "86.4–90.5 °C"  # a tenth of a degree Fahrenheit is no half degree
    assert rounded_inward(span("187 to 195.0 °F"), "°C").text == "86.12–90.55 °C"  # 195.0 °F are 90.556 °C: 90.5 would be off by 0.1 °F


def test_equal_limits_are_written_out_where_a_number_lies_on_them():
    inch = quantity("1 in")
    found = rounded_inward(Span(inch, inch), "mm")
    assert found.lower.magnitude == found.upper.magnitude == pytest.approx(25.4)
    warm = quantity("187 °F")
    with pytest.raises(RangeError, match="equal"):
        rounded_inward(Span(warm, warm), "°C")


def test_no_rounding_goes_below_absolute_zero():
    for text in ("-270 °C", "-260 °C"):
        assert rounded(text, "°C", 1).magnitude == -200  # not -300 °C
    assert rounded("-240 °C", "°C", 1).magnitude == -200
    assert rounded("-273.1 °C", "°C", 4).magnitude == -273.1


def test_negative_numbers_keep_their_sign():
    assert rounded(quantity(-5.26, "L"), "L", 2).magnitude == -5.3


def test_numbers_with_an_exponent_are_what_they_say():
    for number, digits, answer in ((1e22, 1, 1e22), (2.46e25, 2, 2.5e25), (2.46e-25, 2, 2.5e-25), (-1.5e300, 2, -1.5e300)):
        assert rounded(quantity(number, "L"), "L", digits).magnitude == answer


@pytest.mark.parametrize("place", [-3, -1, 0, 2])
@pytest.mark.parametrize("k", [1, 5])
def test_numbers_go_to_a_grid_as_fractions_do(k, place):
    grid = k * Fraction(10) ** place
    for num in range(-60, 61):
        for den in (1, 3, 4, 7):
            over = Fraction(num, den) / grid
            for direction, whole in (("nearest", round(over)), ("down", math.floor(over)), ("up", math.ceil(over))):
                assert to_step(num, den, (k, place), direction) == whole * k


def test_the_first_digit_stands_where_its_power_of_ten_says():
    for power in (-40, -3, -1, 0, 1, 2, 40):
        for first in (Fraction(1), Fraction(999, 1000), Fraction(1001, 1000), Fraction(-7), Fraction(99999, 10000)):
            number = first * Fraction(10) ** power
            found = leading(number.numerator, number.denominator)
            assert Fraction(10) ** found <= abs(number) < Fraction(10) ** (found + 1)


def test_limits_of_any_size_go_inward_exactly():
    # tenths keep 0.9 of 0.05 to 1.05, which is nine tenths exactly, and less of 0.05 to 1.055; as ratios that are no floats any more
    many = 10**400
    assert inward((many, 20 * many), (21 * many, 20 * many), (1, -1)) == (1, 10, (1, -1))
    assert inward((many, 20 * many), (211 * many, 200 * many), (1, -1)) == (5, 105, (1, -2))
    assert inward((5 * many, many), (105 * many, many), (1, 1)) == (1, 10, (1, 1))
    # 1.01 to 1.04 keeps 0.030 of 0.044, and 1.001 to 1.045 all of it
    assert inward((1001, 1000), (1045, 1000), (1, -2)) == (1001, 1045, (1, -3))
    # a window narrower than any digit that is printed is not a single value
    assert inward((1, 10**40), (2, 10**40), (1, 0)) == (1, 2, (1, -40))


def test_a_rounded_number_is_the_nearest_float():
    for count in (1, 3, 7, 35, 123_457, -89):
        for place in range(-30, 31):
            assert as_float(count, place) == float(count * Fraction(10) ** place)


def test_no_uncertainty_prints_none():
    assert rounded("8.0 ± 0 L", "US qt").text == rounded("8.0 L", "US qt").text == "8.5 US qt"


def test_a_span_keeps_the_digits_of_its_text_as_long_as_it_says_the_same():
    # four digits of N·m are five of lbf·ft here, and three are four: the result begins with 2, the original with 3 (SP 1038 4.4.1.1)
    registry = pint.get_application_registry()
    bare = registry.Quantity(31.5, "N*m"), registry.Quantity(37.5, "N*m")
    assert rounded_inward(Span(*bare, "31.50 to 37.50 N·m"), "lbf·ft").text == "23.234–27.658 lbf·ft"
    assert rounded_inward(Span(*bare, "31.50 to 37.6 N·m"), "lbf·ft").text == rounded_inward(bare, "lbf·ft").text == "23.24–27.65 lbf·ft"


def test_absolute_zero_is_where_it_is_to_the_last_digit():
    for symbol, coldest in (("°C", "-273.15"), ("°F", "-459.67"), ("K", "0")):
        unit = by_symbol(symbol)
        for place in (-2, -3, -25):
            count = int(Fraction(coldest) / Fraction(10) ** place)
            assert not below_absolute_zero(count, place, unit)
            assert below_absolute_zero(count - 1, place, unit)
        assert below_absolute_zero(-1, 400, unit)
        assert not below_absolute_zero(1, 400, unit)
        assert below_absolute_zero(-5, 2, unit)
        assert not below_absolute_zero(0, 0, unit)


def test_thirty_digits_are_the_most():
    assert rounded("1 US gal", "L", digits=30).text.replace(" ", "") == "3.785411784" + 20 * "0" + "L"
    with pytest.raises(RangeError, match="1 to 30"):
        rounded("1 US gal", "L", digits=31)


def test_numbers_of_more_than_forty_figures_are_written_by_powers():
    assert decimal(1, -39).replace(" ", "") == "0." + 38 * "0" + "1"
    assert decimal(1, -40) == "1.0e-40"
    assert decimal(7, 39).replace(" ", "") == "7" + 39 * "0"
    assert decimal(-72, 39) == "−7.2e40"


def test_two_nines_are_two_digits():
    # 99 L are 104.61 US qt, which begins with less than 9: three digits
    assert rounded("99 L", "US qt").text == "105 US qt"


def test_what_a_number_is_taken_for():
    with pytest.raises(UnitError, match="has no unit"):
        rounded(847.0, "kg/m³")
    for kind, to in (("degC", "L"), ("L", "°C")):
        with pytest.raises(UnitError, match="cannot be written in"):
            rounded(pint.Quantity(85.0, kind), to)


def test_the_lower_limit_of_a_span_has_its_own_digits():
    assert rounded(span("31.0–37.0 N·m").lower, "lbf·ft").text == "22.86 lbf·ft"


def test_an_uncertainty_keeps_two_digits_up_to_ninety_nine():
    assert rounded("8.0000(991) L", "L").text == "8.000(99) L"
    assert rounded("8.0000(996) L", "L").text == "8.00(10) L"


def test_nothing_keeps_its_places():
    assert rounded("0.00 L", "US qt", digits=2).text == "0.00 US qt"


def test_a_negative_length_is_rounded_to_the_nearest():
    assert rounded("-5.0 mm", "in").text == "−0.197 in"  # 0.19685
    assert rounded("-500.8 mm", "in").text == "−19.717 in"  # 19.71654: no absolute zero is near


def test_the_places_of_a_fraction():
    assert [fraction_places(den) for den in (1, 2, 5, 10, 4, 3, 8)] == [0, 1, 1, 1, 2, 2, 2]


def test_equal_limits_without_a_short_decimal_are_given_up_wherever_they_start():
    with pytest.raises(RangeError, match="the limits are equal"):
        inward((1, 3), (1, 3), (1, -40))


@pytest.mark.parametrize(
    ("lower", "upper", "text"),
    [
        (32.291666666666664, 35.57692307692308, "32.3–35.5 mm"),  # units keep nothing of 3.285 or two of three, tenths 3.2
        (1234.5678901234567, 1333.3333333333333, "1240–1330 mm"),  # tens keep 90 of 98.8
        (-20.123456789012, -10.98765432109876, "−20 to −11 mm"),  # units keep 9 of 9.14
        (0.30000000000000004, 0.30000000000000004, "0.300 000 000 000 000 04–0.300 000 000 000 000 04 mm"),
        (0.0, 0.0, "0–0 mm"),
    ],
)
def test_computed_limits_have_as_many_digits_as_keep_nine_tenths(lower, upper, text):
    registry = pint.get_application_registry()
    assert rounded_inward((registry.Quantity(lower, "mm"), registry.Quantity(upper, "mm")), "mm").text == text


def test_spans_are_equal_by_both_limits():
    whole = span("31–37 N·m")
    assert whole == Span(whole.lower, whole.upper)
    assert whole != span("31–38 N·m")
    assert whole != span("30–37 N·m")
    assert whole != span("32–37 N·m")
    assert whole != (whole.lower, whole.upper)


def test_half_a_unit_is_read_to_a_tenth_of_it():
    """200.637 kPa: 201 kPa are off by 0.053 psi, which is half of the last tenth of a psi."""
    assert rounded("29.1 psi", "kPa").text == "201 kPa"
    assert rounded("2.125 L", "qt").text == "2.245 US qt"


def test_tenths_of_a_fahrenheit_keep_tenths():
    """Half a degree is for whole degrees alone (NIST SP 1038, 4.4.1.3)."""
    assert rounded("98.4 °F", "°C").text == "36.9 °C"
    assert rounded("98.42 °F", "°C").text == "36.90 °C"
    assert rounded("98 °F", "°C").text == "36.5 °C"


def test_a_float_of_twelve_digits_was_written_and_one_of_thirteen_was_computed():
    litre = pint.get_application_registry().litre
    assert rounded(1.23456789012 * litre, "L").text == "1.234 567 890 12 L"
    with pytest.raises(RangeError, match="is a computed number"):
        rounded(1.234567890123 * litre, "L")


def test_what_no_float_holds_in_the_other_unit_is_refused():
    with pytest.raises(RangeError, match="is too large for a number") as caught:
        rounded("9e307 L", "mL")
    assert caught.value.code == "number.too_large"


@pytest.mark.parametrize("text", ["from 31 on", "30–37 N·m"])
def test_a_span_is_rounded_by_its_limits_if_its_text_says_something_else(text):
    whole = span("31–37 N·m")
    assert rounded_inward(Span(whole.lower, whole.upper, text), "lbf·ft").text == rounded_inward(whole, "lbf·ft").text
