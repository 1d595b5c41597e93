"""The record of a vehicle in its file: a service entered, and the job file of the next one begun."""

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
    """Enter a service into the record file of its vehicle, which is begun where there is none.

    Parameters
    ----------
    job, fresh, date, distance
        As for `ServiceRecord.of`.
    path : str or path
        The record file.
    today : date or str, optional
        The day where neither the job nor `date` says one; then a log that the record has already is refused.

    Returns
    -------
    ServiceRecord
        As it is saved.

    Raises
    ------
    SumpwiseError
        As `ServiceRecord.add`, and where the file cannot be read or written or was changed meanwhile; it is then as it was.
    """
    unsaid = date is None and not job.has("vehicle", "date")
    when = today if unsaid else date
    if os.path.lexists(path):
        before = ServiceRecord.load(path)
        if unsaid and any(_same_log(job, service.job) for service in before.services):
            raise twice(job, "its log is that of a service in the record; if it was another one, say its day")
        record = before.add(job, fresh, date=when, distance=distance)
    else:
        record = ServiceRecord.of(job, fresh, date=when, distance=distance)
        record._read = os.path.realpath(path), ABSENT
    record.save(path)
    return record


def removed(path: str | os.PathLike[str], number: int) -> tuple[ServiceRecord, Service]:
    """Take one service out of a record file.

    Parameters
    ----------
    path : str or path
        The record file.
    number : int
        Which service, counted from 1 as the record prints them.

    Returns
    -------
    ServiceRecord, Service
        The record as it is saved, and what was taken out.

    Raises
    ------
    SumpwiseError
        As `ServiceRecord.without`, and where the file cannot be read or written or was changed meanwhile; it is then as it was.
    """
    before = ServiceRecord.load(path)
    after = before.without(number)
    after.save(path)
    return after, before.services[number - 1]


def begun(record: ServiceRecord, path: str | os.PathLike[str], *, distance: LengthLike | None = None, date: DayLike | None = None) -> None:
    """Write the job file of the next service.

    Parameters
    ----------
    record : ServiceRecord
        Of the vehicle.
    path : str or path
        The job file, which must not be there yet.
    distance, date
        As for `ServiceRecord.next_toml`.

    Raises
    ------
    FileError
        When there is a file already, which is left as it is, or it cannot be written.
    """
    text = record.next_toml(distance=distance, date=date)
    save(path, text.encode(), {os.path.realpath(path): ABSENT})


def _same_log(job: Job, old: Job) -> bool:
    """Whether the log of one begins with that of the other."""
    log, known = job.written("log"), old.written("log")
    shorter = min(len(log), len(known))
    return shorter > 0 and log[:shorter] == known[:shorter]
