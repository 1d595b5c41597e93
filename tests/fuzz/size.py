"""Inputs that grow: along every list and every text that may be handed in, time and memory grow no faster than the input.

    cd tests && python -m fuzz.size [--only PART] [--seconds 2] [--quick 0.3] [--json FILE]

An axis makes one input of size n, such as a job of n packs. Each is tried at growing sizes until it is refused, takes longer than
`--seconds`, or is as large as the axis goes; its processor time, its calls and its peak of memory are fitted by powers of n.
With `--quick`, each axis is first only timed, up to so many seconds, with the memory of its largest size; what seems steep is then driven.
"""

from __future__ import annotations

import argparse
import gc
import json
import math
import resource
import signal
import sys
import time
import tracemalloc
import warnings
from collections.abc import Callable
from typing import Any, NamedTuple

from sumpwise.errors import SumpwiseError

Call = Callable[[], Any]
Maker = Callable[[int], Call]

STEEPEST = 1.3
"""The largest power of n that still goes for linear, with what is paid once left out."""
MOST_TIMES = 10.0
"""Times the input that the peak of memory may be."""
SMALL = 64 * 2**20
"""Bytes of peak that are no matter."""
FIRST = 64
"""The smallest size."""


class Stopped(BaseException):
    """A call took longer than it was given."""


class Axis(NamedTuple):
    """What grows: `make(n)` gives the call whose input has size n; `most` is as far as it is tried."""

    make: Maker
    most: int


class Size(NamedTuple):
    """The result for one size."""

    n: int
    outcome: str
    seconds: float
    calls: int
    given: int
    peak: int


def outcome_of(call: Call) -> str:
    """`answer`, or the words of a refusal."""
    try:
        call()
    except SumpwiseError as error:
        return f"{type(error).__name__}: {error}"[:300]
    return "answer"


def counted(call: Call) -> int:
    """How many calls, of Python and of C, a call makes: the same on every machine."""
    count = 0

    def note(frame: Any, event: str, argument: Any) -> None:
        nonlocal count
        count += event in ("call", "c_call")

    sys.setprofile(note)
    try:
        outcome_of(call)
    finally:
        sys.setprofile(None)
    return count


def held(make: Maker, n: int) -> tuple[Call, int]:
    """The call for a size, and the bytes of its input."""
    tracemalloc.start()
    try:
        before = tracemalloc.get_traced_memory()[0]
        call = make(n)
        return call, tracemalloc.get_traced_memory()[0] - before
    finally:
        tracemalloc.stop()


def peak(call: Call) -> int:
    """Bytes that a call holds at its peak, besides its input; its garbage counts, since it is collected at no fixed moment."""
    gc.collect()
    gc.disable()
    tracemalloc.start()
    try:
        outcome_of(call)
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
        gc.enable()


def timed(call: Call, patience: float, most: int = 3) -> tuple[str, float]:
    """Outcome and processor time, the least of at most so many; stopped when out of patience."""

    def stop(*_: object) -> None:
        raise Stopped

    before = signal.signal(signal.SIGPROF, stop)
    signal.setitimer(signal.ITIMER_PROF, patience)
    best, outcome = math.inf, "stopped"
    try:
        for again in range(most):
            gc.collect()
            started = time.process_time()
            outcome = outcome_of(call)
            best = min(best, time.process_time() - started)
            if again and best > 0.1:  # not the first alone: its memory has to be fetched from the system
                break
    except Stopped:
        best = min(best, patience)
    except MemoryError:
        outcome = "out of memory"
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)
    return outcome, best


def grown(axis: Axis, seconds: float = 2.0, first: int = FIRST) -> list[Size]:
    """The results for the sizes of an axis, each four times the one before; one more if the last took surprisingly long."""
    found: list[Size] = []
    outcome_of(axis.make(first))  # what is loaded at a first use
    n = first
    while n <= axis.most or (n <= 4 * axis.most and slowed(found)):  # once: what no longer fits into a cache of the processor
        call, given = held(axis.make, n)
        outcome, took = timed(call, 5 * seconds)
        if outcome in ("stopped", "out of memory"):
            found.append(Size(n, outcome, took, 0, given, 0))
            break
        deep = took < seconds
        found.append(Size(n, outcome, took, counted(call) if deep else 0, given, peak(call) if deep else 0))
        if outcome != "answer" or not deep:
            break
        n *= 4
    return found


def glanced(axis: Axis, seconds: float, first: int = FIRST) -> list[Size]:
    """A quick look along an axis: the time of each size, four times the one before, once; of the largest that is answered, the memory too.

    What is refused is tried once more at the largest size of the axis: a refusal must not take longer than an answer.
    """
    found: list[Size] = []
    timed(axis.make(first), 10 * seconds, 1)  # what is loaded at a first use
    n = first
    while n <= axis.most:
        call = axis.make(n)
        outcome, took = timed(call, 10 * seconds, 1)
        found.append(Size(n, outcome, took, 0, 0, 0))
        if took > (seconds if len(found) > 2 else 4 * seconds) or (outcome != "answer" and n == axis.most):
            break
        n = 4 * n if outcome == "answer" else axis.most
    answered = [index for index, size in enumerate(found) if size.outcome == "answer"]
    for index in answered[-1:]:
        call, given = held(axis.make, found[index].n)
        found[index] = found[index]._replace(given=given, peak=peak(call))
    return found


def power(few: float, many: float, ratio: float) -> float:
    """The power of a ratio by which something has grown."""
    return math.log(max(many, 1e-9) / max(few, 1e-9)) / math.log(ratio)


def slowed(found: list[Size]) -> str:
    """How the time grew over the last two sizes, if steeply; else empty."""
    answered = [size for size in found if size.outcome == "answer"]
    if len(answered) < 2 or answered[-1].seconds <= 0.1:
        return ""
    middle, large = answered[-2:]
    steep = power(middle.seconds, large.seconds, large.n / middle.n)
    return f"time grows as n^{steep:.2f} at n = {large.n}: {large.seconds:.2f} s" if steep > STEEPEST else ""


def suspicious(found: list[Size]) -> bool:
    """Whether a quick look saw something that may grow faster than the input: what a call costs at the smallest size is left out."""
    times = [size.seconds for size in found if size.outcome == "answer"]
    sizes = [size.n for size in found if size.outcome == "answer"]
    least, *more = times or [0.0]
    steep = len(more) > 1 and more[-1] > 0.03 and power(more[-2] - least, more[-1] - least, sizes[-1] / sizes[-2]) > STEEPEST
    once = len(more) == 1 and more[-1] > 0.1 and power(least, more[-1], sizes[-1] / sizes[-2]) > STEEPEST
    return steep or once or bool(faults(found)) or found[-1].seconds > 10 * max([*times, 0.1])


def faults(found: list[Size]) -> list[str]:
    """What grows faster than the input."""
    told = []
    last = found[-1]
    if last.outcome in ("stopped", "out of memory"):
        told.append(f"{last.outcome} at n = {last.n}")
    answered = [size for size in found if size.outcome == "answer"]
    whole = [size for size in answered if size.calls]
    if len(whole) >= 3:
        small, middle, large = whole[-3:]
        fewer = middle.calls - small.calls if middle.calls > small.calls else middle.calls  # beyond a limit there may be less to do
        steep = power(fewer, large.calls - middle.calls, large.n / middle.n)
        if steep > STEEPEST and large.calls - middle.calls > large.n:
            told.append(f"calls grow as n^{steep:.2f} at n = {large.n}")
    told += [slow] if (slow := slowed(found)) else []
    for size in [size for size in answered if size.peak][-1:]:
        if size.peak > max(SMALL, MOST_TIMES * size.given):
            told.append(f"holds {size.peak / 2**20:.0f} MB, {size.peak / max(size.given, 1):.0f} times the input, at n = {size.n}")
    return told


def main() -> int:
    """Run a command; 1 when something grows faster than the input."""
    from fuzz.axes import AXES

    parser = argparse.ArgumentParser(prog="python -m fuzz.size", description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--only", default="", help="axes whose name has this in it")
    parser.add_argument("--seconds", type=float, default=2.0, help="processor time up to which an axis goes on")
    parser.add_argument("--quick", type=float, default=0.0, help="first look at each axis for so many seconds; drive only what seems steep")
    parser.add_argument("--json", help="write what was measured there")
    options = parser.parse_args()
    resource.setrlimit(resource.RLIMIT_AS, (8 * 2**30, 8 * 2**30))
    warnings.simplefilter("error")
    bad, kept = 0, {}
    for name, axis in AXES.items():
        if options.only not in name:
            continue
        found = glanced(axis, options.quick) if options.quick else []
        if not found or suspicious(found):
            found = grown(axis, options.seconds)
        told, last = faults(found), found[-1]
        bad += len(told)
        kept[name] = {"sizes": [size._asdict() for size in found], "faults": told}
        sizes = ", ".join(
            f"{size.n}: {1e3 * size.seconds:.0f} ms {size.calls} {size.peak / max(size.given, 1):.1f}x" for size in found[-3:]
        )
        print(
            f"{'FAULT ' if told else ''}{name}: {'; '.join(told)} [{sizes}] {last.outcome if last.outcome != 'answer' else ''}", flush=True
        )
    print(f"{len(kept)} axes, {bad} faults")
    if options.json:
        with open(options.json, "w", encoding="utf-8") as file:
            json.dump(kept, file, indent=1)
    return int(bool(bad))


if __name__ == "__main__":
    raise SystemExit(main())
