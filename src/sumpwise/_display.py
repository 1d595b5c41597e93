"""How results are displayed in a notebook or a terminal: Markdown with aligned tables, HTML, and the escaping of people's texts."""

from __future__ import annotations

from sumpwise.errors import printable

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence


def sentence(text: str) -> str:
    """A line of Markdown that keeps its emphasis, but no control character, HTML or link from a text that a person wrote."""
    return printable(text).replace("<", "\\<").replace("[", "\\[")


MARKS = "\\`*_[]<>|#~&!"
"""Characters that can begin Markdown syntax anywhere in a line; the escape itself first."""
_MARKS = frozenset(MARKS)


def inline(text: str) -> str:
    """Escape a text so that Markdown shows it as it is, anywhere except at the start of a line."""
    if text.isprintable() and _MARKS.isdisjoint(text):
        return text
    safe = printable(text)
    for character in MARKS:
        safe = safe.replace(character, "\\" + character)
    return safe


def literal(text: str) -> str:
    """Escape a text so that Markdown shows it as it is, anywhere in a line; space around it is dropped."""
    return at_the_start(inline(text).strip())


def at_the_start(inner: str) -> str:
    """Escape the start of a line that is otherwise safe, where a number or a sign would begin a list."""
    start = len(inner) - len(inner.lstrip("0123456789"))
    if inner[start : start + 1] in ("-", "+", "=", ".", ")") and (start or inner[0] in "-+="):
        inner = f"{inner[:start]}\\{inner[start:]}"
    return inner


def markdown_table(columns: Sequence[str], rows: Iterable[Sequence[str]], safe: Callable[[str], str]) -> str:
    """A table that is aligned in a terminal, its cells made `safe`; columns of numbers are right-aligned."""
    cells = [list(map(safe, row)) for row in (columns, *rows)]
    widths = [max(3, *map(len, column)) for column in zip(*cells, strict=True)]
    left = [not all(map(_numeric, below)) for _, *below in zip(*cells, strict=True)]

    def line(row: list[str]) -> str:
        return "| " + " | ".join(c.ljust(w) if ok else c.rjust(w) for c, w, ok in zip(row, widths, left, strict=True)) + " |"

    rule = "|" + "|".join((":" if ok else "-") + "-" * w + ("-" if ok else ":") for w, ok in zip(widths, left, strict=True)) + "|"
    return "\n".join([line(cells[0]), rule, *(line(row) for row in cells[1:])])


def _numeric(cell: str) -> bool:
    return not cell or cell[0] in "0123456789+-−±–" or cell.startswith("under ")


def escaped(text: str) -> str:
    """Escape a text for HTML."""
    from html import escape

    return escape(printable(text))


def html_table(columns: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table in HTML."""
    head = "".join(f'<th scope="col">{escaped(c)}</th>' for c in columns)
    body = "".join("<tr>" + "".join(_cell_of(i, c) for i, c in enumerate(row)) + "</tr>" for row in rows)
    return f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"


def _cell_of(column: int, text: str) -> str:
    """A cell in HTML; the words at the beginning of a row name it, as a screen reader says."""
    return f"<td>{escaped(text)}</td>" if column or _numeric(text) else f'<th scope="row">{escaped(text)}</th>'


def is_item(line: str) -> bool:
    """Whether a line of Markdown is an item of a list."""
    number, dot, _ = line.partition(". ")
    return line.startswith("- ") or (bool(dot) and len(number) <= 4 and number.isascii() and number.isdigit())


def html_lines(lines: Iterable[str], shown: Callable[[str], str] = escaped) -> list[str]:
    """Lines in HTML: paragraphs, and lists of the items that stand together."""
    found: list[str] = []
    kind = ""
    for line in [*lines, ""]:
        mark, _, text = line.partition(" ") if is_item(line) else ("", "", line)
        now = "" if not mark else "ul" if mark == "-" else "ol"
        if now != kind:
            found += [f"</{kind}>"] * bool(kind) + ([f'<ol start="{int(mark[:-1])}">' if now == "ol" else "<ul>"] if now else [])
            kind = now
        if text:
            found.append(f"<li>{shown(text)}</li>" if now else f"<p>{shown(text)}</p>")
    return found


class Displayed:
    """A result that is displayed as a table between sentences.

    A class defines what to show in `_table`, `_above` and `_below`; both notebook views, and what `print` shows, are made from these.
    """

    __slots__ = ()

    def _table(self) -> tuple[list[str], list[list[str]]]:
        """Columns and rows."""
        raise NotImplementedError

    def _above(self) -> list[str]:
        """Sentences before the table."""
        return []

    def _below(self) -> list[str]:
        """Sentences after it."""
        return []

    def __str__(self) -> str:
        return self._written(inline)

    def _repr_markdown_(self) -> str:
        return self._written(literal) + "\n"

    def _written(self, safe: Callable[[str], str]) -> str:
        """All of it as Markdown, its cells and sentences made `safe`."""
        columns, rows = self._table()
        table = [markdown_table(columns, rows, safe)] if rows else []
        return "\n\n".join([*map(safe, self._above()), *table, *map(safe, self._below())])

    def _repr_html_(self) -> str:
        above, below = ([f"<p>{escaped(line)}</p>" for line in lines] for lines in (self._above(), self._below()))
        columns, rows = self._table()
        return "\n".join([*above, *([html_table(columns, rows)] if rows else []), *below])
