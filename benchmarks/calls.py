"""Single calls: with Quantities against the same arithmetic in pint, and with texts against one parse by pint."""

from __future__ import annotations

import itertools
import math

import pint
from timing import Row, side_by_side

from sumpwise import drain_refill, wrench_setting

registry = pint.application_registry.get()
Q = registry.Quantity


def rows() -> list[Row]:
    drained, capacity = Q(2.9, "liter"), Q(7.7, "liter")
    torque, length, adapter, angle = Q(34.0, "newton*meter"), Q(300.0, "mm"), Q(45.0, "mm"), Q(30.0, "degree")
    fresh = itertools.count()

    def two_new_texts() -> float:
        i = next(fresh)
        return drain_refill(f"2.{i} L", f"7.{i} L", 3)

    @registry.wraps("", ("liter", "liter", None))
    def wrapped(drained: float, capacity: float, times: int) -> float:
        return 1 - (1 - drained / capacity) ** times

    def in_pint() -> object:
        return 1 - (1 - drained / capacity) ** 3

    def wrench_in_pint() -> object:
        return torque * length / (length + adapter * math.cos(angle.m_as("radian")))

    def parse() -> object:
        return Q(f"2.{next(fresh)} liter")

    def wrench_of_texts() -> object:
        return wrench_setting("34 N·m", "300 mm", "45 mm")

    return [
        side_by_side("drain and refill with Quantities / the same in raw pint", 0.25,
                     lambda: drain_refill(drained, capacity, 3), in_pint, number=500),
        side_by_side("drain and refill with Quantities / the same under pint's `wraps`", 0.25,
                     lambda: drain_refill(drained, capacity, 3), lambda: wrapped(drained, capacity, 3), number=500),
        side_by_side("wrench setting with four Quantities / the same in raw pint", 0.25,
                     lambda: wrench_setting(torque, length, adapter, angle), wrench_in_pint, number=500),
        side_by_side("two texts, new each time / one pint parse of one text", 0.25, two_new_texts, parse, number=300),
        side_by_side("the same two texts again / one pint parse", 0.06,
                     lambda: drain_refill("2.9 L", "7.7 L", 3), parse, number=2000, peer_number=200),
        side_by_side("three texts again, answered as a Quantity / three pint parses", 0.06,
                     wrench_of_texts, lambda: (parse(), parse(), parse()), number=1000, peer_number=100),
    ]  # fmt: skip
