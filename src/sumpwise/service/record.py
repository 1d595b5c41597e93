"""The service record: what was done, what was learned, when it is due again. Plain JSON, versioned, written atomically."""

from __future__ import annotations

import json
import os
from math import floor, log10
from typing import Any

from sumpwise._display import Displayed
from sumpwise._files import content_of, digest, json_of, save
from sumpwise.ageing.history import FluidHistory
from sumpwise.buying.quotes import YEAR
from sumpwise.errors import FileError, expect_record
from sumpwise.quantities.boundary import argument
from sumpwise.service.case import Case
from sumpwise.service.figures import number, plain
from sumpwise.service.job import Job
from sumpwise.service.learning import learned_from
from sumpwise.uncertainty import nominal, source, standard

FORMAT = "sumpwise record"
VERSION = 1
_KEYS = {"format", "version", "vehicle", "distance", "job", "learned", "fresh", "history", "next_due"}


class ServiceRecord(Displayed):
    """What one service leaves behind.

    Attributes
    ----------
    job : Job
        What was planned and logged, as written.
    learned : dict of str to dict
        Name -> value, unit, standard uncertainty and where it comes from: `plug_drain`, `pan_and_filter`, `flow`, `pail scale`;
        `reserve` when bubbles were seen, else `reserve at least`, whose value less twice its standard uncertainty is a lower bound.
        `plug_drain` is what the plug lets out at the right level. Nothing but scales from a log whose count and stick contradict each
        other.
    fresh : float or uncertain number
        Fresh fraction inside at the end.
    history : FluidHistory
        Ages of the fluid, with the moment of the service as 0 y.
    next_due : dict of str to str
        When the interval is over, by time and by distance.

    Examples
    --------
    >>> from sumpwise import Job, ServiceRecord
    >>> record = ServiceRecord.of(Job.demo(), fresh=0.776)
    >>> record.next_due
    {'time': '4 y from the service', 'distance': '184 400 km'}
    >>> print(f"{record.learned['plug_drain']['value']:.2f} L at 20 °C")
    3.40 L at 20 °C
    """

    def __init__(self, job: Job, learned: dict[str, dict[str, Any]], fresh: Any, history: FluidHistory, next_due: dict[str, str]) -> None:
        self.job = job
        self.learned = learned
        self.fresh = fresh
        self.history = history
        self.next_due = next_due
        self._read = ("", "")  # the file it was last read from or written to, and what that held

    @classmethod
    def of(cls, job: Job, fresh: Any) -> ServiceRecord:
        """Make the record of a job whose log is complete.

        Parameters
        ----------
        job : Job
            With its log.
        fresh : fraction
            Fresh fraction inside at the end, as the method's formula or the outlet's evidence gives it.

        Returns
        -------
        ServiceRecord

        Raises
        ------
        SumpwiseError
            For a fraction outside 0 to 1, and for a log that cannot be followed.
        """
        share = argument("fraction", scalar=True).value(fresh, "fresh")
        case = Case(job)
        return cls(job, learned_from(case), share, case.history.replace(share, "0 y"), _due(job))

    def next_job(self, elapsed: Any, distance: Any = None) -> Job:
        """The job to start from at the next service: what was learned replaces what was guessed, with where it comes from.

        Parameters
        ----------
        elapsed : time
            Since this service.
        distance : length, optional
            What the odometer shows then.

        Returns
        -------
        Job
            Without a log; this service is an entry of its history.
        """
        since = argument("time", minimum=0, scalar=True).value(elapsed, "elapsed")
        inputs = self.job.to_dict()
        inputs.pop("log", None)
        for key in ("age", "fluid_age"):
            if key in inputs["vehicle"]:
                inputs["vehicle"][key] = _years(self.job.value("vehicle", key) + since)
        before = self.job.entries("history")
        inputs["history"] = [
            *(old | {"ago": _years(entry["ago"] + since)} for old, entry in zip(self.job.written("history"), before, strict=True)),
            {"ago": _years(since), "share": _share(self.fresh), "note": "from the service record"},
        ]
        if distance is not None:
            inputs["vehicle"]["distance"] = f"{argument('length', minimum=0, scalar=True).value(distance, 'distance') / 1e6:.0f} km"
        for table, key in (("capacity", "plug_drain"), ("capacity", "pan_and_filter"), ("exchange", "flow"), ("exchange", "reserve")):
            if key in self.learned:
                known = self.learned[key]
                spread = (
                    f" ± {number(2 * known['standard_uncertainty'], 3)} {known['unit']} (k = 2)" if known["standard_uncertainty"] else ""
                )
                inputs.setdefault(table, {})[key] = f"{number(known['value'], 3)} {known['unit']}{spread}"
        least = self.learned.get("reserve at least")
        if least:
            bound = least["value"] - 2 * least["standard_uncertainty"]
            if nominal(Case(self.job).ask("exchange", "reserve")) < bound:
                inputs.setdefault("exchange", {})["reserve"] = f"{number(bound, 3)} {least['unit']}"
        return Job.from_dict(inputs)

    def to_dict(self) -> dict[str, Any]:
        """The record as plain JSON data: inputs and single results, never correlated ones."""
        return {
            "format": FORMAT, "version": VERSION, "vehicle": self.job.text("vehicle", "name"),
            "distance": self.job.text("vehicle", "distance"),
            "job": self.job.to_dict(), "learned": self.learned, "fresh": plain(self.fresh, "1"), "history": self.history.to_dict(),
            "next_due": self.next_due,
        }  # fmt: skip

    @classmethod
    def from_dict(cls, data: dict[str, Any]) -> ServiceRecord:
        """A record from what `to_dict` gave.

        Raises
        ------
        FileError
            Naming the key, for another format or version, unknown or missing keys, or wrong types.
        """
        expect_record(data, "record", _KEYS, FORMAT, VERSION)
        job = Job.from_dict(data["job"])
        fresh = _number(data["fresh"], "fresh")
        if not 0 <= nominal(fresh) <= 1:
            raise FileError("is not a share of one", code="range.outside", argument="fresh", value=data["fresh"])
        learned = {str(k): _known(v, f"learned: {k}") for k, v in _table(data["learned"], "learned").items()}
        due = {str(k): _text(v, f"next_due: {k}") for k, v in _table(data["next_due"], "next_due").items()}
        return cls(job, learned, fresh, FluidHistory.from_dict(_table(data["history"], "history")), due)

    def save(self, path: str | os.PathLike[str]) -> None:
        """Write the record as JSON: to a temporary file beside it first, so that a failure never destroys the one before.

        Parameters
        ----------
        path : str or path
            Where it goes.

        Raises
        ------
        FileError
            When it cannot be written, or the file was changed by somebody else since this record was read from it; what is there is left
            as it was.
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
            Naming the file and what is wrong with it.
        """
        name, content = content_of(path, "give the path of a record")
        record = cls.from_dict(json_of(content, name))
        record._read = os.path.realpath(name), digest(content)
        return record

    def _above(self) -> list[str]:
        return [f"{self.job.text('vehicle', 'name')}: {100 * nominal(self.fresh):.1f} % fresh inside after the service"]

    def _table(self) -> tuple[list[str], list[list[str]]]:
        return ["learned", "value", "standard uncertainty", "unit", "from"], [
            [name, number(known["value"], 3), number(known["standard_uncertainty"], 3), known["unit"], known["from"]]
            for name, known in self.learned.items()
        ]

    def _below(self) -> list[str]:
        return [f"due by {by}: {when}" for by, when in self.next_due.items()]

    def __repr__(self) -> str:
        return f"ServiceRecord({self.job.text('vehicle', 'name')!r}, fresh {nominal(self.fresh):.0%}, due {self.next_due})"


def _years(minutes: Any) -> str:
    years, u = nominal(minutes) / YEAR, standard(minutes) / YEAR
    return f"{years:.6g} y" + (f" ± {2 * u:.3g} y (k = 2)" if u else "")


def _share(fresh: Any) -> str:
    u = standard(fresh)
    if not u:
        return f"{nominal(fresh):.6g}"
    places = min(max(1 - floor(log10(u)), 1), 12)
    return f"{nominal(fresh):.{places}f}({round(u * 10**places)})"


def _table(value: Any, place: str) -> dict[str, Any]:
    if not isinstance(value, dict):
        raise FileError("is not a table", code="key.type", argument=place, value=value)
    return value


def _text(value: Any, place: str) -> str:
    if not isinstance(value, str) or len(value) > 1000:
        raise FileError("is not a short text", code="key.type", argument=place, value=value)
    return value


def _number(value: Any, place: str) -> Any:
    table = _table(value, place)
    try:
        return source(float(table["value"]), float(table["standard_uncertainty"]), name=place)
    except (KeyError, TypeError, ValueError, OverflowError):
        raise FileError("is not a value with a standard uncertainty", code="key.type", argument=place, value=value) from None


def _known(value: Any, place: str) -> dict[str, Any]:
    table = _table(value, place)
    best = _number(table, place)
    return {
        "value": nominal(best), "unit": _text(table.get("unit"), f"{place}: unit"), "standard_uncertainty": standard(best),
        "from": _text(table.get("from"), f"{place}: from"),
    }  # fmt: skip


def _due(job: Job) -> dict[str, str]:
    due = {}
    if job.has("vehicle", "interval_time"):
        due["time"] = f"{job.text('vehicle', 'interval_time')} from the service"
    if job.has("vehicle", "interval_distance", "distance"):
        at = nominal(job.value("vehicle", "distance")) + nominal(job.value("vehicle", "interval_distance"))
        due["distance"] = f"{at / 1e6:,.0f} km".replace(",", " ")
    return due
