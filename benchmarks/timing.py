"""Ratios of two timings, measured side by side in one run."""

from __future__ import annotations

import statistics
import time
import tracemalloc
from collections.abc import Callable
from typing import Any, NamedTuple

Call = Callable[[], Any]


class Row(NamedTuple):
    """One line of the table: what is compared, the target, the ratio of the fastest rounds and of the median ones, our time and memory.

    Memory is the most that one of our calls holds beside what was held before it, in bytes; that of a process is what it takes beside the
    bare interpreter.
    """

    what: str
    at_most: float
    ratio: float
    median: float
    seconds: float
    unit: str = ""
    memory: int | None = None

    @property
    def holds(self) -> bool:
        return self.ratio <= self.at_most


def once(call: Call, number: int) -> float:
    """Seconds for one call, averaged over `number` of them."""
    start = time.perf_counter()
    for _ in range(number):
        call()
    return (time.perf_counter() - start) / number


def peak(call: Call) -> int:
    """The most that a call holds beside what was held before it, in bytes."""
    tracemalloc.start()
    try:
        call()
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


def side_by_side(
    what: str, at_most: float, ours: Call, peer: Call, *, number: int = 1, peer_number: int | None = None, rounds: int = 25,
    here: bool = True,
) -> Row:  # fmt: skip
    """Time ours and the peer in turns, so that what else the machine does falls on both, and compare the fastest rounds."""
    ours()
    peer()
    mine, others = [], []
    for _ in range(rounds):
        mine.append(once(ours, number))
        others.append(once(peer, peer_number or number))
    ratios = min(mine) / min(others), statistics.median(mine) / statistics.median(others)
    return Row(what, at_most, *ratios, min(mine), memory=peak(ours) if here else None)


def alone(what: str, at_most: float, ours: Call, rounds: int = 3) -> Row:
    """Seconds themselves, where the target is a time."""
    ours()
    taken = [once(ours, 1) for _ in range(rounds)]
    return Row(what, at_most, min(taken), statistics.median(taken), min(taken), "s", peak(ours))
