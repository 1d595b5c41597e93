"""Tables in a text: rows of cells separated by bars, tabs or wide gaps, whose header may hold the units."""

from __future__ import annotations

import re
from functools import lru_cache

from sumpwise.quantities.spelling import unit_spelled

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator

    from sumpwise.quantities.speech import Edit
    from sumpwise.quantities.units import Unit

    Cell = tuple[int, int]
    Column = tuple[tuple[Unit, ...], str] | None

_ROW = re.compile(r"^[^\n]*(?:[|\t]|\S {2,12}\S|\+-)[^\n]*", re.MULTILINE)
_RULE = re.compile(r"[\s|:\-+=]+")
_NUMBER = r"[-−–]?(?:[0-9]{1,6}(?:[ ,][0-9]{3})*(?:[.,][0-9]{1,4})?k?(?:[ -][0-9]/[0-9]{1,2}|/[0-9]{1,2})?[½¼¾⅛⅜⅝⅞]?|[½¼¾⅛⅜⅝⅞])"
_VALUE = rf"{_NUMBER}(?:\s?(?:[-–~]|to)\s?{_NUMBER})?"
_ABOUT = r"\s*(?:~|≈|(?:about|approx\.?|ca\.?)\s)?\s*"
_ONE = re.compile(rf"{_ABOUT}({_VALUE})\s*(?:\([^()0-9]*\))?[*†‡]*\s*")
_TWO = re.compile(rf"{_ABOUT}({_NUMBER}(?:\s?(?:[-–~]|to)\s?{_NUMBER})?)\s*[(\[/|]{_ABOUT}({_VALUE})\s*[)\]]?\s*")
_WITHIN = re.compile(r"[(\[]([^()\[\]]*)[)\]]\s*$")
_BOTH = re.compile(r"([^\s()\[\]]+)\s*[(\[]([^()\[\]]*)[)\]]\s*$|([^\s/]+) / (\S+)\s*$")
_SYSTEMS = {"metric", "us", "eu", "imperial", "sae", "si", "english", "uk", "value", "in"}
"""Words in a header that name the system, so two headers may differ in them."""
_MARKS = dict.fromkeys(map(ord, "()[],:/"), " ")
_MOST_COLUMNS = 20
_MOST_CELL = 60


def units_of_heads(text: str) -> Iterator[Edit]:
    """The units in a table's header, to be written after the bare numbers of the columns that state one thing in two systems."""
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
                found = None if column is None else (_ONE if len(column[0]) == 1 else _TWO).fullmatch(text, a, b)
                if column is not None and found is not None:
                    for place, unit in enumerate(column[0], 1):
                        yield found.end(place), found.end(place), f" {unit.symbol}"
        last = end


def _cells(text: str, start: int, end: int) -> list[Cell]:
    row = text[start:end]
    mark = "|" if "|" in row else "\t" if "\t" in row else "  "
    cells: list[Cell] = []
    at = text.index("|", start) + 1 if mark == "|" and row.lstrip().startswith("|") else start
    while at <= end and len(cells) < _MOST_COLUMNS:
        stop = text.find(mark, at, end)
        stop = end if stop < 0 else stop
        cells.append((at, stop))
        at = stop + 1
        while mark == "  " and text[at : at + 1] == " ":
            at += 1
    return cells


@lru_cache(maxsize=1024)
def _unit(spelled: str) -> Unit | None:
    spelled = spelled.strip(" ,:")
    return (unit_spelled(spelled) or unit_spelled(spelled.lower())) if spelled else None


def _column(head: str) -> Column:
    """The unit or the two units in a column's header, and the rest of its words."""
    head = head.strip()
    if not head or len(head) > _MOST_CELL or head[0].isdigit():
        return None
    whole = _unit(head)
    if whole is not None:
        return (whole,), ""
    if "/" in head or "(" in head or "[" in head:
        two = _two_units(head)
        if two is not None:
            return two, ""
    within = _WITHIN.search(head)
    words = head.split()
    for spelled in (within[1] if within else "", head.rpartition(",")[2], " ".join(words[-2:]), words[-1], words[0]):
        unit = _unit(spelled)
        if unit is not None:
            rest = head.replace(spelled, " ").translate(_MARKS).lower().split()
            return (unit,), " ".join([word for word in rest if word not in _SYSTEMS])
    return None


def _two_units(head: str) -> tuple[Unit, Unit] | None:
    """The two units in one header: Torque N·m (lbf·ft), Nm / ft-lb, Nm/ft-lb."""
    match = _BOTH.search(head)
    if match is not None:
        spelled = match[1] or match[3], match[2] or match[4]
    else:
        one, _, other = head.split()[-1].partition("/")
        spelled = one, other
    first, second = _unit(spelled[0]), _unit(spelled[1])
    return (first, second) if first and second and first.kind == second.kind and first is not second else None


def _paired(columns: list[Column]) -> set[int]:
    """Which columns state the same thing in two systems: two side by side, or one with both."""
    found = {i for i, one in enumerate(columns) if one and len(one[0]) == 2}
    for i in range(len(columns) - 1):
        one, other = columns[i], columns[i + 1]
        if not one or not other or len(one[0]) + len(other[0]) > 2 or one[0][0].kind != other[0][0].kind or one[0] == other[0]:
            continue
        if one[1] == other[1] or not (one[1] and other[1]):
            found |= {i, i + 1}
    return found
