"""ASTM D2270: the printed examples step by step, and the table beside a general-purpose library."""

from __future__ import annotations

import math

import chemicals
import numpy as np
import pytest
from chemicals.viscosity import VI_Hs, VI_Ls, VI_nus

from sumpwise.fluid._d2270 import HIGH, LOW
from sumpwise.fluid.viscosity import viscosity_index

index = viscosity_index.kernel


def test_procedure_a_interpolates_to_the_printed_l_and_h():
    low, high = 118.5 + 0.6 * (120.9 - 118.5), 68.79 + 0.6 * (69.94 - 68.79)
    assert (round(low, 2), round(high, 2)) == (119.94, 69.48)
    assert index(73.30, 8.86) == pytest.approx((low - 73.30) / (low - high) * 100, rel=1e-12)


def test_procedure_b_prints_156_37_because_it_rounds_on_the_way():
    n = round((math.log10(28.97) - math.log10(22.83)) / math.log10(5.05), 5)  # H cut from 28.975
    assert n == 0.14708
    antilog = round(10**n, 5)
    assert antilog == 1.40307
    assert round((antilog - 1) / 0.00715 + 100, 2) == 156.37
    assert index(22.83, 5.05) == pytest.approx(100 + (10 ** (math.log(28.975 / 22.83) / math.log(5.05)) - 1) / 0.00715, rel=1e-12)
    assert round(index(22.83, 5.05)) == 156


def test_every_row_of_the_table_has_an_index_of_zero_and_of_a_hundred():
    rows = [round(2 + 0.1 * i, 1) for i in range(181)] + [round(20.2 + 0.2 * i, 1) for i in range(50)] + [30.5 + 0.5 * i for i in range(80)]
    for y, low, high in zip(rows, LOW, HIGH, strict=True):
        assert index(float(low), y) == pytest.approx(0, abs=1e-7)
        assert index(float(high), y) == pytest.approx(100, abs=1e-7)


def test_above_the_table_the_standards_parabolas_have_an_index_of_zero_and_of_a_hundred():
    for y in (70.01, 70.5, 71.0, 75.0, 90.0, 500.0):
        assert index(0.8353 * y * y + 14.67 * y - 216, y) == pytest.approx(0, abs=1e-9)
        assert index(0.1684 * y * y + 11.85 * y - 97, y) == pytest.approx(100, abs=1e-9)


def test_the_table_is_the_librarys_table():
    assert (list(LOW), list(HIGH)) == (VI_Ls, VI_Hs)
    assert len(VI_nus) == 311


def test_beside_chemicals_on_two_thousand_oils():
    draw = np.random.default_rng(2270)
    thin = draw.uniform(2, 90, 2000)
    thick = thin * draw.uniform(1.2, 20, 2000)
    theirs = [chemicals.viscosity_index(u * 1e-6, y * 1e-6) for u, y in zip(thick, thin, strict=True)]
    assert index(thick, thin) == pytest.approx(np.array(theirs), rel=1e-7, abs=1e-7)
