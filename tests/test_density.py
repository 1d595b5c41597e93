"""Volume correction: containers, units, uncertainty and refusals."""

from __future__ import annotations

import numpy as np
import pint
import pytest

from sumpwise import uncertainty
from sumpwise.errors import RangeError, UnitError
from sumpwise.fluid.density import volume_at, volume_correction_factor


def test_ten_litres_drained_hot_and_replaced_cold_overfill_by_nearly_half_a_litre():
    assert 10 - volume_at("10 L", "80 °C", "20 °C", "850 kg/m³").m_as("L") == pytest.approx(0.45, abs=0.005)


def test_one_answer_whatever_the_spelling_of_the_temperature():
    celsius = volume_correction_factor("80 °C", "850 kg/m³")
    assert volume_correction_factor("176 °F", "0.850 g/mL") == pytest.approx(celsius, rel=1e-14)
    registry = pint.UnitRegistry()
    kelvin, density = registry.Quantity(353.15, "kelvin"), registry.Quantity(850, "kg/m**3")
    assert volume_correction_factor(kelvin, density) == pytest.approx(celsius, rel=1e-13)


def test_arrays_are_elementwise_and_answer_in_the_unit_that_asked():
    registry = pint.UnitRegistry()
    temperatures = registry.Quantity(np.array([20.0, 61.0, 86.0]), "degC")
    factors = volume_correction_factor(temperatures, "847 kg/m³")
    single = [volume_correction_factor(f"{t} °C", "847 kg/m³") for t in (20.0, 61.0, 86.0)]
    assert factors.tolist() == pytest.approx(single, rel=1e-15)  # numpy's exp may differ from math's in the last digit
    answer = volume_at(registry.Quantity(1.0, "quart"), temperatures, "20 °C", "847 kg/m³")
    assert answer.units == registry.quart
    assert answer._REGISTRY is registry


def test_a_shortage_is_a_negative_volume():
    assert volume_at("-0.17 L", "20 °C", "86 °C", "847 kg/m³").m < -0.17


def test_an_uncertain_thermometer_makes_an_uncertain_volume():
    volume = volume_at("8.85 L", "80 ± 2 °C", "20 °C", "847 kg/m³").m
    slope = 0.6278 / 847 * (1 + 1.6 * 0.6278 / 847 * 65)
    assert uncertainty.standard(volume) == pytest.approx(uncertainty.nominal(volume) * slope * 2 / 3**0.5, rel=1e-6)


@pytest.mark.parametrize(
    ("call", "kind", "says"),
    [
        (lambda: volume_correction_factor("151 °C", "850 kg/m³"), RangeError, "at most 150"),
        (lambda: volume_correction_factor("-51 °C", "850 kg/m³"), RangeError, "at least -50"),
        (lambda: volume_correction_factor("20 °C", "800 kg/m³"), RangeError, "800.9"),
        (lambda: volume_correction_factor("20 °C", "1164 kg/m³"), RangeError, "1163.5"),
        (lambda: volume_correction_factor(20, "850 kg/m³"), UnitError, "no unit"),
        (lambda: volume_at("1 kg", "20 °C", "30 °C", "850 kg/m³"), UnitError, "volume"),
        (lambda: volume_at(["1 L", "x"], "20 °C", "30 °C", "850 kg/m³"), ValueError, "volume"),
        (lambda: volume_at(pint.Quantity(np.array([1.0, np.nan]), "L"), "20 °C", "30 °C", "850 kg/m³"), RangeError, "finite"),
    ],
)
def test_refusals_say_what_and_how_to_mend(call, kind, says):
    with pytest.raises(kind, match=says):
        call()
