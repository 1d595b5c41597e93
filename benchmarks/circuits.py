"""The circuit: six bursts against a general ODE solver for the same two compartments, alone and in a batch."""

from __future__ import annotations

import numpy
from scipy.integrate import solve_ivp
from timing import Row, side_by_side

from sumpwise import Circuit, measured

BATCH = 10_000
BURST = 1.25


def bursts(circuit: Circuit) -> Circuit:
    for _ in range(6):
        circuit = circuit.pump("1.25 L").pour("1.25 L")
    return circuit


def one() -> float:
    return bursts(Circuit("3.73 L", "2.45 L", "0.62 L", cooler_tanks=1, clutches="0.83 L", clutch_circulation=0.25)).resident


def batch(sumps: numpy.ndarray) -> numpy.ndarray:
    import pint

    sump = pint.application_registry.get().Quantity(sumps, "liter")
    return bursts(Circuit(sump, "2.45 L", "0.62 L", cooler_tanks=1, clutches="0.83 L", clutch_circulation=0.25)).resident


def by_solver() -> float:
    """Two states, sump and converter, at rtol 1e-10: fewer than ours has."""
    y, volume = numpy.zeros(2), 3.73
    for _ in range(6):
        y = solve_ivp(lambda x, y: [0.0, (y[0] - y[1]) / 2.45], (0, BURST), y, rtol=1e-10, atol=1e-12).y[:, -1]
        y[0] = ((volume - BURST) * y[0] + BURST) / volume
    return float(y[1])


VOLUMES = {"sump": "3.73 L", "converter": "2.45 L", "cooler": "0.62 L", "clutches": "0.83 L", "pockets": "1.05 L"}
SHARES = {"bypass": (0.35, 0.05), "clutch_circulation": (0.25, 0.05), "pocket_circulation": (0.017, 0.005)}


def plain_wagon() -> Circuit:
    return Circuit(**VOLUMES, **{name: value for name, (value, _) in SHARES.items()})


def uncertain_wagon() -> Circuit:
    """All of its eight parameters in doubt."""
    volumes = {name: f"{text.removesuffix(' L')} ± 0.05 L" for name, text in VOLUMES.items()}
    return Circuit(**volumes, **{name: measured(value, standard=u) for name, (value, u) in SHARES.items()})


def told(circuit: Circuit) -> tuple[object, object]:
    circuit = bursts(circuit)
    return circuit.resident, circuit.outlet


def burst_by_burst(count: int) -> None:
    circuit = uncertain_wagon()
    for _ in range(count):
        circuit = circuit.pump("1.25 L").pour("1.25 L")
        _ = circuit.resident


def rows() -> list[Row]:
    sumps = numpy.random.default_rng(1).uniform(3.5, 4.0, BATCH)
    single = side_by_side("circuit of six bursts / two-state ODE solver at rtol 1e-10", 0.3, one, by_solver, rounds=9)
    many = side_by_side("", 0.0, lambda: batch(sumps), by_solver, rounds=5)
    growth = side_by_side("60 uncertain bursts, asked after each / 30", 2.3,
                          lambda: burst_by_burst(60), lambda: burst_by_burst(30), rounds=5)  # fmt: skip
    return [
        single,
        side_by_side("circuit of six bursts with eight uncertain inputs / the nominal circuit", 4.0,
                     lambda: told(uncertain_wagon()), lambda: told(plain_wagon()), rounds=15),
        growth,
        Row("one circuit of a batch of 10 000 / the solver", 0.004, many.ratio / BATCH, many.median / BATCH, many.seconds / BATCH,
            memory=(many.memory or 0) // BATCH),
    ]  # fmt: skip
