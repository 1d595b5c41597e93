"""What a sheet takes for granted: where the job says nothing, the sheet says what it took instead."""

from __future__ import annotations

from sumpwise.quantities.boundary import answer
from sumpwise.service.figures import percent
from sumpwise.service.job import Job
from sumpwise.service.movements import UNWEIGHED
from sumpwise.service.sections import NEED_DOUBT
from sumpwise.service.sheet import Section
from sumpwise.service.sticks import THERMOMETER
from sumpwise.torque import permissible_deviation


def assuming(job: Job, assumptions: list[str]) -> Section:
    """What was taken for granted."""
    scope = job.text("capacity", "total_scope", "scope not stated")
    lines = [
        f"Total {job.text('capacity', 'total')} ({scope}); book refill {job.text('capacity', 'book_refill', 'not given')} "
        f"(scope {job.text('capacity', 'book_refill_scope', 'not stated')}).",
        "Volumes are compared at 20 °C; expansion of lubricating oils after API MPMS 11.1, density from the job.",
        f"A temperature without its own uncertainty is good to {THERMOMETER:g} °C (standard).",
        "A pail's own growth with heat is left out; one of plastic grows by about 0.04 % per °C.",
        "A drive mixes the whole fill; the circuit's compartments are stirred tanks.",
        *_unstated(job),
        *assumptions,
    ]
    return Section("assumptions", "Assumptions", [f"- {line}" for line in lines])


def _unstated(job: Job) -> list[str]:
    """What was taken for a key that the job leaves out."""
    lines = []
    if not job.has("vehicle", "fluid_age"):
        age = job.text("vehicle", "age")
        lines.append(f"The fluid is as old as the vehicle, {age}: no age was written." if age else "The fluid is new: no age was written.")
    if not job.has("vehicle", "interval_time"):
        lines.append("The interval of 4 y is common practice: the job gives none.")
    for vessel in job.entries("vessel"):
        if "scale_uncertainty" not in vessel:
            doubt, why = (0.005, "no uncertainty was written") if "reads_high" in vessel else (UNWEIGHED, "nobody weighed it")
            lines.append(f"The scale of the {vessel['name']} is taken with a standard uncertainty of {100 * doubt:g} %: {why}.")
    if job.has("wrench", "maximum") and not job.has("wrench", "deviation"):
        deviation = permissible_deviation(answer(job.value("wrench", "maximum"), "torque"))
        lines.append(f"The wrench is good to ±{percent(deviation)}, what ISO 6789 permits for its size: nothing else was written.")
    if job.has("level", "window") and not job.has("level", "resolution"):
        lines.append("The stick is read to 1 mm.")
    if job.has("exchange", "burst") and not job.has("exchange", "flow"):
        lines.append("Cooler flow 3.5 L/min (common practice 1.5 to 8 L/min).")
    if not job.has("shopping", "need_uncertainty"):
        lines.append(f"The need is taken with a standard uncertainty of {100 * NEED_DOUBT:g} %, and that of the method's own volume.")
    if not job.entries("pack"):
        lines.append("The job prices no fluid, so the costs hold washers and filters alone.")
    elif not job.has("shopping", "risk"):
        lines.append("Running short with a chance of 5 % is accepted.")
    return lines
