"""API MPMS 11.1 for lubricating oils: fifty digits, and the edition of 2004 beside that of 1980."""

from __future__ import annotations

import math

import mpmath
import numpy as np
import pytest

from sumpwise.fluid.density import volume_correction_factor

factor = volume_correction_factor.kernel


def test_at_fifty_digits():
    for t in np.linspace(-50, 150, 21).tolist():
        for density in np.geomspace(800.9, 1163.5, 7).tolist():
            with mpmath.workdps(50):
                a = mpmath.mpf("0.6278") / mpmath.mpf(density) * (mpmath.mpf(t) - 15)
                truth = mpmath.exp(-a * (1 + mpmath.mpf("0.8") * a))
            assert factor(t, density) == pytest.approx(float(truth), rel=1e-12)


SCALE = (-0.148759, -0.267408, 1.080760, 1.269056, -4.089591, -1.871251, 7.438081, -3.536296)


def of_2004(celsius: float, density_60: float) -> float:
    """CTL of API MPMS 11.1-2004, 11.1.6.1, lubricating oils: 60 °F base, K1 = 0.34878 per °F, temperatures moved to the scale of 1968."""
    tau = celsius / 630
    fahrenheit = 1.8 * (celsius - sum(a * tau ** (i + 1) for i, a in enumerate(SCALE))) + 32
    delta = 0.01374979547
    a = delta / 2 * 0.34878 / density_60
    shifted = density_60 * (1 + math.expm1(a * (1 + 0.8 * a)) / (1 + a * (1 + 1.6 * a)))
    alpha, above = 0.34878 / shifted, fahrenheit - 60.0068749
    return math.exp(-alpha * above * (1 + 0.8 * alpha * (above + delta)))


@pytest.mark.parametrize("density", [810.0, 847.0, 850.0, 900.0, 1000.0])
def test_the_editions_of_1980_and_2004_agree_to_the_last_digit_of_the_tables(density):
    """Both print five decimals; between -50 and 150 °C the two editions never differ by more than one in the last of them."""
    at_60 = density
    for _ in range(20):
        at_60 = density / of_2004(15.0, at_60)
    for t in range(-50, 151, 5):
        assert factor(float(t), density) == pytest.approx(of_2004(float(t), at_60) / of_2004(15.0, at_60), abs=1e-5)
