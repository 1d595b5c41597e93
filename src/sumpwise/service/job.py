"""A job: one service of one vehicle, read from a TOML file whose values are written in workshop notation."""

from __future__ import annotations

import datetime
import os
from functools import cached_property
from typing import Any

from sumpwise._files import LARGEST, checked_size, content_of, text_of, toml_of
from sumpwise._toml import places
from sumpwise.errors import FileError, expect_shallow
from sumpwise.service.consistency import with_window
from sumpwise.service.intake import FORMAT, VERSION, Found, read


class Job:
    """One service of one vehicle: what is known beforehand, the tools, the shopping, the target, and the log of what was done.

    Build it with `Job.from_toml` or `Job.from_dict`. Every value is read and validated at once; an uncertain value is one source of
    uncertainty, however often it is used.

    Attributes
    ----------
    name : str
        Where it came from, for messages.
    inputs : dict
        What was written, as plain data.
    units : list of Unit
        The units that its values are written in, one for each value.
    loose, weighed : list of Spot
        The values that were written with "about", and those that were written as the weight of some fluid.

    Examples
    --------
    >>> from sumpwise import Job
    >>> job = Job.demo()
    >>> job.text("capacity", "total")
    '8.85 L'
    >>> job.value("capacity", "total")
    8.85
    """

    def __init__(self, inputs: dict[str, Any], name: str = "job") -> None:
        inputs = plain(inputs, name)
        self._hold(name, inputs, read(inputs, name))

    def _hold(self, name: str, inputs: dict[str, Any], found: Found) -> None:
        """Take over what was read, or refuse it."""
        if found.problems:
            raise found.problems[0]
        self.name = name
        self.inputs = inputs
        self._values, self.units, self.loose, self.weighed = found.values, found.units, found.loose, found.weighed

    @classmethod
    def from_toml(cls, path: str | os.PathLike[str]) -> Job:
        """Read a job file.

        Parameters
        ----------
        path : str or path
            A TOML file in UTF-8, at most 1 MB.

        Returns
        -------
        Job

        Raises
        ------
        FileError
            With the file, the key, what was read, what is wrong and how to fix it.
        """
        return cls._of(*content_of(path, "give the path of a job file"))

    @classmethod
    def _of(cls, name: str, content: bytes) -> Job:
        """The job in the content of a file."""
        job = object.__new__(cls)
        job._hold(name, *_checked(content, name))
        return job

    @classmethod
    def demo(cls) -> Job:
        """The packaged demo job: the invented example wagon."""
        from importlib.resources import files

        return cls._of("the packaged demo", files("sumpwise.service").joinpath("data/example_wagon.toml").read_bytes())

    @classmethod
    def from_dict(cls, data: dict[str, Any]) -> Job:
        """Build a job from plain data, as returned by `to_dict`."""
        if not isinstance(data, dict):
            raise _no_table(data)
        return cls(data, "job")

    @staticmethod
    def problems(data: dict[str, Any] | str | os.PathLike[str]) -> list[FileError]:
        r"""List everything that is wrong with a job at once.

        Parameters
        ----------
        data : dict, str or path
            Plain data, as returned by `to_dict`; the path of a job file in TOML; or its text, which has several lines or an `=`.

        Returns
        -------
        list of FileError
            In the order of the data; each with `code`, a JSON `pointer` to the place, the `value` read, the `limits` as numbers with their
            unit if there are any, and how to fix it. For TOML, also `line` and `column`, from 1: of the key, or of the table that lacks it;
            0 if that is not known. Empty for a good job.

        Examples
        --------
        >>> from sumpwise import Job
        >>> data = Job.demo().to_dict()
        >>> data["capacity"]["total"] = "8.85"
        >>> data["vessel"][0]["holds"] = "9 m"
        >>> [(error.code, error.pointer) for error in Job.problems(data)]
        [('unit.missing', '/capacity/total'), ('unit.kind', '/vessel/0/holds')]
        >>> for error in Job.problems('[vehicle]\nname = "wagon"\n[capacity]\ntotal = "8.85"\nplug_drain = "3 m"'):
        ...     print(error.line, error.column, error.pointer, error.problem)
        4 1 /capacity/total has no unit
        5 1 /capacity/plug_drain m is a unit of length, and a volume was expected
        """
        if not isinstance(data, (dict, str, os.PathLike)):
            return [_no_table(data)]
        name, content = "job", b""
        try:
            if isinstance(data, dict):
                return read(plain(data, name), name).problems
            if isinstance(data, str) and ("\n" in data or "=" in data):
                content = checked_size(data.encode("utf-8", "surrogatepass"), name, LARGEST)
            else:
                name, content = content_of(data, "give the path of a job file, or its text")
            return _checked(content, name)[1].problems
        except FileError as error:
            return [error]

    @staticmethod
    def json_schema() -> dict[str, Any]:
        """Describe the keys of a job file as JSON Schema (2020-12), for editors that complete and check a file as you type.

        Returns
        -------
        dict
            Plain data. It covers tables, keys, words and what is required; numbers in workshop notation are checked by `problems`.

        Examples
        --------
        >>> from sumpwise import Job
        >>> Job.json_schema()["properties"]["exchange"]["properties"]["flow"]["description"]
        'Flow out of the open cooler line. Flow, above 0 L/min. Default: 3.5 L/min (common practice, no source). ...'
        """
        from sumpwise.service.json_schema import json_schema

        return json_schema()

    def with_(self, **changes: Any) -> Job:
        """Return a copy with changes.

        Parameters
        ----------
        **changes : dict, list, str or None
            Table -> key -> new value, or None to leave it out; or a whole list of tables; or the title.

        Returns
        -------
        Job

        Raises
        ------
        FileError
            As `from_dict`.

        Examples
        --------
        >>> from sumpwise import Job
        >>> job = Job.demo().with_(capacity={"plug_drain": "3.1 L"}, log=[])
        >>> job.text("capacity", "plug_drain"), len(job.entries("log"))
        ('3.1 L', 0)
        """
        inputs = self.to_dict()
        for table, change in changes.items():
            if isinstance(change, dict):
                kept = {**inputs.get(table, {}), **change}
                inputs[table] = {key: value for key, value in kept.items() if value is not None}
            elif change is None:
                inputs.pop(table, None)
            else:
                inputs[table] = change
        return Job.from_dict(inputs)

    def to_dict(self) -> dict[str, Any]:
        """Return the job as plain JSON data: what was written, with format and version."""
        return {"format": FORMAT, "version": VERSION, **plain({k: v for k, v in self.inputs.items() if k not in ("format", "version")})}

    def has(self, table: str, *keys: str) -> bool:
        """Whether the job has a table with all of the keys."""
        return table in self._values and all(map(self._values[table].__contains__, keys))

    def value(self, table: str, key: str, default: Any = None) -> Any:
        """A value in the internal unit of its kind (uncertain if it was written so), or the default."""
        return self._values.get(table, {}).get(key, default)

    def text(self, table: str, key: str, default: str = "") -> str:
        """A value as it was written, or the default."""
        return str(self.inputs.get(table, {}).get(key, default))

    def entries(self, table: str) -> list[dict[str, Any]]:
        """The entries of a list of tables, values in internal units."""
        return list(self._values.get(table, []))

    def written(self, table: str) -> list[dict[str, Any]]:
        """The entries of a list of tables as they were written; a bolt also has the window that its torque implies."""
        entries = self.inputs.get(table, [])
        return [with_window(entry) for entry in entries] if table == "bolt" else list(entries)

    @cached_property
    def undescribed(self) -> dict[str, dict[str, Any]]:
        """Vessels named in the log that are neither described nor a pack: their entries, with only a name, by name."""
        known = {one["name"] for table in ("vessel", "pack") for one in self.entries(table)}
        return {entry["vessel"]: {"name": entry["vessel"]} for entry in self.entries("log") if entry.get("vessel", "") not in {"", *known}}

    @property
    def title(self) -> str:
        """The title of the job."""
        return str(self.inputs.get("title", self.text("vehicle", "name")))

    def __repr__(self) -> str:
        return f"Job({self.title!r}, {len(self.entries('log'))} log entries)"


def plain(inputs: dict[str, Any], name: str = "job") -> dict[str, Any]:
    """A copy of inputs that JSON can hold: a TOML date becomes text."""
    expect_shallow(inputs, name)
    copied: dict[str, Any] = _plain(inputs)
    return copied


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {str(k): v if v.__class__ is str else _plain(v) for k, v in value.items()}
    if isinstance(value, (datetime.date, datetime.time)):
        return value.isoformat()
    return [_plain(v) for v in value] if isinstance(value, (list, tuple)) else value


def _checked(content: bytes, name: str) -> tuple[dict[str, Any], Found]:
    """The inputs in the content of a job file, and what was read of them: what is wrong has its line and column."""
    inputs = plain(toml_of(content, name))
    found = read(inputs, name)
    if found.problems:
        known = places(text_of(content, name))
        for error in found.problems:
            place = known.get(error.pointer) or known.get(error.pointer.rpartition("/")[0])
            if place is not None:
                error.line, error.column = place
                error.argument = error.argument.replace(f"{name}: ", f"{name}, line {error.line}: ", 1)
    return inputs, found


def _no_table(inputs: Any) -> FileError:
    return FileError("is not a table", code="key.type", argument="job", value=inputs, allowed="a dict as Job.to_dict gives it")
