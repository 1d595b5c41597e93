"""Numbers for a sheet: rounded once, at the end, to the digits their uncertainty allows."""

from __future__ import annotations

from decimal import ROUND_HALF_EVEN, Context, Decimal
from functools import cache
from math import floor, log10
from typing import Any

from sumpwise.uncertainty import nominal, standard

OWN = Context(prec=400, traps=[])
"""Wide enough for any float; the caller's decimal context is neither used nor changed."""


def places_for(u: float, most: int) -> int:
    """Decimals that show a standard uncertainty with two digits (GUM 7.2.6), but no more than `most`."""
    return most if u <= 0 else max(0, min(most, 1 - floor(log10(u))))


@cache
def _step(places: int) -> Decimal:
    return Decimal((0, (1,), -places))


def number(value: Any, places: int, signed: bool = False) -> str:
    """A number with a fixed number of decimals, ties to even, with a true minus sign."""
    rounded = Decimal(repr(nominal(value))).quantize(_step(places), ROUND_HALF_EVEN, OWN)
    if not rounded:
        rounded = rounded.copy_abs()
    return format(rounded, "+f" if signed else "f").replace("-", "−")


def spread_text(u: float, places: int) -> str:
    """A standard uncertainty to a fixed number of decimals; one that would round to zero becomes one in the last place."""
    text = number(u, places)
    return text if float(text) or not u else f"{_step(places):f}"


def percent(share: Any, most: int) -> str:
    """A share as percent: `78 ± 3 %`, `72.7 ± 0.4 %`."""
    best, u = nominal(share) * 100, standard(share) * 100
    if u == 0:
        return f"{number(best, most)} %"
    places = 1 if u < 1 else most
    return f"{number(best, places)} ± {spread_text(u, places)} %"


def plain(value: Any, unit: str) -> dict[str, Any]:
    """A number for JSON: best value, unit, standard uncertainty."""
    return {"value": nominal(value), "unit": unit, "standard_uncertainty": standard(value)}
