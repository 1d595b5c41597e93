"""The record of a vehicle in its file: entering a service, and starting the job file of the next one."""

from __future__ import annotations

import os
from typing import TYPE_CHECKING

from sumpwise._files import ABSENT, save
from sumpwise.service.record import ServiceRecord, twice

if TYPE_CHECKING:
    from sumpwise.accepted import DayLike, FractionLike, LengthLike
    from sumpwise.service.job import Job
    from sumpwise.service.served import Service


def recorded(
    job: Job, path: str | os.PathLike[str], fresh: FractionLike | None = None, *, date: DayLike | None = None,
    distance: LengthLike | None = None, today: DayLike | None = None,
) -> ServiceRecord:  # fmt: skip
    """Enter a service into the record file of its vehicle, and give the record as saved; if there is no file, start one.

    Job, fresh share, date and distance are as for `ServiceRecord.of`. `today` is the date if neither the job nor `date` gives one; a log
    that the record already has is then refused. Errors are those of `ServiceRecord.add`. If the file cannot be read or written, or was
    changed meanwhile, it is left as it was.
    """
    unsaid = date is None and not job.has("vehicle", "date")
    when = today if unsaid else date
    if os.path.lexists(path):
        before = ServiceRecord.load(path)
        if unsaid and any(_same_log(job, service.job) for service in before.services):
            raise twice(job, "its log is that of a service in the record; if it was a different service, give its date")
        record = before.add(job, fresh, date=when, distance=distance)
    else:
        record = ServiceRecord.of(job, fresh, date=when, distance=distance)
        record._read = os.path.realpath(path), ABSENT
    record.save(path)
    return record


def repeated(record: ServiceRecord) -> int:
    """The number of an earlier service with the same log as the last one; 0 if there is none."""
    *before, last = record.services
    return next((number for number, service in enumerate(before, 1) if _same_log(last.job, service.job)), 0)


def removed(path: str | os.PathLike[str], number: int) -> tuple[ServiceRecord, Service]:
    """Take a service out of a record file, by its number as the record prints it: the record as saved, and the service that was taken out.

    Errors are those of `ServiceRecord.without`. If the file cannot be read or written, or was changed meanwhile, it is left as it was.
    """
    before = ServiceRecord.load(path)
    after = before.without(number)
    after.save(path)
    return after, before.services[number - 1]


def begun(record: ServiceRecord, path: str | os.PathLike[str], *, distance: LengthLike | None = None, date: DayLike | None = None) -> None:
    """Write the job file of the next service, as `ServiceRecord.next_toml` makes it; a file that exists already is refused and left as it
    is.
    """
    text = record.next_toml(distance=distance, date=date)
    save(path, text.encode(), {os.path.realpath(path): ABSENT})


def _same_log(job: Job, old: Job) -> bool:
    """Whether the log of one begins with that of the other."""
    log, known = job.written("log"), old.written("log")
    shorter = min(len(log), len(known))
    return shorter > 0 and log[:shorter] == known[:shorter]
