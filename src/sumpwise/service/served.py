"""One service of a vehicle: the result of a job with its log, and what was learned from it."""

from __future__ import annotations

import datetime
from typing import TYPE_CHECKING, Any, NamedTuple

from sumpwise.errors import RangeError, expect
from sumpwise.quantities.boundary import argument
from sumpwise.service import following
from sumpwise.service.agreement import Agreement
from sumpwise.service.case import Case
from sumpwise.service.dates import day
from sumpwise.service.job import Job
from sumpwise.service.learning import Known, fresh_inside, learned_from
from sumpwise.uncertainty import nominal, standard

if TYPE_CHECKING:
    from sumpwise.accepted import DayLike, FractionLike, LengthLike


class Service(NamedTuple):
    """One service of the record.

    Attributes
    ----------
    job : Job
        What was planned and logged, as written; its `vehicle` holds the date and the odometer reading.
    fresh : float or uncertain number
        Fresh fraction inside at its end.
    learned : dict of str to dict
        Name -> value, unit, standard uncertainty, where it comes from, and how much of it other services share.
    own : dict
        The user's own fields, kept as they are.
    """

    job: Job
    fresh: Any
    learned: dict[str, Known]
    own: dict[str, Any]

    @property
    def date(self) -> datetime.date | None:
        """The date, if it is known."""
        found: datetime.date | None = self.job.value("vehicle", "date")
        return found

    @property
    def day(self) -> datetime.date:
        """The date; an error if it is not known."""
        if self.date is None:
            hint = 'add it to its job in the record file, under "vehicle": "date": "2026-11-27"'
            raise RangeError("has a service without a date", code="key.missing", argument="record", hint=hint)
        return self.date

    @property
    def contradicted(self) -> bool:
        """Whether count and stick of its log disagree, so that no volume is learned from it."""
        found = Case(self.job).agreement
        return isinstance(found, Agreement) and found.conflict


def served(job: Job, fresh: FractionLike | None, date: DayLike | None, distance: LengthLike | None) -> Service:
    """The service of a job with its log; a date or an odometer reading given here overrides that of the job."""
    expect(job, Job, "job", "what Job.from_toml or Job.from_dict gives")
    changes: dict[str, str] = {} if date is None else {"date": day(date, "date").isoformat()}
    if distance is not None:
        written = argument("length", minimum=0, scalar=True).value(distance, "distance")
        unit = following.unit_of(distance if isinstance(distance, str) else "", "length", job)
        changes["distance"] = distance if isinstance(distance, str) else following.distance_in(nominal(written), unit)
    done = job.with_(vehicle=changes) if changes else job
    case = Case(done)
    share = fresh_inside(case) if fresh is None else argument("fraction", scalar=True).value(fresh, "fresh")
    return Service(done, share, learned_from(case), {})


def told(service: Service) -> str:
    """A service in a few words."""
    u = standard(service.fresh)
    fresh = f"{100 * nominal(service.fresh):.1f}{f' ± {100 * u:.1f}' if u else ''} % fresh inside"
    when = "date unknown" if service.date is None else f"on {service.date}"
    distance = service.job.text("vehicle", "distance")
    return f"{when}{', at ' + distance if distance else ''}: {fresh}"
