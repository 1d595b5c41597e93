"""The sheet: what a plan prints, section by section, as Markdown or as JSON."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Iterator
from itertools import pairwise
from typing import Any

from sumpwise import _jsonschema as schema
from sumpwise._display import escaped, html_lines, html_table, inline, is_item, literal, markdown_table, sentence
from sumpwise._stored import field, finite, known, one_of, reading, rows, stored, table, text, texts, within
from sumpwise.errors import FileError, printable, shown

FORMAT = "sumpwise sheet"
SECTION = ("key", "title", "facts", "lines", "columns", "rows", "data")
"""Keys of a section."""
VERSION = 2
FACT = ("id", "text", "severity", "verdict", "entries", "quantity", "values")
QUANTITY = ("value", "unit", "standard_uncertainty")
SEVERITIES = ("info", "note", "caution", "stop")


BRIEF: dict[str, tuple[str, ...]] = {
    "torque": ("torque.no_band", "torque.too_small", "torque.too_small_adapter", "torque.too_large", "torque.too_large_adapter",
               "torque.with_adapter"),
    "level": (),
    "stop": ("stop.any",),
    "methods": ("methods.not_as_asked", "methods.chosen", "methods.chosen_for", "methods.as_begun", "methods.none", "methods.missed",
                "methods.not_sure"),
    "years": (),
    "outlet": ("outlet.in_doubt", "outlet.enough", "outlet.go_on", "outlet.not_to_be_had", "outlet.not_pumped",
               "outlet.inside", "outlet.starving"),
    "log": (),
    "balance": ("balance.not_followed", "balance.raw", "balance.raw_fair", "balance.no_start", "balance.level_now", "balance.unexplained",
                "balance.unexplained_z", "balance.joint"),
    "assumptions": (),
}  # fmt: skip
"""Section -> ids of the facts that a brief sheet keeps of it, besides all cautions and stops; other sections are kept whole."""
TABLES_KEPT = ("torque", "level")
"""Those of these sections whose table a brief sheet keeps."""
LINES_ALONE = ("steps", "timetable")
"""Sections whose table a brief sheet leaves out, and which it leaves out entirely once the work is done."""
LEFT_OUT = ("now.nothing", "steps.outlet_ahead", "steps.outlet_behind", "steps.no_timetable", "steps.tube")
"""Facts in kept sections that only explain: a brief sheet leaves them out."""


MARKED = re.compile(r"\\(.?)|\*\*", re.DOTALL)
"""An escape with what it stands before, or where emphasis begins or ends."""


def runs(markdown: str) -> Iterator[tuple[str, bool]]:
    """The pieces of a line of a section without escapes, each with whether it is emphasised."""
    strong, piece, place = False, "", 0
    for mark in MARKED.finditer(markdown):
        piece += markdown[place : mark.start()]
        place = mark.end()
        if mark[1] is None:
            yield piece, strong
            strong, piece = not strong, ""
        else:
            piece += mark[1]
    yield piece + markdown[place:], strong


def _html(markdown: str) -> str:
    """A line of a section as HTML."""
    return "".join(f"<strong>{escaped(piece)}</strong>" if strong else escaped(piece) for piece, strong in runs(markdown))


def unmarked(markdown: str) -> str:
    """A line of a section as plain text: without emphasis and escapes."""
    return MARKED.sub(r"\1", markdown) if "\\" in markdown else markdown.replace("**", "")


class Section:
    """One part of a sheet.

    Attributes
    ----------
    key, title : str
        A stable name and a heading.
    lines : list of str
        Sentences in Markdown, in which only `**` and the backslash have a meaning.
    columns, rows : list
        A table, possibly empty; every cell is plain text.
    data : dict
        The numbers behind it: plain JSON, quantities as `{"value", "unit", "standard_uncertainty"}`.
    facts : list of dict
        What each line says: stable `id`, plain `text`, `severity` ("info", "note", "caution", "stop"), `verdict`, the log `entries` it is
        based on, the `quantity` it is about, and all its `values`.
    """

    _write: Callable[[Section, str], Any]
    __slots__ = ("_write", "columns", "data", "facts", "key", "lines", "rows", "title")

    def __init__(
        self, key: str, title: str, lines: list[str] | None = None, columns: list[str] | None = None, rows: list[list[str]] | None = None,
        data: dict[str, Any] | None = None, facts: list[dict[str, Any]] | None = None,
    ) -> None:  # fmt: skip
        self.key = key
        self.title = title
        self.lines = lines or []
        self.columns = columns or []
        self.rows = rows or []
        self.data = data or {}
        self.facts = facts or []

    @classmethod
    def later(cls, key: str, write: Callable[[Section, str], Any]) -> Section:
        """A section of which every other part is written when it is first read: `write` is called with its name."""
        section = object.__new__(cls)
        section.key, section._write = key, write
        return section

    def __getattr__(self, name: str) -> Any:
        if name not in SECTION:
            raise AttributeError(f"'Section' object has no attribute '{name}'", name=name, obj=self)
        written = self._write(self, name)
        setattr(self, name, written)
        return written

    def __reduce__(self) -> tuple[object, ...]:
        return (Section, (self.key, self.title, self.lines, self.columns, self.rows, self.data, self.facts))

    def __str__(self) -> str:
        return self.to_markdown()

    def __repr__(self) -> str:
        return f"Section({self.key!r}, {self.title!r}, {len(self.lines)} lines, {len(self.rows)} rows)"

    def brief(self) -> Section | None:
        """The part of it that a brief sheet prints; None if it only repeats, explains or proves."""
        if len(self.facts) != len(self.lines):
            return self
        kept, tabled = BRIEF.get(self.key), self.key in TABLES_KEPT if self.key in BRIEF else self.key not in LINES_ALONE
        table = tabled and bool(self.rows)
        # the items that explain a stop sign are left to the full sheet
        weighty = () if self.key == "stop" else ("note", "caution", "stop")
        lines = [
            text
            for text, fact in zip(self.lines, self.facts, strict=True)
            if fact["id"] not in LEFT_OUT and (kept is None or fact["id"] in kept or fact["severity"] in weighty)
        ]
        over = self.data.get("done") or (self.key == "buy" and (self.data.get("begun") or not self.data.get("packs")))
        if over or not (lines or table):
            return None
        return Section(self.key, self.title, lines, self.columns if table else [], self.rows if table else [])

    def to_dict(self) -> dict[str, Any]:
        """Return the section as plain data."""
        return {name: getattr(self, name) for name in ("key", "title", "facts", "lines", "columns", "rows", "data")}

    def to_html(self) -> str:
        """Return the section as HTML, with anything that was written in a file escaped."""
        table = [html_table(self.columns, self.rows)] if self.rows else []
        return "\n".join([f"<h2>{escaped(self.title)}</h2>", *html_lines(self.lines, _html), *table])

    def to_markdown(self) -> str:
        """Return the section as Markdown whose tables are aligned in a terminal."""
        parts = [f"## {literal(self.title)}", *self.lines]
        if self.rows:
            parts.append(markdown_table(self.columns, self.rows, inline))
        blocks = [parts[0]]
        for previous, part in pairwise(parts):
            listed = is_item(previous) and is_item(part)
            blocks.append(part if listed else "\n" + part)
        return "\n".join(blocks)


class Sheet:
    """The result of a plan: sections with sentences, tables and the numbers behind them.

    Parameters
    ----------
    title : str
        Heading.
    sections : list of Section
        In reading order.
    units : str
        The system of units it is written in: "as written", "metric", "US", "imperial" or "both".
    inputs : dict, optional
        The job it is based on, as plain data.

    Examples
    --------
    >>> from sumpwise import Job, plan
    >>> sheet = plan(Job.demo())
    >>> sheet.section("buy").title
    'What to buy, for the whole job'
    """

    def __init__(
        self, title: str, sections: list[Section], units: str = "as written", inputs: dict[str, Any] | None = None
    ) -> None:  # fmt: skip
        self.title = title
        self.sections = sections
        self.units = units
        self.inputs = inputs

    def section(self, key: str) -> Section:
        """Return a section by its key."""
        for section in self.sections:
            if section.key == key:
                return section
        raise KeyError(f"{key!r} is none of {', '.join(section.key for section in self.sections)}")

    def to_markdown(self, full: bool = True) -> str:
        """Return the sheet as Markdown that reads well in a terminal.

        Parameters
        ----------
        full : bool
            Whether to include everything; else only what a person under the vehicle needs, without comparison, account and minor
            assumptions.

        Returns
        -------
        str
        """
        sections = self.sections if full else [brief for section in self.sections if (brief := section.brief()) is not None]
        return f"# {literal(self.title)}\n\n" + "\n\n".join(section.to_markdown() for section in sections) + "\n"

    def to_dict(self) -> dict[str, Any]:
        """Return the sheet as plain JSON data with a version."""
        sections = {section.key: section.to_dict() for section in self.sections}
        told = {"format": FORMAT, "version": VERSION, "title": self.title, "units": self.units, "sections": sections}
        return told if self.inputs is None else told | {"inputs": self.inputs}

    def to_json(self, indent: int | None = 2) -> str:
        """Return the sheet as JSON text; never with nan or infinity."""
        return json.dumps(self.to_dict(), ensure_ascii=False, allow_nan=False, indent=indent)

    @classmethod
    def from_dict(cls, data: dict[str, Any]) -> Sheet:
        """Build a sheet from the data of `to_dict`.

        Raises
        ------
        FileError
            For another format or version, or anything that is not a sheet.
        """
        old = isinstance(data, dict) and data.get("version") == 1
        with reading("sheet"):
            keys = {"format", "title", "sections"} | (set() if old else {"units"})
            stored(data, "sheet", keys, FORMAT, 1 if old else VERSION, () if old else ("inputs",))
            title, units = field(data, "title", text), "as written" if old else field(data, "units", text)
            sections = []
            with within("sections"):
                listed = enumerate(rows(data["sections"])) if old else table(data["sections"], "table of sections", _SECTIONS).items()
                for key, part in listed:
                    with within(key):
                        sections.append(_section(part, old))
            inputs = None if data.get("inputs") is None else field(data, "inputs", _plain, "a job, as Job.to_dict gives it")
        return cls(title, sections, units, inputs)

    @staticmethod
    def json_schema() -> dict[str, Any]:
        """Describe what `to_dict` returns, as JSON Schema (2020-12).

        Returns
        -------
        dict
            Plain data. It cannot check that each row has as many cells as there are columns.
        """
        quantity = schema.table({"value": schema.NUMBER, "unit": schema.TEXT, "standard_uncertainty": schema.NUMBER})
        fact = schema.table({
            "id": schema.TEXT, "text": schema.TEXT, "severity": {"enum": list(SEVERITIES)}, "verdict": schema.TEXT,
            "entries": schema.list_of(schema.WHOLE), "quantity": schema.or_null(quantity), "values": schema.map_of(schema.ANYTHING),
        })  # fmt: skip
        words = schema.list_of(schema.TEXT)
        held = (schema.TEXT, schema.TEXT, schema.list_of(fact), words, words, schema.list_of(words), schema.map_of(schema.ANYTHING))
        section = schema.table(dict(zip(SECTION, held, strict=True)))
        return schema.root(FORMAT, "What a plan says; `inputs` is its job, which has a schema of its own.", schema.table({
            "format": {"const": FORMAT}, "version": {"const": VERSION}, "title": schema.TEXT, "units": schema.TEXT,
            "sections": schema.map_of(section), "inputs": schema.map_of(schema.ANYTHING),
        }, ("inputs",)))  # fmt: skip

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


_SECTIONS = "sections by key, as Sheet.to_dict gives them"


def _section(part: Any, old: bool) -> Section:
    """A section from stored data; those of version 1 had sentences alone, and no facts."""
    known(part, "section", SECTION, ("facts",) if old else ())
    lines, columns = field(part, "lines", texts), field(part, "columns", texts)
    table_rows, facts = field(part, "rows", rows), [] if old else field(part, "facts", rows)
    for i, row in enumerate(table_rows):
        with within("rows", i):
            if len(texts(row)) != len(columns):
                raise FileError("does not fit its columns", code="file.content", value=row, allowed=f"{len(columns)} texts")
    for i, fact in enumerate(facts):
        with within("facts", i):
            _fact(fact)
    return Section(
        field(part, "key", text), field(part, "title", text), [sentence(line) for line in lines] if old else lines, columns,
        [list(row) for row in table_rows], field(part, "data", _plain), [_plain(fact) for fact in facts],
    )  # fmt: skip


def _fact(data: Any) -> None:
    """Check a fact as plain data."""
    known(data, "fact", FACT)
    for key in ("id", "text", "verdict"):
        field(data, key, text)
    field(data, "severity", one_of, SEVERITIES, "severity")
    with within("entries"):
        if not all(entry.__class__ is int for entry in rows(data["entries"])):
            raise FileError("is not a list of whole numbers", code="key.type", value=data["entries"])
    field(data, "values", table)
    if data["quantity"] is not None:
        with within("quantity"):
            known(data["quantity"], "quantity", QUANTITY)
            field(data["quantity"], "unit", text)
            for key in ("value", "standard_uncertainty"):
                field(data["quantity"], key, finite)


def _plain(data: Any, allowed: str = "") -> dict[str, Any]:
    """A copy of a table of plain data."""
    table(data, allowed=allowed)
    try:
        return dict(json.loads(json.dumps(data, allow_nan=False)))
    except (TypeError, ValueError) as error:
        raise FileError(f"is not plain data: {shown(str(error))}", code="file.content", hint="nan is null in JSON") from None
