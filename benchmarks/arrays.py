"""A million numbers: kernels and unit-aware calls against numpy written by hand."""

from __future__ import annotations

import numpy
import pint
from timing import Row, side_by_side

from sumpwise import drain_refill, exchange

Q = pint.application_registry.get().Quantity
SIZE = 10**6


def by_hand(drained, capacity, times, start=0.0, purity=1.0):
    return purity - (purity - start) * (1 - drained / capacity) ** times


def stirred_by_hand(pumped, capacity, bypass=0.0, dead=0.0):
    turnovers = (1 - bypass) * pumped / ((1 - dead) * capacity)
    left = numpy.exp(-turnovers)
    return (1 - dead) * (1 - left), 1 - (1 - bypass) * left


def rows() -> list[Row]:
    litres = numpy.random.default_rng(1).uniform(0, 4, SIZE)
    millilitres = litres * 1000
    capacity, with_unit, in_millilitres = Q(7.7, "liter"), Q(litres, "liter"), Q(millilitres, "milliliter")
    return [
        side_by_side("drain and refill: kernel on 10⁶ floats / numpy of the same form", 1.05,
                     lambda: drain_refill.kernel(litres, 7.7, 3), lambda: by_hand(litres, 7.7, 3)),
        side_by_side("exchange: kernel on 10⁶ floats / numpy of the same form", 1.05,
                     lambda: exchange.kernel(litres, 7.7), lambda: stirred_by_hand(litres, 7.7)),
        side_by_side("unit-aware call on 10⁶ litres / numpy by hand", 1.4,
                     lambda: drain_refill(with_unit, capacity, 3), lambda: by_hand(litres, 7.7, 3)),
        side_by_side("unit-aware call on 10⁶ millilitres / numpy by hand with its conversion", 1.4,
                     lambda: drain_refill(in_millilitres, capacity, 3), lambda: by_hand(millilitres * 0.001, 7.7, 3)),
    ]  # fmt: skip
