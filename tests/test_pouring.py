"""Pouring and bursts: regimes, units, timetables and refusals."""

from __future__ import annotations

import numpy as np
import pint
import pytest

from sumpwise import uncertainty
from sumpwise.errors import RangeError, SumpwiseError
from sumpwise.filling.bursts import burst_plan, longest_burst
from sumpwise.filling.pouring import CRITICAL, flow_regime, pour_rate, pour_reynolds

COLD = "80.6 mm²/s"


def test_a_helper_may_make_the_bursts_longer():
    """1.4 L lost at 3.7 - 1.2 L/min lasts 33.6 s; less 2 s to react 31.6 s of 3.7 L/min, 1.949 L; alone 1.4 - 0.123 L, so 1.277 L."""
    plan = burst_plan("7.5 L", "3.7 L/min", "1.2 L/min", "1.4 L", "9 L", helper=True)
    longest = 3.7 * (1.4 / (3.7 - 1.2) - 2 / 60)
    assert plan.helped.bursts == 4  # 7.5 over 1.949
    assert plan.helped.steps[0].volume.m == pytest.approx(7.5 / 4)
    assert plan.helped.steps[0].volume.m <= longest
    assert plan.alone.bursts == 6
    assert burst_plan("7.5 L", "3.7 L/min", "1.2 L/min", "1.4 L", "9 L", burst="1.9 L", helper=True).helped.bursts == 4
    with pytest.raises(RangeError, match="starves the pump"):
        burst_plan("7.5 L", "3.7 L/min", "1.2 L/min", "1.4 L", "9 L", burst="1.96 L", helper=True)
    with pytest.raises(RangeError, match="starves the pump"):
        burst_plan("7.5 L", "3.7 L/min", "1.2 L/min", "1.4 L", "9 L", burst="1.9 L")
    same = burst_plan("7.5 L", "3.7 L/min", "1.2 L/min", "1.4 L", "9 L")
    assert same.alone.bursts == same.helped.bursts == plan.alone.bursts


def test_cold_fluid_down_the_example_wagons_tube_takes_about_a_minute_a_litre():
    rate = pour_rate("9.5 mm", "0.8 m", "0.8 m", COLD)
    assert rate.m_as("L/min") == pytest.approx(1.01, abs=0.01)
    assert flow_regime(pour_reynolds("9.5 mm", "0.8 m", "0.8 m", COLD)) == "laminar"


def test_laminar_flow_is_poiseuilles_to_the_last_digit():
    d, nu = 9.5e-3, 80.6e-6
    by_hand = np.pi * d**4 * 9.80665 * 0.75 / (128 * nu) * 0.7 * 6e4
    assert pour_rate("9.5 mm", "0.8 m", "0.6 m", COLD, ends=0).m == pytest.approx(by_hand, rel=1e-13)


@pytest.mark.parametrize(
    ("bore", "viscosity", "regime"),
    [("12 mm", "30 mm²/s", "laminar"), ("12 mm", "8.1 mm²/s", "between"), ("14 mm", "6 mm²/s", "turbulent")],
)
def test_outside_laminar_flow_it_says_so(bore, viscosity, regime):
    assert flow_regime(pour_reynolds(bore, "0.8 m", "0.8 m", viscosity)) == regime


def test_between_the_laws_the_flow_stays_at_the_critical_reynolds_number():
    assert pour_reynolds("12 mm", "0.8 m", "0.8 m", "12 mm²/s", ends=0) == pytest.approx(CRITICAL, rel=1e-14)
    assert flow_regime(CRITICAL) == flow_regime(CRITICAL * (1 + 5e-10)) == "between"
    assert flow_regime(CRITICAL * (1 - 1e-6)) == "laminar"
    assert flow_regime(CRITICAL * (1 + 1e-6)) == "turbulent"


@pytest.mark.parametrize("beyond", [1.001, 1.05, 1.2])
def test_laminar_flow_ends_at_the_critical_reynolds_number(beyond):
    head = CRITICAL * 32 * 30e-6**2 * 0.8 / (9.80665 * 0.7 * 12e-3**3) * 1e3  # laminar flow would just reach it
    assert pour_reynolds.kernel(12.0, 800.0, head / beyond, 30.0, ends=0) == pytest.approx(CRITICAL / beyond, rel=1e-12)
    assert pour_reynolds.kernel(12.0, 800.0, head * beyond, 30.0, ends=0) == CRITICAL


def test_roughness_slows_turbulent_flow_only():
    assert pour_rate("14 mm", "0.8 m", "0.8 m", "6 mm²/s", roughness="0.1 mm") < pour_rate("14 mm", "0.8 m", "0.8 m", "6 mm²/s")
    assert pour_rate("9.5 mm", "0.8 m", "0.8 m", COLD, roughness="0.1 mm") == pour_rate("9.5 mm", "0.8 m", "0.8 m", COLD)


def test_arrays_cross_the_regimes_elementwise():
    bores = np.array([9.5, 12.0, 14.0, 30.0])
    many = pour_rate.kernel(bores, 800.0, 800.0, 12.0, 0.7, 0.0)
    assert many.tolist() == pytest.approx([pour_rate.kernel(float(b), 800.0, 800.0, 12.0, 0.7, 0.0) for b in bores], rel=1e-14)


def test_an_uncertain_bore_counts_four_times():
    rate = pour_rate("9.5 ± 0.1 mm", "0.8 m", "0.8 m", COLD, ends=0).m
    assert uncertainty.standard(rate) / uncertainty.nominal(rate) == pytest.approx(4 * 0.1 / 9.5 / 3**0.5, rel=1e-6)


def test_a_wide_warm_tube_spends_much_of_its_head_at_its_ends():
    """20 mm²/s through 14 mm pours a third less than friction alone would allow."""
    warm, bare = (pour_rate("14 mm", "0.9 m", "1 m", "20 mm²/s", ends=ends).m for ends in (1, 0))
    speed = warm / 6e4 / (np.pi / 4 * 14e-3**2)
    spent = 32 * 20e-6 * 0.9 * speed / (9.80665 * 14e-3**2) + 2.5 * speed**2 / (2 * 9.80665)
    assert spent == pytest.approx(0.7, rel=1e-12)
    assert warm < 0.65 * bare


def test_syrup_does_not_upset_the_law_for_turbulent_flow():
    by_hand = np.pi * 3e-3**4 * 9.80665 * 0.7 * 0.01 / (128 * 0.1 * 3.0) * 6e4
    assert pour_rate.kernel(3.0, 3000.0, 10.0, 1e5) == pytest.approx(by_hand, rel=1e-6)


def test_the_longest_burst_leaves_room_to_react():
    assert longest_burst("1.4 L", "3.7 L/min", reaction="2 s").m_as("s") == pytest.approx(1.4 / 3.7 * 60 - 2)
    assert longest_burst("1.4 L", "3.7 L/min").m_as("s") == pytest.approx(1.4 / 3.7 * 60 - 2)
    assert longest_burst("1.4 L", "3.7 L/min", "1.2 L/min", "0 s").m_as("s") == pytest.approx(1.4 / 2.5 * 60)


PLAN = {"pump_flow": "3.7 L/min", "pour_rate": "1.2 L/min", "reserve": "1.4 L", "pail": "8.5 L"}


def test_six_bursts_of_the_example_wagon():
    plan = burst_plan("7.5 L", **PLAN, burst="1.25 L")
    assert plan.alone.bursts == plan.helped.bursts == 6
    assert plan.alone.emptyings == plan.helped.emptyings == 0
    assert [s.action for s in plan.alone.steps[:5]] == ["burst", "change", "pour", "change", "burst"]
    assert plan.alone.steps[0].duration.m_as("s") == pytest.approx(20.27, abs=0.005)
    assert plan.alone.steps[-1].pail.m_as("L") == pytest.approx(7.5)
    assert plan.helped.total.m_as("s") == pytest.approx(6 * 62.5)


def test_by_default_as_few_equal_bursts_as_are_safe():
    plan = burst_plan("7.5 L", **PLAN)
    sizes = [s.volume.m for s in plan.alone.steps if s.action == "burst"]
    assert len(sizes) == 6
    assert sizes == pytest.approx([1.25] * 6)
    assert burst_plan("1.0 L", **PLAN).alone.bursts == 1


def test_a_stated_burst_leaves_a_smaller_last_one():
    plan = burst_plan("3.0 L", **PLAN, burst="1.25 L")
    assert [s.volume.m for s in plan.alone.steps if s.action == "pour"] == pytest.approx([1.25, 1.25, 0.5])


def test_a_small_pail_limits_the_burst_and_is_emptied_in_time():
    plan = burst_plan("4.0 L", "3.7 L/min", "1.2 L/min", reserve="3 L", pail="1.5 L", in_pail="1 L")
    assert plan.alone.bursts == 3
    assert plan.alone.emptyings == 3
    assert plan.alone.steps[0].action == "empty"
    assert all(s.pail.m_as("L") <= 1.5 for table in plan for s in table.steps)


def test_the_helper_never_makes_it_longer_and_one_empties_while_the_other_pours():
    plan = burst_plan("3.75 L", "3.7 L/min", "1.2 L/min", reserve="1.4 L", pail="3 L", emptying="30 s")
    assert plan.helped.total < plan.alone.total
    assert plan.helped.total.m_as("s") == pytest.approx(3 * 62.5)


def test_the_timetable_answers_in_the_units_and_registry_that_asked():
    registry = pint.UnitRegistry()
    plan = burst_plan(registry.Quantity(4.0, "quart"), "3.7 L/min", "1.2 L/min", "1.4 L", "9 L", reaction=registry.Quantity(0.05, "minute"))
    assert plan.alone.steps[0].volume.units == registry.quart
    assert plan.alone.total.units == registry.minute
    assert "burst" in str(plan.alone)
    assert str(plan.alone).splitlines()[-1].endswith("done")


def test_an_uncertain_flow_counts_by_its_best_value():
    assert burst_plan("7.5 L", **PLAN | {"pump_flow": "3.7 ± 0.5 L/min"}).alone.bursts == burst_plan("7.5 L", **PLAN).alone.bursts


@pytest.mark.parametrize(
    ("call", "says"),
    [
        (lambda: pour_rate("0 mm", "1 m", "1 m", COLD), "above 0"),
        (lambda: pour_rate("9 mm", "1 m", "1 m", "-80 mm²/s"), "above 0"),
        (lambda: pour_rate("9 mm", "1 m", "1 m", COLD, 1.2), "at most 1"),
        (lambda: pour_rate("9 mm", "1 m", "1 m", COLD, 0), "above 0"),
        (lambda: pour_rate("9 mm", "1 m", "1 m", COLD, roughness="0.5 mm"), "twentieth of the bore"),
        (lambda: pour_reynolds("9 mm", "1 m", "1 m", COLD, roughness="0.5 mm"), "twentieth of the bore"),
        (lambda: flow_regime(-1), "at least 0"),
        (lambda: flow_regime("fast"), "reynolds"),
        (lambda: longest_burst("0.1 L", "4 L/min"), "before anyone can stop"),
        (lambda: longest_burst("1 L", "4 L/min", "4 L/min"), "never starves"),
        (lambda: longest_burst(["1 L", "0.1 L"], "4 L/min"), "before anyone can stop"),
        (lambda: burst_plan("7.5 L", **PLAN, burst="1.3 L"), "starves the pump"),
        (lambda: burst_plan("7.5 L", **PLAN, in_pail="9 L"), "does not fit into the pail"),
        (lambda: burst_plan("7.5 L", **PLAN | {"pail": "1 L"}, burst="1.25 L"), "does not fit into the pail"),
        (lambda: burst_plan("7.5 L", **PLAN | {"reserve": "0.1 L"}), "before anyone can stop"),
        (lambda: burst_plan("7.5 L", **PLAN, burst="0.001 L"), "more than 1000 bursts"),
        (lambda: burst_plan(["1 L", "2 L"], **PLAN), "one value"),
        (lambda: burst_plan("0 L", **PLAN), "above 0"),
        (lambda: burst_plan("7.5 L", **PLAN, emptying="3 L"), "emptying"),
    ],
)
def test_refusals_say_what_and_how_to_mend(call, says):
    with pytest.raises(SumpwiseError, match=says) as caught:
        call()
    assert caught.type in (RangeError, *SumpwiseError.__subclasses__())


@pytest.mark.parametrize(
    ("name", "taken", "refused"),
    [
        ("volume", ("0.01 L",), ("0 L", "-0.01 L")), ("pump_flow", ("4 L/min",), ("0 L/min", "-1 L/min")),
        ("pour_rate", ("0.5 L/min",), ("0 L/min", "-1 L/min")), ("reserve", ("0.5 L",), ("0 L", "-0.01 L")),
        ("pail", ("2 L",), ("-0.01 L",)), ("burst", ("0.5 L",), ("0 L", "-0.01 L")), ("in_pail", ("0 L", "8.5 L"), ("-0.01 L", "8.51 L")),
        ("reaction", ("0 s",), ("-0.5 s",)), ("change", ("0 s",), ("-0.5 s",)), ("emptying", ("0 s",), ("-0.5 s",)),
    ],
)  # fmt: skip
def test_limits_of_what_a_plan_is_made_from(name, taken, refused):
    for value in taken:
        burst_plan(**{"volume": "2 L"} | PLAN | {name: value})
    for value in refused:
        with pytest.raises(SumpwiseError) as caught:
            burst_plan(**{"volume": "2 L"} | PLAN | {name: value})
        assert caught.value.argument == name


def told(table):
    """Seconds and litres of every step."""
    return [
        (s.action, pytest.approx(s.start.m_as("s")), pytest.approx(s.duration.m_as("s")), s.volume.m_as("L"), s.pail.m_as("L"))
        for s in table.steps
    ]


def test_the_timetable_by_hand():
    # a litre out takes 15 s and back 30 s; the pail has room for half a litre more, so it is emptied before each burst
    plan = burst_plan(
        "2 L", "4 L/min", "2 L/min", reserve="1 L", pail="1.5 L", in_pail="1 L", reaction="0 s", change="10 s", emptying="60 s"
    )
    assert told(plan.alone) == [
        ("empty", 0, 60, 1, 0), ("burst", 60, 15, 1, 1), ("change", 75, 10, 0, 1), ("pour", 85, 30, 1, 1),
        ("empty", 115, 60, 1, 0), ("change", 175, 10, 0, 0), ("burst", 185, 15, 1, 1), ("change", 200, 10, 0, 1), ("pour", 210, 30, 1, 1),
    ]  # fmt: skip
    assert told(plan.helped) == [
        ("empty", 0, 60, 1, 0), ("burst", 60, 15, 1, 1), ("pour", 60, 30, 1, 1), ("empty", 75, 60, 1, 0), ("burst", 135, 15, 1, 1),
        ("pour", 135, 30, 1, 1),
    ]  # fmt: skip
    assert [(table.bursts, table.emptyings, pytest.approx(table.total.m_as("s"))) for table in plan] == [(2, 2, 240), (2, 2, 165)]
    assert str(plan.helped).splitlines() == [
        "  0:00  empty  1.00 liter", "  1:00  burst  1.00 liter", "  1:00  pour   1.00 liter", "  1:15  empty  1.00 liter",
        "  2:15  burst  1.00 liter", "  2:15  pour   1.00 liter", "  2:45  done",
    ]  # fmt: skip
    assert str(plan.alone).splitlines()[2] == "  1:15  change"


def test_a_pour_that_outruns_the_pump_has_no_longest_burst():
    for pour in ("4 L/min", "5 L/min"):
        with pytest.raises(RangeError, match="keeps up with the pump"):
            longest_burst("1.4 L", "4 L/min", pour, "2 s")


def test_what_is_poured_meanwhile_helps_in_the_reaction_time_too():
    # 2 L/min net for 2 s are 67 mL of a tenth of a litre; 6 L/min would be 200 mL
    assert longest_burst("0.1 L", "4 L/min", "2 L/min", "2 s").m_as("s") == pytest.approx(0.1 / 2 * 60 - 2)


def test_a_tube_may_be_as_rough_as_a_twentieth_of_its_bore():
    tube = {"bore": "10 mm", "length": "900 mm", "head": "900 mm", "viscosity": "80 mm²/s"}
    assert pour_rate(**tube, roughness="0.5 mm").m > 0
    with pytest.raises(RangeError):
        pour_rate(**tube, roughness="0.501 mm")


def test_twice_the_critical_number_is_turbulent():
    assert flow_regime(2 * CRITICAL) == flow_regime(CRITICAL * 1.001) == "turbulent"
    assert flow_regime(CRITICAL * 0.999) == "laminar"


def test_a_plan_in_one_line():
    # a litre takes 60 s out, 9 s to walk and 50 s back; the helper pours while it runs
    plan = burst_plan("1 L", "1 L/min", "1.2 L/min", reserve="1.1 L", pail="9 L", reaction="0 s", change="9 s", burst="1 L")
    assert repr(plan) == "<BurstPlan: 1 bursts, 1:59 alone, 1:00 with a helper>"
    assert repr(plan.alone) == "<Timetable: 1 bursts, pail emptied 0 times, 1:59 in all>"


def test_a_thousand_bursts_are_the_most():
    assert burst_plan("1000 L", **PLAN, burst="1 L").alone.bursts == 1000
    with pytest.raises(RangeError, match="more than 1000 bursts"):
        burst_plan("1000.5 L", **PLAN, burst="1 L")


def test_what_just_fits_fits():
    # 4 L/min for 3 s are 0.2 L of 1.4 L; twelve tenths of a litre are left, and fill the pail
    plan = burst_plan("3.6 L", "4 L/min", "1 L/min", "1.4 L", "1.2 L", burst="1.2 L", reaction="3 s")
    assert [step.volume.m_as("L") for step in plan.alone.steps if step.action == "burst"] == pytest.approx([1.2] * 3)
    assert plan.alone.emptyings == plan.helped.emptyings == 2
    # 4 L/min for 1.5 s are 0.1 L of 1.4 L, and 1.3 L are left, though not in floats
    assert burst_plan("2.6 L", "4 L/min", "1 L/min", "1.4 L", "9 L", burst="1.3 L", reaction="1.5 s").alone.bursts == 2
    # three times a tenth is three tenths, though not in floats
    plan = burst_plan("0.6 L", "4 L/min", "1 L/min", "1.4 L", "0.3 L", burst="0.1 L")
    assert plan.alone.emptyings == plan.helped.emptyings == 1


def test_walking_moves_no_fluid_and_an_emptied_pail_is_empty():
    plan = burst_plan("3.75 L", "3.7 L/min", "1.2 L/min", reserve="1.4 L", pail="3 L", in_pail="2 L")
    for table in (plan.alone, plan.helped):
        for step in table.steps:
            if step.action == "change":
                assert step.volume.magnitude == 0
            if step.action == "empty":
                assert step.pail.magnitude == 0
                assert step.volume.magnitude > 0


def test_a_pump_slower_than_a_litre_a_minute():
    assert longest_burst("1.5 L", "0.5 L/min", "0.2 L/min", "0 s").m_as("min") == pytest.approx(5)


def test_a_sump_that_is_empty_when_the_hand_reaches_the_key_is_refused():
    with pytest.raises(RangeError):
        longest_burst("0.125 L", "4 L/min", "0.25 L/min", "2 s")  # 3.75 L/min for 2 s are exactly the reserve


def test_a_plan_may_use_a_reserve_that_just_outlasts_the_reaction():
    # 3 L/min for the two seconds of the reaction are 0.1 L; what is left of 0.12 L is 0.02 L a burst
    plan = burst_plan("0.04 L", "3 L/min", "1 L/min", "0.12 L", "9 L")
    assert plan.alone.bursts == 2


def test_a_helper_who_pours_faster_than_the_pump_is_mentioned():
    slow = burst_plan("3.75 L", "3.7 L/min", "3.7 L/min", reserve="1.4 L", pail="3 L")
    fast = burst_plan("3.75 L", "3.7 L/min", "6 L/min", reserve="1.4 L", pail="3 L")
    assert slow.helped.caution == slow.alone.caution == fast.alone.caution == ""
    assert "no faster than the pump" in fast.helped.caution
    assert fast.helped.caution in str(fast.helped)
    pours = [step.duration.m_as("s") for step in fast.helped.steps if step.action == "pour"]
    bursts = [step.duration.m_as("s") for step in fast.helped.steps if step.action == "burst"]
    assert pours == pytest.approx(bursts), "the sump never rises above where it stood"
    assert fast.alone.steps[2].duration.m_as("s") == pytest.approx(12.5), "alone the engine stands still, and the funnel may"


@pytest.mark.parametrize("name", ["pump_flow", "pour_rate", "reserve", "pail"])
def test_one_timetable_is_for_one_flow_and_one_pail(name):
    with pytest.raises(SumpwiseError) as caught:
        burst_plan("7.5 L", **PLAN | {name: [PLAN[name], PLAN[name]]})
    assert caught.value.argument == name
