"""OpenStax College Physics, 2nd edition, chapter 12: Poiseuille's examples."""

from __future__ import annotations

import pytest

from sumpwise.filling.pouring import pour_rate


def test_example_12_7_a_plaque_that_halves_the_flow_leaves_0_841_of_the_radius():
    whole = pour_rate.kernel(2.0, 100.0, 100.0, 50.0, 1.0, ends=0)
    narrow = pour_rate.kernel(0.841 * 2.0, 100.0, 100.0, 50.0, 1.0, ends=0)
    assert narrow / whole == pytest.approx(0.5, abs=0.0012)  # 0.841 ± 0.0005, to the fourth


def test_example_12_8_pressure_for_the_drip():
    """0.120 cm³/s of saline (taken as water) through 2.50 cm of needle of 0.150 mm radius against 1.066e3 Pa asks for 1.62e4 Pa."""
    for pressure, rate in ((1.615e4, 0.1196), (1.625e4, 0.1204)):
        head = (pressure - 1.066e3) / (1000 * 9.80665) * 1e3
        assert pour_rate.kernel(0.300, 25.0, head, 1.00, 1.0, ends=0) * 1e3 / 60 == pytest.approx(rate, abs=5e-4)
