"""The wrench: what a mechanic sets, what reaches the bolt, and what is refused."""

from __future__ import annotations

import inspect

import pint
import pytest

from sumpwise import RangeError, Span, SumpwiseError, applied_torque, clamp_load, permissible_deviation, setting_band, span, wrench_setting

OTHER = pint.UnitRegistry()


def test_the_plug_of_the_example_wagon():
    assert wrench_setting("34 N·m", "300 mm", "45 mm").magnitude == pytest.approx(29.6, abs=0.05)
    assert applied_torque("34 N·m", "300 mm", "45 mm").magnitude == pytest.approx(39.1, abs=0.05)
    band = setting_band("31 N·m", "37 N·m", permissible_deviation("110 N·m"))
    assert (band.lower.magnitude, band.upper.magnitude) == pytest.approx((32.29, 35.58), abs=0.005)


def test_answers_are_in_the_unit_of_the_torque():
    assert wrench_setting("25 ft-lb", "12 in", "2 in").magnitude == pytest.approx(25 * 12 / 14)
    assert str(wrench_setting("25 ft-lb", "12 in", "2 in").units) == "foot * force_pound"
    band = setting_band("23 ft-lb", OTHER.Quantity(37.0, "N*m"), 0.04)
    assert isinstance(band, Span)
    assert band.lower._REGISTRY is band.upper._REGISTRY is OTHER
    assert band.lower.units == band.upper.units == OTHER.Unit("foot * force_pound")
    assert band.upper.m_as("N*m") == pytest.approx(37 / 1.04)


def test_angles_are_degrees_unless_they_say_otherwise():
    right = wrench_setting("34 N·m", "300 mm", "45 mm", "90 deg").magnitude
    assert right == pytest.approx(34)
    assert wrench_setting("34 N·m", "300 mm", "45 mm", OTHER.Quantity(1.5707963267948966, "rad")).magnitude == pytest.approx(right)
    assert wrench_setting("34 N·m", "300 mm", "45 mm", "180°").magnitude == pytest.approx(34 * 300 / 255)
    assert inspect.signature(wrench_setting).parameters["angle"].default == "0 deg"
    assert wrench_setting.kernel(34.0, 300.0, 45.0) == wrench_setting("34 N·m", "300 mm", "45 mm").magnitude
    with pytest.raises(SumpwiseError, match="angle"):
        wrench_setting("34 N·m", "300 mm", "45 mm", 90)


@pytest.mark.parametrize("function", [wrench_setting, applied_torque])
@pytest.mark.parametrize(
    ("arguments", "named"),
    [
        (("0 N·m", "300 mm", "45 mm"), None), (("-34 N·m", "300 mm", "45 mm"), None), (("34 N·m", "0 mm", "45 mm"), "wrench_length"),
        (("34 N·m", "300 mm", "-45 mm"), "adapter_length"), (("34 N·m", "300 mm", "300 mm", "180 deg"), "adapter_length"),
        (("34 N·m", "300 mm", "45 mm", "181 deg"), "angle"), (("34 N·m", "300 mm", "350 mm", "-170 deg"), "adapter_length"),
        (("34 N", "300 mm", "45 mm"), None), (("34 N·m", "300 L", "45 mm"), "wrench_length"),
        (("34 N·m", ["300 mm", "40 mm"], "45 mm", "180 deg"), "adapter_length"),
    ],
)  # fmt: skip
def test_wrenches_that_cannot_be(function, arguments, named):
    with pytest.raises(SumpwiseError) as caught:
        function(*arguments)
    assert caught.value.argument == (named or next(iter(inspect.signature(function).parameters)))


@pytest.mark.parametrize(
    ("arguments", "named"),
    [
        (("37 N·m", "31 N·m", 0.04), "lower"), (("31 N·m", "33 N·m", 0.04), "tolerance"), (("31 N·m", "37 N·m", 1), "tolerance"),
        (("31 N·m", "37 N·m", 4), "tolerance"), (("31 N·m", "37 N·m", -0.01), "tolerance"),
        (("31 N·m", "37 N·m", 0.04, "300 mm"), "adapter_length"), (("31 N·m", "37 N·m", 0.04, None, "45 mm"), "wrench_length"),
        (("31 N·m", "37 N·m", 0.04, "300 mm", "300 mm", "180 deg"), "adapter_length"),
        ((["31 N·m", "36 N·m"], "37 N·m", 0.04), "tolerance"),
        (("31.9 N·m", "33.5 N·m", 0.03), "tolerance"),  # 31.9/0.97 = 32.89 is above 33.5/1.03 = 32.52
    ],
)  # fmt: skip
def test_bands_that_cannot_be(arguments, named):
    with pytest.raises(RangeError) as caught:
        setting_band(*arguments)
    assert caught.value.argument == named


def test_an_empty_band_says_which_wrench_would_do():
    with pytest.raises(RangeError, match=r"at most 3\.12 %") as caught:
        setting_band("31 N·m", "33 N·m", 0.04)
    assert "more accurate wrench" in caught.value.hint
    with pytest.raises(RangeError, match=r"at most 50 %"):  # 10/(1 - 0.5) = 30/(1 + 0.5)
        setting_band("10 N·m", "30 N·m", 0.6)
    assert setting_band("31 N·m", "33 N·m", 0.0312).lower <= setting_band("31 N·m", "33 N·m", 0.0312).upper
    assert setting_band("33 N·m", "33 N·m", 0).lower == setting_band("33 N·m", "33 N·m", 0).upper


def test_the_window_as_a_span():
    window = span("31 to 37 N·m")
    assert setting_band(window.lower, window.upper, "4 %").lower.magnitude == pytest.approx(31 / 0.96)


@pytest.mark.parametrize(("maximum", "share"), [("10 N·m", 0.06), ("10.1 N·m", 0.04), ("7 lbf·ft", 0.06), ("8 lbf·ft", 0.04)])
def test_the_tools_class(maximum, share):
    assert permissible_deviation(maximum) == share


def test_the_tools_class_of_several():
    assert permissible_deviation(["5 N·m", "110 N·m"]).tolist() == [0.06, 0.04]


def test_the_scatter_of_the_nut_factor_is_the_scatter_of_the_load():
    load = clamp_load("34 N·m", "14 mm", "0.20 ± 0.05").magnitude
    assert load.nominal_value == pytest.approx(34 / (0.2 * 0.014))
    assert load.std_dev / load.nominal_value == pytest.approx(0.25 / 3**0.5, rel=1e-9)
    for wrong in (0, -0.2, 1.1, "0.2 N"):
        with pytest.raises(SumpwiseError) as caught:
            clamp_load("34 N·m", "14 mm", wrong)
        assert caught.value.argument == "nut_factor"


def test_a_wrench_below_a_fifth_of_its_scale_promises_nothing():
    assert setting_band("31 N·m", "37 N·m", 0.04).caution == ""
    told = setting_band("31 N·m", "37 N·m", 0.04, wrench_maximum="110 N·m")
    assert told == setting_band("31 N·m", "37 N·m", 0.04)
    assert told.caution == ""
    assert "caution" not in str(told)
    low = setting_band("8.5 N·m", "10.5 N·m", 0.04, wrench_maximum="110 N·m")
    assert low.least.m_as("N*m") == pytest.approx(22)
    assert "below a fifth of full scale, 22 N·m," in low.caution
    assert "smaller wrench" in low.caution
    assert low.caution in str(low)
    partly = setting_band("20 N·m", "30 N·m", 0.04, wrench_maximum="110 N·m")  # 20.8 to 28.8, good from 22 on
    assert "no lower" in partly.caution
    # the adapter brings the setting down: 24/1.3 is below a fifth of 110
    assert setting_band("24 N·m", "30 N·m", 0.04, wrench_maximum="110 N·m").caution == ""
    assert setting_band("24 N·m", "30 N·m", 0.04, "300 mm", "90 mm", wrench_maximum="110 N·m").caution
    doubtful = setting_band("9.0(1) N·m", "11 N·m", 0.04, wrench_maximum="110 N·m")
    assert doubtful.caution
    assert setting_band(["9 N·m", "31 N·m"], ["11 N·m", "37 N·m"], 0.04, wrench_maximum="110 N·m").caution
    assert str(setting_band("8.5 lbf·ft", "10.5 lbf·ft", 0.04, wrench_maximum="110 N·m").least.units) == "foot * force_pound"


def test_a_band_ends_where_the_wrench_does():
    assert setting_band("90 N·m", "120 N·m", 0.04, wrench_maximum="110 N·m").upper.m_as("N*m") == 110
    with pytest.raises(RangeError, match="larger wrench") as caught:
        setting_band("120 N·m", "140 N·m", 0.04, wrench_maximum="110 N·m")
    assert caught.value.argument == "wrench_maximum"
    with pytest.raises(RangeError, match="larger wrench"):  # 31/0.96 = 32.3 is wanted at least
        setting_band("31 N·m", "37 N·m", 0.04, wrench_maximum="31.5 N·m")


def test_a_band_that_starts_at_a_fifth_of_full_scale_needs_no_caution():
    assert setting_band("24 N·m", "30 N·m", 0.0, wrench_maximum="120 N·m").caution == ""


@pytest.mark.parametrize("full", ["0 N·m", "-0.5 N·m"])
def test_a_wrench_has_a_full_scale_above_nothing(full):
    with pytest.raises(RangeError) as refused:
        setting_band("31 N·m", "37 N·m", 0.04, wrench_maximum=full)
    assert (refused.value.code, refused.value.argument) == ("range.outside", "wrench_maximum")
