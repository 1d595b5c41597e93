"""The public surface as a type checker sees it: what may be called how, and what comes back.

    mypy --strict tests/typing/surface.py
    pyright tests/typing/surface.py

A line with `type: ignore` must be an error, or the checker says that the comment is not needed. The file runs as a test too.
"""

from __future__ import annotations

import pathlib
from typing import Any, assert_type

import sumpwise
from sumpwise import (
    Circuit,
    Dipstick,
    FileError,
    FluidHistory,
    Job,
    Ledger,
    LooksClean,
    OverflowPlug,
    ServiceRecord,
    Sheet,
    Span,
    SumpwiseError,
    UnitError,
    Vessel,
    budget,
    check_text,
    compare_methods,
    convert,
    coverage_factor,
    drain_refill,
    drains_needed,
    evidence,
    exchange,
    expanded,
    flow_regime,
    measured,
    monte_carlo,
    number_card,
    plan,
    quantity,
    rounded_inward,
    setting_band,
    span,
    verify,
)
from sumpwise.accepted import VolumeLike
from sumpwise.measurement.reporting import Budget, ExpandedUncertainty
from sumpwise.measurement.sampling import MonteCarlo


def texts_and_quantities() -> None:
    """Texts, numbers and Quantities go in; what comes back is a Quantity or a number of the caller's own kind, hence Any."""
    assert_type(quantity("3.6 L"), Any)
    assert_type(convert("6.1 L", "US qt"), Any)
    assert_type(span("31 to 37 N·m"), Span)
    assert_type(rounded_inward("31 to 37 N·m", "lbf·ft"), Span)
    assert_type(drain_refill("3.3 L", quantity("8.85 L"), times=3), Any)
    assert_type(drain_refill.kernel(3.3, 8.85, 3), Any)
    assert_type(drains_needed("3.3 L", "8.85 L", 0.9), Any)
    assert_type(exchange("10 L", "8.85 L", tanks=2), Any)
    assert_type(setting_band("31 N·m", "37 N·m", 0.04), Any)
    assert_type(drain_refill(["3.3 L", "3 kg"], "8.85 L", errors="mask"), Any)
    assert_type(convert(["3.3 L", "3 kg"], "L", errors="collect"), Any)
    assert_type(sumpwise.__version__, str)


def wrong_calls() -> None:
    """A wrong call is an error for the checker, and a TypeError when it runs."""
    for call in (
        lambda: drain_refill("3.3 L"),  # type: ignore[call-overload]  # pyright: ignore[reportCallIssue]
        lambda: drain_refill("3.3 L", "8.85 L", litres=3),  # type: ignore[call-overload]  # pyright: ignore[reportCallIssue]
        lambda: Ledger(),  # type: ignore[call-arg]  # pyright: ignore[reportCallIssue]
        lambda: plan(),  # type: ignore[call-arg]  # pyright: ignore[reportCallIssue]
    ):
        try:
            call()
        except TypeError:
            continue
        raise AssertionError("a wrong call went through")


def values_without_a_unit() -> None:
    """A plain number where a unit is needed is an error for the checker, and a UnitError when it runs; 0 is nothing in every unit."""
    volumes: list[VolumeLike] = ["3.3 L", quantity("3.5 qt"), 0]
    assert_type(drain_refill(volumes[0], quantity("8.85 L"), start=0.2), Any)
    assert_type(Circuit("3.9 L", "2.45 L", "0.62 L", 0, 0).pump("1 L", poured=0), Circuit)
    for call in (
        lambda: drain_refill(3.3, "8.85 L"),  # type: ignore[call-overload]  # pyright: ignore[reportArgumentType, reportCallIssue]
        lambda: Circuit(3.9, "2.45 L", "0.62 L"),  # type: ignore[arg-type]  # pyright: ignore[reportArgumentType]
        lambda: Vessel("pail", 0.25),  # type: ignore[arg-type]  # pyright: ignore[reportArgumentType]
    ):
        try:
            call()
        except UnitError as error:
            assert_type(error.code, str)
            assert_type(error.limits, tuple[float | None, float | None, str] | None)
            continue
        raise AssertionError("a number without a unit went through")


def measurement() -> None:
    """Results have named parts."""
    reading = measured("3.35 L", limits="0.0625 L")
    assert_type(budget(reading), Budget)
    assert_type(expanded(reading), ExpandedUncertainty)
    drawn = monte_carlo(drain_refill, ["3.3 ± 0.1 L", "8.85 L"], draws=1000, seed=1)
    assert_type(drawn, MonteCarlo)
    assert_type(drawn.symmetric_interval, Span)
    assert_type(coverage_factor(0.95, 10.0), float)
    assert_type(flow_regime(1000.0), str)


def filling() -> None:
    """Every step of a ledger, a circuit and a history is a new one of its kind."""
    pail = Vessel("pail", "0.25 L", 0.98, 0.004)
    ledger = Ledger("847 kg/m³").started("-0.17(3) L").drained(pail, "3.35 L", "44 °C").emptied(pail).lost("0.1 L", "rags")
    assert_type(ledger, Ledger)
    assert_type(ledger.to_dict(), dict[str, Any])
    assert_type(Ledger.from_dict(ledger.to_dict()), Ledger)
    assert_type(Circuit("3.9 L", "2.45 L", "0.62 L").drain("1 L").pour("1 L").mix(), Circuit)
    assert_type(FluidHistory("-9 y").replace(0.375, "0 y"), FluidHistory)
    assert_type(Dipstick("0.42 L", "13 mm", "8.85 L", "847 kg/m³", "82–92 °C"), Dipstick)
    assert_type(OverflowPlug("8.85 L", "847 kg/m³", "35–45 °C"), OverflowPlug)
    assert_type(LooksClean(0.2).text, str)


def service(path: str | pathlib.Path) -> None:
    """From a job file to a sheet and a record."""
    job = Job.from_toml(path)
    assert_type(job, Job)
    sheet = plan(job)
    assert_type(sheet, Sheet)
    assert_type(sheet.to_markdown(), str)
    assert_type(sheet.to_json(), str)
    assert_type(Sheet.from_dict(sheet.to_dict()), Sheet)
    assert_type(compare_methods(job).currency, str)
    record = ServiceRecord.of(job, 0.776)
    assert_type(record.next_job("4 y"), Job)
    assert_type(number_card(job).to_text(), str)


def texts() -> None:
    """Findings are typed through and through."""
    for finding in check_text("The pan held 6.1 L (6.4 US qt)."):
        assert_type(finding.start, int)
        assert_type(finding.verdict, str)
    assert_type(verify().passed, bool)
    assert_type(evidence("convert")[0].printed, str)


def errors() -> None:
    """One base with its fields."""
    try:
        quantity("9**9 qt")
    except SumpwiseError as error:
        assert_type(error.argument, str)
        assert_type(error.hint, str)
        assert_type(error.at("drained"), SumpwiseError)
    assert issubclass(FileError, ValueError)
