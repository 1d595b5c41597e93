"""What a mechanic can still measure, and how uncertain the level would be afterwards: the best measurement is worked out, not guessed."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from math import hypot
from typing import TYPE_CHECKING, Any, NamedTuple

from sumpwise.filling.ledger import last_entered, still_inside
from sumpwise.quantities.arguments import number_in
from sumpwise.quantities.boundary import inside
from sumpwise.service.schema import TABLES
from sumpwise.uncertainty import contributions, nominal, source

if TYPE_CHECKING:
    from sumpwise.service.agreement import Agreement
    from sumpwise.service.case import Case

FLOOR = TABLES["level"]["floor"].makes
"""Name of the floor's error, which all readings of the stick share."""
THRICE, TWICE = 3**-0.5, 2**-0.5
"""What is left of the uncertainty of one reading after three readings, and after two."""
WEIGHED = 0.005
"""Uncertainty of litres after weighing, as a share: a kitchen scale, and a density from the data sheet."""
CHECKED = 0.003
"""Uncertainty of a vessel's scale after weighing water, as a share."""
MENDED = 0.2
"""What is left of an error after dealing with it: a vessel set level on its mark, foam that has settled, a thermometer compared."""
OF_A_FILL = ("reading", "scale", "tilt", "growth", "air", "residue")
"""Roles of the errors that weighing a fill removes."""
OF_A_VESSEL = ("tilt", "growth", "air", "residue")
"""Roles of a vessel's errors that can be dealt with one by one."""
RESTING = 1e-15
"""The least of the variances of separate estimates, as a share of the largest."""

Row = dict[Any, float]
Rows = list[Row]
"""Each estimate of the level as source of uncertainty -> its size: the count first, the last reading of the stick last."""


class Measure(NamedTuple):
    """One measurement to make.

    Attributes
    ----------
    id : str
        What, as an entry of the catalogue under `advice`.
    whose : str
        The vessel, the thermometer or what was lost, if it is about one.
    leaves : float
        Standard uncertainty of the level afterwards, litres at 20 °C.
    apart : float
        Standard uncertainty of the difference between the first and the last estimate, that is, how well count and stick can then be
        compared; with a single estimate, its own.
    """

    id: str
    whose: str
    leaves: float
    apart: float


def measures(case: Case, found: Agreement) -> list[Measure]:
    """Everything that can still be measured, best first; nothing if a level is exactly known."""
    rows: Rows = [dict(contributions(one)) for one in found.estimates]
    if not rows or not all(rows):
        return []
    tried = [Measure(what, whose, _level(changed), _apart(changed)) for what, whose, changed in _changes(case, found, rows)]
    return sorted(tried, key=lambda one: one.leaves)


def without(found: Agreement, name: str) -> float:
    """Standard uncertainty of the level if nothing by a name were uncertain."""
    rows = [_scaled(dict(contributions(one)), _tagged(name), 0.0) for one in found.estimates]
    return _level(rows) if all(map(any, map(dict.values, rows))) else 0.0


def _changes(case: Case, found: Agreement, rows: Rows) -> Iterator[tuple[str, str, Rows]]:
    """Each measurement, and the estimates after it."""
    if found.readings:
        last, before = rows[-1], rows[:-1]
        alone = {cause for cause in last if _tag(cause).startswith("stick, ") and not any(cause in row for row in before)}
        yield "thrice", "", [*before, _scaled(last, alone.__contains__, THRICE)]
        # the mean of two readings, one of which the floor raises by as much as it lowers the other
        turned = _scaled(last, alone.__contains__, TWICE)
        yield "turned", "", [*before, _scaled(turned, _tagged(FLOOR), 0.0)]
    elif case.stick is not None:
        new = dict(contributions(number_in(_read_next(case), "L")))
        yield "thrice", "", [*rows, _scaled(new, lambda cause: _tag(cause).startswith("stick, "), THRICE)]
    for name, vessel in case.vessels.items():
        if vessel.scale_uncertainty:
            left = min(1.0, CHECKED * vessel.scale / vessel.scale_uncertainty)
            yield "scale", name, _mended(rows, name, "scale", left)
        for role in OF_A_VESSEL:
            yield role, name, _mended(rows, name, role, MENDED)
    for gauge in {_tag(cause) for row in rows for cause in row if _tag(cause).startswith("thermometer ")}:
        yield "thermometer", gauge, [_scaled(row, _tagged(gauge), MENDED) for row in rows]
    if found.counted:
        for what, whose, litres, doubts in _weighable(found):
            yield what, whose, [_weighed(rows[0], litres, doubts), *rows[1:]]


def _read_next(case: Case) -> Any:
    """A future reading of the stick: on the target, in the middle of the window."""
    assert case.stick is not None
    low, high = (nominal(end) for end in case.job.value("level", "window"))
    warm = source((low + high) / 2, nominal(case.ask("level", "idling")), name="idling before the stick is read")
    middle = inside(nominal(case.job.value("level", "marks_length")) / 2, "length")
    return case.stick.error(middle, inside(warm, "temperature"))


def _tag(cause: Any) -> str:
    return cause.tag or ""


def _tagged(tag: str) -> Callable[[Any], bool]:
    """A function that tells whether a cause has this tag."""
    return lambda cause: _tag(cause) == tag


def _scaled(row: Row, chosen: Callable[[Any], bool], left: float) -> Row:
    """An estimate with some of its uncertainties reduced."""
    return {cause: size * (left if chosen(cause) else 1.0) for cause, size in row.items()}


def _mended(rows: Rows, vessel: str, role: str, left: float) -> Rows:
    """The estimates with an error of one vessel reduced."""
    return [_scaled(row, lambda cause: (cause.vessel, cause.role) == (vessel, role), left) for row in rows]


def _weighable(found: Agreement) -> Iterator[tuple[str, str, float, Row]]:
    """What can be weighed, with its litres and their uncertainties: what was entered as lost, and a vessel that holds what it caught."""
    standing: dict[str, float] = {}
    for move in found.moves:
        if move.event == "emptied":
            standing.pop(move.entry["vessel"], None)
        elif move.event == "drained":
            standing[move.entry["vessel"]] = standing.get(move.entry["vessel"], 0.0) + abs(move.litres)
        elif move.event == "lost":
            yield "lost", move.entry["what"], abs(move.litres), last_entered(move.after)
    for name, litres in standing.items():
        doubts = still_inside(found.ledger, name)
        yield "weigh", name, litres, {cause: size for cause, size in doubts.items() if cause.role in OF_A_FILL}


def _weighed(count: Row, litres: float, doubts: Row) -> Row:
    """The count if so many of its litres are known by weight, instead of with their uncertainty."""
    known = {cause: size - doubts.get(cause, 0.0) for cause, size in count.items()}
    return known | {source(0.0, 1.0, name="weight"): WEIGHED * litres}


def _apart(rows: Rows) -> float:
    """Standard uncertainty of the first estimate minus the last; of a single estimate, its own."""
    first, *others = rows
    last = others[-1] if others else {}
    return hypot(*(first.get(cause, 0.0) - last.get(cause, 0.0) for cause in first | last))


def _level(rows: Rows) -> float:
    """Standard uncertainty of all estimates together, by generalised least squares."""
    import numpy

    causes = {cause: i for i, cause in enumerate(dict.fromkeys(cause for row in rows for cause in row))}
    table = numpy.zeros((len(rows), len(causes)))
    for place, row in enumerate(rows):
        for cause, size in row.items():
            table[place, causes[cause]] = size
    sizes, axes = numpy.linalg.eigh(table @ table.T)
    told = sizes > RESTING * sizes[-1]  # estimates that rest on the same sources are told once
    return float((axes.sum(axis=0)[told] ** 2 / sizes[told]).sum() ** -0.5)
