"""What a sheet takes for granted: where the job says nothing, the sheet says what it took instead."""

from __future__ import annotations

from typing import TYPE_CHECKING

from sumpwise.service.methods.registry import METHODS
from sumpwise.service.schema import Doubt
from sumpwise.service.sheet import Section

if TYPE_CHECKING:
    from sumpwise.service.case import Assumption, Case


def assuming(case: Case) -> Section:
    """What was taken for granted."""
    job = case.job
    scope = job.text("capacity", "total_scope", "scope not stated")
    lines = [
        f"Total {job.text('capacity', 'total', 'not stated')} ({scope}); book refill {job.text('capacity', 'book_refill', 'not given')} "
        f"(scope {job.text('capacity', 'book_refill_scope', 'not stated')}).",
        "Volumes are compared at 20 °C; expansion of lubricating oils after API MPMS 11.1.",
        "A drive mixes the whole fill; the circuit's compartments are stirred tanks.",
        "Each method is repeated at the interval, the yearly drain every year; hands-on hours are common practice without a source.",
        *dict.fromkeys(remark for method in METHODS if method.compared(case) for remark in method.remarks(case)),
    ]
    if not job.entries("pack"):
        lines.append("The job prices no fluid, so the costs hold washers and filters alone.")
    lines += [said(one) for one in case.assumptions]
    return Section("assumptions", "Assumptions", [f"- {line}" for line in lines], data={"taken": [_data(one) for one in case.assumptions]})


def said(one: Assumption) -> str:
    """An assumption in words."""
    what = one.key.meaning + (f" of the {one.whose}" if one.whose else "")
    what = what[0].upper() + what[1:]
    if isinstance(one.taken, Doubt):
        much = f"{100 * one.taken.value:g} %" if isinstance(one.taken.value, float) else one.taken.value
        return f"{what} is good to {much} (standard): {one.taken.reason}."
    unit = f" of the {one.taken.of}" if one.taken.of else ""
    ends = [f"{end:g}" if isinstance(end, float) else end for end in (one.taken.low, one.taken.high)]
    value = {True: "yes", False: "no"}.get(one.taken.value, one.taken.value) if isinstance(one.taken.value, bool) else one.taken.value
    if one.taken.shape:
        return f"{what}: {ends[0]} to {ends[1]}{unit} ({one.taken.shape}; {one.taken.reason})."
    reach = f", usually {ends[0]} to {ends[1]}" if ends[0] != "" else ""
    shown = f"{value:g}" if isinstance(value, float) else value
    return f"{what}: {shown}{unit}{reach} ({one.taken.reason})."


def _data(one: Assumption) -> dict[str, object]:
    return {"id": one.id, "whose": one.whose, "reason": one.taken.reason}
