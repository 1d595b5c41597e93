"""Every declared limit of every computing function, from both sides: what is still accepted, and what no longer is.

The limits are those of the documented parameters; the values stand a little inside and a little outside of them, in units
in which a limit that moved by one internal unit would show.
"""

from __future__ import annotations

import pytest

import sumpwise
from sumpwise import SumpwiseError

CALLS = {
    "wrench_setting": {"torque": "34 N·m", "wrench_length": "300 mm", "adapter_length": "45 mm", "angle": "0 deg"},
    "applied_torque": {"setting": "34 N·m", "wrench_length": "300 mm", "adapter_length": "45 mm", "angle": "0 deg"},
    "setting_band": {
        "lower": "31 N·m", "upper": "37 N·m", "tolerance": 0.04, "wrench_length": "300 mm", "adapter_length": "45 mm", "angle": "0 deg",
        "wrench_maximum": "110 N·m",
    },
    "permissible_deviation": {"wrench_maximum": "110 N·m"},
    "clamp_load": {"torque": "34 N·m", "diameter": "14 mm", "nut_factor": 0.2},
    "drain_refill": {"drained": "3 L", "capacity": "9 L", "times": 1, "start": 0.0, "purity": 1.0},
    "drains_needed": {"drained": "3 L", "capacity": "9 L", "target": 0.5},
    "exchange": {"pumped": "5 L", "capacity": "9 L", "tanks": 1, "bypass": 0.0, "dead": 0.0},
    "volume_needed": {"target": 0.5, "capacity": "9 L", "tanks": 1, "bypass": 0.0, "dead": 0.0},
    "light_passed": {"old": 0.1, "path": "8 mm", "absorbance_10mm": 1.6},
    "slope_bias": {"slope": "2 deg", "distance": "200 mm"},
    "cost_per_point": {"cost": 120.0, "fresh": 0.8, "start": 0.0},
    "cost_per_litre_year": {"cost": 120.0, "capacity": "9 L", "age_without": "9 y", "age_with": "4 y"},
    "claim_bounds": {"pumped": "9 L", "capacity": "9 L", "drained": "3 L", "start": 0.0},
    "check_claim": {"claimed": 0.5, "pumped": "9 L", "capacity": "9 L", "drained": "3 L", "start": 0.0},
    "tolerable_negative_error": {"nominal": "1 L"},
    "longest_burst": {"reserve": "1.4 L", "pump_flow": "4 L/min", "pour_rate": "1 L/min", "reaction": "2 s"},
    "water_density": {"temperature": "20 °C"},
    "weighed_water": {"mass": "1 kg", "temperature": "20 °C", "air_density": "1.2 kg/m³", "weights_density": "8000 kg/m³"},
    "weighed_fluid": {
        "mass": "1 kg", "temperature": "20 °C", "density_15": "847 kg/m³", "air_density": "1.2 kg/m³", "weights_density": "8000 kg/m³",
    },
    "volume_correction_factor": {"temperature": "20 °C", "density_15": "850 kg/m³"},
    "volume_at": {"volume": "1 L", "from_temperature": "20 °C", "to_temperature": "80 °C", "density_15": "850 kg/m³"},
    "viscosity_at": {"temperature": "80 °C", "viscosity_40": "30 mm²/s", "viscosity_100": "6 mm²/s"},
    "viscosity_index": {"viscosity_40": "30 mm²/s", "viscosity_100": "6 mm²/s"},
    "heat_factor": {"temperature": "90 °C", "halving": "11 Δ°C"},
    "pour_rate": {
        "bore": "9.5 mm", "length": "900 mm", "head": "900 mm", "viscosity": "80 mm²/s", "venting": 0.7, "roughness": "0 mm",
    },
}  # fmt: skip

SHARES = ("0", "1", -0.01, 1.01)
EDGES = {  # function.argument: lowest and highest that are taken; what is refused below and above; None where there is no such side
    "wrench_setting.torque": ("0.01 N·m", None, "0 N·m", None),
    "wrench_setting.wrench_length": ("0.5 mm", None, "0 mm", None),
    "wrench_setting.adapter_length": ("0 mm", None, "-0.5 mm", None),
    "wrench_setting.angle": ("-180 deg", "180 deg", "-180.5 deg", "180.5 deg"),
    "applied_torque.setting": ("0.01 N·m", None, "0 N·m", None),
    "applied_torque.wrench_length": ("0.5 mm", None, "0 mm", None),
    "applied_torque.adapter_length": ("0 mm", None, "-0.5 mm", None),
    "applied_torque.angle": ("-180 deg", "180 deg", "-180.5 deg", "180.5 deg"),
    "setting_band.lower": ("0.01 N·m", None, "0 N·m", None),
    "setting_band.upper": (None, None, "0 N·m", None),
    "setting_band.tolerance": (0, None, -0.01, 1),
    "setting_band.wrench_length": ("0.5 mm", None, "0 mm", None),
    "setting_band.adapter_length": ("0 mm", None, "-0.5 mm", None),
    "setting_band.angle": ("-180 deg", "180 deg", "-180.5 deg", "180.5 deg"),
    "setting_band.wrench_maximum": (None, None, "0 N·m", None),
    "permissible_deviation.wrench_maximum": ("0.5 N·m", None, "0 N·m", None),
    "clamp_load.torque": ("0.5 N·m", None, "-0.5 N·m", None),
    "clamp_load.diameter": ("0.5 mm", None, "-0.5 mm", None),
    "clamp_load.nut_factor": (0.01, 1, 0, 1.01),
    "drain_refill.drained": ("0 L", "9 L", "-0.5 L", "9.01 L"),
    "drain_refill.capacity": ("3 L", None, "0 L", None),
    "drain_refill.times": (0, 10_000, -1, 10**9),
    "drain_refill.start": SHARES,
    "drain_refill.purity": SHARES,
    "drain_refill.refilled": ("2.5 L", None, "-0.5 L", None),
    "drains_needed.drained": ("0.5 L", "9 L", "-0.5 L", "9.01 L"),
    "drains_needed.capacity": ("3 L", None, "0 L", None),
    "drains_needed.target": (0, 0.999, -0.01, 1.01),
    "exchange.pumped": ("0 L", None, "-0.5 L", None),
    "exchange.capacity": ("0.5 L", None, "0 L", None),
    "exchange.tanks": (1, 200, 0, 201),
    "exchange.bypass": SHARES,
    "exchange.dead": (0, 0.99, -0.01, 1),
    "volume_needed.target": (0, 0.99, -0.01, 1),
    "volume_needed.capacity": ("0.5 L", None, "0 L", None),
    "volume_needed.tanks": (1, 200, 0, 201),
    "volume_needed.bypass": (0, 0.99, -0.01, 1),
    "volume_needed.dead": (0, 0.49, -0.01, 1.01),
    "light_passed.old": SHARES,
    "light_passed.path": ("0.5 mm", None, "0 mm", None),
    "light_passed.absorbance_10mm": (0.01, None, 0, None),
    "slope_bias.slope": ("-30 deg", "30 deg", "-30.5 deg", "30.5 deg"),
    "slope_bias.distance": ("0 mm", None, "-0.5 mm", None),
    "cost_per_point.cost": (0, None, -0.5, None),
    "cost_per_point.start": (0, 0.5, -0.01, 1.01),
    "cost_per_litre_year.cost": (0, None, -0.5, None),
    "cost_per_litre_year.capacity": ("0.5 L", None, "0 L", None),
    "cost_per_litre_year.age_with": ("0 y", None, "-0.5 min", None),
    "claim_bounds.pumped": ("3 L", None, "-0.5 L", None),
    "claim_bounds.capacity": ("3 L", None, "0 L", None),
    "claim_bounds.drained": ("0 L", "9 L", "-0.5 L", "9.01 L"),
    "claim_bounds.start": SHARES,
    "check_claim.claimed": (0, 0.99, -0.01, 1.01),
    "check_claim.capacity": ("3 L", None, "0 L", None),
    "check_claim.drained": ("0 L", "9 L", "-0.5 L", "9.01 L"),
    "check_claim.start": (0, 0.99, -0.01, 1.01),
    "tolerable_negative_error.nominal": ("5 mL", "10 L", "4.9 mL", "10.1 L"),
    "longest_burst.reserve": ("0.5 L", None, "0 L", None),
    "longest_burst.pump_flow": ("1.01 L/min", None, "0 L/min", None),
    "longest_burst.pour_rate": ("0 L/min", None, "-0.5 L/min", None),
    "longest_burst.reaction": ("0 s", None, "-1 s", None),
    "water_density.temperature": ("0 °C", "40 °C", "-0.5 °C", "40.5 °C"),
    "weighed_water.mass": ("0 kg", None, "-0.5 kg", None),
    "weighed_water.air_density": ("0 kg/m³", "9.9 kg/m³", "-0.5 kg/m³", "10 kg/m³"),
    "weighed_water.weights_density": ("100.5 kg/m³", None, "100 kg/m³", None),
    "weighed_fluid.mass": ("0 kg", None, "-0.5 kg", None),
    "weighed_fluid.temperature": ("-50 °C", "150 °C", "-50.5 °C", "150.5 °C"),
    "weighed_fluid.density_15": ("800.9 kg/m³", "1163.5 kg/m³", "800.8 kg/m³", "1163.6 kg/m³"),
    "weighed_fluid.air_density": ("0 kg/m³", "9.9 kg/m³", "-0.5 kg/m³", "10 kg/m³"),
    "weighed_fluid.weights_density": ("100.5 kg/m³", None, "100 kg/m³", None),
    "volume_correction_factor.temperature": ("-50 °C", "150 °C", "-50.5 °C", "150.5 °C"),
    "volume_correction_factor.density_15": ("800.9 kg/m³", "1163.5 kg/m³", "800.8 kg/m³", "1163.6 kg/m³"),
    "volume_at.from_temperature": ("-50 °C", "150 °C", "-50.5 °C", "150.5 °C"),
    "volume_at.to_temperature": ("-50 °C", "150 °C", "-50.5 °C", "150.5 °C"),
    "volume_at.density_15": ("800.9 kg/m³", "1163.5 kg/m³", "800.8 kg/m³", "1163.6 kg/m³"),
    "viscosity_at.temperature": ("-70 °C", "370 °C", "-70.5 °C", "370.5 °C"),
    "viscosity_at.viscosity_40": ("6.1 mm²/s", "2e7 mm²/s", "0.2 mm²/s", "2.01e7 mm²/s"),
    "viscosity_at.viscosity_100": ("0.21 mm²/s", "29.9 mm²/s", "0.2 mm²/s", "2.01e7 mm²/s"),
    "viscosity_at.zero": (273, 273.15, 272.9, 273.2),
    "viscosity_index.viscosity_40": ("0.01 mm²/s", None, "0 mm²/s", None),
    "viscosity_index.viscosity_100": ("2 mm²/s", None, "1.99 mm²/s", None),
    "heat_factor.halving": ("0.5 Δ°C", None, "0 Δ°C", None),
    "pour_rate.bore": ("0.5 mm", None, "0 mm", None),
    "pour_rate.length": ("0.5 mm", None, "0 mm", None),
    "pour_rate.head": ("0.5 mm", None, "0 mm", None),
    "pour_rate.viscosity": ("0.5 mm²/s", None, "0 mm²/s", None),
    "pour_rate.venting": (0.01, 1, 0, 1.01),
    "pour_rate.roughness": ("0 mm", None, "-0.01 mm", None),
}
INSIDE = [(name, value) for name, edge in EDGES.items() for value in edge[:2] if value is not None]
OUTSIDE = [(name, value) for name, edge in EDGES.items() for value in edge[2:] if value is not None]


def call(name, value):
    function, argument = name.split(".")
    return getattr(sumpwise, function)(**CALLS[function] | {argument: value})


@pytest.mark.parametrize(("name", "value"), INSIDE)
def test_a_value_at_the_limit_is_taken(name, value):
    call(name, value)


@pytest.mark.parametrize(("name", "value"), OUTSIDE)
def test_a_value_past_the_limit_is_refused_by_name(name, value):
    with pytest.raises(SumpwiseError) as caught:
        call(name, value)
    assert caught.value.argument == name.split(".")[1]


FLUID = {"fill": "8.85 L", "density_15": "847 kg/m³", "window": "82–92 °C"}
OBJECTS = {  # what is read by an object, in the same way: a call with one value left open, then its limits as above
    "Ledger, density_15": (lambda x: sumpwise.Ledger(x), "800.9 kg/m³", "1163.5 kg/m³", "800.8 kg/m³", "1163.6 kg/m³"),
    "Ledger, reference": (lambda x: sumpwise.Ledger("847 kg/m³", x), "-50 °C", "150 °C", "-50.5 °C", "150.5 °C"),
    "OverflowPlug, density_15": (
        lambda x: sumpwise.OverflowPlug(**FLUID | {"density_15": x}), "800.9 kg/m³", "1163.5 kg/m³", "800.8 kg/m³", "1163.6 kg/m³",
    ),
    "OverflowPlug, window": (
        lambda x: sumpwise.OverflowPlug(**FLUID | {"window": x}), "-50 to 35 °C", "35 to 150 °C", "-50.5 to 35 °C", "35 to 150.5 °C",
    ),
    "Dipstick, density_15": (
        lambda x: sumpwise.Dipstick("0.42 L", "13 mm", **FLUID | {"density_15": x}),
        "800.9 kg/m³", "1163.5 kg/m³", "800.8 kg/m³", "1163.6 kg/m³",
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", OBJECTS)
def test_an_object_takes_a_value_at_the_limit_and_refuses_one_past_it_by_name(name):
    make, lowest, highest, below, above = OBJECTS[name]
    make(lowest)
    make(highest)
    for past in (below, above):
        with pytest.raises(SumpwiseError) as caught:
            make(past)
        assert caught.value.argument.startswith(name.split(", ")[1])


@pytest.mark.parametrize("value", [["847 kg/m³", "850 kg/m³"]])
def test_an_object_is_of_one_fluid(value):
    with pytest.raises(SumpwiseError) as caught:
        sumpwise.Ledger(value)
    assert caught.value.argument == "density_15"
    with pytest.raises(SumpwiseError) as caught:
        sumpwise.Ledger("847 kg/m³", ["20 °C", "15 °C"])
    assert caught.value.argument == "reference"
