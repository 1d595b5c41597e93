"""Plain data as TOML, which any reader of it takes back as it was."""

from __future__ import annotations

import datetime
import json
from typing import TYPE_CHECKING, Any

from sumpwise.errors import FileError, printable

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

BARE = frozenset("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789_-")
"""Characters that a key may have without quotes."""

Place = tuple[str | int, ...]


def literal(value: Any) -> str:
    """One value on one line.

    Raises
    ------
    FileError
        For a text with half a character in it, and for what TOML has no word for.
    """
    if isinstance(value, str):
        if not value.isascii() and any("\ud800" <= c <= "\udfff" for c in value):
            raise FileError("is not a text that a file can hold", code="value.type", value=value)
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
    raise FileError("has no place in a TOML file", code="value.type", value=value)


def document(data: Mapping[str, Any], remarks: Mapping[Place, str] | None = None) -> str:
    """Tables, lists of tables and values as a TOML file.

    Parameters
    ----------
    data : mapping
        Keys are texts; values texts, numbers, flags, days, lists and tables.
    remarks : mapping, optional
        Place of a value, such as ("capacity", "plug_drain") or ("vessel", 0, "name") -> the remark above it; () for the top of the file.

    Returns
    -------
    str
        `tomllib.loads` gives back the data: the same keys and values, values of a table before its tables.

    Raises
    ------
    FileError
        As `literal`.
    """
    said = remarks or {}
    head = [f"# {printable(line)}" for line in said.get((), "").splitlines()]
    return "\n".join([*head, *([""] if head else []), *_table(data, (), said)]).strip("\n") + "\n"


def _table(data: Mapping[str, Any], place: Place, remarks: Mapping[Place, str]) -> Iterator[str]:
    """The lines of a table, without its head."""
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
