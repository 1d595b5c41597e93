"""EURACHEM/CITAC Guide CG 4 (QUAM), examples A1 and A2."""

from __future__ import annotations

import math

import pytest

from sumpwise import budget, measured, validate


def test_a1_cadmium_standard():
    purity = measured(0.9999, limits=0.0001, name="purity")
    mass = measured(100.28, standard=0.05, name="mass")
    volume = (
        measured(100.0, limits=0.1, shape="triangular", name="flask")
        + measured(0, standard=0.02, name="filling")
        + measured(0, limits=100 * 4 * 2.1e-4, name="temperature")
    )
    report = budget(volume)
    assert f"{report.standard_uncertainty:.2f}" == "0.07"
    assert report.standard_uncertainty == pytest.approx(0.0664731, abs=5e-8)
    concentration = 1000 * mass * purity / volume
    report = budget(concentration)
    assert f"{report.value:.1f}" == "1002.7"
    assert f"{report.standard_uncertainty:.1f}" == "0.8"  # printed 0.9, from the rounded components 0.0009 and 0.07
    assert report.standard_uncertainty == pytest.approx(0.835199, abs=5e-7)
    assert 1002.7 * math.sqrt(0.000058**2 + 0.0005**2 + 0.0007**2) == pytest.approx(0.9, abs=0.05)
    assert report.rows[0].name == "mass"


def test_a2_sodium_hydroxide():
    mass = measured(0.3888, limits=0.00015, name="balance, tare") + measured(0, limits=0.00015, name="balance, gross")
    purity = measured(1.0, limits=0.0005, name="purity")
    molar = measured(204.2212, standard=0.0038, name="molar mass")
    # burette, and its temperature 3 °C × 2.1e-4 × 19 mL rectangular (0.006 mL)
    volume = measured(18.64, limits=0.03, shape="triangular", name="burette") + measured(0, standard=0.006, name="temperature")
    repeatability = measured(1.0, standard=0.0005, name="repeatability")
    report = budget(1000 * mass * purity * repeatability / (molar * volume))
    assert f"{report.value:.5f}" == "0.10214"
    assert f"{report.standard_uncertainty:.5f}" == "0.00010"
    assert report.rows[0].name == "burette"

    def model(m, p, mm, v, rep):
        return 1000 * m * p * rep / (mm * v)

    assert validate(model, [mass, purity, molar, volume, repeatability], digits=1, seed=1)
