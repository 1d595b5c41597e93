"""What can be learned from the log of a job about this vehicle and these tools: drain, pan, flow, reserve, scales of the vessels.

Also how fresh it left the fill, and what several services show together.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import fsum, sqrt
from typing import Any

from sumpwise.errors import RangeError, SumpwiseError
from sumpwise.measurement.pooling import pooled
from sumpwise.quantities.arguments import number_in
from sumpwise.service.agreement import Agreement
from sumpwise.service.case import Case
from sumpwise.service.filled import NOTHING
from sumpwise.service.movements import Movement
from sumpwise.service.render.figures import number
from sumpwise.service.schema import BUBBLES
from sumpwise.service.standing import Standing
from sumpwise.uncertainty import combine, nominal, source, standard

Known = dict[str, Any]
"""A learned value: value, unit, standard uncertainty, where it comes from, and how much the next service shares of it, by cause."""
AT_LEAST = "reserve at least"
"""A lower bound, which is not pooled: the highest of several counts."""
SURE = 2.0
"""A lower bound is lowered by this many standard uncertainties before it is used."""


def fresh_inside(case: Case) -> Any:
    """The share of new fluid that the log of a job left inside: from the outlet, else by running the circuit through the log.

    Raises
    ------
    SumpwiseError
        For a log that moved no fluid or cannot be followed.
    """
    found = case.agreement
    if isinstance(found, SumpwiseError):
        raise found
    if found is None:
        problem, hint = "does not say what came out and went in", "write the log of the service, or say how fresh the fill is now"
        raise RangeError(problem, code="list.empty", argument="log", hint=hint)
    if isinstance(case.told, SumpwiseError):
        raise case.told
    fresh = Standing(case, found).fresh
    if fresh is None:
        raise RangeError(
            "does not fit what the job says about the unit", code="circuit.no_volume", argument="log", hint="say how fresh the fill is now"
        )
    return fresh


def pooled_over(services: Sequence[dict[str, Known]]) -> dict[str, Known]:
    """What was learned from several services together: name -> value, unit, standard uncertainty, and where it comes from.

    Something learned from only one stays as it is, without its causes. Something learned from several is `pooled`: a spread between them
    counts, and shared errors, such as that of the scale of one pail, do not shrink with repeated use.
    """
    names = dict.fromkeys(name for learned in services for name in learned)
    return {name: _together(name, [learned[name] for learned in services if name in learned]) for name in names}


def _together(name: str, known: list[Known]) -> Known:
    last = {key: value for key, value in known[-1].items() if key != "shared"}
    if len(known) == 1:
        return last
    if name == AT_LEAST:
        best = max(known, key=lambda one: float(one["value"]) - SURE * one["standard_uncertainty"])
        return last | {key: best[key] for key in ("value", "standard_uncertainty", "from")}
    told = pooled([_uncertain(one) for one in known])
    apart = f", spread between them {number(told.between, 3)} {last['unit']}".removesuffix(" 1") if told.between else ""
    where = f"{last['from']}; {len(known)} services together{apart}"
    return last | {"value": nominal(told.value), "standard_uncertainty": standard(told.value), "from": where}


def _uncertain(known: Known) -> Any:
    """A learned value as an uncertain number; causes with the same name are the same source."""
    shared = known.get("shared", {})
    own = sqrt(max(known["standard_uncertainty"] ** 2 - fsum(part * part for part in shared.values()), 0.0))
    causes = [(part, source(0.0, 1.0, name=cause, uid=f"record: {cause}")) for cause, part in shared.items()]
    return combine(known["value"], [(1.0, source(0.0, own)), *causes])


def bounded(known: Known) -> float:
    """A lower bound, lowered by its uncertainty."""
    return float(known["value"] - SURE * known["standard_uncertainty"])


def learned_from(case: Case) -> dict[str, Known]:
    """Name -> value, unit, standard uncertainty, where it comes from, and how much of it is shared with other services.

    No volume is learned from a log whose count and stick contradict each other: one of its entries is wrong. A log that cannot be followed
    is an error.
    """
    learned: dict[str, Known] = {}

    def keep(name: str, value: Any, unit: str, where: str) -> None:
        learned[name] = {
            "value": nominal(value), "unit": unit, "standard_uncertainty": standard(value), "from": where,
            "shared": {_named(case, cause): part for cause, part in case.lasting(value)},
        }  # fmt: skip

    found = case.agreement
    if isinstance(found, SumpwiseError):
        raise found
    if found is not None and not found.conflict:
        _volumes(case, found, keep)
        _flow(case, keep)
        if not case.job.value("exchange", "helper", False):  # who poured meanwhile hid how low the sump was
            _reserve(found.moves, keep)
    for written in case.job.entries("vessel"):
        if "reads_high" in written and written["name"] not in case.on_scales:
            vessel = case.vessels[written["name"]]
            weighed = source(vessel.scale, vessel.scale_uncertainty, name=f"{vessel.name}, scale", role="scale", vessel=vessel.name)
            keep(f"{vessel.name} scale", weighed, "1", "a weighing with water")
    return learned


def _named(case: Case, cause: Any) -> str:
    """A name for a cause of uncertainty, made of what it is and its size: causes with the same name are shared between services."""
    value = f" {case.vessels[cause.vessel].scale:.6g}" if cause.role == "scale" else ""
    return f"{cause.tag or cause.role}{value} ± {cause.std_dev:.6g}"


def _volumes(case: Case, found: Agreement, keep: Any) -> None:
    """What comes out at the plug at the right level, and what pan and filter bring in addition."""
    plug, everything = found.opened
    out = number_in(plug.after.total_drained, "L") if plug else 0.0
    if plug:
        level = "corrected to the right level" if found.counted else "the level before it was not read"
        keep("plug_drain", found.plug_drain, "L", f"the first drain of the log, at 20 °C, {level}")
    if everything and everything is not plug:
        whole = number_in(everything.after.total_drained, "L")
        kept = {move.number for move in case.from_pan}
        lost = [move for move in found.moves[: everything.number] if move.event == "lost"]
        spilled = [(1.0, move.moved) for move in lost if move.number not in kept]
        terms = [(1.0, whole), (-1.0, out), *spilled]
        rest = combine(fsum(sign * nominal(one) for sign, one in terms), terms)
        if nominal(rest) > NOTHING:
            keep("pan_and_filter", rest, "L", "what came out after the plug and before the refill, at 20 °C")


def _flow(case: Case, keep: Any) -> None:
    """The flow to expect of the pump, in litres per minute of hot fluid: the mean of the timed bursts, with the spread between bursts.

    None is learned from timings that cannot be right.
    """
    if len(case.timed_flows) > 1 and not (case.timings and case.timings.too_fast):
        told = pooled(case.timed_flows)
        keep("flow", told.value + source(0.0, told.between, name="flow"), "L/min", f"{len(case.timed_flows)} timed bursts of the log")


def _reserve(moves: list[Movement], keep: Any) -> None:
    """How far below the start level each burst left the sump: the reserve is larger if no air came, smaller if bubbles came."""
    quiet: list[Any] = []  # balances, of which the lowest is the deepest; only the chosen one becomes a depth
    air: list[Any] = []
    for move in moves:
        if move.by_the_line:
            quiet.append(move.balance)
        elif move.entry.get("seen") == BUBBLES and quiet:
            air.append(quiet.pop())
    if not air:
        if quiet:
            deepest = min(quiet, key=nominal)
            which = f"the deepest of {len(quiet)} bursts" if len(quiet) > 1 else "one burst"
            keep(AT_LEAST, -deepest, "L", f"{which} without air, a lower bound")
        return
    highest = max(air, key=nominal)
    lowest = min((balance for balance in quiet if nominal(balance) > nominal(highest)), key=nominal, default=0.0)
    first, safe = -highest, -lowest
    between = (nominal(first) - nominal(safe)) / sqrt(12)
    u = sqrt(between**2 + standard(first) ** 2 + standard(safe) ** 2)
    where = "the deepest burst without air and the one with bubbles"
    keep("reserve", source((nominal(first) + nominal(safe)) / 2, u, name="reserve"), "L", where)
