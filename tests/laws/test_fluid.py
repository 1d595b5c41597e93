"""Laws of expansion and viscosity."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from laws.lawbook import law
from sumpwise.fluid.density import volume_at, volume_correction_factor
from sumpwise.fluid.viscosity import blend_viscosity, viscosity_at, viscosity_index

densities = st.floats(800.9, 1163.5)
temperatures = st.floats(-50, 150)
volumes = st.floats(0.001, 100)
factor = volume_correction_factor.kernel
moved = volume_at.kernel
viscosity = viscosity_at.kernel
index = viscosity_index.kernel
oils = st.tuples(st.floats(1.0, 500.0), st.floats(1.05, 20.0)).map(lambda pair: (pair[0] * pair[1], pair[0]))
"""Viscosity at 40 °C and at 100 °C, the first above the second."""


@law("volume_correction_factor")
@given(densities)
def test_factor_is_one_at_fifteen_degrees(density):
    """At 15 °C the volume correction factor is 1."""
    assert factor(15.0, density) == 1


@law("volume_correction_factor")
@given(temperatures, st.floats(1e-3, 100), densities)
def test_warmer_fluid_has_a_smaller_factor(temperature, step, density):
    """The warmer the fluid, the smaller its factor."""
    assume(temperature + step <= 150)
    assert factor(temperature + step, density) < factor(temperature, density)


@law("volume_correction_factor")
@given(st.floats(15.1, 150), densities, st.floats(1.001, 1.4))
def test_light_fluid_grows_more(temperature, density, ratio):
    """Of two fluids warmed alike the lighter grows more."""
    assume(density * ratio <= 1163.5)
    assert factor(temperature, density) < factor(temperature, density * ratio)


@law("volume_at")
@given(volumes, temperatures, temperatures, densities)
def test_there_and_back(volume, start, end, density):
    """A volume taken to another temperature and back is the volume it was."""
    assert moved(moved(volume, start, end, density), end, start, density) == pytest.approx(volume, rel=1e-14)


@law("volume_at")
@given(volumes, temperatures, temperatures, temperatures, densities)
def test_two_steps_are_one(volume, start, between, end, density):
    """Going by way of a third temperature makes no difference."""
    by_way = moved(moved(volume, start, between, density), between, end, density)
    assert by_way == pytest.approx(moved(volume, start, end, density), rel=1e-14)


@law("volume_at")
@given(volumes, temperatures, temperatures, densities, st.floats(0.01, 100))
def test_expansion_scales_with_the_volume(volume, start, end, density, scale):
    """Twice the fluid grows by twice as much."""
    assert moved(volume * scale, start, end, density) == pytest.approx(scale * moved(volume, start, end, density), rel=1e-14)


@law("volume_at")
@given(volumes, temperatures, densities)
def test_equal_temperatures_change_nothing(volume, temperature, density):
    """A volume at its own temperature is itself."""
    assert moved(volume, temperature, temperature, density) == pytest.approx(volume, rel=1e-15)


@law("viscosity_at")
@given(oils, st.sampled_from((273.15, 273.0)))
def test_the_line_passes_through_its_two_points(oil, zero):
    """At 40 and at 100 °C the fluid has the viscosities of its data sheet."""
    assert viscosity(40.0, *oil, zero) == pytest.approx(oil[0], rel=1e-11)
    assert viscosity(100.0, *oil, zero) == pytest.approx(oil[1], rel=1e-11)


@law("viscosity_at")
@given(oils, st.floats(0, 149), st.floats(1e-3, 50))
def test_warmer_is_thinner(oil, temperature, step):
    """The warmer the fluid, the thinner it is."""
    assume(temperature + step <= 150)
    assert viscosity(temperature + step, *oil) < viscosity(temperature, *oil)


@law("viscosity_at")
@given(oils, st.floats(41, 99), st.floats(1.001, 1.2))
def test_a_thicker_sheet_means_thicker_between(oil, temperature, ratio):
    """A fluid that is thicker at both points is thicker everywhere between them."""
    assert viscosity(temperature, oil[0] * ratio, oil[1] * ratio) > viscosity(temperature, *oil)


@law("viscosity_index")
@given(st.floats(2.0, 100.0), st.floats(1.5, 15.0), st.floats(1.001, 1.5))
def test_thinning_more_lowers_the_index(thin, ratio, more):
    """Of two fluids alike at 100 °C the one thicker at 40 °C has the lower index."""
    assert index(thin * ratio * more, thin) < index(thin * ratio, thin)


@law("viscosity_index")
@given(st.floats(2.0, 100.0))
def test_the_two_procedures_meet_at_one_hundred(thin):
    """Where procedure A gives 100, procedure B begins at 100."""
    low, high = 1.0, 1e5
    for _ in range(200):
        middle = math.sqrt(low * high)
        low, high = (middle, high) if index(middle, thin) > 100 else (low, middle)
    assert index(low, thin) == pytest.approx(100, abs=1e-6)
    assert index(high, thin) == pytest.approx(100, abs=1e-6)


@law("viscosity_index")
@given(st.floats(3.0, 69.9), st.floats(2.0, 10.0))
def test_the_table_is_read_without_a_step(thin, ratio):
    """A hair more viscosity never makes the index jump: the table is interpolated."""
    assert index(thin * ratio, thin * (1 + 1e-9)) == pytest.approx(index(thin * ratio, thin), abs=1e-4)


shares = st.lists(st.floats(0.01, 1.0), min_size=1, max_size=6).map(lambda parts: [p / math.fsum(parts) for p in parts])


@law("blend_viscosity")
@given(st.data(), shares)
def test_a_blend_lies_between_its_components(data, parts):
    """A blend is no thinner than its thinnest and no thicker than its thickest component."""
    fluids = data.draw(st.lists(st.floats(0.5, 1e4), min_size=len(parts), max_size=len(parts)))
    assert min(fluids) * (1 - 1e-9) <= blend_viscosity.kernel(parts, fluids) <= max(fluids) * (1 + 1e-9)


@law("blend_viscosity")
@given(shares, st.floats(0.5, 1e4))
def test_a_fluid_blended_with_itself_is_itself(parts, fluid):
    """A blend of one fluid with itself is that fluid."""
    assert blend_viscosity.kernel(parts, [fluid] * len(parts)) == pytest.approx(fluid, rel=1e-10)


@law("blend_viscosity")
@given(st.data(), shares)
def test_the_order_of_the_components_makes_no_difference(data, parts):
    """It does not matter which fluid is named first."""
    fluids = data.draw(st.lists(st.floats(0.5, 1e4), min_size=len(parts), max_size=len(parts)))
    shuffled = data.draw(st.permutations(list(zip(parts, fluids, strict=True))))
    assert blend_viscosity.kernel(*zip(*shuffled, strict=True)) == pytest.approx(blend_viscosity.kernel(parts, fluids), rel=1e-10)
