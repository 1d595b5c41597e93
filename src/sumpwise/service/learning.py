"""What the log of a job tells about this vehicle and these tools: drain, pan, flow, the sump's reserve, the scales of the vessels."""

from __future__ import annotations

from math import sqrt
from typing import Any

from sumpwise.errors import SumpwiseError
from sumpwise.fluid.density import volume_correction_factor
from sumpwise.quantities.arguments import number_in
from sumpwise.service.agreement import Agreement
from sumpwise.service.case import Case
from sumpwise.service.movements import Movement, opening
from sumpwise.service.schema import BUBBLES
from sumpwise.uncertainty import combine, nominal, standard


def learned_from(case: Case) -> dict[str, dict[str, Any]]:
    """Name -> value, unit, standard uncertainty, and where it comes from.

    A log whose count and stick contradict each other teaches no volume: one of its entries is wrong. A log that cannot be followed is an
    error.
    """
    learned: dict[str, dict[str, Any]] = {}

    def keep(name: str, value: Any, unit: str, where: str, u: float | None = None) -> None:
        spread = standard(value) if u is None else u
        learned[name] = {"value": nominal(value), "unit": unit, "standard_uncertainty": spread, "from": where}

    found = case.agreement
    if isinstance(found, SumpwiseError):
        raise found
    if found is not None and not found.conflict:
        _volumes(found, keep)
        _flow(case, found.moves, keep)
        _reserve(found.moves, keep)
    for written in case.job.entries("vessel"):
        if "reads_high" in written:
            vessel = case.vessels[written["name"]]
            keep(f"{vessel.name} scale", vessel.scale, "1", "weighed with water", vessel.scale_uncertainty)
    return learned


def _volumes(found: Agreement, keep: Any) -> None:
    """What the plug lets out at the right level, and what pan and filter bring besides."""
    plug, everything = opening(found.moves)
    out = number_in(plug.after.total_drained, "L") if plug else 0.0
    if plug:
        start = number_in(found.ledger.start, "L") if found.counted else 0.0
        right = combine(nominal(out) - nominal(start), [(1.0, out), (-1.0, start)])
        level = "corrected to the right level" if found.counted else "the level before it was not read"
        keep("plug_drain", right, "L", f"the first drain of the log, at 20 °C, {level}")
    if everything and everything is not plug:
        whole = number_in(everything.after.total_drained, "L")
        rest = combine(nominal(whole) - nominal(out), [(1.0, whole), (-1.0, out)])
        keep("pan_and_filter", rest, "L", "what came out after the plug and before the refill, at 20 °C")


def _flow(case: Case, moves: list[Movement], keep: Any) -> None:
    """What the pump moved a minute, as hot as it was."""
    density, factor = nominal(case.ask("fluid", "density_15")), volume_correction_factor.kernel
    rates = []
    for move in moves:
        minutes = nominal(move.entry.get("duration", 0.0))
        if move.event == "drained" and minutes > 0 and move.litres < 0:
            grown = factor(20.0, density) / factor(nominal(move.entry["temperature"]), density)
            rates.append(-move.litres * grown / minutes)
    if len(rates) > 1:
        mean = sum(rates) / len(rates)
        spread = sqrt(sum((rate - mean) ** 2 for rate in rates) / (len(rates) - 1))
        keep("flow", mean, "L/min", f"{len(rates)} timed bursts of the log", spread)


def _reserve(moves: list[Movement], keep: Any) -> None:
    """How far below the start level the sump stood at the end of each burst: without air the reserve is more, with bubbles it is less."""
    depths: list[Any] = []
    air: list[Any] = []
    for move in moves:
        if move.by_the_line:
            depths.append(-move.balance)
        elif move.entry.get("seen") == BUBBLES and depths:
            air.append(depths.pop())
    if not air:
        if depths:
            deepest = max(depths, key=nominal)
            keep("reserve at least", deepest, "L", f"a lower bound: the deepest of {len(depths)} bursts without air")
        return
    first = min(air, key=nominal)
    quiet = [depth for depth in depths if nominal(depth) < nominal(first)]
    safe = max(quiet, key=nominal, default=0.0)
    between = (nominal(first) - nominal(safe)) / sqrt(12)
    u = sqrt(between**2 + standard(first) ** 2 + standard(safe) ** 2)
    where = "between the deepest burst without air and the one with bubbles"
    keep("reserve", (nominal(first) + nominal(safe)) / 2, "L", where, u)
