"""Laws of the wrench with an adapter, of the safe setting band, and of the clamp load."""

from __future__ import annotations

import math
from contextlib import suppress

import numpy
import pint
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st
from uncertainties import ufloat

from laws.lawbook import law
from sumpwise import (
    RangeError,
    Span,
    SumpwiseError,
    applied_torque,
    clamp_load,
    permissible_deviation,
    quantity,
    setting_band,
    wrench_setting,
)

Q = pint.application_registry.get().Quantity
torques = st.floats(1.0, 500.0)
lengths = st.floats(100.0, 1000.0)
adapters = st.floats(0.0, 90.0)
angles = st.floats(-180.0, 180.0)
tolerances = st.floats(0.0, 0.2)
units = st.sampled_from(("N·m", "lbf·ft", "lbf·in", "kgf·m", "kgf·cm"))
NEAR = 1e-12


def nm(number: float):
    return quantity(number, "N·m")


def mm(number: float):
    return quantity(number, "mm")


@law("wrench_setting", "applied_torque")
@given(torques, lengths, adapters, angles, units)
def test_setting_and_torque_are_inverse(torque, length, adapter, angle, unit):
    """A wrench at its setting applies the torque it was set for, in the unit it was asked in."""
    wanted = quantity(nm(torque), unit)
    turned = quantity(angle, "deg")
    setting = wrench_setting(wanted, mm(length), mm(adapter), turned)
    assert setting.units == wanted.units
    assert applied_torque(setting, mm(length), mm(adapter), turned).magnitude == pytest.approx(wanted.magnitude, rel=NEAR)
    back = applied_torque(wanted, mm(length), mm(adapter), turned)
    assert wrench_setting(back, mm(length), mm(adapter), turned).magnitude == pytest.approx(wanted.magnitude, rel=NEAR)


@law("wrench_setting", "applied_torque")
@given(torques, lengths, adapters, angles, st.floats(0.1, 10.0))
def test_setting_scales_with_torque_and_not_with_lengths(torque, length, adapter, angle, factor):
    """The setting is proportional to the torque; both lengths made longer by one factor change nothing, nor does the side of the angle."""
    turned, other = quantity(angle, "deg"), quantity(-angle, "deg")
    setting = wrench_setting(nm(torque), mm(length), mm(adapter), turned).magnitude
    assert wrench_setting(nm(factor * torque), mm(length), mm(adapter), other).magnitude == pytest.approx(factor * setting, rel=NEAR)
    assert wrench_setting(nm(torque), mm(factor * length), mm(factor * adapter), turned).magnitude == pytest.approx(setting, rel=NEAR)
    applied = applied_torque(nm(torque), mm(length), mm(adapter), turned).magnitude
    assert applied_torque(nm(factor * torque), mm(factor * length), mm(factor * adapter), other).magnitude == pytest.approx(
        factor * applied, rel=NEAR
    )


@law("wrench_setting")
@given(torques, lengths, adapters, angles)
def test_an_adapter_in_line_lowers_the_setting_most(torque, length, adapter, angle):
    """In line the setting is lowest, pointing back highest, at a right angle or without an adapter it is the torque itself."""
    setting = wrench_setting(nm(torque), mm(length), mm(adapter), quantity(angle, "deg")).magnitude
    assert wrench_setting(nm(torque), mm(length), mm(adapter)).magnitude <= setting * (1 + NEAR)
    assert setting <= wrench_setting(nm(torque), mm(length), mm(adapter), "180 deg").magnitude * (1 + NEAR)
    assert wrench_setting(nm(torque), mm(length), mm(adapter), "90 deg").magnitude == pytest.approx(torque, rel=NEAR)
    assert wrench_setting(nm(torque), mm(length), "0 mm", quantity(angle, "deg")).magnitude == torque
    assert (setting <= torque * (1 + NEAR)) or abs(angle) > 90


@law("setting_band", "applied_torque")
@given(torques, st.floats(0.0, 0.5), tolerances, lengths, adapters, angles, st.floats(-1.0, 1.0), st.floats(0.0, 1.0))
def test_every_setting_in_the_band_is_safe(lower, width, tolerance, length, adapter, angle, error, place):
    """Whatever a wrench within its tolerance does, a setting within the band keeps the torque in its window; or there is no band."""
    upper = lower * (1 + width)
    arguments = (nm(lower), nm(upper), tolerance, mm(length), mm(adapter), quantity(angle, "deg"))
    if lower / (1 - tolerance) > upper / (1 + tolerance):
        with pytest.raises(RangeError, match="cannot guarantee") as refused:
            setting_band(*arguments)
        setting_band(*arguments[:2], refused.value.allowed.removeprefix("at most "), *arguments[3:])  # what it asks for is enough
        return
    band = setting_band(*arguments)
    assert isinstance(band, Span)
    low, high = band.lower.magnitude, band.upper.magnitude
    assert low <= high * (1 + NEAR)
    applied = applied_torque(nm(low + place * (high - low)), mm(length), mm(adapter), quantity(angle, "deg")).magnitude
    assert lower * (1 - NEAR) <= applied * (1 + error * tolerance) <= upper * (1 + NEAR)
    assert applied_torque(band.lower, mm(length), mm(adapter), quantity(angle, "deg")).magnitude * (1 - tolerance) == pytest.approx(lower)
    assert applied_torque(band.upper, mm(length), mm(adapter), quantity(angle, "deg")).magnitude * (1 + tolerance) == pytest.approx(upper)


@law("setting_band", "wrench_setting")
@given(torques, st.floats(0.3, 0.9), st.floats(0.0, 0.05), st.floats(0.0, 0.05), units)
def test_a_better_wrench_has_a_wider_band(lower, width, one, two, unit):
    """A smaller tolerance widens the band, and none leaves the window itself; the band is in the unit of its lower limit."""
    fine, coarse = sorted((one, two))
    limits = quantity(nm(lower), unit), nm(lower * (1 + width))
    wide, narrow, window = (setting_band(*limits, t) for t in (fine, coarse, 0.0))
    assert wide.lower <= narrow.lower * (1 + NEAR)
    assert wide.upper * (1 + NEAR) >= narrow.upper
    assert window.lower.units == window.upper.units == limits[0].units
    assert window.upper.m_as("newton*meter") == pytest.approx(lower * (1 + width), rel=NEAR)
    assert setting_band(*limits, 0.0, "300 mm", "45 mm").lower.magnitude == pytest.approx(
        wrench_setting(limits[0], "300 mm", "45 mm").magnitude, rel=NEAR
    )


@law("permissible_deviation")
@given(st.floats(0.001, 1e6), st.floats(1.0, 10.0), units)
def test_a_larger_tool_deviates_no_more(maximum, factor, unit):
    """The permissible deviation is 6 % up to 10 N·m and 4 % above, in any unit, and never rises with the tool's size."""
    assert permissible_deviation(nm(maximum)) == (0.06 if maximum <= 10 else 0.04)
    assert permissible_deviation(nm(maximum * factor)) <= permissible_deviation(nm(maximum))
    assume(abs(maximum - 10) > 1e-9)
    assert permissible_deviation(quantity(nm(maximum), unit)) == permissible_deviation(nm(maximum))


@law("clamp_load")
@given(torques, st.floats(3.0, 40.0), st.floats(0.05, 0.5), st.floats(0.1, 1.9))
def test_clamp_load_scales(torque, diameter, factor, times):
    """The load times factor times diameter is the torque: proportional to the torque, inverse to the diameter and to the factor."""
    load = clamp_load(nm(torque), mm(diameter), factor)
    assert (load * Q(diameter, "mm") * factor).m_as("newton*meter") == pytest.approx(torque, rel=NEAR)
    assert clamp_load(nm(times * torque), mm(diameter), factor).magnitude == pytest.approx(times * load.magnitude, rel=NEAR)
    assert clamp_load(nm(torque), mm(times * diameter), factor).magnitude == pytest.approx(load.magnitude / times, rel=NEAR)
    assert clamp_load(nm(torque), quantity(diameter / 25.4, "in"), factor).magnitude == pytest.approx(load.magnitude, rel=NEAR)


@law("clamp_load", "wrench_setting", "applied_torque", "setting_band", "permissible_deviation")
@given(st.lists(torques, min_size=1, max_size=5), lengths, adapters, angles)
def test_an_array_is_its_elements(several, length, adapter, angle):
    """An answer for an array is the array of the answers for its elements."""
    turned = quantity(angle, "deg")
    whole = Q(numpy.array(several), "newton*meter")
    for call in (
        lambda t: wrench_setting(t, mm(length), mm(adapter), turned).magnitude,
        lambda t: applied_torque(t, mm(length), mm(adapter), turned).magnitude,
        lambda t: clamp_load(t, mm(adapter + 1), 0.2).magnitude,
        lambda t: setting_band(t, "600 N·m", 0.04, mm(length), mm(adapter), turned).lower.magnitude,
        permissible_deviation,
    ):
        assert call(whole) == pytest.approx(numpy.array([call(nm(t)) for t in several]), rel=1e-13)


@law("clamp_load", "wrench_setting", "applied_torque", "setting_band")
@given(torques, lengths, st.floats(1.0, 90.0), st.floats(0.001, 0.05))
def test_relative_uncertainties_add_in_quadrature(torque, length, adapter, share):
    """Products and quotients of uncertain numbers carry the relative uncertainties in quadrature, and none stays plain."""
    t, k, arm = ufloat(torque, share * torque), ufloat(0.2, 0.03), ufloat(length, 1.0)
    load = clamp_load(Q(t, "newton*meter"), mm(adapter), k).magnitude
    assert load.std_dev / load.nominal_value == pytest.approx(math.hypot(share, 0.15), rel=1e-9)
    by_rule = t * arm / (arm + adapter)
    setting = wrench_setting(Q(t, "newton*meter"), Q(arm, "mm"), mm(adapter)).magnitude
    for source in (t, arm):
        assert setting.derivatives[source] == pytest.approx(by_rule.derivatives[source], rel=1e-8, abs=1e-10)
    assert (applied_torque(Q(setting, "newton*meter"), Q(arm, "mm"), mm(adapter)).magnitude - t).std_dev < 1e-8 * torque
    band = setting_band(Q(t, "newton*meter"), nm(2 * torque), 0.04)
    assert band.lower.magnitude.std_dev == pytest.approx(share * torque / 0.96, rel=1e-9)
    assert type(wrench_setting(nm(torque), mm(length), mm(adapter)).magnitude) is float


@law("clamp_load", "wrench_setting", "applied_torque", "setting_band", "permissible_deviation")
@given(st.floats(), st.floats(), st.floats(), st.floats())
def test_any_numbers_answer_finitely_or_are_refused(one, two, three, four):
    """Whatever the numbers, the answer is finite, or there is one error of the library."""
    t, u, arm, e, turned = Q(one, "newton*meter"), Q(two, "newton*meter"), Q(two, "mm"), Q(three, "mm"), Q(four, "degree")
    for call in (
        lambda: wrench_setting(t, arm, e, turned).magnitude,
        lambda: applied_torque(t, arm, e, turned).magnitude,
        lambda: setting_band(t, u, four, arm, e, turned).upper.magnitude,
        lambda: clamp_load(t, arm, four).magnitude,
        lambda: permissible_deviation(t),
    ):
        with suppress(SumpwiseError):
            assert 0 <= call() < math.inf
