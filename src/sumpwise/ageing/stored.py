"""A fluid history to and from plain JSON data: inputs are stored as they were written, shared errors by their source."""

from __future__ import annotations

from math import inf

from sumpwise.errors import FileError, SumpwiseError, expect_finite, expect_stored, expect_table
from sumpwise.quantities.reading import Read
from sumpwise.quantities.units import INTERNAL, SYMBOLS, internal_unit

TYPE_CHECKING = False
if TYPE_CHECKING:
    from typing import Any

class Kept:
    """A base class of histories, which never change: a copy is the history itself."""

    __slots__ = ()

    def __copy__(self) -> Any:
        return self

    def __deepcopy__(self, memo: object) -> Any:
        return self


FORMAT, VERSION = "sumpwise fluid history", 1


def plain(written: Any, inputs: Any, moments: Any, kind: str) -> dict[str, Any]:
    """Make the data. `written` is pairs of a moment as read and a share as given, `inputs` the start and the shares as read."""
    from sumpwise import uncertainty
    from sumpwise.quantities import _pint

    causes: dict[Any, str] = {}
    for x in inputs:
        for cause in uncertainty.derivatives(x):
            causes.setdefault(cause, str(len(causes)))

    def doubtful(x: Any, factor: float = 1.0) -> dict[str, Any]:
        doubts = {causes[cause]: c / factor for cause, c in uncertainty.derivatives(x).items()}
        return {"value": uncertainty.nominal(x) / factor, "doubts": doubts}

    def moment(read: Read, internal: float) -> str:
        if isinstance(read.given, str):
            return read.given
        if read.unit is None or read.unit.symbol not in SYMBOLS:
            return f"{internal!r} {INTERNAL[kind]}"
        return f"{float(_pint.magnitude(read.given))!r} {read.unit.symbol}"

    start = inputs[0]
    if uncertainty.is_uncertain(start):
        unit = written[0][0].unit
        if unit is None or unit.symbol not in SYMBOLS:
            unit = internal_unit(kind)
        begun: Any = doubtful(start, unit.factor) | {"unit": unit.symbol}
    else:
        begun = moment(written[0][0], moments[0])
    changes = [
        {"at": moment(at, when), "fraction": doubtful(x) if uncertainty.is_uncertain(x) else given if isinstance(given, str) else float(x)}
        for (at, given), x, when in zip(written[1:], inputs[1:], moments[1:], strict=True)
    ]
    return {"format": FORMAT, "version": VERSION, "start": begun, "changes": changes, "sources": [_cause(c) for c in causes]}


def _cause(cause: Any) -> dict[str, Any]:
    """One source; a foreign uncertain variable has no shape, degrees of freedom or identity to keep."""
    from sumpwise.uncertainty import dof_of, shape_of

    dof = dof_of(cause)
    return {
        "value": cause.nominal_value,
        "standard": cause.std_dev,
        "shape": shape_of(cause),
        "dof": None if dof == inf else dof,
        "name": cause.tag or "",
        "identity": getattr(cause, "uid", ""),
    }


def restored(data: Any) -> tuple[Any, list[tuple[Any, Any]]]:
    """Read the data: the start, and (moment, share) pairs for `FluidHistory`."""
    from sumpwise.quantities import _pint

    found = expect_stored(data, "fluid history", {"format", "start", "changes", "sources"}, FORMAT, VERSION)
    causes = {str(number): _source(entry, f"sources, {number}") for number, entry in enumerate(_list(found["sources"], "sources"))}
    start = found["start"]
    if isinstance(start, dict):
        start = _table(start, {"value", "unit", "doubts"}, "start")
        if not isinstance(start["unit"], str) or start["unit"] not in SYMBOLS:
            raise FileError("is not a unit", code="unit.unknown", argument="start, unit", value=start["unit"])
        start = _pint.build(_doubtful(start, causes, "start"), SYMBOLS[start["unit"]])
    elif not isinstance(start, str):
        raise FileError("must be a text with a unit", code="key.type", argument="start", value=start)
    changes = []
    for number, entry in enumerate(_list(found["changes"], "changes"), 1):
        change = _table(entry, {"at", "fraction"}, f"changes, {number}")
        share = change["fraction"]
        if isinstance(share, dict):
            share = _doubtful(_table(share, {"value", "doubts"}, f"changes, {number}, fraction"), causes, f"changes, {number}, fraction")
        changes.append((change["at"], share))
    return start, changes


def _source(entry: Any, place: str) -> Any:
    from sumpwise import uncertainty

    cause = _table(entry, {"value", "standard", "shape", "dof", "name", "identity"}, place)
    value, standard = expect_finite(cause["value"], f"{place}, value"), expect_finite(cause["standard"], f"{place}, standard")
    dof = inf if cause["dof"] is None else expect_finite(cause["dof"], f"{place}, dof")
    name, identity = str(cause["name"]), str(cause["identity"])
    try:
        return uncertainty.source(value, standard, shape=cause["shape"], dof=dof, name=name, uid=identity)
    except SumpwiseError as error:
        raise FileError(str(error), code=error.code, argument=place) from error


def _doubtful(entry: dict[str, Any], causes: dict[str, Any], place: str) -> Any:
    from sumpwise import uncertainty

    terms = []
    for index, coefficient in expect_table(entry["doubts"], place).items():
        if index not in causes:
            raise FileError("is not the number of a source", code="file.content", argument=f"{place}, doubts", value=index)
        terms.append((expect_finite(coefficient, f"{place}, doubts"), causes[index]))
    return uncertainty.combine(expect_finite(entry["value"], f"{place}, value"), terms)


def _list(value: Any, place: str) -> list[Any]:
    if not isinstance(value, list):
        raise FileError("is not a list", code="key.type", argument=place, value=value)
    return value


def _table(value: Any, keys: set[str], place: str) -> dict[str, Any]:
    table = expect_table(value, place)
    if set(table) != keys:
        lacking, unknown = sorted(keys - set(table)), sorted(set(table) - keys, key=str)
        raise FileError(
            f"lacks {lacking} or has unknown keys {unknown}", code="key.missing", argument=place, allowed=", ".join(sorted(keys))
        )
    return table
