"""`plan(job)`: the whole sheet of a job."""

from __future__ import annotations

from sumpwise.service import balance, outlet, sections, sticks
from sumpwise.service.assumptions import assuming
from sumpwise.service.job import Job
from sumpwise.service.methods import compare_methods
from sumpwise.service.sheet import Sheet


def plan(job: Job) -> Sheet:
    """Plan a fluid service.

    Parameters
    ----------
    job : Job
        Vehicle, capacities, fluid, tools, packs, target, and the log so far.

    Returns
    -------
    Sheet
        What to buy; the methods side by side; the chosen one step by step; the balance of the log; torque; level; assumptions; stop
        signs; cautions. A stop sign seen in the log comes first, and the steps are withheld; so does a log that contradicts itself.

    Raises
    ------
    SumpwiseError
        For values that do not fit together, naming them.

    Examples
    --------
    >>> from sumpwise import Job, plan
    >>> print(plan(Job.demo()).section("buy").lines[0])
    Buy **2 × can + 4 × bottle**: 14.0 L for **132.60 coins**. It runs short with a chance under 0.1 %; 1.6 ± 0.4 L is left over.
    """
    comparison = compare_methods(job)
    key = sections.chosen(job, comparison)
    halt = sections.stopped(job)
    found = balance.agreement_of(job)
    doubt = balance.disputed(job, found)
    parts = [
        sections.buying(job, comparison, key),
        sections.comparing(job, comparison, key),
        sections.over_years(comparison),
        sections.quoted(job),
        sections.stepwise(job, key),
        sections.timed(job) if key == "bursts" else None,
        outlet.telling(job, found),
        balance.balancing(job, found, halt is not None),
        sections.tightening(job),
        sticks.levelling(job, "stop: see above" if halt else "read it again: see above" if doubt else ""),
        assuming(job, list(comparison.assumptions)),
        sections.stopping(job),
        sections.cautioning(),
    ]
    kept = [p for p in parts if p is not None and not (halt and p.key in ("buy", "steps", "timetable", "outlet"))]
    return Sheet(job.title, [*(p for p in (halt, doubt) if p is not None), *kept])
