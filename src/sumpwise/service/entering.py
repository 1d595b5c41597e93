"""Append an entry of a log to its job file: at the end, checked before it is saved, with nothing else touched."""

from __future__ import annotations

import os

from sumpwise._files import content_of, digest, save, toml_of
from sumpwise._toml import literal
from sumpwise.errors import FileError, RangeError, SumpwiseError
from sumpwise.service.holding import meant, own_packs
from sumpwise.service.job import Job, plain
from sumpwise.service.schema import EVENTS, VOLUME

HELD = {"stick": "reading", "drained": "reading", "poured": "reading", "lost": "volume", "seen": "seen"}
"""Event -> the key that its value goes under."""
WRITTEN = str | bool
"""What a key of an entry may hold."""


def entered(path: str | os.PathLike[str], event: str, value: str | None = None, **more: WRITTEN | None) -> Job:
    """Append one entry to the log of a job file.

    Parameters
    ----------
    path : str or path
        A job file in TOML.
    event : str
        One of `EVENTS`.
    value : str, optional
        The reading, the volume lost, or the stop sign seen, as it is written in a job.
    **more : str, bool or None
        Other keys of the entry; None is left out. If no vessel is named, it is the last one that the log drained into or poured from, else
        the only one.

    Returns
    -------
    Job
        The job with the entry.

    Raises
    ------
    FileError
        If the entry is wrong, the file was changed meanwhile, or its log is not written as `[[log]]` tables; the file stays as it was.
    """
    name, content = content_of(path, "give the path of a job file")
    job = Job(toml_of(content, name), name)
    entry = _entry(job, event, value, more)
    end = "\r\n" if b"\r\n" in content else "\n"
    try:
        lines = ["", "[[log]]", *(f"{key} = {literal(one)}" for key, one in entry.items()), ""]
    except FileError as error:
        raise error.at(f"log {event}") from None
    try:
        added = end.join(lines if content.endswith(b"\n") or not content else ["", *lines]).encode()
        after = toml_of(content + added, name)
    except FileError as error:
        raise FileError(
            "cannot take an entry at the end", code="file.no_entry", argument=name,
            hint="write the log as [[log]] tables, as python -m sumpwise log does",
        ) from error  # fmt: skip
    if plain(after) != job.inputs | {"log": [*job.written("log"), entry]}:
        raise FileError(
            "cannot take an entry at the end", code="file.no_entry", argument=name,
            hint="write the log as [[log]] tables at the end of the file",
        )  # fmt: skip
    result = Job(after, name)
    save(path, content + added, {os.path.realpath(name): digest(content)})
    return result


def _entry(job: Job, event: str, value: str | None, more: dict[str, WRITTEN | None]) -> dict[str, WRITTEN]:
    """The entry as a job has it; errors in its values show up when the job is read again."""
    if event not in EVENTS:
        raise RangeError("is not an event of a log", code="value.choice", argument="event", value=event, allowed=", ".join(EVENTS))
    key = HELD.get(event)
    if value is not None and key is None:
        raise RangeError(
            "takes no value", code="argument.unknown", argument=event, value=value, hint="put anything to remember under --note"
        )
    entry: dict[str, WRITTEN] = {"event": event}
    if event in ("drained", "poured", "emptied"):
        named = more.get("vessel") or _vessel(job, event, value)
        more = more | {"vessel": named}
        if named:
            entry["vessel"] = str(named)
    if value is not None and key is not None:
        entry[key] = value
    return entry | {name: one for name, one in more.items() if one is not None and one is not False}


def _vessel(job: Job, event: str, value: str | None) -> str | None:
    """The vessel meant if none is named; None if the job describes none or whole packs are poured, which reading the job settles."""
    kind = ("drained", "emptied") if event == "emptied" else (event,)
    used = [entry["vessel"] for entry in job.written("log") if entry["event"] in kind and "vessel" in entry]
    names = [str(vessel["name"]) for vessel in job.written("vessel")]
    if used:
        return str(used[-1])
    if not names or (event == "poured" and _packed(job, value)):
        return None
    if len(names) == 1:
        return names[0]
    problem = "is missing, and no earlier entry says which one"
    raise RangeError(problem, code="argument.missing", argument="vessel", allowed=", ".join(names), hint="give --vessel NAME")


def _packed(job: Job, value: str | None) -> bool:
    """Whether the value is a whole number of packs."""
    try:
        litres = VOLUME.value(value, "reading")
    except SumpwiseError:
        return False
    packs = own_packs(job.entries("pack"), job.entries("component"), job.text("fluid", "name"))
    return meant({"event": "poured", "reading": litres}, ["some vessel"], packs) is not None
