"""F. M. White, Fluid Mechanics, chapter 6, from memory: the printed smooth-pipe friction factors and a laminar example."""

from __future__ import annotations

import pytest

from sumpwise.filling.pouring import flow_regime, pour_rate, pour_reynolds


@pytest.mark.parametrize(
    ("reynolds", "factor"), [(4e3, 0.0399), (1e4, 0.0309), (1e5, 0.0180), (1e6, 0.0116), (1e7, 0.0081), (1e8, 0.0059)]
)
def test_smooth_pipe_friction_factors_below_equation_6_54(reynolds, factor):
    """With the head that the printed factor asks for, the flow has the printed Reynolds number, within half the factor's last digit."""
    bore, length, viscosity = 100.0, 1e5, 1.0
    speed = reynolds * viscosity * 1e-6 / (bore * 1e-3)

    def with_head_for(f):
        head = f * length / bore * speed**2 / (2 * 9.80665) * 1e3
        return pour_reynolds.kernel(bore, length, head, viscosity, 1.0, 0.0, ends=0)

    assert with_head_for(factor - 5e-5) < reynolds < with_head_for(factor + 5e-5)


def test_the_laminar_example_checks_its_reynolds_number():
    assert flow_regime(pour_reynolds("6 cm", "10 m", "4.9 m", "200 mm²/s", 1, ends=0)) == "laminar"
    assert pour_rate("6 cm", "10 m", "4.9 m", "200 mm²/s", 1, ends=0).m_as("m**3/s") == pytest.approx(0.0076, abs=5e-5)
