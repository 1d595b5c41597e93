"""`plan(job)`: the whole sheet of a job; `compare_methods(job)`: its methods alone."""

from __future__ import annotations

from typing import Any

from sumpwise.errors import expect
from sumpwise.quantities.boundary import argument
from sumpwise.service import balance, outlet, sections, sticks
from sumpwise.service.assumptions import assuming
from sumpwise.service.case import Case
from sumpwise.service.job import Job
from sumpwise.service.methods.comparison import Comparison, compared
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
    expect(job, Job, "job", "what Job.from_toml or Job.from_dict gives")
    case = Case(job)
    halt, doubt = sections.stopped(case), balance.disputed(case)
    parts = [
        sections.buying(case),
        sections.comparing(case),
        sections.over_years(case.comparison),
        sections.quoted(case),
        sections.stepwise(case),
        sections.timed(case),
        outlet.telling(case),
        balance.balancing(case),
        sections.tightening(case),
        sticks.levelling(case, "stop: see above" if halt else "read it again: see above" if doubt else ""),
        sections.stopping(),
        sections.cautioning(),
    ]
    kept = [p for p in parts if p is not None and not (halt and p.key in ("buy", "steps", "timetable", "outlet"))]
    kept.insert(-2, assuming(case))  # last of all, for it lists what the others asked for
    return Sheet(job.title, [*(p for p in (halt, doubt) if p is not None), *kept])


def compare_methods(job: Job, horizon: Any = "10 y") -> Comparison:
    """Compare the ways to renew the fill, now and over the years.

    Parameters
    ----------
    job : Job
        The vehicle with its history, tools and prices.
    horizon : time
        How far to look.

    Returns
    -------
    Comparison
        For each method: fresh fraction inside with its uncertainty, litres, money, hours, mean age over the horizon, the chance of ending
        outside the level band, and why it may be impossible. Percent fresh is never percent of life left.

    Raises
    ------
    SumpwiseError
        For a horizon that is no time.

    Notes
    -----
    Each method is repeated at the job's interval, "one drain, again every year" yearly. Money is fluid at the price per litre of the
    cheapest pack, washers and filters; litres and price of an exchange by a machine are those of the quote. The frontier compares mean
    age, litres and money over the horizon.

    Examples
    --------
    >>> from sumpwise import Job, compare_methods
    >>> comparison = compare_methods(Job.demo())
    >>> f"{comparison['drain'].fresh.nominal_value:.0%}"
    '37%'
    """
    expect(job, Job, "job", "what Job.from_toml or Job.from_dict gives")
    return compared(Case(job), argument("time", above=0, scalar=True).value(horizon, "horizon"))


