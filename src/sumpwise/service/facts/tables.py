"""The methods of a comparison in tables: the results today, and over the years."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from sumpwise.service.facts.fact import Amount, Count, Money, Name, Plain, Share, Table, Value, Word, Written
from sumpwise.uncertainty import nominal

if TYPE_CHECKING:
    from sumpwise.service.methods.comparison import Comparison, MethodResult

TENTH, WHOLE, SELDOM = 0.1, 1.0, 0.005


def named(key: str) -> Word:
    """Name of a method."""
    return Word(f"method.{key}")


def chance(p: float) -> Value:
    """A probability; a very small one as "under" a limit."""
    return Word("chance.under") if p < 0.001 else Share(p, 1)


def likely(p: float, asked: float) -> Value:
    """A probability beside the one asked for: never rounded up to it if it is smaller, nor to certainty or impossibility."""
    shown = p if p >= asked else min(p, asked - 0.01)
    if shown < SELDOM:
        return Word("likely.hardly")
    if shown > 1 - SELDOM:
        return Word("likely.surely")
    return Share(shown) if p >= asked else Word("likely.only", {"probability": Share(shown)})


def entry_said(entry: Mapping[str, Any]) -> Word:
    """An entry of a log as it was written: the event, and the amount or reading it gives."""
    text, kind = str(entry.get("reading", entry.get("volume", ""))), "length" if entry["event"] == "stick" else "volume"
    says: dict[str, Value] = {"event": Word(f"event.{entry['event']}"), "read": Written(text, kind)}
    if "what" not in entry:
        return Word("conflict.entry", says)
    return Word("conflict.entry_of", says | {"what": Name(str(entry["what"]))})


def today(comparison: Comparison) -> Table:
    """The result of each method now, or why it cannot be done."""
    level = any(method.outside_band is not None for method in comparison)
    columns = ["method", "times", "fresh", "fluid", "washers", "filters", "cost", "point", "hours", *(["outside"] if level else [])]
    rows = [_row(method, comparison.currency, level) for method in comparison if method.key != "yearly"]
    return Table(tuple(f"methods.column.{name}" for name in columns), rows)


def _row(method: MethodResult, currency: str, level: bool) -> list[Value]:
    if method.why is not None:
        return [named(method.key), method.why, *(Word("none") for _ in range(7 + level))]
    point = method.cost_per_point
    cells: list[Value] = [
        named(method.key), Count(method.count), Share(method.fresh), Amount("volume", method.litres, step=TENTH),
        Count(method.washers), Count(method.filters), Money(method.cost, currency, 0),
        Word("dash") if point is None else Money(point, currency, 1), Plain(method.hours, 0),
    ]  # fmt: skip
    return [*cells, chance(method.outside_band or 0.0)] if level else cells


def over_time(comparison: Comparison) -> Table:
    """The result of each method over the horizon, repeated at its interval."""
    rows: list[list[Value]] = [
        [
            named(method.key), Amount("years", method.minutes),
            Amount("volume", nominal(method.horizon_litres), step=WHOLE),
            Money(method.horizon_cost, comparison.currency, 0),
            Word("dash") if method.cost_per_year is None else Money(method.cost_per_year, comparison.currency, 0),
            Word("years.best" if method.best_somewhere else "years.bound" if method.bound else "none"),
        ]
        for method in comparison
        if method.why is None
    ]  # fmt: skip
    return Table(tuple(f"years.column.{name}" for name in ("method", "age", "fluid", "cost", "saved", "best")), rows)
