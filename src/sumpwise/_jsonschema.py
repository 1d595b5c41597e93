"""Building blocks of the JSON Schemas (2020-12) of all formats."""

from __future__ import annotations

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterable
    from typing import Any

DIALECT = "https://json-schema.org/draft/2020-12/schema"
TEXT = {"type": "string"}
NUMBER = {"type": "number"}
WHOLE = {"type": "integer"}
FLAG = {"type": "boolean"}
ANYTHING: dict[str, Any] = {}


def table(properties: dict[str, Any], optional: Iterable[str] = (), more: Any = False) -> dict[str, Any]:
    """An object with these keys, all required except the optional ones; `more` says what other keys may hold, False that there are none."""
    needed = [key for key in properties if key not in set(optional)]
    return {"type": "object", "properties": properties, "required": needed, "additionalProperties": more}


def map_of(value: Any) -> dict[str, Any]:
    """An object with any keys, all of one kind."""
    return {"type": "object", "additionalProperties": value}


def list_of(value: Any, **limits: int) -> dict[str, Any]:
    """An array whose elements are all of one kind."""
    return {"type": "array", "items": value, **limits}


def or_null(value: dict[str, Any]) -> dict[str, Any]:
    """A value that may be null."""
    return {"anyOf": [value, {"type": "null"}]}


def root(title: str, about: str, schema: dict[str, Any]) -> dict[str, Any]:
    """A whole schema."""
    return {"$schema": DIALECT, "title": title, "description": about, **schema}
