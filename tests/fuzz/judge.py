"""One case: its outcome, and its time and memory."""

from __future__ import annotations

import dataclasses
import inspect
import math
import pickle
import signal
import time
import tracemalloc
from typing import Any

import numpy

from fuzz.surfaces import Case
from sumpwise.errors import SumpwiseError

LIMIT = 0.050
"""Seconds of processor time that a case may take."""

SLOW = {
    "check_text": 0.25,
    "Circuit": 4.0,
    "packs and quotes": 1.5,
    "rhythms": 1.0,
    "plan": 8.0,
    "sampling": 0.5,
    "best use and outlet evidence": 5.0,
    "plots": 0.5,
    "from_dict of ServiceRecord": 0.2,
    "from_dict of Job": 0.1,
    "ServiceRecord.load": 0.1,
}
"""Surfaces that do many answers' work in one call (8000 characters of numbers, a circuit of 200 tanks, a sheet of two logs)."""

MEMORY = 64 * 2**20
"""Bytes that a case may hold at its peak."""

MAY_BE_INFINITE = {"z", "dof", "scale_dof", "effective_dof", "_limit"}
"""Attributes for which infinity is an answer: degrees of freedom, and a rest in standard uncertainties where it has none."""

HANG = 60.0
"""Seconds of processor time after which a case is stopped."""


class Stopped(BaseException):
    """The case took far too long."""


def _stop(*_: object) -> None:
    raise Stopped


def _spread(x: Any) -> float:
    try:
        return float(x.std_dev)
    except OverflowError:
        return math.inf


def not_finite(x: Any, depth: int = 0, name: str = "") -> str:
    """Where in an answer there is a nan, an infinity or a complex number; empty when nowhere."""
    if x is None or isinstance(x, (str, bool, int, type)) or depth > 6 or name in MAY_BE_INFINITE:
        return ""
    if isinstance(x, float):
        return "" if math.isfinite(x) else f"{name or 'answer'} is {x}"
    if isinstance(x, complex):
        return f"{name or 'answer'} is complex"
    if hasattr(x, "_REGISTRY") and hasattr(x, "magnitude"):
        return not_finite(x.magnitude, depth + 1, name)
    if hasattr(x, "nominal_value") and getattr(x, "ndim", 0):  # a column
        return not_finite(x.nominal_value, depth + 1, name) or not_finite(x.std_dev, depth + 1, name)
    if hasattr(x, "nominal_value"):
        return "" if math.isfinite(x.nominal_value) and _spread(x) < math.inf else f"{name or 'answer'} is {x.nominal_value} ± {_spread(x)}"
    if isinstance(x, numpy.ndarray):
        if x.dtype.kind == "f":
            return "" if numpy.isfinite(x).all() else f"{name or 'answer'} is not finite everywhere"
        return next((bad for e in x.flat if (bad := not_finite(e, depth + 1, name))), "") if x.dtype.kind in "cO" else ""
    if isinstance(x, dict):
        return next((bad for k, e in x.items() if (bad := not_finite(e, depth + 1, str(k)))), "")
    if isinstance(x, (list, tuple, set, frozenset)):
        names = getattr(x, "_fields", [name] * len(x))
        return next((bad for n, e in zip(names, x, strict=True) if (bad := not_finite(e, depth + 1, n))), "")
    if dataclasses.is_dataclass(x):
        return next((bad for f in dataclasses.fields(x) if (bad := not_finite(getattr(x, f.name), depth + 1, f.name))), "")
    if type(x).__module__.startswith("sumpwise"):
        fields = [*getattr(type(x), "__slots__", ()), *getattr(x, "__dict__", {})]
        return next((bad for f in fields if not f.startswith("__") and (bad := not_finite(getattr(x, f, None), depth + 1, f))), "")
    return ""


def _unprintable(message: str) -> str:
    bad = [c for c in message if not c.isprintable() and c not in " \u00a0\u2007\u2009\u202f\n"]
    return f"a message with {bad[:3]!a}" if bad else ""


def _wrong_call(case: Case) -> bool:
    function, args, kwargs = case
    try:
        inspect.signature(function).bind(*args, **kwargs)
    except TypeError:
        return True
    return False


class Outcome:
    """The outcome of a case: `kind` is "answer" or the name of an error; `fault` says what is wrong with it, if anything."""

    __slots__ = ("fault", "kind", "peak", "seconds")

    def __init__(self) -> None:
        self.kind = "answer"
        self.fault = ""
        self.seconds = 0.0
        self.peak = 0


def judged(case: Case, *, memory: bool = False, pickled: bool = False) -> Outcome:
    """Run a case once."""
    function, args, kwargs = case
    outcome = Outcome()
    caught: BaseException | None = None
    result: Any = None
    before = signal.signal(signal.SIGPROF, _stop)
    signal.setitimer(signal.ITIMER_PROF, HANG)
    if memory:
        tracemalloc.start()
    started = time.process_time()
    try:
        result = function(*args, **kwargs)
    except (Exception, Stopped) as error:
        caught = error
    outcome.seconds = time.process_time() - started
    signal.setitimer(signal.ITIMER_PROF, 0)
    signal.signal(signal.SIGPROF, before)
    if memory:
        outcome.peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        outcome.seconds = 0.0
        if outcome.peak > MEMORY:
            outcome.fault = f"holds {outcome.peak / 2**20:.0f} MB"
    if caught is None:
        outcome.fault = outcome.fault or not_finite(result)
        return outcome
    outcome.kind = type(caught).__name__
    if isinstance(caught, SumpwiseError):
        message = str(caught)
        outcome.fault = outcome.fault or _unprintable(message) or ("a message of more than 2000 characters" if len(message) > 2000 else "")
        if pickled and str(pickle.loads(pickle.dumps(caught))) != message:
            outcome.fault = "an error that pickling changes"
    elif isinstance(caught, Stopped):
        outcome.fault = f"stopped after {HANG} s"
    elif not (isinstance(caught, TypeError) and _wrong_call(case)):
        outcome.fault = f"{outcome.kind}: {caught}"[:300]
    return outcome


def limit(name: str) -> float:
    """Seconds that a case of a surface may take."""
    return SLOW.get(name, LIMIT)
