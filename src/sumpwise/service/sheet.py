"""The sheet: what a plan prints, section by section, as Markdown or as JSON."""

from __future__ import annotations

import json
from itertools import pairwise
from typing import Any

from sumpwise._display import escaped, html_table, markdown_table, sentence
from sumpwise.errors import FileError, expect_record, printable, shown

FORMAT = "sumpwise sheet"
VERSION = 1


class Section:
    """One part of a sheet.

    Attributes
    ----------
    key, title : str
        A stable name and a heading.
    lines : list of str
        Sentences in Markdown.
    columns, rows : list
        A table, possibly empty; every cell is a text.
    data : dict
        The numbers behind it: plain JSON, quantities as `{"value", "unit", "standard_uncertainty"}`.
    """

    __slots__ = ("columns", "data", "key", "lines", "rows", "title")

    def __init__(
        self, key: str, title: str, lines: list[str] | None = None, columns: list[str] | None = None, rows: list[list[str]] | None = None,
        data: dict[str, Any] | None = None,
    ) -> None:  # fmt: skip
        self.key = key
        self.title = title
        self.lines = lines or []
        self.columns = columns or []
        self.rows = rows or []
        self.data = data or {}

    def __repr__(self) -> str:
        return f"Section({self.key!r}, {self.title!r}, {len(self.lines)} lines, {len(self.rows)} rows)"

    def to_dict(self) -> dict[str, Any]:
        """The section as plain data."""
        return {name: getattr(self, name) for name in ("key", "title", "lines", "columns", "rows", "data")}

    def to_html(self) -> str:
        """The section as HTML; whatever was written in a file is text there."""
        table = [html_table(self.columns, self.rows)] if self.rows else []
        return "\n".join([f"<h2>{escaped(self.title)}</h2>", *(f"<p>{escaped(line)}</p>" for line in self.lines), *table])

    def to_markdown(self) -> str:
        """The section as Markdown whose tables line up in a terminal."""
        parts = [f"## {sentence(self.title)}", *(sentence(line) for line in self.lines)]
        if self.rows:
            parts.append(markdown_table(self.columns, self.rows))
        blocks = [parts[0]]
        for previous, part in pairwise(parts):
            listed = _is_item(previous) and _is_item(part)
            blocks.append(part if listed else "\n" + part)
        return "\n".join(blocks)


def _is_item(line: str) -> bool:
    return line.startswith("- ") or line.partition(". ")[0].isdigit()


class Sheet:
    """What a plan says: sections with sentences, tables and the numbers behind them.

    Parameters
    ----------
    title : str
        Heading.
    sections : list of Section
        In the order they are read.

    Examples
    --------
    >>> from sumpwise import Job, plan
    >>> sheet = plan(Job.demo())
    >>> sheet.section("buy").title
    'What to buy'
    """

    def __init__(self, title: str, sections: list[Section]) -> None:
        self.title = title
        self.sections = sections

    def section(self, key: str) -> Section:
        """One section by its key."""
        for section in self.sections:
            if section.key == key:
                return section
        raise KeyError(key)

    def to_markdown(self) -> str:
        """The sheet as Markdown that reads well in a terminal."""
        return f"# {sentence(self.title)}\n\n" + "\n\n".join(s.to_markdown() for s in self.sections) + "\n"

    def to_dict(self) -> dict[str, Any]:
        """The sheet as plain JSON data, versioned."""
        return {"format": FORMAT, "version": VERSION, "title": self.title, "sections": [s.to_dict() for s in self.sections]}

    def to_json(self, indent: int | None = 2) -> str:
        """The sheet as JSON text; never nan or infinity."""
        return json.dumps(self.to_dict(), ensure_ascii=False, allow_nan=False, indent=indent)

    @classmethod
    def from_dict(cls, data: dict[str, Any]) -> Sheet:
        """A sheet from what `to_dict` gave.

        Raises
        ------
        FileError
            For another format or version, or anything that is no sheet.
        """
        expect_record(data, "sheet", {"format", "title", "sections"}, FORMAT, VERSION)
        try:
            sections = [
                Section(
                    str(s["key"]), str(s["title"]), [str(x) for x in s["lines"]], [str(x) for x in s["columns"]],
                    [[str(c) for c in row] for row in s["rows"]], json.loads(json.dumps(dict(s["data"]), allow_nan=False)),
                )
                for s in data["sections"]
            ]  # fmt: skip
            for section in sections:
                if any(len(row) != len(section.columns) for row in section.rows):
                    raise ValueError(f"a row of '{section.key}' does not fit its columns")
            return cls(str(data["title"]), sections)
        except (KeyError, TypeError, ValueError, RecursionError) as error:
            raise FileError(f"is no sheet: {shown(str(error))}", argument="sections") from None

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Sheet) and self.to_dict() == other.to_dict()

    __hash__ = None  # type: ignore[assignment]

    def __str__(self) -> str:
        return self.to_markdown()

    def __repr__(self) -> str:
        return f"Sheet({self.title!r}, sections: {printable(', '.join(s.key for s in self.sections))})"

    def _repr_markdown_(self) -> str:
        return self.to_markdown()

    def _repr_html_(self) -> str:
        return "\n".join([f"<h1>{escaped(self.title)}</h1>", *(s.to_html() for s in self.sections)])
