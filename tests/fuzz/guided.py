"""A coverage-guided fuzzer on what people type: the grammar, spans, descriptions, job files.

    pip install atheris
    python tests/fuzz/guided.py [CORPUS] [-max_total_time=600 …]      (the options of libFuzzer)

Needs atheris, which the suite does not. Whatever is accepted must be finite and, written again in its own unit, the same number;
whatever is not accepted must be a sumpwise error whose text is printable; nothing may take longer than its limit.
"""

from __future__ import annotations

import contextlib
import math
import sys
import time
from typing import Any

import atheris  # type: ignore[import-not-found]

with atheris.instrument_imports(include=["sumpwise"]):
    from sumpwise import check_text, quantity, span
    from sumpwise.errors import SumpwiseError
    from sumpwise.quantities import arguments, boundary, digits, notation, numerals, spelling, units  # noqa: F401
    from sumpwise.service.job import Job, _toml

LIMIT = 0.25
"""Seconds of processor time; the instrumented code is some times slower than the library."""

WORDS = list(units.SYMBOLS)


def _quantity(text: str) -> None:
    found = quantity(text)
    magnitude = found.magnitude
    best = getattr(magnitude, "nominal_value", magnitude)
    assert math.isfinite(best)
    assert getattr(magnitude, "std_dev", 0.0) < math.inf
    unit = notation.read(text).unit
    assert quantity(f"{best!r} {unit.symbol}").magnitude == best


def _span(text: str) -> None:
    found = span(text)
    assert math.isfinite(found.lower.magnitude)
    assert found.lower.magnitude <= found.upper.magnitude


def _description(text: str) -> None:
    for finding in check_text(text):
        assert 0 <= finding.start < finding.end <= len(text)
        assert str(finding).isprintable()


def _job(text: str) -> None:
    Job.from_dict(_toml(text.encode("utf-8", "surrogatepass"), "fuzz")).to_dict()


TARGETS = (_quantity, _quantity, _quantity, _span, _description, _job)


def one(data: bytes) -> None:
    """One input: the first byte chooses the surface, the rest is the text."""
    feed = atheris.FuzzedDataProvider(data)
    target: Any = TARGETS[feed.ConsumeIntInRange(0, len(TARGETS) - 1)]
    text = feed.ConsumeUnicode(400)
    if feed.ConsumeBool():
        text = f"{text} {WORDS[feed.ConsumeIntInRange(0, len(WORDS) - 1)]}"
    started = time.process_time()
    try:
        target(text)
    except SumpwiseError as error:
        if not all(c.isprintable() or c in "\u00a0\u2007\u2009\u202f" for c in str(error)):
            raise AssertionError(f"an error that cannot be printed: {error!r}") from error
    taken = time.process_time() - started
    if taken > LIMIT:
        raise AssertionError(f"took {taken:.3f} s: {text!r}")


if __name__ == "__main__":
    for surface in TARGETS:  # the first use of each loads modules
        with contextlib.suppress(SumpwiseError):
            surface("6.1 L")
    atheris.Setup(sys.argv, one)
    atheris.Fuzz()
