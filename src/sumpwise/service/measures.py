"""What a mechanic can still measure, and how uncertain the level would be afterwards: the best measurement is worked out, not guessed."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from sumpwise.filling.ledger import last_entered, still_inside
from sumpwise.quantities.arguments import number_in
from sumpwise.service.schema import TABLES
from sumpwise.uncertainty import by_source, nominal

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
BY_STICK = ("thrice", "turned")
"""Measurements that read the stick again."""
OF_A_FILL = ("reading", "scale", "tilt", "growth", "air", "residue")
"""Roles of the errors that weighing a fill removes."""
OF_A_VESSEL = ("tilt", "growth", "air", "residue")
"""Roles of a vessel's errors that can be dealt with one by one."""
RESTING = 1e-15
"""The least of the variances of separate estimates, as a share of the largest."""

Row = Mapping[Any, float]
"""Source of uncertainty -> its size."""


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


class Resting:
    """What some estimates of the level rest on.

    Attributes
    ----------
    causes : list
        The sources of their uncertainty.
    parts : ndarray
        One row for each estimate, the count first, the last reading of the stick last: its contribution from each cause, and a last column
        for what would be weighed.
    """

    __slots__ = ("causes", "parts")

    def __init__(self, estimates: Sequence[Any]) -> None:
        import numpy

        self.causes, parts = by_source(estimates)
        self.parts: Any = numpy.zeros((len(parts), len(self.causes) + 1))
        self.parts[:, :-1] = parts

    def kept(self, chosen: Callable[[Any], bool], left: float) -> Any:
        """What is kept of each part if those of some causes are reduced."""
        import numpy

        return numpy.array([*[left if chosen(cause) else 1.0 for cause in self.causes], 1.0])


def measures(case: Case, found: Agreement) -> list[Measure]:
    """Everything that can still be measured, best first; nothing if a level is exactly known."""
    if not found.estimates or not found.resting.parts.any(axis=1).all():
        return []
    if found.readings:
        tried = _tried([*_read_again(found), *_changes(case, found)])
    else:
        tried = [*_tried(_read_first(case, found)), *_tried(_changes(case, found))]
    return sorted(tried, key=lambda one: one.leaves)


def still(possible: list[Measure]) -> list[Measure]:
    """Those that need no running engine."""
    return [one for one in possible if one.id not in BY_STICK]


def without(resting: Resting) -> dict[str, float]:
    """Standard uncertainty of the level if nothing by a name were uncertain, for each error of the stick."""
    import numpy

    names = [key.makes for key in TABLES["level"].values() if key.makes]
    left = numpy.array([resting.parts * resting.kept(_tagged(name), 0.0) for name in names])
    doubtful = left.any(axis=-1).all(axis=-1)
    levels = numpy.zeros(len(names))
    levels[doubtful] = _level(left[doubtful])
    return dict(zip(names, levels.tolist(), strict=True))


def _tried(changes: Iterable[tuple[str, str, Any]]) -> list[Measure]:
    """Measurements, each given with the parts that the estimates have after it."""
    import numpy

    told = list(changes)
    if not told:
        return []
    parts = numpy.array([changed for _, _, changed in told])
    left = zip(told, _level(parts).tolist(), _apart(parts).tolist(), strict=True)
    return [Measure(what, whose, leaves, apart) for (what, whose, _), leaves, apart in left]


def _read_again(found: Agreement) -> Iterator[tuple[str, str, Any]]:
    """The last reading of the stick repeated."""
    resting = found.resting
    before = resting.parts[:-1].any(axis=0)
    alone = {cause for cause, earlier in zip(resting.causes, before, strict=False) if _of_stick(cause) and not earlier}
    # after a turn, the mean of two readings, one of which the floor raises by as much as it lowers the other
    halved = resting.kept(alone.__contains__, TWICE) * resting.kept(_tagged(FLOOR), 0.0)
    for what, kept in (("thrice", resting.kept(alone.__contains__, THRICE)), ("turned", halved)):
        parts = resting.parts.copy()
        parts[-1] *= kept
        yield what, "", parts


def _read_first(case: Case, found: Agreement) -> Iterator[tuple[str, str, Any]]:
    """A first reading of the stick."""
    if case.stick is not None:
        resting = Resting([*found.estimates, number_in(_read_next(case), "L")])
        resting.parts[-1] *= resting.kept(_of_stick, THRICE)
        yield "thrice", "", resting.parts


def _changes(case: Case, found: Agreement) -> Iterator[tuple[str, str, Any]]:
    """Each other measurement, and the parts after it."""
    resting = found.resting
    for name, vessel in case.vessels.items():
        if vessel.scale_uncertainty:
            left = min(1.0, CHECKED * vessel.scale / vessel.scale_uncertainty)
            yield "scale", name, resting.parts * resting.kept(_of_vessel(name, "scale"), left)
        for role in OF_A_VESSEL:
            yield role, name, resting.parts * resting.kept(_of_vessel(name, role), MENDED)
    for gauge in {_tag(cause) for cause in resting.causes if _tag(cause).startswith("thermometer ")}:
        yield "thermometer", gauge, resting.parts * resting.kept(_tagged(gauge), MENDED)
    if found.counted:
        for what, whose, litres, doubts in _weighable(case, found):
            changed = resting.parts.copy()
            changed[0] -= [*(doubts.get(cause, 0.0) for cause in resting.causes), -WEIGHED * litres]
            yield what, whose, changed


def _read_next(case: Case) -> Any:
    """A future reading of the stick: on the target, in the middle of the window."""
    low, high = (nominal(end) for end in case.job.value("level", "window"))
    middle = {"event": "stick", "reading": nominal(case.job.value("level", "marks_length")) / 2, "temperature": (low + high) / 2}
    return case.by_stick(case.once("the next reading of the stick", lambda: middle, held=True))


def _tag(cause: Any) -> str:
    return cause.tag or ""


def _tagged(tag: str) -> Callable[[Any], bool]:
    """A function that tells whether a cause has this tag."""
    return lambda cause: _tag(cause) == tag


def _of_stick(cause: Any) -> bool:
    """Whether a cause is an error of one reading of the stick."""
    return _tag(cause).startswith("stick, ")


def _of_vessel(vessel: str, role: str) -> Callable[[Any], bool]:
    """A function that tells whether a cause is an error of a vessel."""
    return lambda cause: (cause.vessel, cause.role) == (vessel, role)


def _weighable(case: Case, found: Agreement) -> Iterator[tuple[str, str, float, Row]]:
    """What can be weighed, with its litres and their uncertainties: what was entered as lost, and a vessel that holds what it caught."""
    standing: dict[str, float] = {}
    for move in found.moves:
        if move.event == "emptied":
            standing.pop(move.entry["vessel"], None)
        elif move.event == "drained":
            standing[move.entry["vessel"]] = standing.get(move.entry["vessel"], 0.0) + abs(move.litres)
        elif move.event == "lost" and id(move.entry) not in case.weighed:
            yield "lost", move.entry["what"], abs(move.litres), last_entered(move.after)
    for name, litres in standing.items():
        doubts = {cause: size for cause, size in still_inside(found.ledger, name).items() if cause.role in OF_A_FILL}
        if doubts:  # else it was weighed
            yield "weigh", name, litres, doubts


def _apart(parts: Any) -> Any:
    """Standard uncertainty of the first estimate minus the last; of a single estimate, its own."""
    apart = parts[..., 0, :] - parts[..., -1, :] if parts.shape[-2] > 1 else parts[..., 0, :]
    return (apart**2).sum(axis=-1) ** 0.5


def _level(parts: Any) -> Any:
    """Standard uncertainty of all estimates together, by generalised least squares."""
    import numpy

    sizes, axes = numpy.linalg.eigh(parts @ parts.swapaxes(-1, -2))
    told = sizes > RESTING * sizes[..., -1:]  # estimates that rest on the same sources are told once
    return numpy.divide(axes.sum(axis=-2) ** 2, sizes, out=numpy.zeros_like(sizes), where=told).sum(axis=-1) ** -0.5
