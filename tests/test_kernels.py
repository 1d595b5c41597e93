"""Kernels: elementwise, without side effects, and the same on floats, on arrays and on lazy dask arrays."""

from __future__ import annotations

import dask.array
import numpy
import pytest

from sumpwise import _face

ROOMS = ("mixing", "inference", "torque", "fluid", "ageing")
COMPUTE_AT_ONCE = {
    "drains_needed": "a count",
    "volume_needed": "a root search",
}
"""Kernels that must look at the numbers before they are done: block by block."""

RANGES = {
    "drained": (0.5, 4.0), "capacity": (8.0, 9.0), "refilled": (3.0, 5.0), "start": (0.0, 0.4), "purity": (0.8, 1.0), "pumped": (0.0, 20.0),
    "bypass": (0.0, 0.5), "dead": (0.0, 0.2), "target": (0.2, 0.7), "old": (0.05, 0.9), "path": (0.1, 100.0), "absorbance_10mm": (1.0, 2.0),
    "torque": (8.0, 60.0), "setting": (8.0, 60.0), "wrench_length": (250.0, 400.0), "adapter_length": (0.0, 80.0), "angle": (-180.0, 180.0),
    "lower": (25.0, 30.0), "upper": (35.0, 40.0), "tolerance": (0.0, 0.05), "wrench_maximum": (5.0, 20.0), "diameter": (6.0, 18.0),
    "nut_factor": (0.1, 0.3), "temperature": (-10.0, 110.0), "density_15": (840.0, 860.0), "volume": (1.0, 9.0),
    "from_temperature": (0.0, 100.0), "to_temperature": (0.0, 100.0), "viscosity_40": (25.0, 35.0), "viscosity_100": (5.0, 7.0),
    "zero": (273.0, 273.2), "mass": (0.5, 9.0), "density": (800.0, 1000.0), "air_density": (1.0, 1.3), "weights_density": (7500.0, 8500.0),
    "exchanged_fraction": (0.2, 0.9), "interval": (1.0, 5.0), "reference": (75.0, 85.0), "halving": (9.0, 13.0),
}  # fmt: skip

KERNELS = {
    name: function
    for room in ROOMS
    for name, module in _face.places(room).items()
    if hasattr(function := _face.load(module, name), "arguments") and hasattr(function, "kernel")
}


def columns(function, seed=7):
    """A column of values for each argument; whole numbers for counts, one value where one is expected."""
    rng = numpy.random.default_rng(seed)
    found = {}
    for name, spec in function.arguments.items():
        if spec.whole:
            found[name] = 3 if spec.scalar else rng.integers(0, 4, 200)
        else:
            low, high = RANGES[name]
            found[name] = rng.uniform(low, high, 200)
    return found


def parts(answer):
    return tuple(answer) if isinstance(answer, tuple) else (answer,)


@pytest.mark.parametrize("name", KERNELS)
def test_an_array_is_its_elements_and_stays_untouched(name):
    given = columns(KERNELS[name])
    copies = {key: numpy.copy(value) for key, value in given.items()}
    whole = parts(KERNELS[name].kernel(**given))
    assert all(numpy.array_equal(value, copies[key]) for key, value in given.items())
    for i in (0, 50, 199):
        one = {key: value if isinstance(value, int) else value[i].item() for key, value in given.items()}
        single = parts(KERNELS[name].kernel(**one))
        assert [type(part) in (float, int) for part in single] == [True] * len(single)
        assert [part[i] for part in whole] == pytest.approx(single, rel=1e-13)


@pytest.mark.parametrize("name", KERNELS)
def test_dask_arrays_run_unchanged(name):
    given = columns(KERNELS[name])
    lazy = {
        key: dask.array.from_array(value, chunks=64) if isinstance(value, numpy.ndarray) and value.dtype == float else value
        for key, value in given.items()
    }
    kernel = KERNELS[name].kernel
    if name in COMPUTE_AT_ONCE:
        answers = (dask.array.map_blocks(lambda *values: kernel(*values), *lazy.values(), dtype=float),)
    else:
        answers = parts(kernel(**lazy))
    for answer, expected in zip(answers, parts(kernel(**given)), strict=True):
        assert isinstance(answer, dask.array.Array)
        assert answer.npartitions == 4
        assert answer.compute() == pytest.approx(expected, rel=1e-14)


def test_the_rooms_are_covered():
    assert {"drain_refill", "exchange", "wrench_setting", "clamp_load", "volume_at", "viscosity_at", "mean_age_before"} <= set(KERNELS)
    assert set(COMPUTE_AT_ONCE) <= set(KERNELS)
