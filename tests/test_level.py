"""The level: the example wagon's readings, what may be instructed, overflow plugs, estimates combined."""

from __future__ import annotations

import math

import mpmath
import pint
import pytest

from sumpwise import Job, plan, uncertainty
from sumpwise.errors import RangeError, SumpwiseError
from sumpwise.filling.level import Dipstick, Judged, Predicted, Stop, judged, slope_bias
from sumpwise.filling.overflow import OverflowPlug
from sumpwise.fluid.density import volume_at
from sumpwise.measurement import book
from sumpwise.measurement.joint import best_estimate
from sumpwise.quantities.boundary import answer

WAGON = ("0.42 L", "13 mm", "8.85 L", "847 kg/m³", "82–92 °C")


@pytest.fixture
def stick():
    return Dipstick(*WAGON)


def test_the_fill_grows_between_61_and_86_degrees(stick):
    growth = stick.growth("61 °C", "86 °C").m_as("mL") / 25
    assert growth == pytest.approx(6.67, abs=0.005)
    assert growth / 420 * 13 == pytest.approx(0.206, abs=0.0005)


def test_the_cool_reading_predicts_the_hot_one(stick):
    assert stick.predict("-2 mm", "61 °C", "86 °C").m == pytest.approx(3, abs=0.5)
    assert stick.predict("6.5 mm", "87 °C").m == pytest.approx(6.5, rel=1e-12)
    assert stick.predict("6.5 mm", "87 °C", "61 °C").m == pytest.approx(6.5 - 26 * 0.2064, abs=0.005)


def test_the_readings_of_the_log_against_its_truth(stick):
    start, before_trim, after = (stick.error(r, t) for r, t in (("1 mm", "86 °C"), ("3.5 mm", "86 °C"), ("7 mm", "88 °C")))
    # a reading to half a millimetre is worth 0.008 L either way
    assert start.m == pytest.approx(-0.17, abs=0.008)
    assert before_trim.m == pytest.approx(-0.091, abs=0.008)
    assert after.m == pytest.approx(0.009, abs=0.008)
    # as it stands there, hot, the shortage is 0.171 L; brought to 20 °C it is 0.162
    assert volume_at(start, "20 °C", "86 °C", "847 kg/m³").m == pytest.approx(-0.17, abs=0.005)
    assert round(before_trim.m, 2) == -0.09


def test_pouring_the_error_in_brings_the_level_to_the_target(stick):
    missing = stick.error("1 mm", "86 °C").m
    hot = missing * volume_at("1 L", "20 °C", "86 °C", "847 kg/m³").m
    assert stick.error(f"{1 - hot / 0.42 * 13:.15f} mm", "86 °C").m == pytest.approx(0, abs=1e-14)


def test_inside_the_window_it_instructs_in_steps_of_at_most_a_third_of_the_band(stick):
    trim = stick.check("3.5 mm", "86 °C")
    assert isinstance(trim, Judged)
    assert (trim.instruction, trim.steps) == ("add", 1)
    assert trim.volume.m == -trim.error.m
    low = stick.check("-8 mm", "86 °C")
    assert low.steps == 4
    third = volume_at("0.42 L", "87 °C", "20 °C", "847 kg/m³").m / 3
    assert low.volume.m / low.steps <= third < low.volume.m / (low.steps - 1)
    assert stick.check("7 mm", "88 °C").instruction == "leave"
    assert stick.check("12 mm", "88 °C").instruction == "leave"
    high = stick.check("15 mm", "88 °C")
    assert (high.instruction, high.volume) == ("take out", high.error)


def test_less_than_half_a_step_is_left_alone(stick):
    sixth = volume_at("0.42 L", "87 °C", "20 °C", "847 kg/m³").m / 6
    grown = volume_at("1 L", "20 °C", "87 °C", "847 kg/m³").m
    for error, instruction in ((-0.99 * sixth, "leave"), (-1.01 * sixth, "add"), (2.99 * sixth, "leave"), (3.01 * sixth, "take out")):
        said = stick.check(f"{6.5 + error * grown / 0.42 * 13:.12f} mm", "87 °C")
        assert said.error.m == pytest.approx(error, rel=1e-9)
        assert said.instruction == instruction


@pytest.mark.parametrize("temperature", ["61 °C", "81.9 °C", "92.1 °C", "119 °C"])
def test_outside_the_window_it_predicts_and_never_instructs(stick, temperature):
    for reading in ("-20 mm", "-2 mm", "6.5 mm", "40 mm"):
        said = stick.check(reading, temperature)
        assert isinstance(said, Predicted)
        assert "instruction" not in said._fields
        assert not hasattr(said, "instruction")
        assert not hasattr(said, "volume")
        assert said.at_middle == stick.predict(reading, temperature)
        assert said.at_lower < said.at_middle < said.at_upper


def test_fluid_too_hot_to_judge_is_a_stop(stick):
    said = stick.check("6.5 mm", "120 °C")
    assert isinstance(said, Stop)
    assert said.why.startswith("stop")
    assert Dipstick("0.42 L", "13 mm", "8.85 L", "847 kg/m³", "71–149 °C").check("-3 mm", "130 °C") == said


def test_the_window_holds_at_its_edges(stick):
    assert [stick.holds_at(t) for t in ("81.9 °C", "82 °C", "92 °C", "92.1 °C")] == [False, True, True, False]


def test_a_resolution_makes_each_reading_uncertain_on_its_own_and_once():
    stick = Dipstick(*WAGON, resolution="1 mm")
    first, second = stick.error("1 mm", "86 °C").m, stick.error("1 mm", "86 °C").m
    by_hand = 0.42 / 13 / volume_at("1 L", "20 °C", "86 °C", "847 kg/m³").m / 12**0.5
    assert uncertainty.standard(first) == pytest.approx(by_hand, rel=1e-6)
    assert uncertainty.standard(first - second) == pytest.approx(by_hand * 2**0.5, rel=1e-6)
    said = stick.check("-2 mm", "61 °C")
    assert uncertainty.standard(said.at_upper.m - said.at_lower.m) < 0.01 * uncertainty.standard(said.at_upper.m)


def test_a_sloping_floor_is_one_bias_for_all_readings_of_the_place():
    bias = slope_bias("0.0 ± 0.5 deg", "200 mm")
    stick = Dipstick(*WAGON, bias=bias)
    first, second = stick.error("1 mm", "86 °C").m, stick.error("3.5 mm", "86 °C").m
    assert uncertainty.standard(first) == pytest.approx(200 * math.radians(0.5) / 3**0.5 * 0.42 / 13 / 1.0526, rel=2e-3)
    assert uncertainty.standard(second - first) < 1e-9
    assert Dipstick(*WAGON, bias="2 mm").error("3 mm", "86 °C").m == pytest.approx(Dipstick(*WAGON).error("1 mm", "86 °C").m, rel=1e-12)
    assert Dipstick(*WAGON, bias="2 mm").predict("3 mm", "61 °C", "61 °C").m == pytest.approx(3, rel=1e-12)


def test_how_far_a_level_is_off_is_not_a_share():
    stick = Dipstick("0.42 ± 0.04 L", "13 mm", "8.85 ± 0.10 L", "847 kg/m³", "82–92 °C", resolution="1 mm")
    plug = OverflowPlug("7.0 ± 0.1 L", "850 kg/m³", "40–45 °C")
    found = (
        stick.error("1 mm", "86 °C"), stick.predict("1 mm", "61 °C"), stick.growth("61 °C", "86 °C"), plug.error("55 °C"),
        plug.time_left("41 ± 1 °C", "2 °C/min"),
    )  # fmt: skip
    assert [uncertainty.caution(one.magnitude) for one in found] == [""] * 5
    assert min(uncertainty.standard(one.magnitude) for one in found) > 0


def test_the_case_grows_along():
    # by the law of the plug: what stays is F·g(m)·(1 + 3a(t - m))/g(t); the factors of growth from volume_at
    def growth(t):
        return volume_at("1 L", "20 °C", f"{t} °C", "850 kg/m³").m

    for case in (0, 23e-6, 1e-4):
        plug = OverflowPlug("7.0 L", "850 kg/m³", "40–45 °C", case)
        for t in (20, 42.5, 100):
            by_law = 7 * growth(42.5) * (1 + 3 * case * (t - 42.5)) / growth(t) - 7
            assert plug.error(f"{t} °C").m == pytest.approx(by_law, abs=1e-12)
    for case in (-1e-6, 1.01e-4, [0, 1e-5]):
        for call in (lambda c: OverflowPlug("7.0 L", "850 kg/m³", "40–45 °C", c), lambda c: Dipstick(*WAGON, case_expansion=c)):
            with pytest.raises(SumpwiseError) as caught:
                call(case)
            assert caught.value.argument == "case_expansion"


def test_units_and_registries_of_the_caller():
    registry = pint.UnitRegistry()
    window = (registry.Quantity(82, "degC"), registry.Quantity(92, "degC"))
    stick = Dipstick(registry.Quantity(0.42, "liter"), "13 mm", "8.85 L", "847 kg/m³", window)
    assert stick.error("0.04 in", "86 °C")._REGISTRY is registry
    assert stick.predict("0.04 in", "86 °C").m_as("mm") == pytest.approx(stick.predict("1.016 mm", "86 °C").m, rel=1e-12)
    assert stick.error(["1 mm", "2 mm"], "86 °C").m.tolist() == [stick.error(r, "86 °C").m for r in ("1 mm", "2 mm")]
    assert "82 to 92" in repr(stick)


def test_closing_the_plug_late_is_low_and_early_is_high():
    plug = OverflowPlug("7.0 L", "850 kg/m³", "40–45 °C")
    assert plug.error("42.5 °C").m == pytest.approx(0, abs=1e-14)
    assert plug.error("55 °C").m == pytest.approx(-0.061, abs=0.0005)
    assert plug.error("30 °C").m == pytest.approx(0.060, abs=0.0005)
    assert plug.time_left("41 °C", "2 °C/min").m_as("min") == pytest.approx(2)
    assert plug.time_left("45 °C", "2 °C/min").m == 0
    assert uncertainty.standard(plug.time_left("41 ± 1 °C", "2 °C/min").m) == pytest.approx(0.5 / 3**0.5, rel=1e-9)
    assert "40 to 45" in repr(plug)


def test_a_plug_is_a_stick_read_at_its_middle(stick):
    plug = OverflowPlug("8.85 L", "847 kg/m³", "82–92 °C")
    assert plug.error("70 °C").m == pytest.approx(stick.error("6.5 mm", "70 °C").m, rel=1e-12)


def test_stick_and_ledger_share_the_first_reading():
    bias = slope_bias("0.0 ± 0.5 deg", "200 mm")
    stick = Dipstick("0.42 ± 0.04 L", "13 mm", "8.85 L", "847 kg/m³", "82–92 °C", bias=bias, resolution="1 mm")
    start, end = stick.error("1 mm", "86 °C"), stick.error("3.5 mm", "86 °C")
    balance = answer(uncertainty.source(0.11, 0.08, name="pail and cans"), "volume")
    by_ledger = start + balance
    best = best_estimate([by_ledger, end])
    naive = 1 / (1 / uncertainty.standard(by_ledger.m) ** 2 + 1 / uncertainty.standard(end.m) ** 2)
    assert uncertainty.standard(best.value.m) > naive**0.5  # taken for independent they would look better than they are
    assert sum(best.weights) == pytest.approx(1)
    # the shared bias stays in the result: it cannot average out
    again = best_estimate([start, end])
    assert uncertainty.standard(again.value.m) > 0.98 * 200 * math.radians(0.5) / 3**0.5 * 0.42 / 13 / 1.0526


def test_a_stated_covariance_does_the_same_as_uncertain_numbers():
    common, a, b = (uncertainty.source(0.0, u, name=n) for u, n in ((0.3, "common"), (0.15, "a"), (0.1, "b")))
    first, second = answer(1.5 + common + a, "volume"), answer(1.0 + 2 / 3 * common + b, "volume")
    one = best_estimate([first, second])
    other = best_estimate(["1.5 L", "1.0 L"], [[0.1125, 0.06], [0.06, 0.05]])
    assert one.weights == pytest.approx(other.weights, rel=1e-12)
    assert uncertainty.standard(one.value.m) == pytest.approx(uncertainty.standard(other.value.m), rel=1e-12)
    assert one.chi_squared == pytest.approx(other.chi_squared, rel=1e-12)
    assert min(one.weights) < 0


def test_chi_squared_of_two_independent_estimates():
    # (1.30 - 1.00)² / (0.01 + 0.02) = 3, and each estimate weighs as the other's variance
    apart = best_estimate(["1.00 L", "1.30 L"], [[0.01, 0.0], [0.0, 0.02]])
    assert apart.chi_squared == pytest.approx(3)
    assert apart.weights == pytest.approx((2 / 3, 1 / 3))


def test_whole_steps_take_no_extra_step(stick):
    third = 13 / 3
    assert [stick.check(f"{6.5 - k * third!r} mm", "87 °C").steps for k in range(1, 40)] == list(range(1, 40))


def test_growth_is_as_uncertain_as_the_fill():
    # Two litres and more between these temperatures: growth is proportional to the fill, and no share of anything.
    growth = Dipstick("0.42 L", "13 mm", "20(1) L", "847 kg/m³", "82–92 °C").growth("0 °C", "140 °C").m
    assert uncertainty.nominal(growth) > 1
    assert uncertainty.standard(growth) == pytest.approx(uncertainty.nominal(growth) / 20)
    assert uncertainty.caution(growth) == ""
    little = Dipstick("0.42 L", "13 mm", "8.85(80) L", "847(40) kg/m³", "82–92 °C").growth("20.0 °C", "20.1(20) °C").m
    assert uncertainty.nominal(little) < uncertainty.standard(little), "next to nothing, and may as well be less"
    assert uncertainty.caution(little) == ""


def test_the_target_holds_in_the_very_middle_of_the_window():
    odd = Dipstick("0.42 L", "13 mm", "8.85 L", "847 kg/m³", "82–93 °C")
    assert odd.error("6.5 mm", "87.5 °C").m == pytest.approx(0, abs=1e-12)
    assert odd.predict("6.5 mm", "87.5 °C").m == pytest.approx(6.5, abs=1e-12)


def test_what_is_left_alone_is_nothing_in_the_unit_that_asked(stick):
    for reading in ("6.5 mm", "7.5 mm"):
        said = stick.check(reading, "87 °C")
        assert (said.instruction, said.volume.m, said.steps) == ("leave", 0, 0)
        assert said.volume.units == said.error.units


def test_small_units_are_taken():
    assert Dipstick("0.42 L", "0.5 mm", *WAGON[2:]).error("0.25 mm", "87 °C").m == pytest.approx(0, abs=1e-12)
    assert OverflowPlug("0.5 L", "850 kg/m³", "40–45 °C").error("42.5 °C").m == pytest.approx(0, abs=1e-12)


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: Dipstick("0.42 L", "13 mm", "8.85 L", "847 kg/m³", "92–82 °C"), "downward"),
        (lambda: Dipstick("0.42 L", "13 mm", "8.85 L", "847 kg/m³", "82 °C"), "window|span"),
        (lambda: Dipstick("0.42 L", "13 mm", "8.85 L", "847 kg/m³", (["82 °C"], ["92 °C"])), "window, lower"),
        (lambda: Dipstick(["0.42 L", "0.5 L"], "13 mm", "8.85 L", "847 kg/m³", "82–92 °C"), "one value"),
        (lambda: OverflowPlug("7 L", "850 kg/m³", (["40 °C"], ["45 °C"])), "window, lower"),
        (lambda: best_estimate(pint.Quantity(1.0, "L")), "not a sequence"),
        (lambda: Dipstick("9 L", "13 mm", "8.85 L", "847 kg/m³", "82–92 °C"), "whole fill"),
        (lambda: Dipstick("0 L", "13 mm", "8.85 L", "847 kg/m³", "82–92 °C"), "volume_between_marks"),
        (lambda: Dipstick("0.42 L", "0 mm", "8.85 L", "847 kg/m³", "82–92 °C"), "length_between_marks"),
        (lambda: Dipstick("0.42 L", "13 mm", "8.85 L", "700 kg/m³", "82–92 °C"), "density_15"),
        (lambda: Dipstick(*WAGON, case_expansion=0.01), "case_expansion"),
        (lambda: Dipstick(*WAGON).error("1", "86 °C"), "reading"),
        (lambda: Dipstick(*WAGON).error("1 mm", "160 °C"), "at most 150"),
        (lambda: Dipstick(*WAGON).check(["1 mm", "2 mm"], "86 °C"), "one value"),
        (lambda: Dipstick(*WAGON).check("1 mm", ["86 °C", "87 °C"]), "one value"),
        (lambda: Dipstick(*WAGON).predict("1 mm", "86 °C", "200 °C"), "at"),
        (lambda: slope_bias("45 deg", "200 mm"), "30"),
        (lambda: slope_bias("1 deg", "-200 mm"), "at least 0"),
        (lambda: OverflowPlug("7 L", "850 kg/m³", "40–45 °C").time_left("46 °C", "2 °C/min"), "above the window"),
        (lambda: OverflowPlug("7 L", "850 kg/m³", "40–45 °C").time_left("41 °C", "0 °C/min"), "heating_rate"),
        (lambda: OverflowPlug("0 L", "850 kg/m³", "40–45 °C"), "fill"),
        (lambda: best_estimate([]), "not a sequence"),
        (lambda: best_estimate("1 L"), "not a sequence"),
        (lambda: best_estimate(["1 L", "2 L"]), "exact"),
        (lambda: best_estimate(["1.0 ± 0.1 L", "2 kg"]), r"estimates\[1\]"),
        (lambda: best_estimate(["1 L", "2 L"], [[1, 2], [2, 1]]), "positive definite"),
        (lambda: best_estimate(["1 L", "2 L"], [[1, 0.5], [0.4, 1]]), "symmetric"),
        (lambda: best_estimate(["1 L", "2 L"], [[1]]), "2 by 2"),
        (lambda: best_estimate(["1 L", "2 L"], [[-0.5, 0], [0, 1]]), "is not a covariance; accepted: variances"),
        (lambda: best_estimate(["1 L", "2 L"], [[1, "x"], [0, 1]]), "not a matrix"),
        (lambda: best_estimate(["1 L", "2 L"], [[1, math.inf], [math.inf, 1]]), "symmetric"),
    ],
)
def test_refusals_say_what_and_how_to_mend(call, says):
    with pytest.raises(SumpwiseError, match=says):
        call()


def test_estimates_that_rest_on_one_reading_alone_are_refused():
    once = Dipstick(*WAGON, resolution="1 mm").error("1 mm", "86 °C")
    with pytest.raises(RangeError, match="leave one of them out"):
        best_estimate([once, once])


def test_a_coarse_stick_adds_uncertainty_and_no_bias(stick):
    coarse = Dipstick(*WAGON, resolution="1 mm").predict("6.5 mm", "87 °C").magnitude
    assert coarse.nominal_value == pytest.approx(stick.predict("6.5 mm", "87 °C").m, rel=1e-12)
    assert coarse.std_dev == pytest.approx(1 / 12**0.5, rel=1e-6)
    with pytest.raises(RangeError) as caught:
        Dipstick(*WAGON, resolution="-0.5 mm")
    assert caught.value.argument == "resolution"


def test_the_marks_hold_less_than_the_fill():
    with pytest.raises(RangeError) as caught:
        Dipstick("8.85 L", "13 mm", "8.85 L", "847 kg/m³", "82–92 °C")
    assert caught.value.argument == "volume_between_marks"


def test_what_is_left_alone_moves_nothing_and_what_is_too_much_goes_in_one_step(stick):
    assert stick.check("7 mm", "88 °C").volume.m == 0
    assert (stick.check("20 mm", "87 °C").instruction, stick.check("20 mm", "87 °C").steps) == ("take out", 1)


def test_exactly_half_the_marks_too_much_or_a_sixth_missing_is_left(stick):
    band = stick._band
    assert [judged(stick, off).instruction for off in (band / 2, -band / 6)] == ["leave", "leave"]
    assert [judged(stick, off * (1 + 1e-12)).instruction for off in (band / 2, -band / 6)] == ["take out", "add"]


def _u(quantity):
    return uncertainty.standard(quantity.m)


MILLIMETRE = 0.42 / 13 / volume_at("1 L", "20 °C", "86 °C", "847 kg/m³").m
"""Litres at 20 °C that a millimetre on the wagon's stick stands for, read at 86 °C."""


def test_each_reading_repeats_independently():
    stick = Dipstick(*WAGON, reading_noise="1.5 mm")
    first, second = stick.error("1 mm", "86 °C"), stick.error("1 mm", "86 °C")
    assert _u(first) == pytest.approx(1.5 * MILLIMETRE, rel=2e-3)
    assert _u(first - second) == pytest.approx(1.5 * 2**0.5 * MILLIMETRE, rel=2e-3)
    both = Dipstick(*WAGON, reading_noise="1.5 mm", resolution="1 mm").error("1 mm", "86 °C")
    assert _u(both) == pytest.approx(math.hypot(1.5, 12**-0.5) * MILLIMETRE, rel=2e-3)
    # a reading with its own uncertainty gets no other
    assert _u(stick.error("1.0(5) mm", "86 °C")) == pytest.approx(0.5 * MILLIMETRE, rel=2e-3)


def test_a_fill_warmer_than_the_thermometer_says_is_one_error_of_all_readings():
    """3 °C at 6.67 mL/°C of the 8.85 L are 0.019 L at 20 °C; the same for every hot reading, so it cancels in differences."""
    stick = Dipstick(*WAGON, bulk="0(3) Δ°C")
    first, second = stick.error("1 mm", "86 °C"), stick.error("3.5 mm", "86 °C")
    assert _u(first) == pytest.approx(3 * 6.67e-3 / 1.0526, rel=0.02)
    assert _u(second - first) == pytest.approx(2.5 * MILLIMETRE * 3 * 8e-4, rel=0.05)
    assert Dipstick(*WAGON, bulk="4 Δ°C").error("1 mm", "82 °C").m == pytest.approx(Dipstick(*WAGON).error("1 mm", "86 °C").m, rel=1e-12)


def test_air_in_hot_fluid_lifts_the_level_without_any_fluid():
    airy = Dipstick(*WAGON, air="1 %")
    plain = Dipstick(*WAGON)
    # a level raised 1 % by air shows 1 % of the fill too much
    assert airy.error("6.5 mm", "87 °C").m == pytest.approx(8.85 / 1.01 - 8.85, rel=1e-9)
    assert airy.predict("3 mm", "61 °C", "61 °C").m == pytest.approx(3, rel=1e-12)
    doubtful = Dipstick(*WAGON, air="0.0(2) %")
    first, second = doubtful.error("1 mm", "86 °C"), doubtful.error("3.5 mm", "86 °C")
    assert _u(first) == pytest.approx(0.002 * (8.85 + plain.error("1 mm", "86 °C").m), rel=1e-6)
    assert _u(second - first) < 2e-4


def test_the_example_wagons_stick_is_good_to_what_a_person_can_do():
    """Every named source at its usual size: about 0.04 L for each reading alone, and 0.06 L shared by all readings in one place."""
    stick = Dipstick(
        "0.42(2) L", *WAGON[1:], reading_noise="1.5 mm", resolution="1 mm", bias="0.0(15) mm", bulk="0(3) Δ°C", air="0.0(2) %",
    )  # fmt: skip
    first, second = (stick.error("3.5 mm", "86.0(10) °C") for _ in range(2))
    alone = _u(first - second) / 2**0.5
    shared = (_u(first) ** 2 - alone**2) ** 0.5
    assert alone == pytest.approx(0.045, abs=0.006)
    assert shared == pytest.approx(0.055, abs=0.006)


@pytest.mark.parametrize(
    ("argument", "value"),
    [
        ("reading_noise", "-1 mm"), ("reading_noise", "1 L"), ("bulk", "3 °C"), ("bulk", "60 Δ°C"), ("air", "-1 %"), ("air", 0.6),
        ("air", [0.01, 0.02]),
    ],
)
def test_uncertainties_of_a_stick_are_refused_where_they_mean_nothing(argument, value):
    with pytest.raises(SumpwiseError):
        Dipstick(*WAGON, **{argument: value})


def test_a_window_has_two_limits_of_one_value_each():
    given = ("0.42 L", "13 mm", "8.85 L", "847 kg/m³")
    assert Dipstick(*given, ("82 °C", "92 °C")).holds_at("92 °C")
    for wrong, named in (
        ((["82 °C"], "92 °C"), "window, lower"), (("82 °C", ["92 °C"]), "window, upper"), (("82 °C",), "window"),
        ((["82 °C"], "92 °C", "95 °C"), "window"),
    ):  # fmt: skip
        with pytest.raises(SumpwiseError) as caught:
            Dipstick(*given, wrong)
        assert caught.value.argument == named


def test_the_far_tail_of_the_normal_distribution_is_that_of_high_precision():
    """Mills' ratio by mpmath, on both sides of the place where the series takes over."""
    for x in (1.0, 2.0, 5.0, 24.9, 25.0, 26.0, 40.0, 200.0):
        exact = mpmath.erfc(mpmath.mpf(x) / mpmath.sqrt(2)) / 2 * mpmath.exp(mpmath.mpf(x) ** 2 / 2)
        assert book._tail(x) == pytest.approx(float(exact), rel=2e-11)


# -- readings that no stick shows


READ = Dipstick("0.42 L", "13 mm", "8.85 L", "847 kg/m³", "82-92 °C")


@pytest.mark.parametrize(("reading", "allowed"), [
    ("-500 mm", "above -267.428 mm"), ("500 mm", "below 280.428 mm"), ("-20 in", "above -10.52 in"), ("-0.5 m", "above -0.2674 m"),
])  # fmt: skip
def test_more_than_the_whole_fill_is_never_missing_and_never_too_much(reading, allowed):
    for call in (READ.check, READ.error, READ.predict):
        for temperature in ("86 °C", "60 °C"):
            with pytest.raises(RangeError) as error:
                call(reading, temperature)
            assert (error.value.argument, error.value.value, error.value.allowed) == ("reading", repr(reading), allowed)
            assert error.value.code == "range.outside"


def test_far_readings_of_a_column_are_told_by_row_or_masked():
    with pytest.raises(RangeError) as error:
        READ.error(["1 mm", "-500 mm"], "86 °C")
    assert error.value.argument == "reading[1]"
    told = READ.predict(["1 mm", "-500 mm"], "86 °C", errors="mask").magnitude
    assert math.isfinite(told[0])
    assert math.isnan(told[1])


def test_a_stop_comes_before_the_reading():
    assert READ.check("-500 mm", "120 °C").why.startswith("stop")


@pytest.mark.parametrize(("reading", "fine"), [("-267 mm", True), ("-268 mm", False), ("280 mm", True), ("281 mm", False)])
def test_a_job_names_the_entry_of_its_log(reading, fine):
    job = Job.demo().to_dict()
    job["log"] = [job["log"][0] | {"reading": reading}]
    problems = Job.problems(job)
    assert [(error.pointer, error.code, error.value) for error in problems] == [("/log/0/reading", "range.outside", repr(reading))][fine:]
    if fine:
        plan(Job.from_dict(job))


@pytest.mark.parametrize(("reading", "temperature", "told"), [
    ("1 mm", "86 °C", "add 0.16 liter in 2 steps, reading the stick after each: -0.16 liter off the target"),
    ("4 mm", "87 °C", "add 0.08 liter and read the stick again: -0.08 liter off the target"),
    ("6.5 mm", "87 °C", "leave it: +0.00 liter off the target"),
    ("14 mm", "87 °C", "take out 0.23 liter and read the stick again: +0.23 liter off the target"),
    ("-5 mm", "60 °C", "-0.19 liter off the target, 0.44 millimeter on the stick in the middle of the window; outside the window of 82 to"
     " 92 °C: this is a prediction; wait for the window before you add or take out fluid"),
    ("1 mm", "120 °C", "stop: fluid at 120 °C or more; engine off, let it cool"),
])  # fmt: skip
def test_what_a_reading_means_is_printed_as_a_sentence(reading, temperature, told):
    assert str(READ.check(reading, temperature)) == told


def test_what_an_uncertain_reading_means_is_printed_with_its_uncertainty():
    stick = Dipstick(*WAGON, bias="0 ± 1 mm")
    assert str(stick.check("1 mm", "86 °C")).endswith(": -0.16+/-0.02 liter off the target")
