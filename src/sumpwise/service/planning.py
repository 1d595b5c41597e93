"""`plan(job)`: the whole sheet of a job; `compare_methods(job)`: only its methods."""

from __future__ import annotations

from sumpwise.errors import expect
from sumpwise.quantities.boundary import argument
from sumpwise.service.case import Case
from sumpwise.service.facts.account import accounting
from sumpwise.service.facts.assumptions import assuming
from sumpwise.service.facts.balance import balancing, disputed
from sumpwise.service.facts.buy import buying
from sumpwise.service.facts.fact import Part
from sumpwise.service.facts.level import levelling
from sumpwise.service.facts.methods import comparing, over_years
from sumpwise.service.facts.now import standing, upcoming
from sumpwise.service.facts.outlet import telling
from sumpwise.service.facts.quote import quoted
from sumpwise.service.facts.safety import cautioning, stopped, stopping
from sumpwise.service.facts.steps import stepwise, timed
from sumpwise.service.facts.summary import looking_back, summing_up
from sumpwise.service.facts.torque import tightening
from sumpwise.service.job import Job
from sumpwise.service.methods.comparison import Comparison, compared
from sumpwise.service.render.writer import Writer
from sumpwise.service.sheet import LINES_ALONE, Sheet
from sumpwise.service.words import catalogue

TYPE_CHECKING = False
if TYPE_CHECKING:
    from sumpwise.accepted import TimeLike

WITHHELD = ("summary", "buy", "steps", "timetable", "outlet")
"""Sections that are left off the sheet if a stop sign was seen."""


def plan(job: Job, units: str | None = None) -> Sheet:
    """Plan a fluid service.

    Parameters
    ----------
    job : Job
        Vehicle, capacities, fluid, tools, packs, target, and the log so far.
    units : str, optional
        "as written" (the units used in the job), "metric", "US", "imperial" or "both"; by default what the job says under `[report]`, else
        as written.

    Returns
    -------
    Sheet
        The job in five lines; where you are and what comes next; cautions; the chosen method step by step; torque; level; stop signs; what
        to buy; the methods side by side; the log and its balance; assumptions last. If the log has a stop sign or contradicts itself, that
        comes first; with a stop sign the steps are withheld.

    Raises
    ------
    SumpwiseError
        For values that do not fit together; the error names them.

    Examples
    --------
    >>> from sumpwise import Job, plan
    >>> print(plan(Job.demo()).section("buy").lines[0])
    Buy **2 × can + 4 × bottle**: 14.0 L for **132.60 coins**. Chance of running short: under 0.1 %; 1.6 ± 0.4 L is left over.
    """
    expect(job, Job, "job", "what Job.from_toml or Job.from_dict gives")
    case = Case(job, units)
    writer = Writer(catalogue(), case.system)
    return Sheet(job.title, [writer.section(part) for part in parts_of(case)], writer.system.name, job.to_dict())


def parts_of(case: Case) -> list[Part]:
    """The content of a sheet, section by section."""
    halt, doubt = stopped(case), disputed(case)
    level, coming = levelling(case, doubt is not None), upcoming(case)
    done = coming.data["action"] == "done"
    parts = [
        halt, doubt, looking_back(case) if done else summing_up(case, coming), standing(case), coming, cautioning(case), stepwise(case),
        timed(case), tightening(case), level, stopping(case), buying(case), comparing(case), over_years(case), quoted(case), telling(case),
        accounting(case), balancing(case),
    ]  # fmt: skip
    parts.append(assuming(case))  # after everything that asks for a value
    for part in parts:
        if part is not None and part.key in LINES_ALONE:
            part.data["done"] = done
    return [part for part in parts if part is not None and not (halt and part.key in WITHHELD)]


def compare_methods(job: Job, horizon: TimeLike | None = None) -> Comparison:
    """Compare the ways to renew the fill, now and over the years.

    Parameters
    ----------
    job : Job
        The vehicle with its history, tools and prices.
    horizon : time, optional
        How far to look ahead; by default as the job says.

    Returns
    -------
    Comparison
        For each method: fresh fraction inside with its uncertainty, litres, cost, hours, mean age over the horizon, the chance of ending
        outside the marks, and why it may be impossible. Percent fresh is never percent of life left.

    Raises
    ------
    SumpwiseError
        For a horizon that is not a time.

    Notes
    -----
    Each method is repeated at the job's interval, "one drain, again every year" every year. The cost is fluid at the price per litre of the
    cheapest pack, washers and filters; litres and price of a machine exchange are those of the quote. The frontier compares mean age,
    litres and cost over the horizon.

    Examples
    --------
    >>> from sumpwise import Job, compare_methods
    >>> comparison = compare_methods(Job.demo())
    >>> f"{comparison['drain'].fresh.nominal_value:.0%}"
    '37%'
    """
    expect(job, Job, "job", "what Job.from_toml or Job.from_dict gives")
    case = Case(job)
    return case.comparison if horizon is None else compared(case, argument("time", above=0, scalar=True).value(horizon, "horizon"))


