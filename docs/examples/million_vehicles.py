"""A million vehicles on the engine you have: dask arrays through the kernels, processed chunk by chunk."""

from __future__ import annotations

import dask.array as da

from sumpwise import drain_refill, exchange, volume_at


def fleet(vehicles: int = 1_000_000, chunk: int = 250_000) -> dict[str, float]:
    """Means over an invented fleet; nothing is computed before `compute`, and no chunk waits for another."""
    draw = da.random.default_rng(1)
    capacity = draw.uniform(7.0, 11.0, size=vehicles, chunks=chunk)  # litres
    drained = capacity * draw.uniform(0.3, 0.5, size=vehicles, chunks=chunk)
    warm = draw.uniform(30.0, 60.0, size=vehicles, chunks=chunk)  # °C in the pail

    drains = drain_refill.kernel(drained, capacity, 3)
    machine, _ = exchange.kernel(1.3 * capacity, capacity, 1, 0.2, 0.05)
    counted = volume_at.kernel(drained, warm, 20.0, 847.0)

    names = ("three drains", "machine", "litres at 20 °C")
    means = da.compute(drains.mean(), machine.mean(), counted.mean())
    return {name: float(mean) for name, mean in zip(names, means, strict=True)}


if __name__ == "__main__":
    for name, mean in fleet().items():
        print(f"{name}: {mean:.3f}")
