"""`plan_many(jobs)`: one sheet after another, for as many jobs as there are."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from typing import Any, NamedTuple

from sumpwise.errors import RangeError, SumpwiseError, unlisted
from sumpwise.service.job import Job
from sumpwise.service.planning import plan
from sumpwise.service.sheet import Sheet


class Planned(NamedTuple):
    """The result for one job of many.

    Attributes
    ----------
    number : int
        Its position among the jobs, from 0.
    given : Job, dict, str or path
        As it was given.
    sheet : Sheet or None
        Its sheet, if it could be planned.
    error : SumpwiseError or None
        Why it could not be planned.
    """

    number: int
    given: Any
    sheet: Sheet | None
    error: SumpwiseError | None


def plan_many(jobs: Iterable[Any], units: str | None = None) -> Iterator[Planned]:
    """Plan many services, one after another; a job that cannot be planned does not stop the others.

    Parameters
    ----------
    jobs : iterable
        Jobs, plain data as returned by `Job.to_dict`, or paths of job files; read one at a time, so it may be endless.
    units : str, optional
        As for `plan`, for all of them.

    Yields
    ------
    Planned
        `.number`, `.given`, and either `.sheet` or `.error`. A job is planned when you ask for it: count the results to show progress, and
        stop asking to cancel. Nothing is kept.

    Raises
    ------
    SumpwiseError
        If `jobs` is not a list of jobs.

    See Also
    --------
    plan : plans one job.

    Examples
    --------
    >>> from sumpwise import Job, plan_many
    >>> jobs = [Job.demo(), {"vehicle": {"name": "example wagon"}}, {"vehicle": {"name": "example van"}, "target": {"fresh": "9 m"}}]
    >>> for planned in plan_many(jobs):
    ...     print(planned.number, planned.error.code if planned.error else planned.sheet.title)
    0 Example wagon: first service of the automatic
    1 example wagon
    2 unit.kind
    """
    try:
        if isinstance(jobs, (str, os.PathLike)) or unlisted(jobs):
            raise TypeError
        each = iter(jobs)
    except TypeError:
        raise RangeError(
            "is not a list of jobs", code="list.type", argument="jobs", value=jobs, allowed="jobs, their data, or paths of job files"
        ) from None
    return _planned(each, units)


def _planned(jobs: Iterator[Any], units: str | None) -> Iterator[Planned]:
    for number, given in enumerate(jobs):
        try:
            yield Planned(number, given, plan(_job_of(given), units), None)
        except SumpwiseError as error:
            yield Planned(number, given, None, error)


def _job_of(given: Any) -> Job:
    if isinstance(given, (str, os.PathLike)):
        return Job.from_toml(given)
    return given if isinstance(given, Job) else Job.from_dict(given)
