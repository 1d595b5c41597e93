"""The service record of a vehicle: what was done and when, what was learned, when it is due again. Plain JSON with a version."""

from __future__ import annotations

import json
import os
from collections.abc import Sequence
from contextlib import suppress
from functools import cached_property
from typing import TYPE_CHECKING, Any

from sumpwise._display import Displayed
from sumpwise._files import content_of, digest, json_of, save
from sumpwise._toml import document
from sumpwise.ageing.history import FluidHistory
from sumpwise.errors import RangeError, SumpwiseError, printable
from sumpwise.quantities.boundary import argument
from sumpwise.service import following, keeping
from sumpwise.service.dates import DAY, after, between, day, in_years
from sumpwise.service.job import Job
from sumpwise.service.learning import Known, pooled_over
from sumpwise.service.render.figures import number, places_for, plain, spread_text
from sumpwise.service.served import Service, served, told
from sumpwise.uncertainty import nominal

if TYPE_CHECKING:
    from sumpwise.accepted import DayLike, FractionLike, LengthLike, TimeLike

ALMOST = 1e-9
"""Rounding error, as a share, of an odometer reading after a change of unit."""


class ServiceRecord(Displayed):
    """The record of the services of one vehicle.

    Build it with `ServiceRecord.of` from the first service, and continue with `add`, which returns a new record; a record never changes.

    Parameters
    ----------
    services : sequence of Service
        At least one, in order.
    own : dict, optional
        The user's own fields, kept as they are.

    Attributes
    ----------
    services : tuple of Service
        Each with its `job`, `date`, `fresh`, `learned` and the user's `own` fields.
    job, fresh : Job, float or uncertain number
        Those of the last service.
    learned : dict of str to dict
        Name -> value, unit, standard uncertainty and where it comes from: `plug_drain`, `pan_and_filter`, `flow`, `pail scale`; `reserve`
        if bubbles were seen, else `reserve at least`, whose value minus twice its standard uncertainty is a lower bound. `plug_drain` is
        what comes out at the drain plug at the right level. From a log whose count and stick contradict each other, only scales are
        learned. Values learned from several services are `pooled`: a spread between them counts, and shared errors, such as that of the
        scale of one pail, do not shrink with repeated use.
    history : FluidHistory
        Ages of the fluid, with the last service at 0 y.
    next_due : dict of str to str
        When the interval is over: `date`, or `time` if the date of the service is not known; and `distance` on the odometer.
    own : dict
        The user's own fields.

    Examples
    --------
    >>> from sumpwise import Job, ServiceRecord
    >>> record = ServiceRecord.of(Job.demo(), fresh=0.776, date="2026-11-27")
    >>> record.next_due
    {'date': '2030-11-27', 'distance': '184 400 km'}
    >>> print(f"{record.learned['plug_drain']['value']:.2f} L at 20 °C")
    3.40 L at 20 °C
    """

    def __init__(self, services: Sequence[Service], own: dict[str, Any] | None = None) -> None:
        self.services = tuple(services)
        self.own = dict(own or {})
        self._read = ("", "")  # the file it was last read from or written to, and what that held

    @classmethod
    def of(
        cls, job: Job, fresh: FractionLike | None = None, *, date: DayLike | None = None, distance: LengthLike | None = None
    ) -> ServiceRecord:
        """Start the record of a vehicle with a job whose log is complete.

        Parameters
        ----------
        job : Job
            The job, with its log.
        fresh : fraction, optional
            Fresh fraction inside at the end; by default worked out from the log: from the outlet if vials were matched, else by running the
            circuit through it.
        date : date or str, optional
            The date, such as "2026-11-27"; by default that of the job.
        distance : length, optional
            Odometer reading; by default that of the job.

        Returns
        -------
        ServiceRecord

        Raises
        ------
        SumpwiseError
            For a fraction outside 0 to 1, an invalid date or distance, or a log that cannot be followed.
        """
        return cls([served(job, fresh, date, distance)])

    def add(
        self, job: Job, fresh: FractionLike | None = None, *, date: DayLike | None = None, distance: LengthLike | None = None
    ) -> ServiceRecord:
        """Return the record with one more service.

        Parameters
        ----------
        job, fresh, date, distance
            As for `of`.

        Returns
        -------
        ServiceRecord

        Raises
        ------
        SumpwiseError
            As `of`; also for a service that is already in the record, one before the last, one for another vehicle, or an odometer that
            runs backwards.
        """
        new, last = served(job, fresh, date, distance), self.services[-1]
        _same_vehicle(new, last)
        if any(old.date == new.day for old in self.services):
            raise twice(job, f"the record has a service on {new.date}; a different service needs a date of its own")
        if between(last.day, new.day) < 0:
            raise RangeError(
                "is before the last service of the record", code="time.order", argument="date", value=str(new.date),
                allowed=f"after {last.date}", hint="enter the services in order",
            )  # fmt: skip
        before = next((one.job for one in reversed(self.services) if one.job.has("vehicle", "distance")), None)
        now = new.job.value("vehicle", "distance")
        if before is not None and now is not None and nominal(now) < nominal(before.value("vehicle", "distance")) * (1 - ALMOST):
            raise RangeError(
                "is less than at an earlier service", code="range.outside", argument="distance",
                value=new.job.text("vehicle", "distance"), allowed=f"at least {before.text('vehicle', 'distance')}",
                hint="check the odometer again",
            )  # fmt: skip
        grown = ServiceRecord([*self.services, new], self.own)
        grown._read = self._read
        return grown

    def without(self, number: int) -> ServiceRecord:
        """Return the record without one of its services, such as one that was entered by mistake.

        Parameters
        ----------
        number : int
            Which service, counted from 1 as the record prints them.

        Returns
        -------
        ServiceRecord
            A new record. What was learned from the other services, and when the next one is due, is worked out again; the jobs of later
            services stay as they were written.

        Raises
        ------
        SumpwiseError
            If there is no service with that number, or if it is the only one.
        """
        last = len(self.services)
        if isinstance(number, bool) or not isinstance(number, int) or not 1 <= number <= last:
            raise RangeError(
                "is not a service of this record", code="range.outside", argument="number", value=number,
                allowed="1" if last == 1 else f"1 to {last}", limits=(1, last, ""),
            )  # fmt: skip
        if last == 1:
            hint = "delete the file instead"
            raise RangeError("is the only service of this record", code="list.empty", argument="number", value=number, hint=hint)
        kept = ServiceRecord([one for place, one in enumerate(self.services, 1) if place != number], self.own)
        kept._read = self._read
        return kept

    @property
    def job(self) -> Job:
        """The job of the last service."""
        return self.services[-1].job

    @property
    def fresh(self) -> Any:
        """Fresh fraction inside at the end of the last service."""
        return self.services[-1].fresh

    @cached_property
    def learned(self) -> dict[str, Known]:
        """What was learned from all services together."""
        return pooled_over([service.learned for service in self.services])

    @cached_property
    def history(self) -> FluidHistory:
        """Ages of the fluid, the last service at 0 y."""
        history = FluidHistory(in_years(-following.first_age(self.services)))
        for change in following.changes(self.services):
            history = history.replace(change.share, in_years(0.0 - change.ago))
        return history

    @property
    def next_due(self) -> dict[str, str]:
        """When the interval is over."""
        return following.due(self.services)

    def next_job(self, elapsed: TimeLike | None = None, distance: LengthLike | None = None, *, date: DayLike | None = None) -> Job:
        """Make the job to start from at the next service: learned values replace guesses, and say where they come from.

        Parameters
        ----------
        elapsed : time, optional
            Time since the last service.
        distance : length, optional
            Odometer reading then.
        date : date or str, optional
            The date of the next service, instead of `elapsed`; without either, the date when it is due.

        Returns
        -------
        Job
            Without a log; past services are entries of its history.

        Raises
        ------
        SumpwiseError
            If both `elapsed` and `date` are given, or neither although it is not known when the service is due; or for a date before the
            last service.
        """
        return Job.from_dict(self._following(elapsed, distance, date)[0])

    def next_toml(self, elapsed: TimeLike | None = None, distance: LengthLike | None = None, *, date: DayLike | None = None) -> str:
        """Make the same job as a TOML file, with a comment on where each learned value comes from.

        Parameters
        ----------
        elapsed, distance, date
            As for `next_job`.

        Returns
        -------
        str
            Text that the command line and `Job.from_toml` can read.
        """
        inputs, remarks = self._following(elapsed, distance, date)
        Job.from_dict(inputs)
        return document(keeping.with_days(inputs), remarks)

    def _following(
        self, elapsed: TimeLike | None, distance: LengthLike | None, date: DayLike | None
    ) -> tuple[dict[str, Any], following.Remarks]:
        last, due = self.services[-1], self.next_due
        if elapsed is not None and date is not None:
            raise RangeError("takes a date or the time elapsed, not both", code="argument.together", argument="next job")
        if elapsed is None and date is None:
            date = due.get("date")
            if date is None:
                hint = "give the date, or write interval_time under [vehicle] from the maker's book"
                raise RangeError("has no due date in the record", code="argument.missing", argument="next job", hint=hint)
        if date is None:
            try:
                since = nominal(argument("time", minimum=0, scalar=True).value(elapsed, "elapsed"))
            except SumpwiseError as error:
                with suppress(RangeError):
                    error.hint = f"a day is given by name: date={str(day(elapsed))!r}"
                raise
            # a part of a day is not a calendar date
            then = after(last.date, since, calendar=False) if last.date is not None and since % DAY == 0 else None
        else:
            then = day(date, "date")
            since = between(last.day, then)
            if since < 0:
                problem, allowed = "is before the last service of the record", f"from {last.date} on"
                raise RangeError(problem, code="time.order", argument="date", value=str(then), allowed=allowed)
        driven = None if distance is None else nominal(argument("length", minimum=0, scalar=True).value(distance, "distance"))
        inputs, remarks = following.following(self.services, self.learned, since, then, driven)
        lines = [f"The next service of {self.job.text('vehicle', 'name')}, from its record."]
        if due:
            lines.append(f"Due: {due_at(due)}.")
        if then is not None:
            lines.append(f"Ages are those on {then}; for another date, have this file written again.")
        if driven is None:
            lines.append("Write the odometer reading then, as distance under [vehicle].")
        remarks[()] = "\n".join(lines)
        return inputs, remarks

    def to_dict(self) -> dict[str, Any]:
        """Return the record as plain JSON data: inputs and single results, never correlated ones; the user's own fields as they were."""
        services = [
            {"job": one.job.to_dict(), "fresh": plain(one.fresh, "1"), "learned": one.learned} | one.own for one in self.services
        ]  # fmt: skip
        return {
            "format": keeping.FORMAT, "version": keeping.VERSION, "vehicle": self.job.text("vehicle", "name"), "services": services,
            "learned": self.learned, "next_due": self.next_due,
        } | self.own  # fmt: skip

    @classmethod
    def from_dict(cls, data: dict[str, Any]) -> ServiceRecord:
        """Build a record from the data of `to_dict`, in this version or version 1.

        What follows from the services, such as the pooled values, is worked out again.

        Raises
        ------
        FileError
            With the key, for another format or version, missing keys, or wrong types.
        """
        services, own = keeping.read(data)
        return cls([Service(*one) for one in services], own)

    @staticmethod
    def json_schema() -> dict[str, Any]:
        """Describe what `to_dict` returns, as JSON Schema (2020-12); the user's own fields may hold anything.

        Returns
        -------
        dict
            Plain data, with the jobs inside described by the schema of a job.
        """
        return keeping.json_schema()

    def save(self, path: str | os.PathLike[str]) -> None:
        """Write the record as JSON, first to a temporary file next to it, so that a failure never destroys the previous record.

        Parameters
        ----------
        path : str or path
            Path of the file.

        Raises
        ------
        FileError
            If it cannot be written, or the file was changed by someone else since this record was read from it; the file is left as it was.
        """
        text = json.dumps(self.to_dict(), ensure_ascii=False, allow_nan=False, indent=2) + "\n"
        content = text.encode("utf-8", "backslashreplace")
        name, known = self._read
        saved = save(path, content, {name: known})
        self._read = saved, digest(content)

    @classmethod
    def load(cls, path: str | os.PathLike[str]) -> ServiceRecord:
        """Read a record file.

        Raises
        ------
        FileError
            With the file and what is wrong with it.
        """
        name, content = content_of(path, "give the path of a record")
        record = cls.from_dict(json_of(content, name))
        record._read = os.path.realpath(name), digest(content)
        return record

    def _above(self) -> list[str]:
        return [self.job.text("vehicle", "name"), *(f"service {number} {told(one)}" for number, one in enumerate(self.services, 1))]

    def _table(self) -> tuple[list[str], list[list[str]]]:
        rows = []
        for name, known in self.learned.items():
            value, spread, unit = following.as_written(name, known, self.job)
            places = places_for(spread, 3)
            rows.append([name.replace("_", " "), number(value, places), spread_text(spread, places), unit, known["from"]])
        return ["learned", "value", "standard uncertainty", "unit", "from"], rows

    def _below(self) -> list[str]:
        return [f"due: {due_at(self.next_due)}"] if self.next_due else []

    def __str__(self) -> str:
        rows = []
        for name, value, u, unit, where in self._table()[1]:
            rows.append(f"learned: {name} {value} ± {u} {unit}".removesuffix(" 1") + f", from {where}")
        return "\n".join(printable(line) for line in [*self._above(), *rows, *self._below()])

    def __repr__(self) -> str:
        count = f"{len(self.services)} service{'s' * (len(self.services) > 1)}"
        return f"ServiceRecord({self.job.text('vehicle', 'name')!r}, {count}, fresh {nominal(self.fresh):.0%}, due {self.next_due})"


def due_at(due: dict[str, str]) -> str:
    """When a service is due, as a person says it."""
    return ", or ".join(due.values()) + (", whichever comes first" if len(due) > 1 else "")


def _same_vehicle(new: Service, last: Service) -> None:
    names = [service.job.text("vehicle", "name") for service in (new, last)]
    if names[0] != names[1]:
        raise RangeError(
            "is not the vehicle of this record", code="record.vehicle", argument="vehicle name", value=names[0], allowed=names[1],
            hint="a record is for one unit of one vehicle: use another file for another, or write the name as it was",
        )  # fmt: skip


def twice(job: Job, hint: str) -> RangeError:
    """The error for a service that is already in the record."""
    return RangeError("is already in the record", code="record.service", argument="job", value=job.title, hint=hint)
