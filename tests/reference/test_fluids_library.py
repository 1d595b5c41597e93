"""Pouring beside the general-purpose library `fluids`."""

from __future__ import annotations

import math

import fluids
import pytest

from sumpwise.filling.pouring import CRITICAL, pour_rate, pour_reynolds

TUBES = [
    (bore, length, head, viscosity, roughness)
    for bore, length, head in (
        (9.5, 800.0, 800.0), (14.0, 800.0, 600.0), (25.0, 2000.0, 1500.0), (50.0, 4000.0, 2000.0),
        (25.0, 100.0, 600.0),  # so short that free fall is its limit
    )
    for viscosity in (80.6, 20.0, 6.0, 1.0)
    for roughness in (0.0, 0.05)
]


@pytest.mark.parametrize("tube", TUBES)
def test_the_head_is_what_the_librarys_friction_factor_asks_for(tube):
    bore, length, head, viscosity, roughness = tube
    re = pour_reynolds.kernel(bore, length, head, viscosity, 1.0, roughness, ends=0)
    speed = re * viscosity * 1e-6 / (bore * 1e-3)
    laminar = fluids.friction.friction_laminar(re)
    turbulent = fluids.friction_factor(re, eD=roughness / bore, Method="Colebrook")

    def asked(friction):
        return friction * length / bore * speed**2 / (2 * fluids.constants.g) * 1e3

    free = (2 * fluids.constants.g * head * 1e-3) ** 0.5
    if speed > free * (1 - 1e-9):
        assert speed == pytest.approx(free, rel=1e-7)
        assert asked(min(laminar, turbulent)) <= head
    elif abs(re / CRITICAL - 1) < 1e-9:
        assert asked(laminar) <= head <= asked(turbulent)
    else:
        assert asked(laminar if re < CRITICAL else turbulent) == pytest.approx(head, rel=1e-7)


@pytest.mark.parametrize("tube", TUBES)
def test_the_head_pays_for_friction_and_for_both_ends(tube):
    """The library's sharp-edged inlet, its friction factor, and the velocity heads that leave the tube add up to the head."""
    bore, length, head, viscosity, roughness = tube
    re = pour_reynolds.kernel(bore, length, head, viscosity, 1.0, roughness)
    between = abs(re / CRITICAL - 1) < 1e-9
    turbulent = re > CRITICAL
    friction = fluids.friction_factor(re, eD=roughness / bore, Method="Colebrook") if turbulent else fluids.friction.friction_laminar(re)
    inlet = fluids.fittings.entrance_sharp(method="Crane")
    speed = re * viscosity * 1e-6 / (bore * 1e-3)
    asked = (friction * length / bore + inlet + (1 if turbulent else 2)) * speed**2 / (2 * fluids.constants.g) * 1e3
    assert between or asked == pytest.approx(head, rel=1e-7)


@pytest.mark.parametrize("tube", TUBES)
def test_the_rate_is_the_speed_over_the_bore(tube):
    bore, length, head, viscosity, roughness = tube
    rate = pour_rate.kernel(bore, length, head, viscosity, 1.0, roughness, ends=0) / 6e4
    speed = 4 * rate / (math.pi * (bore * 1e-3) ** 2)
    re = fluids.Reynolds(V=speed, D=bore * 1e-3, nu=viscosity * 1e-6)
    assert re == pytest.approx(pour_reynolds.kernel(bore, length, head, viscosity, 1.0, roughness, ends=0), rel=1e-7)
