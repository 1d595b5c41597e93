"""Plain data written as TOML that reads back unchanged; and the place of each key in a file."""

from __future__ import annotations

import contextlib
import datetime
import json
from bisect import bisect_right
from typing import TYPE_CHECKING, Any

from sumpwise.errors import FileError, pointer_to, printable

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

BARE = frozenset("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-")
"""Characters allowed in a key without quotes."""

Place = tuple[str | int, ...]


def literal(value: Any) -> str:
    """One value on one line.

    Raises
    ------
    FileError
        For a text with half a character (a lone surrogate) in it, and for values that TOML cannot express.
    """
    if isinstance(value, str):
        if not value.isascii() and any("\ud800" <= c <= "\udfff" for c in value):
            raise FileError("contains a character that a file cannot hold", code="value.type", value=value)
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (int, float)):
        return repr(value)
    if isinstance(value, (datetime.date, datetime.time)):
        return value.isoformat()
    if isinstance(value, (list, tuple)):
        return f"[{', '.join(map(literal, value))}]"
    if isinstance(value, dict):
        return "{" + ", ".join(f"{_key(key)} = {literal(one)}" for key, one in value.items()) + "}"
    raise FileError("cannot be written to a TOML file", code="value.type", value=value)


def document(data: Mapping[str, Any], remarks: Mapping[Place, str] | None = None) -> str:
    """Tables, lists of tables and values as a TOML file: texts, numbers, flags, days, under keys that are texts.

    `tomllib.loads` returns the same keys and values from it, with the values of a table before its subtables. `remarks` has comments by the
    place of the value that they stand above, such as ("capacity", "plug_drain") or ("vessel", 0, "name"); () is the top of the file.
    """
    said = remarks or {}
    head = [f"# {printable(line)}" for line in said.get((), "").splitlines()]
    return "\n".join([*head, *([""] if head else []), *_table(data, (), said)]).strip("\n") + "\n"


def _table(data: Mapping[str, Any], place: Place, remarks: Mapping[Place, str]) -> Iterator[str]:
    """The lines of a table, without its header."""
    inner = {key: value for key, value in data.items() if isinstance(value, dict) or _listed(value)}
    for key, value in data.items():
        if key not in inner:
            yield from _remark(remarks, (*place, key))
            yield f"{_key(key)} = {literal(value)}"
    for key, value in inner.items():
        tables = [((*place, key), value)] if isinstance(value, dict) else [((*place, key, i), one) for i, one in enumerate(value)]
        name = ".".join(_key(step) for step in (*place, key) if isinstance(step, str))
        for where, one in tables:
            yield ""
            yield from _remark(remarks, where)
            yield f"[{name}]" if isinstance(value, dict) else f"[[{name}]]"
            yield from _table(one, where, remarks)


def _remark(remarks: Mapping[Place, str], place: Place) -> Iterator[str]:
    if place in remarks:
        yield f"# {printable(remarks[place])}"


def _listed(value: Any) -> bool:
    """Whether a value is a list of tables."""
    return isinstance(value, (list, tuple)) and bool(value) and all(isinstance(one, dict) for one in value)


def _key(key: str) -> str:
    return key if key and BARE.issuperset(key) else literal(key)


def places(text: str) -> dict[str, tuple[int, int]]:
    """Where each key, table and entry of a TOML file begins: JSON pointer -> line and column, from 1.

    A table without a header of its own is where its first key is. Of a text that `tomllib` refuses, only the places before the first fault
    are found.
    """
    scan = _Scan(text)
    with contextlib.suppress(IndexError, RecursionError):
        scan.file()
    starts = [0, *(i + 1 for i, c in enumerate(text) if c == "\n")]
    lines = {place: bisect_right(starts, at) for place, at in scan.found.items()}
    return {pointer_to(place): (line, scan.found[place] - starts[line - 1] + 1) for place, line in lines.items()}


class _Scan:
    """A single pass over a TOML text, from left to right."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.i = 0
        self.found: dict[Place, int] = {}
        self.counts: dict[Place, int] = {}

    def file(self) -> None:
        """Read table headers and lines of keys."""
        top: Place = ()
        while self.on():
            at = self.i
            if self.text[self.i] != "[":
                self.keyed(top)
                continue
            listed = self.text.startswith("[[", self.i)
            self.i += 1 + listed
            name = self.key()
            top = self.resolved(name, listed)
            self.note(top, at)
            self.i += 1 + listed

    def note(self, place: Place, at: int) -> None:
        """Note where a place, and the places that contain it, are first seen."""
        for end in range(1, len(place) + 1):
            self.found.setdefault(place[:end], at)

    def resolved(self, name: list[str], listed: bool) -> Place:
        """The place that a table header refers to: for a list of tables its last entry, or with two brackets a new one."""
        place: Place = ()
        for step in name[:-1]:
            place = (*place, step)
            if place in self.counts:
                place = (*place, self.counts[place] - 1)
        place = (*place, name[-1])
        if listed:
            count = self.counts[place] = self.counts.get(place, 0) + 1
            return (*place, count - 1)
        return place

    def on(self) -> bool:
        """Whether anything is left after spaces, line ends and comments."""
        while self.i < len(self.text):
            if self.text[self.i] == "#":
                end = self.text.find("\n", self.i)
                self.i = len(self.text) if end < 0 else end
            elif self.text[self.i] in " \t\r\n\ufeff":
                self.i += 1
            else:
                return True
        return False

    def keyed(self, top: Place) -> None:
        """Read a key and its value."""
        at = self.i
        place = (*top, *self.key())
        self.note(place, at)
        self.on()
        self.i += 1  # the equals sign
        self.value(place)

    def key(self) -> list[str]:
        """Read a key of one or more parts."""
        parts = []
        while True:
            self.on()
            if self.text[self.i] in "\"'":
                start = self.i
                self.quoted()
                parts.append(_unquoted(self.text[start : self.i]))
            else:
                start = self.i
                while self.text[self.i] in BARE:
                    self.i += 1
                if start == self.i:
                    raise IndexError
                parts.append(self.text[start : self.i])
            while self.text[self.i] in " \t":
                self.i += 1
            if self.text[self.i] != ".":
                return parts
            self.i += 1

    def quoted(self) -> None:
        """Skip a text."""
        mark = self.text[self.i]
        long = self.text.startswith(3 * mark, self.i)
        end = 3 * mark if long else mark
        self.i += len(end)
        while not self.text.startswith(end, self.i):
            if self.i >= len(self.text):
                raise IndexError
            self.i += 2 if mark == '"' and self.text[self.i] == "\\" else 1
        self.i += len(end)
        while long and self.text.startswith(mark, self.i):  # a text may end in one or two of its marks
            self.i += 1

    def value(self, place: Place) -> None:
        """Skip a value, noting the places inside a list or an inline table."""
        self.on()
        opened = self.text[self.i]
        if opened in "\"'":
            self.quoted()
        elif opened in "[{":
            self.i += 1
            count = 0
            while self.on() and self.text[self.i] not in "]}":
                if opened == "{":
                    self.keyed(place)
                else:
                    self.found.setdefault((*place, count), self.i)
                    self.value((*place, count))
                count += 1
                self.on()
                self.i += self.text[self.i] == ","
            self.i += 1
        else:
            while self.i < len(self.text) and self.text[self.i] not in ",]}#\r\n":
                self.i += 1


def _unquoted(key: str) -> str:
    """The key that a quoted key stands for."""
    import tomllib

    return next(iter(tomllib.loads(f"{key} = 0")))
