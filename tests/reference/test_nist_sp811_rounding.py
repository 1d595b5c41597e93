"""Rounding as NIST SP 811 (2008) B.7 and SP 1038 (2006) 4.4 teach it: the reasoning beside the printed results."""

from __future__ import annotations

from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction

import pytest

from sumpwise.quantities.digits import in_unit, leading, to_step
from sumpwise.quantities.rounding import rounded
from sumpwise.quantities.units import by_symbol


@pytest.mark.parametrize(
    ("value", "digits", "printed"),
    [("6.974 951 5", 3, "6.97"), ("6.974 951 5", 5, "6.9750"), ("6.974 950 5", 7, "6.974 950")],
)
def test_b71_discarded_digits_and_the_tie_to_even(value: str, digits: int, printed: str) -> None:
    assert rounded(f"{value} mm", "mm", digits).text == f"{printed} mm"


def test_b72_relative_rounding_error_of_thirty_six_feet_is_kept() -> None:
    assert Fraction(*in_unit(36, 1, by_symbol("ft"), by_symbol("m"))) == Fraction("10.9728")
    assert rounded("36 ft", "m").text == "11.0 m"
    # the reasoning of the clause: 11.0 has a smaller relative error than 36, 11 a greater one
    assert Fraction("0.05") / 11 < Fraction(1, 2) / 36 < Fraction(1, 2) / 11


@pytest.mark.parametrize(("value", "to", "printed"), [("60.5 mi", "km", "97.4 km"), ("8 ft", "m", "2.4 m")])
def test_sp1038_digits_follow_the_first_significant_digit(value: str, to: str, printed: str) -> None:
    assert rounded(value, to).text == printed


def test_sp1038_limits_are_not_violated() -> None:
    assert rounded("10 ft", "m", 3, "up").text == "3.05 m"
    assert rounded("10 ft", "m", 3, "down").text == "3.04 m"


@pytest.mark.parametrize(
    ("fahrenheit", "celsius"),
    [
        (32, "0.0"), (33, "0.5"), (34, "1.0"), (35, "1.5"), (160, "71.0"), (161, "71.5"), (180, "82.0"), (212, "100.0"), (300, "149.0"),
        (-40, "−40.0"),
    ],
)
def test_sp1038_whole_fahrenheit_to_the_nearest_half_celsius(fahrenheit: int, celsius: str) -> None:
    answer = rounded(f"{fahrenheit} °F", "°C")
    assert answer.text == f"{celsius} °C"
    exact = Fraction(fahrenheit - 32) * 5 / 9
    assert abs(Fraction(answer.magnitude) - exact) <= Fraction(1, 4)


def test_sp1038_package_contents_go_down() -> None:
    assert rounded("1 US gal", "L", 3, "down").text == "3.78 L"
    assert rounded("1 US gal", "L", 3).text == "3.79 L"


@pytest.mark.parametrize("direction", ["nearest", "up", "down"])
def test_whole_number_rounding_agrees_with_the_standard_decimal(direction: str) -> None:
    """The decimal module of the standard library is the independent reference, ties included."""
    mode = {"nearest": ROUND_HALF_EVEN, "up": "ROUND_CEILING", "down": "ROUND_FLOOR"}[direction]
    for count in range(-2500, 2500, 7):
        for place in (-2, -1, 0):
            exact = Decimal(count).scaleb(-3)
            expected = exact.quantize(Decimal(1).scaleb(place), rounding=mode)
            assert to_step(count, 1000, (1, place), direction) == int(expected.scaleb(-place))


def test_first_significant_digit_agrees_with_the_standard_decimal() -> None:
    for power in range(-310, 310, 3):
        for count in (1, 9, 10, 99, 4096, 99_999_999_999_999_999):
            exact = Decimal(count).scaleb(power)
            num, den = (count * 10**power, 1) if power >= 0 else (count, 10**-power)
            assert leading(num, den) == exact.adjusted()
            assert leading(-num * 7, den * 7) == exact.adjusted()
            assert leading(num * 10**20 - 1, den * 10**20) == exact.adjusted() - (count in (1, 10))
