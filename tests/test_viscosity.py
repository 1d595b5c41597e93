"""Viscosity: both absolute zeros, thin fluids, sequences, and what is refused."""

from __future__ import annotations

import math

import dask.array
import numpy as np
import pint
import pytest

from sumpwise import uncertainty
from sumpwise.errors import RangeError, SumpwiseError, UnitError
from sumpwise.fluid.density import volume_at
from sumpwise.fluid.viscosity import blend_viscosity, safe_to_mix, viscosity_at, viscosity_index


def test_the_older_zero_moves_an_interpolated_answer_by_less_than_its_last_digit():
    new, old = (viscosity_at("80 °C", "32 mm²/s", "5.4 mm²/s", zero) for zero in (273.15, 273.0))
    assert 0 < new.m - old.m < 2e-4


def test_below_two_square_millimetres_the_short_form_of_the_standard_is_left():
    def short(viscosity):
        return math.log(math.log(viscosity + 0.7))

    share = math.log(343.15 / 313.15) / math.log(373.15 / 313.15)
    for thick, thin, apart in ((4.0, 1.2, 1e-3), (29.6, 6.0, 1e-9)):
        by_short = math.exp(math.exp(short(thick) + (short(thin) - short(thick)) * share)) - 0.7
        full = viscosity_at.kernel(70.0, thick, thin)
        assert (abs(full / by_short - 1) > apart) == (thin < 2)


def test_cold_fluid_of_the_example_wagon():
    assert viscosity_at("17 °C", "29.6 mm²/s", "6.0 mm²/s").m == pytest.approx(80.6, abs=0.05)


def test_arrays_and_scalars_agree():
    temperatures = np.array([-20.0, 20.0, 80.0, 140.0])
    many = viscosity_at.kernel(temperatures, 29.6, 6.0)
    assert many.tolist() == pytest.approx([viscosity_at.kernel(float(t), 29.6, 6.0) for t in temperatures], rel=1e-14)
    y = np.array([2.0, 5.05, 20.0, 25.1, 30.0, 69.99, 70.0, 70.01])
    indices = viscosity_index.kernel(np.full(8, 40.0), y)
    assert indices.tolist() == pytest.approx([viscosity_index.kernel(40.0, float(v)) for v in y], rel=1e-12)


def test_kernels_run_unchanged_on_dask_arrays():
    thin = np.linspace(2.0, 90.0, 400)
    lazy = dask.array.from_array(thin, chunks=100)
    for kernel in (
        lambda y: viscosity_index.kernel(8 * y, y),
        lambda y: viscosity_at.kernel(80.0, 8 * y, y),
        lambda y: volume_at.kernel(y, 20.0, y, 847.0),
    ):
        answer = kernel(lazy)
        assert isinstance(answer, dask.array.Array)
        assert np.array_equal(answer.compute(), kernel(thin))


def test_uncertain_data_sheets_give_an_uncertain_index():
    index = viscosity_index("29.6 ± 0.3 mm²/s", "6.0 ± 0.1 mm²/s")
    assert 145 < uncertainty.nominal(index) < 160
    assert 1 < uncertainty.standard(index) < 6


def test_a_blend_takes_texts_shares_in_percent_and_arrays():
    one = blend_viscosity(["60 %", "40 %"], ["5 mm²/s", "20 mm²/s"]).m
    assert blend_viscosity.kernel([0.6, 0.4], [5.0, 20.0]) == pytest.approx(one, rel=1e-15)
    many = blend_viscosity([0.6, 0.4], [["5 mm²/s", "6 mm²/s"], "20 mm²/s"]).m
    assert many[0] == pytest.approx(one, rel=1e-14)
    assert many[1] > one


@pytest.mark.parametrize("specifications", [(), ("A",), ("A", "A"), ("A", "B", "C")])
def test_no_mixture_of_specifications_is_ever_called_safe(specifications):
    with pytest.raises(SumpwiseError, match="no mixture of specifications can be called safe"):
        safe_to_mix(*specifications)


@pytest.mark.parametrize(
    ("call", "kind", "says"),
    [
        (lambda: viscosity_at("20 °C", "6 mm²/s", "30 mm²/s"), RangeError, "swapped"),
        (lambda: viscosity_at("20 °C", "6 mm²/s", "6 mm²/s"), RangeError, "must be thicker"),
        (lambda: viscosity_at("-70 °C", "900 mm²/s", "6 mm²/s"), RangeError, "outside the range of ASTM D341"),
        (lambda: viscosity_at("370 °C", "2 mm²/s", "0.7 mm²/s"), RangeError, "outside the range of ASTM D341"),
        (lambda: viscosity_at(["20 °C", "370 °C"], "2 mm²/s", "0.7 mm²/s"), RangeError, "outside the range of ASTM D341"),
        (lambda: viscosity_at("-70 °C", "2e7 mm²/s", "0.3 mm²/s"), RangeError, "outside the range of ASTM D341"),
        (lambda: viscosity_at("371 °C", "30 mm²/s", "6 mm²/s"), RangeError, "370"),
        (lambda: viscosity_at("20 °C", "30 mm²/s", "0.2 mm²/s"), RangeError, "0.21"),
        (lambda: viscosity_at("20 °C", "30 mm²/s", "6 mm²/s", 274), RangeError, "273.15"),
        (lambda: viscosity_at("20 °C", "30 mPa·s", "6 mm²/s"), SumpwiseError, "viscosity_40"),
        (lambda: viscosity_at("39.5 °C", "2e7 mm²/s", "20 mm²/s"), RangeError, "outside the range of ASTM D341"),
        (lambda: viscosity_at("100.5 °C", "5 mm²/s", "0.21 mm²/s"), RangeError, "outside the range of ASTM D341"),
        (lambda: viscosity_index("20 mm²/s", "1.99 mm²/s"), RangeError, "at least 2"),
        (lambda: viscosity_index("0 mm²/s", "6 mm²/s"), RangeError, "above 0"),
        (lambda: viscosity_index(30, "6 mm²/s"), UnitError, "no unit"),
        (lambda: blend_viscosity("50 %", ["5 mm²/s"]), RangeError, "not a sequence"),
        (lambda: blend_viscosity([1.0], "5 mm²/s"), RangeError, "not a sequence"),
        (lambda: blend_viscosity([1.0], pint.Quantity(5.0, "mm**2/s")), RangeError, "not a sequence"),
        (lambda: blend_viscosity(1.0, ["5 mm²/s"]), RangeError, "not a sequence"),
        (lambda: blend_viscosity([], []), RangeError, "one share for each"),
        (lambda: blend_viscosity([0.5, 0.5], ["5 mm²/s"]), RangeError, "one share for each"),
        (lambda: blend_viscosity([0.5, 0.4], ["5 mm²/s", "6 mm²/s"]), RangeError, "add up to 1"),
        (lambda: blend_viscosity([1.5, -0.5], ["5 mm²/s", "6 mm²/s"]), RangeError, "mass_fractions"),
        (lambda: blend_viscosity([0.5, 0.5], ["5 mm²/s", "0.2 mm²/s"]), RangeError, "above 0.2"),
    ],
)
def test_refusals_say_what_and_how_to_mend(call, kind, says):
    with pytest.raises(kind, match=says):
        call()
