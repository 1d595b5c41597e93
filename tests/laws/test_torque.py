"""Laws of a torque wrench with an adapter, of its tolerance, and of the clamp load."""

from __future__ import annotations

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from laws.lawbook import law
from sumpwise import applied_torque, clamp_load, permissible_deviation, setting_band, wrench_setting

torques = st.floats(0.5, 400)
wrenches = st.floats(100, 1200)
adapters = st.floats(0, 400)
angles = st.floats(-180, 180)
units = st.sampled_from([("N·m", 1.0), ("lbf·ft", 1 / 1.3558179483314004), ("lbf·in", 12 / 1.3558179483314004), ("kgf·m", 1 / 9.80665)])


def nm(torque):
    return f"{torque!r} N·m"


def mm(length):
    return f"{length!r} mm"


def deg(angle):
    return f"{angle!r} deg"


@law("wrench_setting", "applied_torque")
@settings(deadline=None)
@given(torques, wrenches, adapters, angles, units)
def test_the_setting_applies_the_torque(torque, wrench, adapter, angle, unit):
    """A wrench at its setting puts the wanted torque on the bolt, in any unit, at any angle it can turn."""
    assume(adapter < 0.9 * wrench)
    name, size = unit
    setting = wrench_setting(f"{torque * size!r} {name}", mm(wrench), mm(adapter), deg(angle))
    assert applied_torque(setting, mm(wrench), mm(adapter), deg(angle)).m_as("N*m") == pytest.approx(torque, rel=1e-12)


@law("wrench_setting")
@settings(deadline=None)
@given(torques, wrenches, adapters, st.floats(0, 180))
def test_an_adapter_to_either_side_is_the_same(torque, wrench, adapter, angle):
    """Only the length along the wrench counts: left is right, and at a right angle or without length nothing changes."""
    assume(adapter < 0.9 * wrench)
    left, right = (wrench_setting(nm(torque), mm(wrench), mm(adapter), deg(side)).magnitude for side in (angle, -angle))
    assert left == pytest.approx(right, rel=1e-12)
    assert wrench_setting(nm(torque), mm(wrench), mm(adapter), "90 deg").magnitude == pytest.approx(torque, rel=1e-12)
    assert wrench_setting(nm(torque), mm(wrench), "0 mm", deg(angle)).magnitude == pytest.approx(torque, rel=1e-12)


@law("wrench_setting")
@settings(deadline=None)
@given(torques, wrenches, st.floats(1, 400), st.floats(0, 180), st.floats(0, 180))
def test_an_adapter_in_line_asks_for_the_lowest_setting(torque, wrench, adapter, one, other):
    """The further an adapter turns back from straight ahead, the higher the setting, and straight ahead it is below the torque."""
    assume(adapter < 0.9 * wrench)
    near, far = sorted((one, other))
    ahead, turned = (wrench_setting(nm(torque), mm(wrench), mm(adapter), deg(angle)).magnitude for angle in (near, far))
    assert ahead <= turned * (1 + 1e-12)
    assert wrench_setting(nm(torque), mm(wrench), mm(adapter)).magnitude < torque


@law("setting_band", "applied_torque")
@settings(deadline=None)
@given(torques, st.floats(0, 0.08), st.floats(0.01, 0.5), st.floats(0, 1), st.floats(-1, 1), wrenches, adapters, angles)
def test_no_setting_in_the_band_leaves_the_window(lower, tolerance, room, place, deviation, wrench, adapter, angle):
    """Any setting of the band, off by anything the wrench may be off, stays inside the window at the bolt."""
    assume(adapter < 0.9 * wrench)
    upper = lower * (1 + tolerance) / (1 - tolerance) * (1 + room)
    band = setting_band(nm(lower), nm(upper), tolerance, mm(wrench), mm(adapter), deg(angle))
    setting = band.lower + place * (band.upper - band.lower)
    torque = applied_torque(setting, mm(wrench), mm(adapter), deg(angle)).magnitude * (1 + deviation * tolerance)
    assert lower * (1 - 1e-12) <= torque <= upper * (1 + 1e-12)


@law("setting_band")
@settings(deadline=None)
@given(torques, st.floats(0, 0.08), st.floats(0.01, 0.5))
def test_the_band_is_as_wide_as_it_may_be(lower, tolerance, room):
    """At either end of the band the worst wrench just touches the window."""
    upper = lower * (1 + tolerance) / (1 - tolerance) * (1 + room)
    band = setting_band(nm(lower), nm(upper), tolerance)
    assert band.lower.magnitude * (1 - tolerance) == pytest.approx(lower, rel=1e-12)
    assert band.upper.magnitude * (1 + tolerance) == pytest.approx(upper, rel=1e-12)


@law("permissible_deviation")
@settings(deadline=None)
@given(st.floats(5, 15), units)
@example(10.01, ("N·m", 1.0))
@example(9.99, ("N·m", 1.0))
def test_small_wrenches_may_be_off_by_more(maximum, unit):
    """Up to 10 N·m the permissible deviation is 6 %, above it 4 %, whatever unit the scale is in."""
    assume(abs(maximum - 10) > 1e-9)
    name, size = unit
    assert permissible_deviation(f"{maximum * size!r} {name}") == (0.06 if maximum < 10 else 0.04)


@law("clamp_load")
@settings(deadline=None)
@given(torques, st.floats(4, 40), st.floats(0.08, 0.4), units)
def test_torque_is_nut_factor_times_diameter_times_load(torque, diameter, factor, unit):
    """The clamp load times diameter and nut factor is the torque again."""
    name, size = unit
    load = clamp_load(f"{torque * size!r} {name}", mm(diameter), factor)
    assert load.m_as("N") * factor * diameter / 1000 == pytest.approx(torque, rel=1e-9)
