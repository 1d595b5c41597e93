"""Append an entry of a log to its job file: at the end, checked before it is saved, with nothing else touched."""

from __future__ import annotations

import os

from sumpwise._files import content_of, digest, save, toml_of
from sumpwise._toml import literal
from sumpwise.errors import FileError, RangeError, SumpwiseError
from sumpwise.service.holding import meant, own_packs
from sumpwise.service.intake import choice_meant
from sumpwise.service.job import Job, plain
from sumpwise.service.schema import EVENTS, VOLUME
from sumpwise.uncertainty import nominal

HELD = {"stick": "reading", "drained": "reading", "poured": "reading", "lost": "volume", "seen": "seen"}
"""Event -> the key that its value goes under."""
WRITTEN = str | bool
"""What a key of an entry may hold."""


def entered(path: str | os.PathLike[str], event: str, value: str | None = None, **more: WRITTEN | None) -> Job:
    """Append one entry to the log of a job file in TOML, and give the job with it.

    `event` is one of `EVENTS`; `value` the reading, the volume lost or the stop sign seen, as it is written in a job; `more` the other keys
    of the entry, of which None is left out. If no vessel is named, it is the last one that the log drained into or poured from, else the
    only one.

    Raises
    ------
    FileError
        If the entry is wrong, the file was changed meanwhile, or its log is not written as `[[log]]` tables; the file stays as it was.
    RangeError
        If the vessel does not hold that much.
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
    _fits(result)
    save(path, content + added, {os.path.realpath(name): digest(content)})
    return result


def _fits(job: Job) -> None:
    """Check that the vessel of the last entry holds what was read on it."""
    entry, written = job.entries("log")[-1], job.written("log")[-1]
    for vessel in job.written("vessel"):
        holds = next(one.get("holds") for one in job.entries("vessel") if one["name"] == vessel["name"])
        if vessel["name"] == entry.get("vessel") and "reading" in entry and holds and nominal(entry["reading"]) > nominal(holds):
            raise RangeError(
                f"is more than the {vessel['name']} holds", code="vessel.overfull", argument=f"log {entry['event']}",
                value=written["reading"], allowed=f"up to {vessel['holds']}",
                hint="if it took several fillings, enter each by itself; else name another vessel with --vessel, or correct what it holds",
            )  # fmt: skip


def _entry(job: Job, event: str, value: str | None, more: dict[str, WRITTEN | None]) -> dict[str, WRITTEN]:
    """The entry as a job has it; errors in its values show up when the job is read again."""
    if event not in EVENTS:
        raise RangeError(
            "is not an event of a log", code="value.choice", argument="event", value=event, allowed=", ".join(EVENTS),
            hint=choice_meant(event, EVENTS),
        )  # fmt: skip
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
    """The vessel meant if none is named; None if the job describes none or whole packs are poured, which reading the job settles.

    Nothing is poured from a vessel that old fluid was drained into, nor drained into one that new fluid is poured from, if there is another
    or there are packs.
    """
    kind = ("drained", "emptied") if event == "emptied" else (event,)
    names, packs = [str(vessel["name"]) for vessel in job.written("vessel")], {}
    if event == "poured":
        packs = own_packs(job.entries("pack"), job.entries("component"), job.text("fluid", "name"))
    log = [entry for entry in job.entries("log") if entry.get("vessel") in [*names, *packs]]
    used = [str(entry["vessel"]) for entry in log if entry["event"] in kind]
    if used and used[-1] in names:
        return used[-1]
    if not names or (packs and _packed(value, packs)):
        return None
    other = [entry["vessel"] for entry in log if entry["event"] == ("drained" if event == "poured" else "poured")]
    unused = [name for name in names if name not in other]
    usual = used[-1:] or unused or ([min(packs, key=lambda name: packs[name])] if packs else names)
    if len(usual) == 1:
        return usual[0]
    problem = "is missing, and no earlier entry says which one"
    raise RangeError(problem, code="argument.missing", argument="vessel", allowed=", ".join(names), hint="give --vessel NAME")


def _packed(value: str | None, packs: dict[str, float]) -> bool:
    """Whether the value is a whole number of packs."""
    try:
        litres = VOLUME.value(value, "reading")
    except SumpwiseError:
        return False
    return meant({"event": "poured", "reading": litres}, ["some vessel"], packs) is not None
