"""Ratios of two timings, measured side by side in one run."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable
from typing import Any, NamedTuple

Call = Callable[[], Any]


class Row(NamedTuple):
    """One line of the table: what is compared, the target, the ratio of the fastest rounds and of the median ones, and our time."""

    what: str
    at_most: float
    ratio: float
    median: float
    seconds: float
    unit: str = ""

    @property
    def holds(self) -> bool:
        return self.ratio <= self.at_most


def once(call: Call, number: int) -> float:
    """Seconds for one call, averaged over `number` of them."""
    start = time.perf_counter()
    for _ in range(number):
        call()
    return (time.perf_counter() - start) / number


def side_by_side(
    what: str, at_most: float, ours: Call, peer: Call, *, number: int = 1, peer_number: int | None = None, rounds: int = 25
) -> Row:
    """Time ours and the peer in turns, so that what else the machine does falls on both, and compare the fastest rounds."""
    ours()
    peer()
    mine, others = [], []
    for _ in range(rounds):
        mine.append(once(ours, number))
        others.append(once(peer, peer_number or number))
    return Row(what, at_most, min(mine) / min(others), statistics.median(mine) / statistics.median(others), min(mine))


def alone(what: str, at_most: float, ours: Call, rounds: int = 3) -> Row:
    """Seconds themselves, where the target is a time."""
    ours()
    taken = [once(ours, 1) for _ in range(rounds)]
    return Row(what, at_most, min(taken), statistics.median(taken), min(taken), "s")
