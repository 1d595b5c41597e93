"""Tables in a text: rows of cells parted by strokes or tabs, whose head may hold the units."""

from __future__ import annotations

import re
from itertools import pairwise

from sumpwise.quantities.spelling import unit_spelled

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator

    from sumpwise.quantities.speech import Edit
    from sumpwise.quantities.units import Unit

    Cell = tuple[int, int]
    Column = tuple[Unit, str] | None

_ROW = re.compile(r"[^\n]*[|\t][^\n]*")
_RULE = re.compile(r"[\s|:\-+=]+")
_BARE = re.compile(r"\s*[-−–]?[0-9]{1,6}(?:[ ,][0-9]{3})*(?:[.,][0-9]{1,4})?(?:\s?(?:[-–~]|to)\s?[0-9]{1,6}(?:[.,][0-9]{1,4})?)?\s*")
_WITHIN = re.compile(r"[(\[]([^()\[\]]*)[)\]]\s*$")
_MOST_COLUMNS = 20
_MOST_CELL = 60


def units_of_heads(text: str) -> Iterator[Edit]:
    """The units of a table's head, written behind the bare numbers of two columns that state one thing in two systems."""
    columns: list[Column] = []
    paired: set[int] = set()
    last = -1
    for match in _ROW.finditer(text):
        start, end = match.start(), match.end()
        if _RULE.fullmatch(text, start, end):
            last = end
            continue
        cells = _cells(text, start, end)
        if start != last + 1 or not paired:
            columns = [_column(text[a:b]) for a, b in cells]
            paired = _paired(columns)
        else:
            for i, (a, b) in enumerate(cells):
                column = columns[i] if i in paired and i < len(columns) else None
                if column is not None and _BARE.fullmatch(text, a, b):
                    to = a + len(text[a:b].rstrip())
                    yield to, to, f" {column[0].symbol}"
        last = end


def _cells(text: str, start: int, end: int) -> list[Cell]:
    cells: list[Cell] = []
    at = start
    mark = "|" if "|" in text[start:end] else "\t"
    if mark == "|" and text[start:end].lstrip().startswith("|"):
        at = text.index("|", start) + 1
    while at <= end and len(cells) < _MOST_COLUMNS:
        stop = text.find(mark, at, end)
        stop = end if stop < 0 else stop
        cells.append((at, stop))
        at = stop + 1
    return cells


def _column(head: str) -> Column:
    """The unit and the rest of the words of a column's head."""
    head = head.strip()
    if not head or len(head) > _MOST_CELL:
        return None
    whole = unit_spelled(head) or unit_spelled(head.lower())
    if whole is not None:
        return whole, ""
    within = _WITHIN.search(head)
    words = head.split()
    for spelled in (within[1] if within else "", head.rpartition(",")[2], " ".join(words[-2:]), words[-1], words[0]):
        unit = unit_spelled(spelled.strip()) if spelled else None
        if unit is not None and spelled:
            return unit, " ".join(head.replace(spelled, " ").translate(_NO_MARKS).lower().split())
    return None


_NO_MARKS = dict.fromkeys(map(ord, "()[],:"), " ")


def _paired(columns: list[Column]) -> set[int]:
    """Which columns stand beside one that states the same thing in another unit."""
    found: set[int] = set()
    for i, (one, other) in enumerate(pairwise(columns)):
        if one and other and one[0].kind == other[0].kind and one[0] is not other[0] and one[1] == other[1]:
            found |= {i, i + 1}
    return found
