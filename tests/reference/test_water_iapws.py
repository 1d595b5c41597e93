"""Density of water (Tanaka et al. 2001) beside IAPWS-95, an independent formulation, as a general-purpose library carries it."""

from __future__ import annotations

import chemicals
import pytest

from sumpwise import water_density


@pytest.mark.parametrize("celsius", [0.5, 4, 10, 15, 17, 20, 25, 30, 35, 40])
def test_tanaka_beside_iapws_95(celsius):
    # Both carry about 1 part in a million; they differ by less than two.
    assert water_density.kernel(celsius) == pytest.approx(chemicals.iapws95_rho(celsius + 273.15, 101_325.0), rel=2e-6)
