"""Laws of pouring, bursts and the level."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from laws.lawbook import law
from sumpwise import uncertainty
from sumpwise.filling.bursts import burst_plan, longest_burst
from sumpwise.filling.level import Dipstick, slope_bias
from sumpwise.filling.overflow import OverflowPlug
from sumpwise.filling.pouring import CRITICAL, flow_regime, pour_rate, pour_reynolds
from sumpwise.measurement.joint import best_estimate
from sumpwise.quantities.boundary import answer

rate = pour_rate.kernel


def friction_alone(*tube):
    return rate(*tube, ends=0)


def reynolds(*tube):
    return pour_reynolds.kernel(*tube, ends=0)



bores = st.floats(3, 60)
lengths = st.floats(100, 3000)
thicknesses = st.floats(1, 500)
ventings = st.floats(0.1, 1)
more = st.floats(1.001, 2)
tubes = st.tuples(bores, lengths, lengths, thicknesses, ventings)


@law("pour_rate")
@given(tubes, more)
def test_a_larger_bore_pours_faster(tube, ratio):
    """A larger bore pours faster, whatever the regime."""
    bore, *rest = tube
    assert rate(bore * ratio, *rest) > rate(bore, *rest)


@law("pour_rate")
@given(tubes, more)
def test_laminar_flow_grows_with_the_fourth_power_of_the_bore(tube, ratio):
    """Friction alone: while the flow is laminar, twice the bore pours sixteen times as fast."""
    bore, *rest = tube
    assume(reynolds(bore * ratio, *rest) < CRITICAL * 0.999 and friction_alone(bore * ratio, *rest) < 0.99 * _free(bore * ratio, *rest))
    assert friction_alone(bore * ratio, *rest) == pytest.approx(ratio**4 * friction_alone(bore, *rest), rel=1e-12)


@law("pour_rate")
@given(tubes)
def test_laminar_flow_halves_with_twice_the_length(tube):
    """Friction alone: while the flow is laminar, a tube twice as long, or fluid twice as thick, pours half as fast."""
    bore, length, head, viscosity, venting = tube
    assume(reynolds(*tube) < CRITICAL * 0.999 and friction_alone(*tube) < 0.99 * _free(*tube))
    assert friction_alone(bore, 2 * length, head, viscosity, venting) == pytest.approx(0.5 * friction_alone(*tube), rel=1e-12)
    assert friction_alone(bore, length, head, 2 * viscosity, venting) == pytest.approx(0.5 * friction_alone(*tube), rel=1e-12)


@law("pour_rate")
@given(tubes, more)
def test_more_head_or_a_shorter_tube_never_pours_slower(tube, ratio):
    """More head, better venting or a shorter tube never pours slower."""
    bore, length, head, viscosity, venting = tube
    usual = rate(*tube) * (1 - 1e-12)
    assert rate(bore, length, head * ratio, viscosity, venting) >= usual
    assert rate(bore, length / ratio, head, viscosity, venting) >= usual
    assert rate(bore, length, head, viscosity, min(1.0, venting * ratio)) >= usual


@law("pour_rate", "pour_reynolds")
@given(tubes, st.floats(0, 0.04))
def test_head_and_friction_balance(tube, relative):
    """In a stretch of full pipe the head equals the friction of its law: 64/Re below 2300, Colebrook and White above."""
    bore, length, head, viscosity, venting = tube
    roughness = bore * relative
    re = reynolds(*tube, roughness)
    assume(friction_alone(*tube, roughness) < 0.999 * _free(*tube) and flow_regime(re) != "between")
    speed = re * viscosity * 1e-6 / (bore * 1e-3)
    friction = venting * head / length * bore * 1e-3 * 2 * 9.80665 / speed**2
    if re < CRITICAL:
        assert friction == pytest.approx(64 / re, rel=1e-11)
    else:
        assert friction**-0.5 == pytest.approx(-2 * math.log10(relative / 3.7 + 2.51 / (re * friction**0.5)), rel=1e-10)


@law("pour_rate", "pour_reynolds")
@given(tubes)
def test_head_pays_for_friction_and_both_ends(tube):
    """From a funnel into a pan the head equals friction, half a velocity head at the inlet, and two or one that leave with the fluid."""
    bore, length, head, viscosity, venting = tube
    re = pour_reynolds.kernel(*tube)
    assume(abs(re - CRITICAL) > 1e-6)
    speed = re * viscosity * 1e-6 / (bore * 1e-3)
    friction = 64 / re
    if re > CRITICAL:
        friction = 0.02
        for _ in range(60):
            friction = (2 * math.log10(2.51 / (re * friction**0.5))) ** -2
    spent = (friction * length / bore + 0.5 + (1 if re > CRITICAL else 2)) * speed**2 / (2 * 9.80665)
    assert spent == pytest.approx(venting * head * 1e-3, rel=1e-9)


@law("pour_rate")
@given(tubes)
def test_ends_never_speed_a_tube_up(tube):
    """What is lost at the ends never makes a tube pour faster."""
    assert rate(*tube) <= friction_alone(*tube) * (1 + 1e-12)


@law("pour_rate")
@given(tubes)
def test_no_tube_beats_free_outflow(tube):
    """No tube pours faster than fluid falling freely through its mouth."""
    assert rate(*tube) <= _free(*tube) * (1 + 1e-12)


def _free(bore, length, head, viscosity, venting):
    return math.pi / 4 * (bore * 1e-3) ** 2 * math.sqrt(2 * 9.80665 * venting * head * 1e-3) * 6e4


@law("longest_burst")
@given(st.floats(0.1, 5), st.floats(0.5, 10), st.floats(0, 1), st.floats(0, 0.1))
def test_a_longest_burst_uses_the_reserve_up(reserve, pump, share, reaction):
    """What the pump takes in the longest burst and the reaction after it, less what is poured, is the reserve."""
    pour = 0.99 * share * pump
    assume(reserve > (pump - pour) * reaction)
    lasts = longest_burst.kernel(reserve, pump, pour, reaction)
    assert (lasts + reaction) * (pump - pour) == pytest.approx(reserve, rel=1e-12)


plans = st.fixed_dictionaries(
    {
        "volume": st.floats(0.5, 20), "pump_flow": st.floats(1.5, 8), "pour_rate": st.floats(0.3, 6), "reserve": st.floats(0.8, 2),
        "pail": st.floats(1, 12),
    }
)  # fmt: skip
UNITS = {"volume": "L", "pump_flow": "L/min", "pour_rate": "L/min", "reserve": "L", "pail": "L"}


@law("burst_plan")
@given(plans)
def test_what_is_pumped_is_poured_and_the_pail_never_overflows(numbers):
    """A plan pumps and pours the volume asked for, never overflows the pail, never starves the pump, and a helper saves time."""
    plan = burst_plan(**{key: f"{value!r} {UNITS[key]}" for key, value in numbers.items()})
    for table in plan:
        for action in ("burst", "pour"):
            assert math.fsum(s.volume.m for s in table.steps if s.action == action) == pytest.approx(numbers["volume"], rel=1e-9)
        assert all(s.pail.m <= numbers["pail"] * (1 + 1e-9) for s in table.steps)
        assert all(s.volume.m <= numbers["reserve"] for s in table.steps if s.action == "burst")
        bursts = [(s.start.m, s.start.m + s.duration.m) for s in table.steps if s.action == "burst"]
        pours = [(s.start.m, s.start.m + s.duration.m) for s in table.steps if s.action == "pour"]
        for (start, _), (_, pumped), (_, poured) in zip(bursts[1:], bursts, pours, strict=False):
            assert start >= max(pumped, poured) - 1e-9
    assert plan.helped.total <= plan.alone.total


fills = st.floats(2, 15)
densities = st.floats(801, 1000)
readings = st.floats(-30, 40)
warmths = st.floats(-20, 149)


def stick(fill=8.85, density=847.0, **options):
    return Dipstick("0.42 L", "13 mm", f"{fill!r} L", f"{density!r} kg/m³", "82–92 °C", **options)


@law("Dipstick")
@given(readings, warmths, fills, densities)
def test_a_reading_predicts_itself(reading, temperature, fill, density):
    """A reading predicts itself at its own temperature, and a prediction read back gives the same error."""
    one, at = stick(fill, density), f"{temperature!r} °C"
    assert one.predict(f"{reading!r} mm", at, at).m == pytest.approx(reading, abs=1e-9)
    hot = one.predict(f"{reading!r} mm", at, "87 °C")
    assert one.error(hot, "87 °C").m == pytest.approx(one.error(f"{reading!r} mm", at).m, abs=1e-11)


@law("Dipstick")
@given(readings, st.floats(-20, 140), st.floats(0.1, 9), fills, densities)
def test_warmer_is_higher(reading, temperature, step, fill, density):
    """The same fill stands higher when it is warmer, and the same reading means less fluid."""
    one, cool, warm = stick(fill, density), f"{temperature!r} °C", f"{temperature + step!r} °C"
    assert one.predict(f"{reading!r} mm", cool, warm).m > reading
    assert one.error(f"{reading!r} mm", warm).m < one.error(f"{reading!r} mm", cool).m
    assert one.growth(cool, warm).m > 0


@law("Dipstick")
@given(st.floats(-0.5, 0.5), warmths)
def test_the_error_is_what_is_missing(error, temperature):
    """If a fill is off by a volume at 20 °C, the stick, read at any temperature, gives that volume."""
    one = stick()
    height = 6.5 + error * _growth(87.0) * 13 / 0.42
    there = one.predict(f"{height!r} mm", "87 °C", f"{temperature!r} °C")
    assert one.error(there, f"{temperature!r} °C").m == pytest.approx(error, abs=1e-11)


def _growth(temperature, density=847.0):
    def factor(t):
        a = 0.6278 / density * (t - 15)
        return math.exp(-a * (1 + 0.8 * a))

    return factor(20.0) / factor(temperature)


@law("Dipstick")
@given(readings, st.floats(82, 92))
def test_steps_are_at_most_a_third_of_the_band(reading, temperature):
    """Inside the window an instruction to add comes in as few steps as keep each within a third of the band."""
    said = stick().check(f"{reading!r} mm", f"{temperature!r} °C")
    third = 0.42 / _growth(87.0) / 3
    assert said.instruction in ("add", "leave", "take out")
    if said.instruction == "add":
        assert said.volume.m / said.steps <= third * (1 + 1e-9)
        assert said.steps == 1 or said.volume.m / (said.steps - 1) > third * (1 - 1e-9)


@law("Dipstick")
@given(readings, st.one_of(st.floats(-20, 81.99), st.floats(92.01, 119.9)))
def test_outside_the_window_nothing_is_instructed(reading, temperature):
    """A reading outside the window carries no field that tells anyone to do anything."""
    said = stick().check(f"{reading!r} mm", f"{temperature!r} °C")
    assert said._fields == ("error", "at_lower", "at_middle", "at_upper", "why")


@law("slope_bias")
@given(st.floats(-30, 30), st.floats(0, 1000), st.floats(0.1, 10))
def test_a_slope_reads_high_on_its_low_side(slope, distance, scale):
    """The bias has the sign of the slope, turns with it and grows with the distance."""
    bias = slope_bias.kernel(slope, distance)
    assert bias == pytest.approx(-slope_bias.kernel(-slope, distance), abs=1e-12)
    assert bias == pytest.approx(distance * math.tan(math.radians(slope)), abs=1e-11)
    assert slope_bias.kernel(slope, distance * scale) == pytest.approx(scale * bias, rel=1e-12, abs=1e-12)


@law("OverflowPlug")
@given(fills, densities, st.floats(20, 100), st.floats(0.1, 40))
def test_closed_late_is_low_and_early_is_high(fill, density, temperature, off):
    """The warmer the fluid when the plug is closed, the less stays in: late is low, early is high, the middle is right."""
    plug = OverflowPlug(f"{fill!r} L", f"{density!r} kg/m³", f"{temperature - 2!r} to {temperature + 2!r} °C")
    late, right, early = (plug.error(f"{t!r} °C").m for t in (temperature + off, temperature, temperature - off))
    assert late < right < early
    assert right == pytest.approx(0, abs=1e-12)


@law("OverflowPlug")
@given(st.floats(-10, 45), st.floats(0.05, 20), st.floats(1.1, 10))
def test_faster_heating_leaves_less_time(temperature, heating, faster):
    """The time left is the time to heat to the end of the window, inversely proportional to the rate of heating."""
    plug = OverflowPlug("7 L", "850 kg/m³", "40–45 °C")
    left = plug.time_left(f"{temperature!r} °C", f"{heating!r} °C/min").m
    assert temperature + left * heating == pytest.approx(45, abs=1e-9)
    assert plug.time_left(f"{temperature!r} °C", f"{heating * faster!r} °C/min").m == pytest.approx(left / faster, rel=1e-9, abs=1e-12)


@st.composite
def correlated(draw):
    """Uncertain volumes that share causes, none of them a copy of another."""
    size = draw(st.integers(1, 4))
    common = [uncertainty.source(0.0, draw(st.floats(0.01, 0.5)), name=f"shared {i}") for i in range(2)]
    values = []
    for i in range(size):
        own = uncertainty.source(draw(st.floats(-1, 1)), draw(st.floats(0.02, 0.5)), name=f"own {i}")
        values.append(own + sum(draw(st.floats(-1, 1)) * c for c in common))
    return [answer(v, "volume") for v in values]


@law("best_estimate")
@given(correlated())
def test_no_estimate_is_better_than_the_best(estimates):
    """Weights add up to one, the combined value is no less certain than any of its estimates, and no other weights do better."""
    best = best_estimate(estimates)
    assert sum(best.weights) == pytest.approx(1, abs=1e-9)
    u = uncertainty.standard(best.value.m)
    assert all(u <= uncertainty.standard(e.m) * (1 + 1e-9) for e in estimates)
    for i in range(len(estimates)):
        moved = [w + 0.01 * ((k == i) - 1 / len(estimates)) for k, w in enumerate(best.weights)]
        other = sum(w * e.m for w, e in zip(moved, estimates, strict=True))
        assert uncertainty.standard(other) >= u * (1 - 1e-9)


@law("best_estimate")
@given(correlated(), st.randoms(use_true_random=False))
def test_the_order_of_the_estimates_makes_no_difference(estimates, random):
    """It does not matter which estimate is named first."""
    shuffled = estimates[:]
    random.shuffle(shuffled)
    one, other = best_estimate(estimates).value.m, best_estimate(shuffled).value.m
    assert uncertainty.nominal(one) == pytest.approx(uncertainty.nominal(other), abs=1e-9)
    assert uncertainty.standard(one) == pytest.approx(uncertainty.standard(other), rel=1e-9)


@law("best_estimate")
@given(st.lists(st.tuples(st.floats(-1, 1), st.floats(0.01, 0.5)), min_size=1, max_size=6))
def test_independent_estimates_are_weighted_by_their_variance(pairs):
    """Independent estimates combine to the weighted mean of the textbooks."""
    values, spreads = np.array(pairs).T
    best = best_estimate([f"{v!r} L" for v in values.tolist()], np.diag(spreads**2))
    weights = spreads**-2
    assert uncertainty.nominal(best.value.m) == pytest.approx(float(weights @ values / weights.sum()), abs=1e-12)
    assert uncertainty.standard(best.value.m) == pytest.approx(float(weights.sum() ** -0.5), rel=1e-12)


@law("flow_regime")
@given(st.floats(0, 1e9), st.floats(0, 1e9))
def test_a_flow_that_is_turbulent_stays_so_when_it_runs_faster(one, other):
    """The regime goes one way: laminar, then between at one number alone, then turbulent."""
    order = ("laminar", "between", "turbulent")
    slow, fast = sorted((one, other))
    assert order.index(flow_regime(slow)) <= order.index(flow_regime(fast))
    assert (flow_regime(slow) == "laminar") == (slow < CRITICAL * (1 - 1e-9))
