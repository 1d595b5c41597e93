"""ASTM D341: the worksheet's constants, the standard's own inverse, and fifty digits."""

from __future__ import annotations

import math

import mpmath
import pytest

from sumpwise.fluid.viscosity import blend_viscosity, viscosity_at

viscosity = viscosity_at.kernel


def test_the_worksheets_line():
    """log10 log10(ν + 0.7) = 9.5259 - 3.7449 log10(t + 273), through 32 mm²/s at 40 °C and 5.4 at 100 °C; 8.5 at 80 °C."""
    for t in (40, 80, 100):
        printed = 10 ** 10 ** (9.5259 - 3.7449 * math.log10(t + 273)) - 0.7
        assert viscosity(float(t), 32.0, 5.4, 273.0) == pytest.approx(printed, rel=1e-3)
    assert round(viscosity(80.0, 32.0, 5.4, 273.0), 1) == round(viscosity(80.0, 32.0, 5.4), 1) == 8.5


def test_the_standards_approximate_inverse_is_near_the_refined_one():
    for v in (0.3, 0.5, 1.0, 1.5, 2.0, 5.0):
        x = v + math.exp(-1.47 - 1.84 * v - 0.51 * v * v)
        approximate = x - math.exp(-0.7487 - 3.295 * x + 0.6119 * x**2 - 0.3193 * x**3)
        assert approximate == pytest.approx(v, rel=1e-3)
        assert viscosity(100.0, 3 * v + 1, v) == pytest.approx(v, rel=1e-12)


def by_fifty_digits(t: float, thick: float, thin: float, zero: float) -> float:
    with mpmath.workdps(50):
        def full(v):
            return v + mpmath.mpf("0.7") + mpmath.exp(mpmath.mpf("-1.47") - mpmath.mpf("1.84") * v - mpmath.mpf("0.51") * v * v)

        def double(v):
            return mpmath.log10(mpmath.log10(full(mpmath.mpf(v))))

        heat = [mpmath.log10(mpmath.mpf(x) + mpmath.mpf(zero)) for x in (40, 100, t)]
        slope = (double(thick) - double(thin)) / (heat[1] - heat[0])
        z = 10 ** 10 ** (double(thick) + slope * (heat[0] - heat[2]))
        return float(mpmath.findroot(lambda v: full(v) - z, z - mpmath.mpf("0.7")))


@pytest.mark.parametrize("oil", [(29.6, 6.0), (34.0, 7.3), (19.5, 4.5), (3.0, 1.1), (1.2, 0.6), (900.0, 40.0), (5000.0, 120.0)])
@pytest.mark.parametrize("t", [0.0, 17.0, 40.0, 61.0, 100.0, 140.0])
def test_at_fifty_digits(t, oil):
    for zero in (273.15, 273.0):
        assert viscosity(t, *oil, zero) == pytest.approx(by_fifty_digits(t, *oil, zero), rel=1e-11 if oil[0] > 500 else 2e-12)


def test_blending_numbers_of_the_published_formula():
    """VBN = 14.534 ln ln(ν + 0.8) + 10.975, averaged by mass."""
    def number(v):
        return 14.534 * math.log(math.log(v + 0.8)) + 10.975

    blend = blend_viscosity.kernel([0.6, 0.4], [5.0, 20.0])
    assert number(blend) == pytest.approx(0.6 * number(5) + 0.4 * number(20), rel=1e-12)
