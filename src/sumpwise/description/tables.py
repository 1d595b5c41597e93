"""Tables in a text: rows of cells separated by bars, tabs or wide gaps, with the units in the header or at the left of each row."""

from __future__ import annotations

import re
from functools import lru_cache

from sumpwise.quantities import notation
from sumpwise.quantities.digits import in_unit
from sumpwise.quantities.notation import Reading, SpanReading
from sumpwise.quantities.spelling import unit_spelled

TYPE_CHECKING = False
if TYPE_CHECKING:
    from collections.abc import Iterator

    from sumpwise.quantities.speech import Edit
    from sumpwise.quantities.units import Unit

    Cell = tuple[int, int]
    Number = Reading | SpanReading
    Column = tuple[tuple[Unit, ...], str] | None

_ROW = re.compile(r"^[^\n]*(?:[|\t]|\S {2,12}\S|\+-)[^\n]*", re.MULTILINE)
_RULE = re.compile(r"[\s|:\-+=]+")
NUMBER = r"[-−–]?(?:[0-9]{1,6}(?:[ ,][0-9]{3})*(?:[.,][0-9]{1,4})?k?(?:[ -][0-9]/[0-9]{1,2}|/[0-9]{1,2})?[½¼¾⅛⅜⅝⅞]?|[½¼¾⅛⅜⅝⅞])"
VALUE = rf"{NUMBER}(?:\s?(?:[-–~]|to)\s?{NUMBER})?"
ABOUT = r"\s{0,3}(?:(?:~|≈|(?:about|approx\.?|ca\.?)\s)\s{0,3})?"
"""What may stand before a number; few spaces, since each of a long run would be a place to begin."""
_ONE = re.compile(rf"\s*{ABOUT}({VALUE})\s*(?:\([^()0-9]*\))?[*†‡]*\s*")
_TWO = re.compile(rf"\s*{ABOUT}({VALUE})\s*[(\[/|]{ABOUT}({VALUE})\s*[)\]]?\s*")
_LEADING = re.compile(rf"{NUMBER}[ -]?")
_WITHIN = re.compile(r"[(\[]([^()\[\]]*)[)\]]\s*$")
_BOTH = re.compile(r"([^\s()\[\]]+)\s*[(\[]([^()\[\]]*)[)\]]\s*$|([^\s/]+) / (\S+)\s*$")
_SYSTEMS = {"metric", "us", "eu", "imperial", "sae", "si", "english", "uk", "value", "in"}
"""Words in a header that name the system, so two headers may differ in them."""
_FORMS = _SYSTEMS | {
    "international", "american", "america", "british", "europe", "european", "usa", "freedom", "standard", "conversion", "converted",
    "equivalent", "equal", "units", "unit",
}  # fmt: skip
"""Words in a header that say that its column has the same in another form."""
_VALUED = re.compile(r"[0-9½¼¾] ?[A-Za-z°\"]")
_PARTED = "¦"
"""What stands instead of the mark between two cells that state different things."""
_NO_UNITS = {"a", "as", "at", "d", "s"}
"""Words and single letters of a header that are not the units they spell: a filter, model d."""
_SAME = "="
"""What stands instead of the mark between two cells that state the same in two systems."""
_INTO = re.compile(r"in\s*[,:]", re.IGNORECASE)
"""A header of what goes in: in, qt."""
_MARKS = dict.fromkeys(map(ord, "()[],:/"), " ")
_MOST_COLUMNS = 20
_NEAR_SHARE, _NEAR_DEGREES = 0.05, 3.0
_MOST_CELL = 60


def units_of_heads(text: str, beneath: dict[int, int]) -> Iterator[Edit]:
    """The units in a table's header, to be written after the bare numbers of the columns that state one thing in two systems.

    Where the rows state it, each with its unit at the left, `beneath` receives for each number below where the one above it begins.
    """
    columns: list[Column] = []
    heads: list[str] = []
    above: _Row | None = None
    paired: set[int] = set()
    apart: list[int] = []
    equal: list[int] = []
    last = -2
    for match in _ROW.finditer(text):
        start, end = match.start(), match.end()
        if _RULE.fullmatch(text, start, end):
            last = end
            continue
        cells = _cells(text, start, end)
        if start != last + 1:
            above, paired = None, set()
            heads = [text[a:b].strip().lower() for a, b in cells]
            apart, equal = _apart(heads), _equal(heads)
        else:
            short = len(heads) - len(cells)  # a name so long that only one space is left behind it
            for i in equal:
                at = i - short
                if short <= 1 <= at < len(cells) and all(_VALUED.search(text, *cell) for cell in cells[at - 1 : at + 1]):
                    yield cells[at][0] - 1, cells[at][0], _SAME
            for i in apart:
                if i < len(cells) and all(_VALUED.search(text, *cell) for cell in cells[i - 1 : i + 1]):
                    yield cells[i][0] - 1, cells[i][0], _PARTED
        if not paired:
            columns = [_column(text[a:b]) for a, b in cells]
            paired = _paired(columns)
            row = None if paired else _Row.of(text, cells, columns)
            if row is not None and above is not None and above.is_same_as(row):
                yield from above.edits() if not above.written else ()
                yield from row.edits()
                beneath.update(zip(row.starts(), above.starts(), strict=True))
                above.written = True
            else:
                above = row
        else:
            for i, (a, b) in enumerate(cells):
                column = columns[i] if i in paired and i < len(columns) else None
                found = None if column is None else (_ONE if len(column[0]) == 1 else _TWO).fullmatch(text, a, b)
                if column is not None and found is not None:
                    for place, unit in enumerate(column[0], 1):
                        yield found.end(place), found.end(place), f" {unit.symbol}"
        last = end


class _Row:
    """A row with its unit at the left and nothing but numbers behind it."""

    __slots__ = ("_places", "_readings", "head", "written")

    def __init__(self, head: Column, places: list[Cell], readings: list[Number]) -> None:
        self.head = head
        self._places = places
        self._readings = readings
        self.written = False

    @staticmethod
    def of(text: str, cells: list[Cell], columns: list[Column]) -> _Row | None:
        """The row, if it is one."""
        filled = [i for i, (a, b) in enumerate(cells) if not text[a:b].isspace() and a < b]
        head = columns[filled[0]] if len(filled) > 1 else None
        if head is None or len(head[0]) != 1:
            return None
        found = [_ONE.fullmatch(text, *cell) for cell in cells[filled[0] + 1 : filled[-1] + 1]]
        readings = [None if one is None else read(one[1], head[0][0]) for one in found]
        places = [one.span(1) for one in found if one is not None]
        return _Row(head, places, [one for one in readings if one is not None]) if None not in found and None not in readings else None

    def is_same_as(self, other: _Row) -> bool:
        """Whether another row states the same in another unit: its words are the same, and at least half of its numbers fit."""
        return len(_paired([self.head, other.head])) == 2 and alike(self._readings, other._readings)

    def starts(self) -> list[int]:
        """Where its numbers begin."""
        return [start for start, _ in self._places]

    def edits(self) -> Iterator[Edit]:
        """The unit behind each number."""
        for (_, end), reading in zip(self._places, self._readings, strict=True):
            yield end, end, f" {_unit_of(reading).symbol}"


def read(written: str, unit: Unit) -> Number | None:
    """A bare number, or two, with the unit that is said elsewhere."""
    found = notation.scan(f"{written} {unit.symbol}", 0)
    return None if found is None or _unit_of(found[0]) is not unit else found[0]


def alike(first: list[Number], second: list[Number]) -> bool:
    """Whether at least half of the numbers are about the others in their unit, or would be if the two units were swapped."""
    fitting = [
        _fits(one, two) or _fits(_named(one, _unit_of(two)), _named(two, _unit_of(one))) for one, two in zip(first, second, strict=False)
    ]
    return len(first) == len(second) and 2 * sum(fitting) >= len(first)


def _fits(first: Number, second: Number) -> bool:
    one, two = _lower(first), _lower(second)
    over, under = in_unit(one.num, one.den, one.unit, two.unit)
    there, told = over / under, two.num / two.den
    half = 0.0 if two.places is None else 0.5 * 10.0**-two.places
    return abs(told - there) <= max(half, _NEAR_DEGREES if two.unit.kind == "temperature" else _NEAR_SHARE * abs(there))


def _named(reading: Number, unit: Unit) -> Number:
    one = _lower(reading)
    return Reading(one.text, unit, one.num, one.den, one.places)


def _lower(reading: Number) -> Reading:
    return reading.lower if isinstance(reading, SpanReading) else reading


def _unit_of(reading: Number) -> Unit:
    return _lower(reading).unit


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


def _apart(heads: list[str]) -> list[int]:
    """Which columns state another thing than the one before them, by their heads: before and after, front and rear, 2012 and 2016."""
    if any((found := _VALUED.search(head)) and notation.scan(head, found.start()) for head in heads):
        return []  # a row of values, no heads
    named = [bool(head) and not (set(head.split()) & _FORMS) and _column(head) is None for head in heads]
    return [i for i in range(1, len(heads)) if named[i - 1] and named[i] and heads[i - 1] != heads[i]]


def _equal(heads: list[str]) -> list[int]:
    """Which columns state the same as the one before them in another system, by their heads: metric and US."""
    named = [set(head.split()) for head in heads]
    return [i for i in range(1, len(heads)) if named[i - 1] and named[i] and named[i - 1] | named[i] <= _FORMS and named[i] != named[i - 1]]


@lru_cache(maxsize=1024)
def unit_in(spelled: str) -> Unit | None:
    """The unit that words of a header spell, or None."""
    spelled = spelled.strip(" ,:")
    return (unit_spelled(spelled) or unit_spelled(spelled.lower())) if spelled else None


def _column(head: str) -> Column:
    """The unit or the two units in a column's header, and the rest of its words."""
    head = head.strip()
    if not head or len(head) > _MOST_CELL:
        return None
    leading = _LEADING.match(head)
    if leading is not None:
        behind = head[leading.end() :].split()
        if not behind or unit_in(behind[0]) or unit_in(" ".join(behind[:3])) or head[-1].isdigit():
            return None  # a value, no head: 34 N·m
    whole = unit_in(head)
    if whole is not None and head.lower() not in _NO_UNITS:
        return (whole,), ""
    if "/" in head or "(" in head or "[" in head:
        two = _two_units(head)
        if two is not None:
            return two, ""
    within = _WITHIN.search(head)
    words = head.split()
    for spelled in (within[1] if within else "", head.rpartition(",")[2], " ".join(words[-2:]), words[-1], words[0]):
        unit = unit_in(spelled) if spelled not in words or spelled.lower() not in _NO_UNITS else None
        if unit is not None:
            rest = head.replace(spelled, " ").translate(_MARKS).lower().split()
            kept = [word for word in rest if word not in _SYSTEMS]
            return (unit,), " ".join(["in", *kept] if _INTO.match(head) else kept)
    return None


def _two_units(head: str) -> tuple[Unit, Unit] | None:
    """The two units in one header: Torque N·m (lbf·ft), Nm / ft-lb, Nm/ft-lb."""
    match = _BOTH.search(head)
    if match is not None:
        spelled = match[1] or match[3], match[2] or match[4]
    else:
        one, _, other = head.split()[-1].partition("/")
        spelled = one, other
    first, second = unit_in(spelled[0]), unit_in(spelled[1])
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
